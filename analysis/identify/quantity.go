package identify

import (
	"math"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// quantity is one number of a head that hops may tell.
type quantity struct {
	key, name string
	unit      flight.Unit
	positive  bool
	// widest is the half width of an interval beyond which nothing is told, in the logarithm
	// for positive numbers.
	widest float64
	of     func(h rotor.Head) float64
	// hint is what flying would tell it.
	hint string
	// assumed says that aircraft.toml does not give it: the model's usual value stands there.
	assumed bool
}

const perDeg = 180 / math.Pi

// widestFactor is high over low of the widest interval of a positive number.
const widestFactor = 10

// quantities lists what a head has, in the order of a card.
func quantities(h rotor.Head, s rotor.Surroundings) []quantity {
	factor := math.Log(widestFactor) / 2
	sweeps := "sweeps or doublets in "
	list := []quantity{}
	add := func(q quantity) {
		if q.positive {
			q.widest = factor
		}
		list = append(list, q)
	}
	if h.StickToBlade > 0 {
		add(quantity{key: "stick_gain", name: "blade pitch at full stick, straight", unit: flight.Deg, positive: true, hint: sweeps + "roll or pitch",
			of: func(h rotor.Head) float64 { return h.ThrowRad * h.StickToBlade * perDeg }})
	}
	if h.HasBar() && h.StickToPaddle > 0 {
		add(quantity{key: "paddle_gain", name: "paddle pitch at full stick", unit: flight.Deg, positive: true,
			hint: "sweeps that begin well below one over the bar's following time",
			of:   func(h rotor.Head) float64 { return h.ThrowRad * h.StickToPaddle * perDeg }})
	}
	add(quantity{key: "disc_following_time", name: "following time of the disc", unit: flight.Second, positive: true,
		hint: "quick test inputs, beyond 8 rad/s, which tell it from the dead time", of: rotor.Head.DiscTimeS})
	if h.HasBar() {
		add(quantity{key: "bar_following_time", name: "following time of the bar", unit: flight.Second, positive: true,
			hint: "sweeps that begin well below one over that time", of: func(h rotor.Head) float64 { return h.BarTimeS }})
		add(quantity{key: "bar_to_blade", name: "bar tilt into blade pitch", positive: true,
			hint: "sweeps in roll and pitch", of: func(h rotor.Head) float64 { return h.BarToBlade }})
	}
	add(quantity{key: "flap_back", name: "flap-back with speed", unit: flight.Unit("deg per m/s"), positive: true, assumed: true,
		hint: "slow test inputs, below 1 rad/s, or gusts with a logged wind", of: func(h rotor.Head) float64 { return h.SpeedTiltRadPerMS() * perDeg }})
	for _, a := range []struct {
		axis flight.Axis
		of   func(rotor.Head) float64
	}{{flight.RollAxis, rotor.Head.RollStiffnessPerS2}, {flight.PitchAxis, rotor.Head.PitchStiffnessPerS2}} {
		add(quantity{key: string(a.axis) + "_stiffness", name: string(a.axis) + " acceleration per disc tilt", unit: flight.Unit("1/s2"), positive: true,
			hint: sweeps + string(a.axis), of: a.of})
	}
	add(quantity{key: "dead_time", name: "dead time of the controls", unit: flight.Second, widest: 0.05, assumed: s.ControlDelayS == 0,
		hint: "quick test inputs, beyond 8 rad/s, with stick and attitude on one clock", of: func(h rotor.Head) float64 { return h.DelayS }})
	add(quantity{key: "phasing_error", name: "phasing error", unit: flight.Deg, widest: 10,
		hint: sweeps + "both axes", of: func(h rotor.Head) float64 { return h.PhasingErrorRad() * perDeg }})
	return list
}

// value is the quantity on the scale its error is normal on.
func (q quantity) value(h rotor.Head) float64 {
	v := q.of(h)
	if q.positive {
		return math.Log(v)
	}
	return v
}

// estimate turns a value on that scale with its half width into an estimate.
func (q quantity) estimate(v, half float64) flight.Estimate {
	e := flight.Estimate{Value: v, Low: v - half, High: v + half}
	if q.positive {
		e = flight.Estimate{Value: math.Exp(e.Value), Low: math.Exp(e.Low), High: math.Exp(e.High)}
	}
	return e
}

// unknowns are the parameters that a hop's data may tell of a head.
func unknowns(h rotor.Head, data rotor.Data) []rotor.Unknown {
	list := []rotor.Unknown{rotor.UnknownThrow, rotor.UnknownLockNumber, rotor.UnknownSpeedTilt}
	seen := map[rotor.State]bool{}
	for _, m := range data.Responses {
		seen[m.Output] = true
	}
	if seen[rotor.Roll] || seen[rotor.RollRate] {
		list = append(list, rotor.UnknownRollInertia)
	}
	if seen[rotor.Pitch] || seen[rotor.PitchRate] {
		list = append(list, rotor.UnknownPitchInertia)
	}
	if h.HasBar() {
		list = append(list, rotor.UnknownBarTime, rotor.UnknownBarToBlade)
		if h.StickToBlade > 0 && h.StickToPaddle > 0 {
			list = append(list, rotor.UnknownStickToPaddle)
		}
	}
	list = append(list, rotor.UnknownDelay)
	if data.PhasingRad != nil {
		list = append(list, rotor.UnknownAdvance)
	}
	return list
}

// wholeData is of a hop that measured everything a fit can use.
func wholeData() rotor.Data {
	return rotor.Data{Responses: []rotor.Measured{{Output: rotor.Roll}, {Output: rotor.Pitch}}, PhasingRad: &rotor.Scalar{}}
}
