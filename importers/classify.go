package importers

import (
	"slices"

	"hopcard/flight"
)

// words is the name of a column, cut into words.
type words []string

func (w words) has(any ...string) bool {
	for _, a := range any {
		if slices.Contains(w, a) {
			return true
		}
	}
	return false
}

func (w words) is(name ...string) bool { return len(w) == 1 && w.has(name...) }

// without returns the words that are not in drop.
func (w words) without(drop ...string) words {
	return slices.DeleteFunc(slices.Clone(w), func(s string) bool { return slices.Contains(drop, s) })
}

// classify says which quantity a name means. The order matters: collective pitch is no
// pitch attitude, and a roll stick no roll attitude.
func classify(tokens []string) nameReading {
	w := words(tokens)
	if why := notMeasured(w); why != "" {
		return nameReading{why: why}
	}
	for _, rule := range []func(words) nameReading{
		timeName, quaternionName, windName, rotorName, knockName, stickName, accelName, rateName, heightName, attitudeName,
	} {
		if r := rule(w); r.quantity != "" || r.why != "" {
			return r
		}
	}
	return nameReading{}
}

// notMeasured explains names that look like a quantity of ours and are something else.
func notMeasured(w words) string {
	switch {
	case w.has("target", "desired", "des", "setpoint", "sp", "demand", "demanded", "ref", "reference", "goal"):
		return "a demand, not a measurement"
	case w.has("bias", "offset", "error", "err", "std", "stddev", "sd", "var", "variance", "cov", "innovation", "innov"):
		return "about the quality of a measurement, not one itself"
	case w.has("latitude", "longitude", "lng") || (w.has("gps", "gnss") && w.has("lat", "lon", "long")):
		return "a position"
	case w.has("engine", "eng", "motor", "esc", "tailrotor"), w.has("tail") && w.has("rpm", "rotor"):
		return "not of the main rotor"
	case w.has("mag", "magnetometer", "magx", "magy", "magz", "mx", "my", "mz"):
		return "a magnetic field"
	case w.has("gust"):
		return "a gust figure; hopcard works gusts out from the wind speed"
	case w.has("temp", "temperature", "pressure", "press", "baro") && !w.has("alt", "altitude", "height"):
		return "not used"
	}
	return ""
}

func timeName(w words) nameReading {
	hint := flight.NoUnit
	switch {
	case w.is("ms", "millis", "msec", "milliseconds"):
		hint = flight.MilliS
	case w.is("us", "micros", "usec", "microseconds"):
		hint = flight.MicroS
	case w.is("s", "sec", "secs", "seconds"):
		hint = flight.Second
	case w.is("ns", "nanos", "nanoseconds"):
		hint = flight.NanoS
	case w.is("t", "date", "clock", "datetime", "tick", "ticks"):
	case w.has("time", "timestamp", "stamp", "utc", "datetime", "epoch", "uptime", "elapsed", "tow", "millis", "micros"):
		if w.has("delta", "dt", "loop", "exec") {
			return nameReading{why: "a time step, not a time"}
		}
		switch {
		case w.has("millis"):
			hint = flight.MilliS
		case w.has("micros"):
			hint = flight.MicroS
		}
	case w.has("date") && len(w) == 1:
	default:
		return nameReading{}
	}
	return nameReading{quantity: flight.Time, unit: hint, sure: 0.98}
}

func quaternionName(w words) nameReading {
	part := func(q flight.Quantity) nameReading { return nameReading{quantity: q, sure: 0.95} }
	quat := w.has("q", "quat", "quaternion", "quaternions")
	switch {
	case w.is("qw", "q0") || quat && w.has("w", "0"):
		return part(flight.QuaternionW)
	case w.is("qx", "q1") || quat && w.has("x", "1"):
		return part(flight.QuaternionX)
	case w.is("qy", "q2") || quat && w.has("y", "2"):
		return part(flight.QuaternionY)
	case w.is("qz", "q3") || quat && w.has("z", "3"):
		return part(flight.QuaternionZ)
	case w.is("q4"):
		return nameReading{why: "the fourth part of a quaternion counted from 1; name its parts in hop.toml"}
	}
	return nameReading{}
}

func windName(w words) nameReading {
	part := func(q flight.Quantity, sure float64) nameReading { return nameReading{quantity: q, sure: sure} }
	switch {
	case w.is("ws"):
		return part(flight.WindSpeed, 0.85)
	case w.is("wd"):
		return part(flight.WindDirectionFrom, 0.85)
	case w.is("wn"):
		return part(flight.WindNorth, 0.8)
	case w.is("we"):
		return part(flight.WindEast, 0.8)
	case !w.has("wind", "anemo", "anemometer", "anem"):
		return nameReading{}
	case w.has("dir", "direction", "from", "bearing", "azimuth", "wd"):
		return part(flight.WindDirectionFrom, 0.97)
	case w.has("n", "north", "wn"):
		return part(flight.WindNorth, 0.95)
	case w.has("e", "east", "we"):
		return part(flight.WindEast, 0.95)
	case w.has("up", "down", "vertical", "vert", "w", "z", "d"):
		return nameReading{why: "vertical wind"}
	}
	return part(flight.WindSpeed, 0.95)
}

func rotorName(w words) nameReading {
	switch {
	case w.is("rpm", "nr"):
		return nameReading{quantity: flight.RotorSpeed, unit: unitIf(w.has("rpm"), flight.RPM), sure: 0.8}
	case w.has("rotor", "headspeed", "nr", "rrpm", "mr") || w.has("head") && w.has("speed", "rpm"):
		if w.has("temp", "torque", "pitch", "angle") {
			return nameReading{}
		}
		return nameReading{quantity: flight.RotorSpeed, unit: unitIf(w.has("rpm", "rrpm"), flight.RPM), sure: 0.95}
	}
	return nameReading{}
}

func unitIf(yes bool, u flight.Unit) flight.Unit {
	if yes {
		return u
	}
	return flight.NoUnit
}

func knockName(w words) nameReading {
	if w.has("knock", "knocks", "tap", "taps", "thump", "shock") {
		return nameReading{quantity: flight.Knock, sure: 0.95}
	}
	return nameReading{}
}

func stickName(w words) nameReading {
	hint := flight.NoUnit
	switch {
	case w.has("adc", "raw", "counts", "pot"):
		hint = flight.Counts
	case w.has("pwm", "pulse", "servo"):
		hint = flight.PulseUs
	}
	part := func(q flight.Quantity, sure float64) nameReading {
		return nameReading{quantity: q, unit: hint, sure: sure}
	}
	stick := w.has("stick", "cyclic", "cyc", "control", "ctrl", "ctl", "rc", "rcin", "input", "in", "pilot", "adc", "pwm",
		"pulse", "servo", "pot", "joystick", "joy", "cmd", "command", "deflection", "lever")
	if w.has("acc", "accel", "acceleration", "rate", "gyro") {
		return nameReading{}
	}
	switch {
	case w.has("collective", "coll", "clt", "col"):
		return part(flight.Collective, 0.97)
	case w.has("pedal", "pedals", "rudder", "rud", "rudr", "antitorque"), stick && w.has("yaw"):
		return part(flight.Pedal, 0.95)
	case w.has("aileron", "ailerons", "ail", "ailr"):
		return part(flight.LatStick, 0.95)
	case w.has("elevator", "elevators", "ele", "elev", "elv"):
		return part(flight.LonStick, 0.95)
	case w.has("lat", "lateral"):
		return part(flight.LatStick, lateralSure(stick || len(w) > 1))
	case w.has("lon", "long", "longitudinal", "longit"):
		return part(flight.LonStick, lateralSure(stick || len(w) > 1))
	case stick && w.has("roll", "leftright"):
		return part(flight.LatStick, 0.95)
	case stick && w.has("pitch", "foreaft", "fore"):
		return part(flight.LonStick, 0.95)
	case stick && w.has("x"):
		return part(flight.LatStick, 0.6)
	case stick && w.has("y"):
		return part(flight.LonStick, 0.6)
	}
	return nameReading{}
}

// lateralSure: "lat" and "lon" alone may as well be a position.
func lateralSure(named bool) float64 {
	if named {
		return 0.95
	}
	return 0.6
}

// axisOf returns 0, 1, 2 for x, y, z by any of the names of an axis, -1 without one.
func axisOf(w words) int {
	switch {
	case w.has("x", "roll", "phi", "p", "longitudinal", "long"):
		return 0
	case w.has("y", "pitch", "theta", "q", "lateral", "lat"):
		return 1
	case w.has("z", "yaw", "psi", "r", "heading", "turn", "normal", "vertical", "vert"):
		return 2
	}
	return -1
}

func accelName(w words) nameReading {
	q := [3]flight.Quantity{flight.AccelX, flight.AccelY, flight.AccelZ}
	for k, names := range [3][]string{{"ax", "accx", "nx", "fx"}, {"ay", "accy", "ny", "fy"}, {"az", "accz", "nz", "fz"}} {
		if w.has(names...) && len(w) <= 3 {
			return nameReading{quantity: q[k], sure: 0.95}
		}
	}
	if !w.has("acc", "accel", "acceleration", "accelerometer", "accelero", "a") {
		return nameReading{}
	}
	if k := axisOf(w); k >= 0 && !w.has("roll", "pitch", "yaw", "p", "q", "r") {
		return nameReading{quantity: q[k], sure: 0.97}
	}
	return nameReading{}
}

func rateName(w words) nameReading {
	q := [3]flight.Quantity{flight.RollRate, flight.PitchRate, flight.YawRate}
	for k, names := range [3][]string{{"p", "wx", "gx", "phidot"}, {"q", "wy", "gy", "thetadot"}, {"r", "wz", "gz", "psidot"}} {
		if rest := w.without("imu", "body", "b", "gyro", "rate", "1"); rest.is(names...) {
			return nameReading{quantity: q[k], sure: 0.95}
		}
	}
	if !w.has("rate", "rates", "gyro", "gyr", "gyroscope", "omega", "angvel", "angrate", "dot", "angular", "speed", "vel", "velocity") {
		return nameReading{}
	}
	if w.has("speed", "vel", "velocity") && !w.has("roll", "pitch", "yaw", "angular") {
		return nameReading{}
	}
	if k := axisOf(w); k >= 0 {
		return nameReading{quantity: q[k], sure: 0.97}
	}
	return nameReading{}
}

func heightName(w words) nameReading {
	switch {
	case w.has("agl", "hagl", "height", "hgt", "altitude", "alt", "radalt", "rangefinder", "sonar", "lidar"):
		sure := 0.95
		if w.has("msl", "amsl", "gps", "gnss") {
			sure = 0.8
		}
		return nameReading{quantity: flight.Height, sure: sure}
	case w.is("h"):
		return nameReading{quantity: flight.Height, sure: 0.8}
	}
	return nameReading{}
}

func attitudeName(w words) nameReading {
	if w.has("acc", "accel", "trim", "out", "output", "servo", "mode") {
		return nameReading{}
	}
	part := func(q flight.Quantity) nameReading { return nameReading{quantity: q, sure: 0.97} }
	switch {
	case w.has("roll", "phi", "bank"):
		return part(flight.Roll)
	case w.has("pitch", "theta"):
		return part(flight.Pitch)
	case w.has("yaw", "psi", "heading", "hdg", "compass"):
		return part(flight.Heading)
	}
	return nameReading{}
}
