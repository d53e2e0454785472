package segment

import (
	"fmt"
	"math"
	"sort"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// flightSegments covers each flight: lift-off, landing, test inputs per axis, hands
// still, and hover for what is left.
func (f *finder) flightSegments() []flight.Segment {
	sticks := f.sticks()
	var segs []flight.Segment
	for _, air := range f.flights {
		var taken []flight.Segment
		up, down := f.liftOff(air), f.landing(air)
		if up.LengthS() > 0 {
			taken = append(taken, flight.Segment{Kind: flight.LiftOff, Span: up})
		}
		body := flight.Span{FromS: max(up.ToS, air.FromS), ToS: air.ToS}
		if down.LengthS() > 0 {
			taken = append(taken, flight.Segment{Kind: flight.Landing, Span: down})
			body.ToS = down.FromS
		}
		for _, s := range sticks {
			taken = append(taken, s.inputs(body)...)
		}
		taken = append(taken, handsStill(sticks, body, taken)...)
		segs = append(segs, taken...)
		for _, s := range without(air, spansOf(taken)) {
			if s.LengthS() > 0.05 {
				segs = append(segs, flight.Segment{Kind: flight.Hover, Span: s})
			}
		}
	}
	return segs
}

func spansOf(segs []flight.Segment) []flight.Span {
	var out []flight.Span
	for _, s := range segs {
		out = append(out, s.Span)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].FromS < out[j].FromS })
	return out
}

// liftOff returns the span from leaving the ground to hover height (5 s where no height
// tells it), empty if the record starts in the air.
func (f *finder) liftOff(air flight.Span) flight.Span {
	if air.FromS <= f.whole.FromS {
		return flight.Span{}
	}
	lengthS := min(liftOffS, air.LengthS()/3)
	if x, level, ok := f.hoverHeight(air); ok {
		for k := f.slow.Index(air.FromS); k < f.slow.N && f.slow.TimeS(k) < air.FromS+15; k++ {
			if x[k] > level {
				lengthS = min(max(f.slow.TimeS(k)-air.FromS, 1), air.LengthS()/2)
				break
			}
		}
	}
	return flight.Span{FromS: air.FromS, ToS: air.FromS + lengthS}
}

// landing is liftOff in reverse.
func (f *finder) landing(air flight.Span) flight.Span {
	if air.ToS >= f.whole.ToS-0.5 {
		return flight.Span{}
	}
	lengthS := min(liftOffS, air.LengthS()/3)
	if x, level, ok := f.hoverHeight(air); ok {
		for k := f.slow.Index(air.ToS); k >= 0 && f.slow.TimeS(k) > air.ToS-15; k-- {
			if x[k] > level {
				lengthS = min(max(air.ToS-f.slow.TimeS(k), 1), air.LengthS()/2)
				break
			}
		}
	}
	return flight.Span{FromS: air.ToS - lengthS, ToS: air.ToS}
}

// hoverHeight returns the height on the slow grid and 80 % of the usual height of the
// flight above the ground.
func (f *finder) hoverHeight(air flight.Span) (x []float64, level float64, ok bool) {
	c := f.hop.Channel(flight.Height)
	if c == nil {
		return nil, 0, false
	}
	x = series.Filled(series.Even(c, f.slow, 0.4))
	zero := series.Percentile(f.pick(x, f.outside(f.flights)), 0.5)
	usual := series.Percentile(f.pick(x, []flight.Span{air}), 0.5)
	level = zero + 0.8*(usual-zero)
	return x, level, usual-zero > 0.3
}

// stickTrace is one stick on an even grid.
type stickTrace struct {
	axis flight.Axis
	grid series.Grid
	raw  []float64 // fraction of travel, NaN in gaps
	x    []float64 // the same with gaps bridged
	// smooth is x over rowStepS, and attitude that of the axis likewise, in rad; nil if none
	// was logged. Both are made when a sweep asks for them.
	smooth, attitude []float64
	hop              *flight.Hop
	mean             func(lo, hi int) float64 // of x[lo:hi]
	trim             []float64                // mean of x over trimS
}

func newStickTrace(axis flight.Axis, grid series.Grid, raw []float64, h *flight.Hop) *stickTrace {
	s := &stickTrace{axis: axis, grid: grid, raw: raw, x: series.Filled(raw), hop: h}
	s.mean, s.trim = prefixMean(s.x), series.MovingMean(s.x, grid.Steps(trimS))
	return s
}

// stickStepS is the step of the grid that edges are found on.
const stickStepS = 0.02

func (f *finder) sticks() []*stickTrace {
	var out []*stickTrace
	grid := series.Over(f.whole, stickStepS)
	untimed := false
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		c := f.stick(axis)
		if c == nil {
			untimed = untimed || f.hop.Channel(axis.Stick()) != nil
			continue
		}
		raw := series.Even(c, grid, 0.06)
		out = append(out, newStickTrace(axis, grid, raw, f.hop))
	}
	switch {
	case untimed:
		f.findings = append(f.findings, flight.Finding{
			Code: flight.CodeNoClock, Severity: flight.Caution,
			Text:   "The stick log's clock could not be put on the attitude log's clock, so test inputs and control checks cannot be placed in the hop.",
			Advice: "Knock three times on the airframe near both loggers before and after the flight, or log UTC in both.",
		})
	case len(out) == 0:
		f.findings = append(f.findings, flight.Finding{
			Code: flight.CodeMissing, Severity: flight.Caution,
			Text:   "No stick position was logged: no test input can be found.",
			Advice: "Log lateral and longitudinal stick at 50 Hz or more.",
		})
	}
	if len(f.flights) == 0 {
		f.findings = append(f.findings, flight.Finding{
			Code: flight.CodeMissing, Severity: flight.Note, Span: f.whole,
			Text: fmt.Sprintf("The aircraft never left the ground: its attitude stayed still over the %.0f s of the record.",
				f.whole.LengthS()),
			Advice: "Nothing, if this was a ground run.",
		})
	}
	return out
}

// handsStill returns the spans of three seconds or more in which no stick moves, and,
// with the axis set, those in which one of the two does not.
func handsStill(sticks []*stickTrace, body flight.Span, taken []flight.Segment) []flight.Segment {
	var timed []*stickTrace
	var still [][]bool
	for _, s := range sticks {
		if s.axis != flight.YawAxis { // feet rest on the pedals; their stillness is not asked for
			timed = append(timed, s)
			still = append(still, s.still())
		}
	}
	var out []flight.Segment
	add := func(axis flight.Axis, is []bool) {
		for _, span := range timed[0].stillSpans(is, body, append(spansOf(taken), spansOf(out)...)) {
			out = append(out, flight.Segment{Kind: flight.HandsStill, Axis: axis, Span: span})
		}
	}
	if len(timed) == 2 {
		all := make([]bool, len(still[0]))
		for i := range all {
			all[i] = still[0][i] && still[1][i]
		}
		add("", all)
	}
	for k, s := range timed {
		add(s.axis, still[k])
	}
	return out
}

// stillWindowS is the time over which the stick must not have moved to be still.
const stillWindowS = 0.5

// still marks the samples around which the stick stays where it is.
func (s *stickTrace) still() []bool {
	const movedSI = 0.0045 // change between means half a second apart that counts as moving
	reach := s.grid.Steps(stillWindowS)
	smooth := series.MovingMean(s.x, s.grid.Steps(0.2))
	out := make([]bool, len(s.x))
	for i, mid := range smooth {
		lo, hi := max(i-reach, 0), min(i+reach, len(smooth)-1)
		out[i] = math.Abs(smooth[hi]-mid) <= movedSI && math.Abs(mid-smooth[lo]) <= movedSI && s.raw[i] == s.raw[i]
	}
	return out
}

// stillSpans returns the spans in body, outside busy, in which is holds for long enough.
func (s *stickTrace) stillSpans(is []bool, body flight.Span, busy []flight.Span) []flight.Span {
	const shortestS = 3
	sort.Slice(busy, func(i, j int) bool { return busy[i].FromS < busy[j].FromS })
	g := s.grid
	var out []flight.Span
	for i, end := g.Index(body.FromS), g.Index(body.ToS); i < end; i++ {
		if !is[i] {
			continue
		}
		k := i
		for k < end && is[k] {
			k++
		}
		// The window sees the next movement half a second early.
		span := clip(flight.Span{FromS: g.TimeS(i) - stillWindowS, ToS: g.TimeS(k) + stillWindowS}, body)
		for _, free := range without(span, clipAll(busy, span)) {
			if free.LengthS() >= shortestS {
				out = append(out, free)
			}
		}
		i = k
	}
	return out
}

func clipAll(spans []flight.Span, to flight.Span) []flight.Span {
	var out []flight.Span
	for _, s := range spans {
		if s.Overlaps(to) {
			out = append(out, s)
		}
	}
	return out
}
