package simulate

import (
	"fmt"
	"math"
	"strings"
	"time"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// controlDelayS is the dead time of Whinchat's control path: play, servos, logger chain.
const controlDelayS = 0.05

// whinchat returns the demo's three configurations. The machine is invented.
func whinchat() []flight.Configuration {
	bare := flight.Configuration{
		Name: "bare head", Note: "as first flown, no bar",
		RotorSpeedRPM: 506, MassKg: 240, HubHeightM: 1.15, RollInertiaKgM2: 68, PitchInertKgM2: 135,
		RotorRadiusM: 3.1, BladeChordM: 0.17, LiftSlope: 5.7, FlapInertiaKg: 23.8,
		AdvanceDeg: 90, CyclicThrowDeg: 8,
	}
	with := func(name, note string, weightKg float64) flight.Configuration {
		c := bare
		c.Name, c.Note = name, note
		c.Bar = &flight.Bar{
			WeightKg: weightKg, WeightAtM: 0.8, InertiaKgM2: 0.16,
			PaddleChordM: 0.12, PaddleFromM: 0.55, PaddleToM: 0.75,
			BarToBlade: 0.5, StickToBlade: 0.6, StickToPaddle: 1,
		}
		return c
	}
	return []flight.Configuration{
		bare,
		with("light bar", "450 g at each end", 0.45),
		with("heavy bar", "1150 g at each end", 1.15),
	}
}

// whinchatHead is the rotor head of one of the configurations.
func whinchatHead(name string) rotor.Head {
	for _, c := range whinchat() {
		if c.Name == name {
			h, _, err := rotor.FromConfiguration(c, rotor.Surroundings{ControlDelayS: controlDelayS})
			if err != nil {
				panic("simulate: " + err.Error())
			}
			return h
		}
	}
	panic("simulate: no configuration " + name)
}

// aircraftText is the demo's aircraft.toml.
func aircraftText() string {
	var b strings.Builder
	b.WriteString(`# Whinchat, an invented light helicopter, and the limits for its first hops.
format = 1
name = "Whinchat"
field = "Marsh End"
rotor_turns = "counter-clockwise"

[limits]
attitude_deg = 12
rate_deg_s = 60
wind_mean_m_s = 6
gust_spread_m_s = 5
control_left_percent = 20

[wind_class]
calm_mean_m_s = 2
gusty_spread_m_s = 3

[anemometer]
distance_constant_m = 1
`)
	for _, c := range whinchat() {
		fmt.Fprintf(&b, "\n[[configuration]]\nname = %q\nnote = %q\n", c.Name, c.Note)
		fmt.Fprintf(&b, "rotor_speed_rpm = %g\nmass_kg = %g\nhub_height_m = %g\nroll_inertia_kg_m2 = %g\npitch_inertia_kg_m2 = %g\n",
			c.RotorSpeedRPM, c.MassKg, c.HubHeightM, c.RollInertiaKgM2, c.PitchInertKgM2)
		fmt.Fprintf(&b, "rotor_radius_m = %g\nblade_chord_m = %g\nlift_slope_per_rad = %g\nflap_inertia_kg_m2 = %g\n",
			c.RotorRadiusM, c.BladeChordM, c.LiftSlope, c.FlapInertiaKg)
		fmt.Fprintf(&b, "advance_angle_deg = %g\ncyclic_throw_deg = %g\n", c.AdvanceDeg, c.CyclicThrowDeg)
		if p := c.Bar; p != nil {
			fmt.Fprintf(&b, "\n[configuration.bar]\nweight_kg = %g\nweight_at_m = %g\ninertia_kg_m2 = %g\n",
				p.WeightKg, p.WeightAtM, p.InertiaKgM2)
			fmt.Fprintf(&b, "paddle_chord_m = %g\npaddle_from_m = %g\npaddle_to_m = %g\n",
				p.PaddleChordM, p.PaddleFromM, p.PaddleToM)
			fmt.Fprintf(&b, "bar_to_blade = %g\nstick_to_blade = %g\nstick_to_paddle = %g\n",
				p.BarToBlade, p.StickToBlade, p.StickToPaddle)
		}
	}
	return b.String()
}

// Air of the demo's days.
func calmAir() Air {
	return Air{Mean: Constant(0.8), DirectionFrom: Constant(1.9), Gusts: 1}
}

func steadyAir(mean float64) Air {
	return Air{Mean: Constant(mean), DirectionFrom: Constant(1.1), Gusts: 2.5}
}

func gustyAir(mean float64) Air {
	return Air{Mean: Constant(mean), DirectionFrom: Constant(1.2), Gusts: 11}
}

// demoPilot suits the configuration: with a bar he leads less and pushes more, with the
// heavy one he goes after drift rather than attitude.
func demoPilot(configuration string) Pilot {
	switch configuration {
	case "light bar":
		return BarPilot()
	case "heavy bar":
		p := BarPilot()
		p.GainPerRad, p.IntegralS = PerAxis{1.0, 1.2}, PerAxis{10, 10}
		p.SpeedRadPerMS, p.PlaceRadPerM = PerAxis{0.06, 0.06}, PerAxis{0.003, 0.003}
		return p
	}
	return BarePilot()
}

// survey are the test inputs of a hop that measures the answer to the stick.
func survey(size float64) []Leg {
	legs := []Leg{
		{Kind: Sweep, Axis: flight.PitchAxis, LengthS: 40, Amplitude: size, AmplitudeEnd: 2 * size, FromRadS: 0.4, ToRadS: 12},
		{Kind: Hover, LengthS: 8},
		{Kind: Sweep, Axis: flight.RollAxis, LengthS: 40, Amplitude: 0.7 * size, AmplitudeEnd: 1.5 * size, FromRadS: 0.4, ToRadS: 12},
		{Kind: Hover, LengthS: 8},
	}
	legs = append(legs, Doublets(flight.PitchAxis, 2, 1.4*size)...)
	return append(legs, Doublets(flight.RollAxis, 2, size)...)
}

// ride is hovering in the wind with a few test inputs.
func ride(size float64, middle ...Leg) []Leg {
	legs := []Leg{{Kind: Hover, LengthS: 45}}
	legs = append(legs, Doublets(flight.PitchAxis, 2, 1.4*size)...)
	legs = append(legs, Doublets(flight.RollAxis, 2, size)...)
	legs = append(legs, middle...)
	return append(legs, Leg{Kind: Hover, LengthS: 40})
}

func still(lengthS float64) []Leg {
	return []Leg{{Kind: HandsStill, LengthS: lengthS}, {Kind: Hover, LengthS: 18}}
}

// demoHops are the hops of the demo logbook, in the order they were flown.
func demoHops() []demoHop {
	day := func(d, hour, minute int) time.Time { return time.Date(2031, 5, d, hour, minute, 0, 0, time.UTC) }
	fly := func(name, configuration string, at time.Time, seed uint64, air Air, knocks bool, legs []Leg) Scenario {
		s := UsualSensors()
		s.CupDistanceM = 1
		return Scenario{
			Name: name, Seed: seed, Head: whinchatHead(configuration), Pilot: demoPilot(configuration),
			Air: air, Sensors: s, Trim: UsualTrim(), StartedAt: at, HeadingRad: 0.7, Legs: Whole(knocks, legs...),
		}
	}
	grow := Leg{Kind: Growing, Axis: flight.RollAxis, LengthS: 16, GainFactor: 2.5, LimitRad: 0.18}
	return []demoHop{
		{fly("2031-05-03-a", "bare head", day(3, 5, 40), 3101, calmAir(), false, append(survey(0.04), still(6)...)),
			oneRecorder(), "First hop of the season, dew on the grass. Easy in still air. One recorder, wind read off the hand-held meter.", nil},
		{fly("2031-05-03-b", "light bar", day(3, 6, 25), 3102, calmAir(), true, append(survey(0.08), still(8)...)),
			twoBoxes(true), "Light bar on. Stick box knocked together with the attitude box before and after.", nil},
		{fly("2031-05-04-a", "bare head", day(4, 9, 10), 3103, steadyAir(4), false, append(survey(0.045), Leg{Kind: Hover, LengthS: 30})),
			threeLoggers(), "Smooth wind off the marsh, on the nose. No worse than calm.", nil},
		{fly("2031-05-10-a", "bare head", day(10, 13, 5), 3104, gustyAir(4.6), false,
			ride(0.05, Leg{Kind: Hover, LengthS: 12}, grow, Leg{Kind: Hover, LengthS: 25})),
			threeLoggers(), "Gusts over the tree line. Hard work, and once it got away from me in roll: let go, it came back.", nil},
		{fly("2031-05-10-b", "light bar", day(10, 14, 20), 3105, gustyAir(4.6), false,
			append(ride(0.09), survey(0.09)[:3]...)),
			threeLoggers(), "Same gusts with the light bar. Much better.", gustyPlan()},
		{fly("2031-05-11-a", "heavy bar", day(11, 12, 30), 3106, gustyAir(4.6), false,
			append(ride(0.09), survey(0.09)[:3]...)),
			threeLoggers(), "Heavy bar. Sharp gusts hardly move it now, but it wanders, takes its time to settle and wants to nod.", nil},
		{fly("2031-05-11-b", "heavy bar", day(11, 18, 15), 3107, steadyAir(3), false, append(survey(0.09), still(8)...)),
			twoBoxes(false), "Forgot the knocks, and the stick box has no clock of its own. Evening, smooth.", nil},
	}
}

// gustyPlan is the card before the hop with the light bar in gusts. Hands still was planned
// too; in those gusts nobody let go.
func gustyPlan() *flight.Plan {
	input := func(kind flight.SegmentKind, axis flight.Axis, count int, lengthS, size, end float64) flight.PlannedInput {
		i := flight.PlannedInput{Kind: kind, Axis: axis, Count: count, LengthS: lengthS, SizePercent: size, SizeEndPercent: end}
		if kind == flight.Sweep {
			i.FromRadS, i.ToRadS = 0.4, 12
		}
		return i
	}
	return &flight.Plan{
		Format: flight.SettingsFormat, Configuration: "light bar", LastHop: "2031-05-10-a", Step: flight.NextStep,
		Changed: []string{"bar added, 450 g at each end"}, WishMS: 10,
		Limits: flight.Limits{AttitudeDeg: 12, RateDegS: 60, WindMeanMS: 6, GustSpreadMS: 5, ControlLeftPercent: 20}.OrDefault(),
		Inputs: []flight.PlannedInput{
			input(flight.Doublet, flight.PitchAxis, 2, 1.6, 12.6, 0), input(flight.Doublet, flight.RollAxis, 2, 1.6, 9, 0),
			input(flight.Sweep, flight.PitchAxis, 1, 40, 9, 18), input(flight.Sweep, flight.RollAxis, 1, 40, 6.3, 13.5),
			input(flight.HandsStill, "", 2, 5, 0, 0), input(flight.Hover, "", 1, 45, 0, 0),
		},
	}
}

// column is short for the dresses below.
func column(name string, q flight.Quantity, u flight.Unit, decimals int) ColumnDress {
	return ColumnDress{Name: name, Quantity: q, Unit: u, Decimals: decimals}
}

// oneRecorder is a single wide log and a page of wind readings.
func oneRecorder() Dress {
	return Dress{
		Files: []FileDress{{
			Name: "recorder.csv", RateHz: 100, Time: TimeDress{Name: "time_s", Form: Seconds, Decimals: 2},
			Columns: []ColumnDress{
				column("roll_deg", flight.Roll, flight.Deg, 2), column("pitch_deg", flight.Pitch, flight.Deg, 2),
				column("heading_deg", flight.Heading, flight.Deg, 1), column("p_deg_s", flight.RollRate, flight.DegPerS, 2),
				column("q_deg_s", flight.PitchRate, flight.DegPerS, 2), column("r_deg_s", flight.YawRate, flight.DegPerS, 2),
				column("ax_m_s2", flight.AccelX, flight.MPerS2, 2), column("ay_m_s2", flight.AccelY, flight.MPerS2, 2),
				column("az_m_s2", flight.AccelZ, flight.MPerS2, 2), column("stick_lon_percent", flight.LonStick, flight.Percent, 1),
				column("stick_lat_percent", flight.LatStick, flight.Percent, 1), column("rotor_rpm", flight.RotorSpeed, flight.RPM, 0),
			},
		}},
		NotesFile: "wind-notes.csv", NoteTimesS: []float64{60, 120, 180, 240},
	}
}

// twoBoxes is an attitude box and a stick box, each with a clock of its own; without knocks
// nothing tells one from the other.
func twoBoxes(knocks bool) Dress {
	stick := FileDress{
		Name: "stick-box.csv", RateHz: 50, ClockOffsetS: 41.27, ClockPPM: 62, FromS: 0.8,
		Time: TimeDress{Name: "t [s]", Form: Seconds, Decimals: 4},
		Columns: []ColumnDress{
			{Name: "lat stick [counts]", Quantity: flight.LatStick, Unit: flight.Counts, Neutral: 509, FullThrow: 462, Dead: 1},
			{Name: "lon stick [counts]", Quantity: flight.LonStick, Unit: flight.Counts, Neutral: 503, FullThrow: 458, Dead: 1},
		},
	}
	if knocks {
		stick.Columns = append(stick.Columns, column("knock [g]", flight.Knock, flight.G, 3))
	}
	return Dress{Files: []FileDress{{
		Name: "attitude-box.csv", RateHz: 100, ClockOffsetS: 12.5,
		Time: TimeDress{Name: "time [ms]", Form: Milliseconds},
		Columns: []ColumnDress{
			column("roll [deg]", flight.Roll, flight.Deg, 2), column("pitch [deg]", flight.Pitch, flight.Deg, 2),
			column("yaw [deg]", flight.Heading, flight.Deg, 2), column("gyro x [deg/s]", flight.RollRate, flight.DegPerS, 2),
			column("gyro y [deg/s]", flight.PitchRate, flight.DegPerS, 2), column("gyro z [deg/s]", flight.YawRate, flight.DegPerS, 2),
			column("acc x [m/s2]", flight.AccelX, flight.MPerS2, 2), column("acc y [m/s2]", flight.AccelY, flight.MPerS2, 2),
			column("acc z [m/s2]", flight.AccelZ, flight.MPerS2, 2),
		},
	}, stick}}
}

// threeLoggers is attitude, stick and mast, all stamped in UTC, written the continental way.
func threeLoggers() Dress {
	utc := TimeDress{Name: "utc", Form: ISO, Decimals: 3}
	up := column("az_g", flight.AccelZ, flight.G, 3)
	up.Sign = -1
	return Dress{
		Files: []FileDress{
			{Name: "attitude.csv", RateHz: 50, Time: utc, Delimiter: ';', DecimalComma: true, CRLF: true,
				Comments: []string{"# attitude logger, behind the seat"},
				Columns: []ColumnDress{
					column("p_rad_s", flight.RollRate, flight.RadPerS, 4), column("q_rad_s", flight.PitchRate, flight.RadPerS, 4),
					column("r_rad_s", flight.YawRate, flight.RadPerS, 4), column("roll_deg", flight.Roll, flight.Deg, 2),
					column("pitch_deg", flight.Pitch, flight.Deg, 2), column("heading_deg", flight.Heading, flight.Deg, 2),
					column("ax_g", flight.AccelX, flight.G, 3), column("ay_g", flight.AccelY, flight.G, 3), up,
					column("height_m", flight.Height, flight.Metre, 2), column("rotor_rpm", flight.RotorSpeed, flight.RPM, 0),
				}},
			{Name: "stick.csv", RateHz: 50, Time: utc, FromS: 0.4107,
				Columns: []ColumnDress{
					{Name: "stick_lat", Quantity: flight.LatStick, Unit: flight.UnitTravel, Decimals: 4},
					{Name: "stick_lon", Quantity: flight.LonStick, Unit: flight.UnitTravel, Decimals: 4},
					{Name: "collective", Quantity: flight.Collective, Unit: flight.UnitTravel, Decimals: 3},
				}},
			{Name: "mast.csv", RateHz: 4, Time: utc, Delimiter: '\t', UnitsRow: true,
				Columns: []ColumnDress{
					{Name: "wind speed", UnitText: "m/s", Quantity: flight.WindSpeed, Unit: flight.MPerS, Decimals: 2},
					{Name: "wind direction", UnitText: "deg", Quantity: flight.WindDirectionFrom, Unit: flight.Deg, Decimals: 0},
				}},
		},
	}
}

// crewMarks are what the ground crew wrote down, to the second and a little late.
func crewMarks(f *Flight) []flight.MarkSettings {
	marks := []flight.MarkSettings{{TimeS: math.Round(f.Truth.Flight.FromS + 2), Text: "light on the skids"}}
	for _, g := range f.Truth.Growing {
		marks = append(marks, flight.MarkSettings{TimeS: math.Round(g.Span.ToS + 1.5), Text: "rocking, pilot let go"})
	}
	return append(marks, flight.MarkSettings{TimeS: math.Round(f.Truth.Flight.ToS + 1), Text: "down"})
}
