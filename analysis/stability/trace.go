package stability

import (
	"math"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

const (
	// stepS is the step of the grid for oscillations; what matters lies below 2 Hz.
	stepS = 0.04
	// The band in which growth is looked for: slower motion is the pilot holding his
	// place, faster motion no pilot follows.
	lowRadS  = 1.0
	highRadS = 12.0
)

// trace holds one axis on an even grid, gaps bridged.
type trace struct {
	axis     flight.Axis
	grid     series.Grid
	attitude []float64 // rad, from level; integral of the rate if only that was logged
	rate     []float64 // rad/s
	stick    []float64 // fraction of travel; nil if not logged or on another clock
	bad      []bool    // within a gap of the motion
	untimed  bool      // a stick was logged, but on a clock of its own
	band     []float64 // rate between lowRadS and highRadS
	swings   []swing
	usual    float64 // usual peak of a swing in this flight, rad/s
	findings []flight.Finding
	// Of flights with a growth, see learn.
	hand   hand
	calm   follow
	inputs []flight.Span
}

// newTrace returns nil if the axis was not logged.
func newTrace(h *flight.Hop, axis flight.Axis, flights []flight.Span) *trace {
	att, rate := h.Channel(axis.Attitude()), h.Channel(axis.Rate())
	lead := att
	if lead == nil {
		lead = rate
	}
	if lead == nil || lead.Len() < 50 {
		return nil
	}
	// Two seconds on each side let the filters settle outside the flight.
	span := flight.Span{
		FromS: max(flights[0].FromS-2, lead.Span().FromS),
		ToS:   min(flights[len(flights)-1].ToS+2, lead.Span().ToS),
	}
	t := &trace{axis: axis, grid: series.Over(span, stepS)}
	if t.grid.N < 50 {
		return nil
	}
	t.fill(att, rate)
	if c := timedStick(h, axis); c != nil {
		t.stick = series.Filled(series.Even(c, t.grid, 2*stepS))
	} else {
		t.untimed = h.Channel(axis.Stick()) != nil
	}
	t.band = series.BandPass(t.rate, stepS, lowRadS, highRadS)
	return t
}

// fill sets attitude, rate and bad. Where only one of the two was logged the other is its
// derivative or its integral; the integral drifts with the rate's bias, which the band
// pass and the linear trend of each fit take out.
func (t *trace) fill(att, rate *flight.Channel) {
	var raw []float64
	if rate != nil && rate.Len() >= 50 {
		raw = series.Even(rate, t.grid, 2*stepS)
		t.rate = series.Filled(raw)
	}
	if att != nil && att.Len() >= 50 {
		a := series.Even(att, t.grid, 2*stepS)
		t.attitude = series.Filled(a)
		if raw == nil {
			raw = a
			t.rate = series.Derivative(t.attitude, stepS)
		}
	}
	if t.attitude == nil {
		t.attitude = make([]float64, t.grid.N)
		for i := 1; i < t.grid.N; i++ {
			t.attitude[i] = t.attitude[i-1] + stepS*(t.rate[i]+t.rate[i-1])/2
		}
	}
	t.bad = make([]bool, t.grid.N)
	for i, v := range raw {
		t.bad[i] = math.IsNaN(v)
	}
}

// stickOn returns the stick on the grid, nil if there is none on it.
func (t *trace) stickOn(g series.Grid) []float64 {
	if t == nil || t.grid != g {
		return nil
	}
	return t.stick
}
