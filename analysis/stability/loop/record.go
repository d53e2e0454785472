package loop

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"hopcard/analysis/segment"
	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// gridStepS is the step of the grid: 12.5 Hz, several times what a pilot does.
const gridStepS = 0.08

// smoothS is the width of the weight with which channels come to the grid. It is the same
// for stick and attitude, so that it leaves the ratio of the two alone.
const smoothS = 2 * gridStepS

// record is one axis on an even grid over the flights, and the samples in which the pilot
// only regulates.
type record struct {
	grid            series.Grid
	stick, attitude []float64
	// The two without their slow part, and the first and second integral of the attitude
	// without it; gaps are filled with straight lines.
	highStick, highAttitude []float64
	integrals               [integrals][]float64
	// noise is the attitude's sensor where the aircraft no longer turns; fused tells that the
	// quick part of the attitude is the rate's.
	noise []float64
	fused bool
	// rows are the stretches, first sample and the one after the last, of samples in which
	// no test input is flown; inputs may lie before them.
	rows  [][2]int
	spans []flight.Span
}

const (
	// settleS is how long after a test input the stick still belongs to it, and aroundS how
	// far from lift-off and touch-down regulating begins and ends.
	settleS = 0.5
	aroundS = 3.0
	// leastSpanS is the shortest stretch of regulating that is used.
	leastSpanS = 2.0
)

// regulating returns the intervals in flight in which the pilot holds the aircraft and flies
// no test input in the axis.
func regulating(h *flight.Hop, segs []flight.Segment, axis flight.Axis, apart []flight.Span) []flight.Span {
	spans := segment.Flights(segs)
	var not []flight.Span
	for _, s := range segs {
		switch {
		case segment.IsInput(s.Kind) && (s.Axis == axis || s.Axis == ""):
			not = append(not, flight.Span{FromS: s.Span.FromS, ToS: s.Span.ToS + settleS})
		case s.Kind == flight.LiftOff:
			not = append(not, flight.Span{FromS: s.Span.FromS, ToS: s.Span.ToS + aroundS})
		case s.Kind == flight.Landing:
			not = append(not, flight.Span{FromS: s.Span.FromS - aroundS, ToS: s.Span.ToS})
		case s.Kind == flight.HandsStill:
			not = append(not, s.Span)
		}
	}
	for _, cut := range [][]flight.Span{not, h.Exclude, apart} {
		spans = flight.Without(spans, cut)
	}
	var long []flight.Span
	for _, s := range spans {
		if s.LengthS() >= leastSpanS {
			long = append(long, s)
		}
	}
	return long
}

// newRecord brings stick and attitude to the grid. rate may be nil.
func newRecord(stick, attitude, rate *flight.Channel, flown flight.Span, spans []flight.Span) *record {
	g := series.Over(flown, gridStepS)
	r := &record{grid: g, stick: series.Even(stick, g, smoothS), attitude: series.Even(attitude, g, smoothS)}
	raw := r.attitude
	if rate != nil {
		r.attitude, r.fused = fused(raw, series.Even(rate, g, smoothS))
	}
	r.noise = noiseOf(raw, r.attitude, r.fused)
	r.highStick, r.highAttitude = high(r.stick), high(r.attitude)
	before := r.highAttitude
	for i := range r.integrals {
		r.integrals[i] = make([]float64, g.N)
		floats.CumSum(r.integrals[i], before)
		floats.Scale(gridStepS, r.integrals[i])
		before = r.integrals[i]
	}
	for _, s := range spans {
		from := max(0, int(math.Ceil((s.FromS-g.FromS)/gridStepS)))
		to := min(g.N, int(math.Floor((s.ToS-g.FromS)/gridStepS))+1)
		if to > from {
			r.rows = append(r.rows, [2]int{from, to})
			r.spans = append(r.spans, s)
		}
	}
	return r
}

// usable returns the stretches of rows of which the pilot's own stick is there as far back as
// own, and the attitude as far back as seen.
func (r *record) usable(own, seen int) [][2]int {
	var out [][2]int
	lastStick, lastSeen := -1, -1 // last sample that is missing
	next := 0
	for _, row := range r.rows {
		lastStick = row[0] - 1 // before it the stick was not his own
		start := -1
		for t := next; t < row[1]; t++ {
			if v := r.stick[t]; v != v && t >= row[0] {
				lastStick = t
			}
			if v := r.attitude[t]; v != v {
				lastSeen = t
			}
			good := t-lastStick > own && t-lastSeen > seen
			switch {
			case good && start < 0:
				start = t
			case !good && start >= 0:
				out = append(out, [2]int{start, t})
				start = -1
			}
		}
		if start >= 0 {
			out = append(out, [2]int{start, row[1]})
		}
		next = row[1]
	}
	return out
}

// highRadS is below which the slow part of stick and attitude is taken off: there trim
// wanders, and the integrals of a sensor's noise pass for drift. The filter looks back only:
// one that looks ahead would tell the past of noise to come.
const highRadS = 0.15

// high takes off the slow part: two first-order high-pass filters, gaps filled.
func high(x []float64) []float64 {
	y := series.Filled(x)
	pole := math.Exp(-highRadS * gridStepS)
	for range 2 {
		before, out := 0.0, 0.0
		for t, v := range y {
			if t == 0 {
				before = v
			}
			out = pole*out + v - before
			before = v
			y[t] = out
		}
	}
	return y
}
