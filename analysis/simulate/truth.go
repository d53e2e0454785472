package simulate

import (
	"math"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// Truth is what is exactly known about a flight.
type Truth struct {
	Head            rotor.Head
	Model           *rotor.Model
	PhasingErrorRad float64
	Modes           []rotor.Mode // stick held
	// Bandwidth of pitch to the longitudinal and roll to the lateral stick.
	PitchBandwidth, RollBandwidth rotor.Bandwidth
	Legs                          []LegTruth
	Flight                        flight.Span // lift-off start to landing end
	Turning                       flight.Span // rotor above 1 % of its speed
	// Growing lists the oscillations that were let grow, by pilot or airframe.
	Growing []Growth
	// AtStop lists when a stick stood within 10 % of a stop, AtEnd when it touched it.
	AtStop, AtEnd []Excess
	// Over10Deg and Over15Deg list when an attitude was beyond that, from level.
	Over10Deg, Over15Deg []Excess
	// Wind of the flight, at the aircraft and at the mast.
	WindAtCraft, WindAtMast WindTruth
}

// LegTruth is a leg as it was flown.
type LegTruth struct {
	Leg  Leg
	Span flight.Span
}

// Growth is one growing oscillation.
type Growth struct {
	Axis         flight.Axis
	Span         flight.Span // while it was let grow
	LetGoToS     float64
	PeakRad      float64 // attitude from trim
	Passed       bool    // it reached its limit, not only its time
	GainFactor   float64
	PilotCoupled bool // else the airframe by itself
	// Of the fastest growing mode of the linear loop; NaN if none grows.
	GrowthPerS, FrequencyRadS float64
}

// Excess is an interval beyond a limit.
type Excess struct {
	Axis     flight.Axis
	Span     flight.Span
	Peak     float64 // rad, or fraction of travel, with its sign
	InFlight bool
}

// WindTruth holds the statistics of the wind over the flight.
type WindTruth struct {
	MeanMS, SDMS      float64
	Gust3sMS, Lull3MS float64
	// From the mean flow vector.
	DirectionFromRad float64
}

func (t *Truth) add(l Leg, s flight.Span) { t.Legs = append(t.Legs, LegTruth{l, s}) }

func (t *Truth) last() LegTruth { return t.Legs[len(t.Legs)-1] }

// complete fills in what follows from the flown histories.
func (t *Truth) complete(f *Flight, m *rotor.Model) {
	h := f.Scenario.Head
	t.Head, t.Model, t.PhasingErrorRad = h, m, h.PhasingErrorRad()
	t.Modes = m.Modes()
	t.PitchBandwidth = m.Bandwidth(rotor.LonStick, rotor.Pitch)
	t.RollBandwidth = m.Bandwidth(rotor.LatStick, rotor.Roll)
	for _, l := range t.Legs {
		switch {
		case l.Leg.Kind == LiftOff && t.Flight.ToS == 0:
			t.Flight = flight.Span{FromS: l.Span.FromS, ToS: f.DurationS()}
		case l.Leg.Kind == Landing:
			t.Flight.ToS = l.Span.ToS
		case l.Leg.Destabilise != 0:
			t.Growing = append(t.Growing, airframeGrowth(f, m, l))
		}
	}
	t.Turning = turning(f)
	const deg = math.Pi / 180
	for _, a := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
		t.AtStop = append(t.AtStop, t.beyond(f, a, f.Stick(a), 0.9)...)
		t.AtEnd = append(t.AtEnd, t.beyond(f, a, f.Stick(a), 0.9999)...)
		t.Over10Deg = append(t.Over10Deg, t.beyond(f, a, f.Attitude(a), 10*deg)...)
		t.Over15Deg = append(t.Over15Deg, t.beyond(f, a, f.Attitude(a), 15*deg)...)
	}
	if t.Flight.ToS > 0 {
		t.WindAtCraft = windTruth(f, f.WindNorth, f.WindEast, t.Flight)
		t.WindAtMast = windTruth(f, f.MastNorth, f.MastEast, t.Flight)
	}
}

// beyond lists the intervals in which |y| is at or above level.
func (t *Truth) beyond(f *Flight, a flight.Axis, y []float64, level float64) []Excess {
	var list []Excess
	for k := 0; k < len(y); k++ {
		if math.Abs(y[k]) < level {
			continue
		}
		e := Excess{Axis: a, Span: flight.Span{FromS: float64(k) * f.StepS}, Peak: y[k]}
		for ; k < len(y) && math.Abs(y[k]) >= level; k++ {
			if math.Abs(y[k]) > math.Abs(e.Peak) {
				e.Peak = y[k]
			}
		}
		e.Span.ToS = float64(k) * f.StepS
		e.InFlight = t.Flight.Contains(e.Span.FromS)
		list = append(list, e)
	}
	return list
}

func turning(f *Flight) flight.Span {
	var s flight.Span
	for k, v := range f.RotorSpeed {
		if v > 0.01*f.Scenario.Head.RotorSpeedRadS {
			if s.ToS == 0 {
				s.FromS = float64(k) * f.StepS
			}
			s.ToS = float64(k+1) * f.StepS
		}
	}
	return s
}

// windTruth takes the statistics at every step; gust and lull are of the 3 s running mean
// (WMO-No. 8).
func windTruth(f *Flight, north, east []float64, s flight.Span) WindTruth {
	from, to := int(s.FromS/f.StepS), min(int(s.ToS/f.StepS), len(north))
	n := to - from
	sum := make([]float64, n+1) // running sum of speed
	squares, vn, ve := 0.0, 0.0, 0.0
	for k := range n {
		v := math.Hypot(north[from+k], east[from+k])
		sum[k+1] = sum[k] + v
		squares += v * v
		vn += north[from+k]
		ve += east[from+k]
	}
	w := WindTruth{MeanMS: sum[n] / float64(n), DirectionFromRad: wrap(math.Atan2(-ve, -vn))}
	w.SDMS = math.Sqrt(max(squares/float64(n)-w.MeanMS*w.MeanMS, 0))
	w.Gust3sMS, w.Lull3MS = 0, math.Inf(1)
	three := int(math.Round(3 / f.StepS))
	for k := 0; k+three <= n; k++ {
		m := (sum[k+three] - sum[k]) / float64(three)
		w.Gust3sMS, w.Lull3MS = max(w.Gust3sMS, m), min(w.Lull3MS, m)
	}
	return w
}

// wrap puts an angle into [0, 2 pi).
func wrap(rad float64) float64 {
	rad = math.Mod(rad, 2*math.Pi)
	if rad < 0 {
		rad += 2 * math.Pi
	}
	return rad
}

// StickToAttitude returns the exact response of an axis to its own stick, rad per fraction
// of full travel.
func (t *Truth) StickToAttitude(a flight.Axis, omegaRadS []float64) []complex128 {
	in, att, _, _ := ends(a)
	return t.Model.Response(in, att, omegaRadS)
}

// StickToRate returns the exact response of an axis's rate to its own stick.
func (t *Truth) StickToRate(a flight.Axis, omegaRadS []float64) []complex128 {
	in, _, rate, _ := ends(a)
	return t.Model.Response(in, rate, omegaRadS)
}

// CrossToAttitude returns the exact response of an axis's attitude to the other stick.
func (t *Truth) CrossToAttitude(a flight.Axis, omegaRadS []float64) []complex128 {
	_, att, _, _ := ends(a)
	in := rotor.LatStick
	if a == flight.RollAxis {
		in = rotor.LonStick
	}
	return t.Model.Response(in, att, omegaRadS)
}

// GustToAttitude returns the exact response of pitch to head wind, or of roll to wind from
// the right, with the sticks held, rad per m/s.
func (t *Truth) GustToAttitude(a flight.Axis, omegaRadS []float64) []complex128 {
	_, att, _, wind := ends(a)
	return t.Model.Response(wind, att, omegaRadS)
}

func ends(a flight.Axis) (stick rotor.Input, attitude, rate rotor.State, wind rotor.Input) {
	if a == flight.RollAxis {
		return rotor.LatStick, rotor.Roll, rotor.RollRate, rotor.WindFromRight
	}
	return rotor.LonStick, rotor.Pitch, rotor.PitchRate, rotor.HeadWind
}
