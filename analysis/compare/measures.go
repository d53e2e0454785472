package compare

import (
	"fmt"
	"math"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

const degPerRad = 180 / math.Pi

// gauge is one way to take a measure from a hop. It returns nil and the reason where the
// hop does not give it; class is empty where the air does not matter.
type gauge func(d *debrief.Debrief, class wind.Class) (*flight.Estimate, string)

// measure is one key number of one axis.
type measure struct {
	key, name string
	axis      flight.Axis
	unit      flight.Unit
	k         float64 // from the estimate's unit to unit
	ratio     bool    // compared by ratio, in percent
	air       bool    // compared within one class of air only
	headline  bool
	// severalHops says why one hop a side cannot tell it, empty if it can.
	severalHops string
	// worth is the least difference worth knowing, in unit, or as a share for ratios.
	worth float64
	// The words before and after the amount, where B is more and where it is less; %s is
	// the amount.
	more, less string
	warning    string
	// gauges are tried in turn: the one that most hops give is used for all.
	gauges []gauge
	// same returns a text that must be the same for all hops, and what it is called.
	same func(d *debrief.Debrief) string
	of   string
	// near is the largest ratio of like(d) between hops, 0 for any.
	near float64
	like func(d *debrief.Debrief) float64
	// flying is what settles it: "with sweeps", for the advice.
	flying string
}

const percent = flight.Unit("%")

// measures lists every measure, in the order of the table.
func measures() []measure {
	var list []measure
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		list = append(list, answers(axis)...)
		list = append(list, damping(axis))
		list = append(list, gusts(axis)...)
		list = append(list, flown(axis)...)
		list = append(list, margins(axis)...)
	}
	return append(list, phasing())
}

// answers are of the aircraft to its stick.
func answers(axis flight.Axis) []measure {
	type r = response.Result
	from := func(out response.Output, get func(*r) *flight.Estimate) gauge {
		return func(d *debrief.Debrief, _ wind.Class) (*flight.Estimate, string) {
			return fromResponse(d, axis, out, get)
		}
	}
	a := string(axis)
	ms := func(key, name string, worthMS float64, more, less string, gauges ...gauge) measure {
		return measure{key: a + "_" + key, name: name, axis: axis, unit: flight.Unit("ms"), k: 1e3, worth: worthMS,
			more: more, less: less, gauges: gauges, flying: "with sweeps or doublets in " + a}
	}
	lag := ms("correlation_lag", "correlation lag", 30, a+" rate follows the stick %s later", a+" rate follows the stick %s sooner",
		from(response.Rate, func(x *r) *flight.Estimate { return x.CorrelationLagS }))
	lag.severalHops = "depends on how the stick was moved"
	lag.warning = "depends on how the stick was moved: only hops flown with the same inputs compare"
	lag.same, lag.of = func(d *debrief.Debrief) string { return inputsFlown(d, axis) }, "test inputs"
	// Of the stick moved in one and the same way, so that two hops compare whatever was flown.
	doublet := ms("doublet_lag", "lag of a standard doublet", 30, a+" rate follows a doublet of the stick %s later",
		a+" rate follows a doublet of the stick %s sooner", from(response.Rate, func(x *r) *flight.Estimate { return x.DoubletLagS }))
	phase := measure{key: a + "_phase_lag_1_hz", name: "phase lag at 1 Hz", axis: axis, unit: flight.Deg, k: -1, worth: 10, headline: true,
		more: "at 1 Hz " + a + " is %s further behind the stick", less: "at 1 Hz " + a + " is %s less behind the stick",
		gauges: []gauge{from(response.Attitude, phaseAt(2*math.Pi))}, flying: lag.flying}
	rad := func(key, name string, get func(*r) *flight.Estimate) measure {
		return measure{key: a + "_" + key, name: name, axis: axis, unit: flight.RadPerS, k: 1, ratio: true, worth: 0.15,
			more: a + " " + name + " is %s higher", less: a + " " + name + " is %s lower",
			gauges: []gauge{from(response.Attitude, get)}, flying: lag.flying}
	}
	bandwidth := rad("bandwidth", "bandwidth", func(x *r) *flight.Estimate { return x.BandwidthRadS })
	bandwidth.headline = true
	transport := func(x *r) *flight.Estimate { return x.TransportDelayS }
	effective := func(x *r) *flight.Estimate { return x.EffectiveDelayS }
	dead := ms("transport_delay", "transport delay", 20, "dead time of "+a+" is %s longer", "dead time of "+a+" is %s shorter",
		from(response.Rate, transport), from(response.Attitude, transport))
	// Its interval leaves out that another model may have been chosen: between single hops
	// in gusts it called one pair of equals in fifteen different.
	dead.severalHops = "depends on which model fitted"
	return []measure{
		lag, doublet, phase, dead,
		ms("effective_delay", "effective delay", 20, "effective delay of "+a+" is %s longer", "effective delay of "+a+" is %s shorter",
			from(response.Rate, effective), from(response.Attitude, effective)),
		ms("phase_delay", "phase delay", 20, "phase delay of "+a+" is %s longer", "phase delay of "+a+" is %s shorter",
			from(response.Attitude, func(x *r) *flight.Estimate { return x.PhaseDelayS })),
		bandwidth,
		rad("w180", "frequency of 180 deg lag", func(x *r) *flight.Estimate { return x.W180RadS }),
	}
}

func fromResponse(d *debrief.Debrief, axis flight.Axis, out response.Output, get func(*response.Result) *flight.Estimate) (*flight.Estimate, string) {
	seen := false
	for i := range d.Responses {
		if x := &d.Responses[i]; x.Axis == axis && x.Input == axis.Stick() && x.Output == out {
			seen = true
			if e := get(x); e != nil {
				return e, ""
			}
		}
	}
	if !seen {
		return nil, "no answer of " + string(axis) + " to the stick"
	}
	return nil, "not measured"
}

func phaseAt(omegaRadS float64) func(*response.Result) *flight.Estimate {
	return func(x *response.Result) *flight.Estimate {
		for i := range x.Lag {
			if math.Abs(x.Lag[i].FrequencyRadS-omegaRadS) < 1e-6 {
				return &x.Lag[i].PhaseDeg
			}
		}
		return nil
	}
}

// inputsFlown names the kinds of test input in an axis.
func inputsFlown(d *debrief.Debrief, axis flight.Axis) string {
	text := ""
	for _, kind := range []flight.SegmentKind{flight.Sweep, flight.Steps, flight.Doublet, flight.Rap} {
		for _, s := range d.Segments {
			if s.Kind == kind && s.Axis == axis {
				if text != "" {
					text += " and "
				}
				text += string(kind)
				break
			}
		}
	}
	if text == "" {
		return "no test input"
	}
	return text
}

// damping is that of the best measured mode of the axis.
func damping(axis flight.Axis) measure {
	a := string(axis)
	mode := func(d *debrief.Debrief) *stability.Mode { return bestMode(d, axis) }
	return measure{key: a + "_damping_ratio", name: "damping ratio", axis: axis, k: 1, worth: 0.05,
		more: "the swing in " + a + " is damped more, by %s of damping ratio", less: "the swing in " + a + " is damped less, by %s of damping ratio",
		gauges: []gauge{func(d *debrief.Debrief, _ wind.Class) (*flight.Estimate, string) {
			if m := mode(d); m != nil {
				return m.DampingRatio, ""
			}
			return nil, "no swing measured"
		}},
		near: 1.6, of: "swings, in rad/s",
		like: func(d *debrief.Debrief) float64 {
			if m := mode(d); m != nil {
				return m.FrequencyRadS.Value
			}
			return math.NaN()
		},
		flying: "with hands still in " + a,
	}
}

// bestMode is the mode of the axis whose damping has the narrowest interval.
func bestMode(d *debrief.Debrief, axis flight.Axis) *stability.Mode {
	var best *stability.Mode
	for i := range d.Stability.Modes {
		m := &d.Stability.Modes[i]
		if m.Axis != axis || m.DampingRatio == nil || !m.DampingRatio.HasInterval() || m.FrequencyRadS == nil || !(m.FrequencyRadS.Value > 0) {
			continue
		}
		if best == nil || m.DampingRatio.High-m.DampingRatio.Low < best.DampingRatio.High-best.DampingRatio.Low {
			best = m
		}
	}
	return best
}

// gusts are the answers to gusts, per speed of gust.
func gusts(axis flight.Axis) []measure {
	a := string(axis)
	var list []measure
	add := func(key, name, more, less, flying string, k float64, unit flight.Unit, headline bool, g gauge) {
		list = append(list, measure{key: a + "_" + key, name: name, axis: axis, unit: unit, k: k, ratio: true, air: true,
			headline: headline, worth: 0.2, more: more, less: less, gauges: []gauge{g}, flying: flying})
	}
	const unit = flight.Unit("deg per m/s")
	for _, held := range []bool{true, false} {
		for _, band := range [][2]float64{{0.3, 0.6}, {0.6, 1.2}, {1.2, 2.4}, {2.4, 4.8}} {
			who, key := "with the pilot flying", "gust_with_pilot"
			if held {
				who, key = "with the stick held", "gust_stick_held"
			}
			text := fmt.Sprintf("gusts of %g to %g rad/s throw %s %%s", band[0], band[1], a)
			add(fmt.Sprintf("%s_%g_%g", key, band[0], band[1]), fmt.Sprintf("gust %g to %g rad/s, %s", band[0], band[1], who[len("with the "):]),
				text+" more "+who, text+" less "+who, "", degPerRad, unit, held && band[0] == 1.2, inBand(axis, band, held))
		}
	}
	add("gust_peak", "peak after a gust", "a gust throws "+a+" %s further, pilot flying", "a gust throws "+a+" %s less far, pilot flying", "",
		degPerRad, unit, false, fromEvents(axis, func(e *wind.Events) *flight.Estimate { return e.PeakRadPerMS }))
	add("gust_settle", "time to settle after a gust", a+" takes %s longer to settle after a gust", a+" takes %s less time to settle after a gust", "",
		1, flight.Second, false, fromEvents(axis, func(e *wind.Events) *flight.Estimate { return e.SettleS }))
	return list
}

// inClass reports whether the whole flight was in that class of air.
func inClass(d *debrief.Debrief, class wind.Class) bool { return classOf(d) == class }

// classOf is the class of air of the whole flight, empty if no wind was measured;
// an estimate made on board from the aircraft's own motion is none.
func classOf(d *debrief.Debrief) wind.Class {
	if d.Wind.Whole == nil || d.Wind.OnBoard {
		return ""
	}
	return d.Wind.Whole.Class
}

// inBand is the answer to gusts in a band. With the stick held it is that of the class's own
// seconds, also of hops that flew in several kinds of air.
func inBand(axis flight.Axis, band [2]float64, held bool) gauge {
	return func(d *debrief.Debrief, class wind.Class) (*flight.Estimate, string) {
		if held {
			if e := heldInClass(d, axis, band, class); e != nil {
				return e, ""
			}
		}
		if !inClass(d, class) {
			return nil, "other air"
		}
		for i := range d.Wind.Gusts {
			g := &d.Wind.Gusts[i]
			if g.Axis != axis || !sameBand(g.BandRadS, band) {
				continue
			}
			if held && g.RadPerMS != nil {
				return g.RadPerMS, ""
			}
			if !held && g.PilotInLoopRadPerMS != nil {
				return g.PilotInLoopRadPerMS, ""
			}
		}
		return nil, "not measured"
	}
}

func sameBand(a, b [2]float64) bool {
	return math.Abs(a[0]-b[0]) < 1e-6 && math.Abs(a[1]-b[1]) < 1e-6
}

// heldInClass is the answer of one class's own seconds, nil if they do not tell it. It is
// taken with all of its interval: by the standard error from scatter alone, as if the
// anemometer hid the same on every hop, equal configurations were told apart in 8 of 60
// drawn sets, all by calm air.
func heldInClass(d *debrief.Debrief, axis flight.Axis, band [2]float64, class wind.Class) *flight.Estimate {
	if d.Wind.OnBoard {
		return nil
	}
	for _, row := range d.Wind.Classes {
		if row.Class != class {
			continue
		}
		for i := range row.Answers {
			if a := &row.Answers[i]; a.Axis == axis && a.Input == ownGust(axis) && sameBand(a.BandRadS, band) && a.RadPerMS != nil {
				return a.RadPerMS
			}
		}
	}
	return nil
}

// ownGust is the component that an axis answers.
func ownGust(axis flight.Axis) wind.Component {
	if axis == flight.RollAxis {
		return wind.CrossGust
	}
	return wind.HeadGust
}

func fromEvents(axis flight.Axis, get func(*wind.Events) *flight.Estimate) gauge {
	return func(d *debrief.Debrief, class wind.Class) (*flight.Estimate, string) {
		if !inClass(d, class) {
			return nil, "other air"
		}
		for i := range d.Wind.Events {
			if e := &d.Wind.Events[i]; e.Axis == axis {
				if v := get(e); v != nil {
					size := *v
					if size.Value < 0 {
						size = size.Times(-1)
					}
					return &size, ""
				}
			}
		}
		return nil, "not measured"
	}
}

// flown is what aircraft and stick did in the hover.
func flown(axis flight.Axis) []measure {
	a := string(axis)
	of := func(key, name string, unit flight.Unit, k float64, what series, more, less string) measure {
		return measure{key: a + "_" + key, name: name, axis: axis, unit: unit, k: k, ratio: true, air: true, worth: 0.2,
			severalHops: "the air of no two hops is alike",
			more:        more, less: less, gauges: []gauge{func(d *debrief.Debrief, class wind.Class) (*flight.Estimate, string) {
				return rmsIn(d, axis, class, what)
			}}}
	}
	return []measure{
		of("attitude_rms", "rms of attitude in the hover", flight.Deg, degPerRad, attitude, a+" wanders %s more in the hover", a+" wanders %s less in the hover"),
		of("stick_rms", "rms of the stick in the hover", flight.Percent, 100, stick, "the pilot moves the "+a+" stick %s more", "the pilot moves the "+a+" stick %s less"),
		of("stick_speed_rms", "rms of stick speed in the hover", flight.Unit("%/s"), 100, stickSpeed, "the pilot moves the "+a+" stick %s faster", "the pilot moves the "+a+" stick %s slower"),
	}
}

// margins are of pilot and aircraft together.
func margins(axis flight.Axis) []measure {
	a := string(axis)
	of := func(key, name string, unit flight.Unit, worth float64, get func(*stability.Margin) *flight.Estimate) measure {
		return measure{key: a + "_" + key, name: name, axis: axis, unit: unit, k: 1, air: true, worth: worth,
			more: name + " in " + a + " is %s larger", less: name + " in " + a + " is %s smaller",
			gauges: []gauge{func(d *debrief.Debrief, class wind.Class) (*flight.Estimate, string) {
				if !inClass(d, class) {
					return nil, "other air"
				}
				for i := range d.Stability.Margins {
					if m := &d.Stability.Margins[i]; m.Axis == axis && get(m) != nil {
						return get(m), ""
					}
				}
				return nil, "not measured"
			}}}
	}
	return []measure{
		mostGain(axis),
		of("phase_margin", "phase margin", flight.Deg, 10, func(m *stability.Margin) *flight.Estimate { return m.PhaseMarginDeg }),
		of("gain_margin", "gain margin", flight.Unit("dB"), 2, func(m *stability.Margin) *flight.Estimate { return m.GainMarginDB }),
	}
}

// assumedDelayS is the reaction delay of the assumed pilot that aircraft are compared by.
const assumedDelayS = 0.3

// mostGain is the room the aircraft leaves to a pilot, whoever flies it.
func mostGain(axis flight.Axis) measure {
	a := string(axis)
	return measure{key: a + "_most_gain", name: fmt.Sprintf("most gain of a pilot of %g s", assumedDelayS), axis: axis, unit: flight.Unit("%/deg"),
		k: 100 / degPerRad, ratio: true, worth: 0.2,
		more: "before the loop grows a pilot may push %s harder in " + a, less: "before the loop grows a pilot may push %s less hard in " + a,
		gauges: []gauge{func(d *debrief.Debrief, _ wind.Class) (*flight.Estimate, string) {
			for i := range d.Stability.Margins {
				m := &d.Stability.Margins[i]
				for k := range m.Assumed {
					if p := &m.Assumed[k]; m.Axis == axis && math.Abs(p.DelayS-assumedDelayS) < 1e-9 && p.MostGainPerRad != nil {
						return p.MostGainPerRad, ""
					}
				}
			}
			return nil, "not measured"
		}},
		flying: "with sweeps or doublets in " + a}
}

func phasing() measure {
	return measure{key: "phasing_error", name: "phasing error", unit: flight.Deg, k: degPerRad, worth: 3,
		more: "phasing error is %s more", less: "phasing error is %s less",
		gauges: []gauge{func(d *debrief.Debrief, _ wind.Class) (*flight.Estimate, string) {
			if d.PhasingErrorRad == nil {
				return nil, "not measured"
			}
			return d.PhasingErrorRad, ""
		}},
		flying: "with sweeps in both axes",
	}
}
