package rotor

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// DesignChart is one number of the model over one dimension, to read a change off before
// metal is cut.
type DesignChart struct {
	Key   string // stable: "roll_lag_over_bar_time"
	Title string
	Axis  flight.Axis // empty where it is of the head alone
	XName string
	XUnit flight.Unit
	YName string
	YUnit flight.Unit
	// XLog says that X is best drawn on a logarithmic scale.
	XLog   bool
	Curves []DesignCurve
	// Points are the configurations flown, each by its own dimensions: it lies off the
	// curves where it differs in more than the chart shows.
	Points []DesignPoint
}

// DesignCurve is one curve of a chart. X ascends; Y is NaN where there is no such number.
type DesignCurve struct {
	Label string // "bar_to_blade 0.5"; "no bar" is the same at every X
	X, Y  []float64
}

// DesignPoint is one configuration on a chart.
type DesignPoint struct {
	Name string
	X, Y float64
}

// Ranges of the charts: following times of bars from paddles without weights to weights that
// nobody would hang there; mixings that leave the stick in charge; hinge angles as built.
const (
	barFromS, barToS         = 0.1, 3.0
	barPoints                = 31
	hingeFromDeg, hingeToDeg = -30.0, 45.0
	hingeStepDeg             = 1.5
	lagRadS                  = 2 * math.Pi // 1 Hz, as measured lags are stated at
)

func mixings() []float64 { return []float64{0.25, 0.5, 0.75, 1} }

// DesignCharts draws the charts of a configuration: lag at 1 Hz and damping in both axes
// over the bar's following time, a curve for each mixing of bar tilt into blade pitch; lag of
// the blades, phasing error and coupling over the hinge angle. All other dimensions are those of c.
// Flown are marked as points; what of them lacks dimensions is left out. Without a bar in c, the
// mixing of the stick is that of the first of flown that has one, and without any there are no
// charts of a bar. The error is that of FromConfiguration for c.
func DesignCharts(c flight.Configuration, s Surroundings, flown []flight.Configuration) ([]DesignChart, error) {
	base, _, err := FromConfiguration(c, s)
	if err != nil {
		return nil, err
	}
	var heads []Head
	for _, f := range flown {
		if h, _, err := FromConfiguration(f, s); err == nil {
			heads = append(heads, h)
		}
	}
	var charts []DesignChart
	if barred, ok := withBar(base, heads); ok {
		charts = append(charts, barCharts(base, barred, heads)...)
	}
	return append(charts, hingeCharts(base, heads)...), nil
}

// withBar is base with a bar: its own, or the mixing of the first of others that has one.
func withBar(base Head, others []Head) (Head, bool) {
	if base.HasBar() {
		return base, true
	}
	for _, h := range others {
		if h.HasBar() {
			base.BarTimeS, base.BarToBlade = h.BarTimeS, h.BarToBlade
			base.StickToBlade, base.StickToPaddle = h.StickToBlade, h.StickToPaddle
			return base, true
		}
	}
	return base, false
}

// reading is one number of a prediction in one axis.
type reading struct {
	key, name, title string
	unit             flight.Unit
	of               func(m *modal, p AxisPrediction, a flight.Axis) float64
}

func barReadings() []reading {
	damping := func(get func(AxisPrediction) *Mode) func(*modal, AxisPrediction, flight.Axis) float64 {
		return func(_ *modal, p AxisPrediction, _ flight.Axis) float64 {
			if mode := get(p); mode != nil {
				return mode.DampingRatio()
			}
			return math.NaN()
		}
	}
	return []reading{
		{"lag", "lag behind the stick at 1 Hz", "how late", flight.Deg, func(m *modal, _ AxisPrediction, a flight.Axis) float64 {
			return m.lagDeg(a)
		}},
		{"hover_damping", "damping ratio of the hover oscillation", "does the slow swing die away", flight.NoUnit,
			damping(func(p AxisPrediction) *Mode { return p.Hover })},
		{"short_damping", "damping ratio of the short oscillation", "does the quick swing die away", flight.NoUnit,
			damping(func(p AxisPrediction) *Mode { return p.Short })},
		{"gust", "attitude per m/s of gust at 1 rad/s, stick held", "how far gusts throw it", flight.Deg, func(_ *modal, p AxisPrediction, _ flight.Axis) float64 {
			return p.GustRadPerMS[1] * 180 / math.Pi
		}},
	}
}

// lagDeg is how far attitude is behind the stick at 1 Hz, on the branch of UnwrapDeg.
func (d *modal) lagDeg(a flight.Axis) float64 {
	in, att := LonStick, Pitch
	if a == flight.RollAxis {
		in, att = LatStick, Roll
	}
	response := d.response(in, att)
	w := LogSpace(2, lagRadS, 12)
	h := make([]complex128, len(w))
	for k := range w {
		h[k] = response(w[k])
	}
	phase := UnwrapDeg(w, h, 2)
	return -phase[len(phase)-1]
}

// readBoth reads all of list off a head, for roll and then for pitch; NaN where the head
// is not physical.
func readBoth(h Head, list []reading) [2][]float64 {
	var out [2][]float64
	p, err := PredictHead(h)
	var parts *modal
	if err == nil {
		parts = p.Model.modal()
	}
	for i, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		out[i] = make([]float64, len(list))
		for k, r := range list {
			out[i][k] = math.NaN()
			if err == nil {
				axis := p.Roll
				if a == flight.PitchAxis {
					axis = p.Pitch
				}
				out[i][k] = r.of(parts, axis, a)
			}
		}
	}
	return out
}

func barCharts(base, barred Head, flown []Head) []DesignChart {
	list := barReadings()
	charts := make([]DesignChart, 2*len(list))
	for i, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		for k, r := range list {
			charts[i*len(list)+k] = DesignChart{Key: string(a) + "_" + r.key + "_over_bar_time", Title: string(a) + ": " + r.title, Axis: a,
				XName: "following time of the bar", XUnit: flight.Second, YName: r.name, YUnit: r.unit, XLog: true}
		}
	}
	times := LogSpace(barFromS, barToS, barPoints)
	curve := func(label string, head func(timeS float64) Head) {
		for i := range charts {
			charts[i].Curves = append(charts[i].Curves, DesignCurve{Label: label, X: times, Y: make([]float64, len(times))})
		}
		var last Head
		var got [2][]float64
		for j, time := range times {
			if h := head(time); j == 0 || h != last {
				got, last = readBoth(h, list), h
			}
			for i := range charts {
				charts[i].Curves[len(charts[i].Curves)-1].Y[j] = got[i/len(list)][i%len(list)]
			}
		}
	}
	for _, mixing := range mixings() {
		curve(fmt.Sprintf("bar_to_blade %g", mixing), func(timeS float64) Head {
			h := barred
			h.BarTimeS, h.BarToBlade = timeS, mixing
			return h
		})
	}
	bare := base
	bare.BarTimeS, bare.BarToBlade, bare.StickToBlade = 0, 0, 1
	curve("no bar", func(float64) Head { return bare })
	for _, h := range flown {
		if !h.HasBar() {
			continue
		}
		got := readBoth(h, list)
		for i := range charts {
			charts[i].Points = append(charts[i].Points, DesignPoint{h.Name, h.BarTimeS, got[i/len(list)][i%len(list)]})
		}
	}
	return charts
}

// hingeCharts are of the hinge angle, the swashplate left where it is.
func hingeCharts(base Head, flown []Head) []DesignChart {
	const perDeg = 180 / math.Pi
	coupling := func(get func(*Prediction) AxisPrediction) func(Head) float64 {
		return func(h Head) float64 {
			p, err := PredictHead(h)
			if err != nil {
				return math.NaN()
			}
			return get(p).Coupling
		}
	}
	charts := []DesignChart{
		{Key: "lag_over_hinge", Title: "how far round the disc answers", YName: "phase lag of the blades", YUnit: flight.Deg},
		{Key: "phasing_over_hinge", Title: "how far out of phase the swashplate is", YName: "phasing error", YUnit: flight.Deg},
		{Key: "coupling_over_hinge", Title: "how much one axis moves the other", YName: "coupling at 2 rad/s", YUnit: flight.NoUnit},
	}
	curves := []struct {
		chart int
		label string
		of    func(Head) float64
	}{
		{0, "lag", func(h Head) float64 { return h.LagRad() * perDeg }},
		{0, "advance angle", func(h Head) float64 { return h.AdvanceRad * perDeg }},
		{1, "phasing error", func(h Head) float64 { return h.PhasingErrorRad() * perDeg }},
		{2, "roll stick into pitch", coupling(func(p *Prediction) AxisPrediction { return p.Roll })},
		{2, "pitch stick into roll", coupling(func(p *Prediction) AxisPrediction { return p.Pitch })},
	}
	for i := range charts {
		charts[i].XName, charts[i].XUnit = "hinge angle (delta3)", flight.Deg
	}
	for _, c := range curves {
		line := DesignCurve{Label: c.label}
		for x := hingeFromDeg; x <= hingeToDeg+1e-9; x += hingeStepDeg {
			h := base
			h.Delta3Rad = x / perDeg
			line.X, line.Y = append(line.X, x), append(line.Y, c.of(h))
		}
		charts[c.chart].Curves = append(charts[c.chart].Curves, line)
		if c.label == "advance angle" {
			continue // a configuration is marked once, on its lag
		}
		for _, h := range flown {
			name := h.Name
			if c.chart == 2 {
				name += ", " + c.label
			}
			charts[c.chart].Points = append(charts[c.chart].Points, DesignPoint{name, h.Delta3Rad * perDeg, c.of(h)})
		}
	}
	return charts
}
