package segment

import (
	"math"
	"sort"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// inputs returns the test inputs of one stick within body. Sweeps are looked for first,
// because single strokes of a fast sweep look like edges.
func (s *stickTrace) inputs(body flight.Span) []flight.Segment {
	var out []flight.Segment
	for _, span := range s.sweeps(body) {
		out = append(out, s.segment(flight.Sweep, span))
	}
	busy := spansOf(out)
	free := func(span flight.Span) bool {
		for _, b := range busy {
			if b.Overlaps(span) {
				return false
			}
		}
		return span.FromS >= body.FromS && span.ToS <= body.ToS
	}
	edges := s.edges(body)
	for _, e := range groupEdges(edges) {
		if free(e.span) && s.atRest(e.span.FromS, e.restSize()) {
			out = append(out, s.segment(e.kind, e.span))
			busy = append(busy, e.span)
		}
	}
	for _, span := range s.raps(body) {
		if free(flight.Span{FromS: span.FromS - 0.3, ToS: span.ToS + 0.3}) && s.atRest(span.FromS, s.reachIn(flight.Span{FromS: span.FromS - strikeS, ToS: span.ToS + strikeS})) {
			out = append(out, s.segment(flight.Rap, span))
			busy = append(busy, span)
		}
	}
	for _, l := range s.lobes(body) {
		if free(l.span) {
			out = append(out, s.segment(l.kind, l.span))
			busy = append(busy, l.span)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Span.FromS < out[j].Span.FromS })
	return out
}

// strikeS is how long the stick is under way outside the span of a rap, which begins and ends
// a quarter of its size off.
const strikeS = 0.06

func (s *stickTrace) segment(kind flight.SegmentKind, span flight.Span) flight.Segment {
	return flight.Segment{Kind: kind, Axis: s.axis, Span: span, BandRadS: s.band(span)}
}

// atRest reports whether the stick was held, compared to size, in the second before tS:
// a test input starts from a held stick, a stroke of a fight with the aircraft does not.
func (s *stickTrace) atRest(tS, size float64) bool {
	lo, hi := s.grid.Index(tS-1), s.grid.Index(tS-0.06)
	least, most := math.Inf(1), math.Inf(-1)
	for _, v := range s.x[lo:hi] {
		least, most = min(least, v), max(most, v)
	}
	return most-least < 0.8*math.Abs(size)
}

// reachIn returns how far the stick moves within span.
func (s *stickTrace) reachIn(span flight.Span) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	for _, v := range s.x[s.grid.Index(span.FromS) : s.grid.Index(span.ToS)+1] {
		least, most = min(least, v), max(most, v)
	}
	return most - least
}

// edge is a sudden change of the stick from one level to another.
type edge struct {
	tS     float64
	size   float64 // fraction of travel, with sign
	strong bool    // stands clear of the pilot's usual work by itself
}

const (
	leastEdgeSI = 0.015 // smaller ones are lost in the pilot's own work
	// A change is an edge if this share of it is not explained by the slopes before and
	// after: 1 for a step, at most about 0.4 for the swing of a hand at 5 rad/s.
	leastSharpness = 0.55
)

// edges returns the sudden changes of the stick. For each time it compares the means of
// 0.12 s just after and just before, 0.12 s apart.
func (s *stickTrace) edges(body flight.Span) []edge {
	g := s.grid
	off, width, far := g.Steps(0.06), g.Steps(0.12), g.Steps(0.24)
	mean := s.mean
	lo, hi := g.Index(body.FromS), g.Index(body.ToS)
	jump, sharp := make([]float64, g.N), make([]float64, g.N)
	for i := max(lo, off+width+far); i < min(hi, g.N-off-width-far); i++ {
		after, before := mean(i+off, i+off+width), mean(i-off-width, i-off)
		d := after - before
		slope := (mean(i+off+far, i+off+width+far) - after + before - mean(i-off-width-far, i-off-far)) /
			(2 * float64(far) * g.StepS)
		jump[i] = d
		rest := d - slope*float64(2*off+width)*g.StepS
		if d != 0 {
			sharp[i] = rest / d
		}
	}
	usual := series.Spread(jump[lo:hi])
	limit := max(leastEdgeSI, 2*usual)
	strong := max(leastEdgeSI*1.3, 4*usual)
	var out []edge
	reach := g.Steps(0.16)
	for i := lo; i < hi; i++ {
		if a := math.Abs(jump[i]); a < limit || sharp[i] < leastSharpness || !isPeak(jump, i, reach) || s.raw[i] != s.raw[i] {
			continue
		}
		// A clean step gives a flat top as wide as the pause between the two means.
		k := i
		for k+1 < hi && math.Abs(jump[k+1]) > 0.97*math.Abs(jump[i]) {
			k++
		}
		out = append(out, edge{(g.TimeS(i) + g.TimeS(k)) / 2, jump[i], math.Abs(jump[i]) > strong})
	}
	return out
}

// isPeak reports whether no |x| within reach of i is larger (or equal and earlier).
func isPeak(x []float64, i, reach int) bool {
	a := math.Abs(x[i])
	for k := max(i-reach, 0); k <= min(i+reach, len(x)-1); k++ {
		if b := math.Abs(x[k]); b > a || b == a && k < i {
			return false
		}
	}
	return true
}

// prefixMean returns a function that gives the mean of x[lo:hi].
func prefixMean(x []float64) func(lo, hi int) float64 {
	sum := make([]float64, len(x)+1)
	for i, v := range x {
		sum[i+1] = sum[i] + v
	}
	return func(lo, hi int) float64 { return (sum[hi] - sum[lo]) / float64(hi-lo) }
}

// pattern is a test input recognised from its edges.
type pattern struct {
	kind flight.SegmentKind
	span flight.Span
	size float64 // half its largest edge, fraction of travel
}

// restSize is the size that the stick's movement before p is compared to. Four edges back and
// forth are seldom chance, so that more of the pilot's work may go before them.
func (p pattern) restSize() float64 {
	if p.kind == flight.Steps {
		return 1.5 * p.size
	}
	return p.size
}

// groupEdges sorts edges into doublets (up, double down, up, in even times) and step
// series (four or more edges, back and forth). At least two strong edges make a run; one
// weak edge may complete it at each end. Single edges are the pilot's own work.
func groupEdges(edges []edge) []pattern {
	var strong []int
	for i, e := range edges {
		if e.strong {
			strong = append(strong, i)
		}
	}
	var out []pattern
	for i := 0; i < len(strong); {
		k := i
		run := []edge{edges[strong[i]]}
		for k+1 < len(strong) && follows(edges[strong[k]], edges[strong[k+1]], longestHoldS) {
			if len(run) == 3 && isDoublet(run) {
				break // back at trim: what follows is the pilot's recovery
			}
			k++
			run = append(run, edges[strong[k]])
		}
		if len(run) >= 2 && !(len(run) == 3 && isDoublet(run) && evenHolds(run, clearlyEven)) {
			run = complete(run, edges)
		}
		if p, ok := recognise(run); ok {
			out = append(out, p)
		}
		i = k + 1
	}
	return out
}

// complete adds the weak edge that fits best before the first and after the last edge of
// run, if there is one.
func complete(run, edges []edge) []edge {
	first, last := run[0], run[len(run)-1]
	firstHoldS, lastHoldS := run[1].tS-first.tS, last.tS-run[len(run)-2].tS
	before, after := edge{}, edge{}
	for _, e := range edges {
		switch {
		case e.strong:
		case e.tS < first.tS && follows(e, first, 1.7*firstHoldS) && math.Abs(e.size) > math.Abs(before.size):
			before = e
		case e.tS > last.tS && follows(last, e, 1.5*lastHoldS) && math.Abs(e.size) > math.Abs(after.size):
			after = e
		}
	}
	if before.size != 0 {
		run = append([]edge{before}, run...)
	}
	if after.size != 0 {
		run = append(run, after)
	}
	return run
}

// longestHoldS is the longest hold between two edges of one input.
const longestHoldS = 3

// follows reports whether b takes the stick back from a within longestS and is of
// comparable size.
func follows(a, b edge, longestS float64) bool {
	ratio := math.Abs(b.size / a.size)
	return a.size*b.size < 0 && b.tS-a.tS < longestS && ratio > 0.25 && ratio < 4
}

// recognise names a run of alternating edges.
func recognise(run []edge) (pattern, bool) {
	const edgeS = 0.02 // an edge starts and ends that much off its middle
	span := flight.Span{FromS: run[0].tS - edgeS, ToS: run[len(run)-1].tS + edgeS}
	size := 0.0
	for _, e := range run {
		size = max(size, math.Abs(e.size)/2)
	}
	switch {
	case len(run) >= 4:
		return pattern{flight.Steps, span, size}, true
	case len(run) == 3 && evenHolds(run, clearlyEven):
		return pattern{flight.Doublet, span, size}, true
	case len(run) == 2 && run[1].tS-run[0].tS > 0.3 && math.Abs(run[1].size/run[0].size) > 1.4:
		// The last edge was blurred by the pilot's recovery.
		span.ToS = run[1].tS + (run[1].tS - run[0].tS)
		return pattern{flight.Doublet, span, size}, true
	}
	return pattern{}, false
}

func isDoublet(run []edge) bool {
	mid := math.Abs(run[1].size)
	return evenHolds(run, 1.7) && mid > 1.15*math.Abs(run[0].size) && mid > 1.15*math.Abs(run[2].size)
}

// clearlyEven is the ratio of two holds up to which three edges are a doublet and no part of
// something longer.
const clearlyEven = 1.35

// evenHolds reports whether the two holds of three edges differ by less than ratio.
func evenHolds(run []edge, ratio float64) bool {
	t1, t2 := run[1].tS-run[0].tS, run[2].tS-run[1].tS
	return t1 < ratio*t2 && t2 < ratio*t1
}

// raps returns short strikes of the stick, out and back within about a third of a
// second.
func (s *stickTrace) raps(body flight.Span) []flight.Span {
	g := s.grid
	half, near, far := g.Steps(0.04), g.Steps(0.16), g.Steps(0.32)
	mean := s.mean
	lo, hi := g.Index(body.FromS), g.Index(body.ToS)
	strike, sides := make([]float64, g.N), make([]float64, g.N)
	for i := max(lo, far); i < min(hi, g.N-far-1); i++ {
		before, after := mean(i-far, i-near), mean(i+near, i+far)
		strike[i] = mean(i-half, i+half+1) - (before+after)/2
		sides[i] = math.Abs(after - before)
	}
	limit := max(leastEdgeSI*1.5, 6*series.Spread(strike[lo:hi]))
	var out []flight.Span
	for i := lo; i < hi; i++ {
		a := math.Abs(strike[i])
		if a < limit || sides[i] > 0.6*a || !isPeak(strike, i, far) || s.raw[i] != s.raw[i] {
			continue
		}
		if span, ok := s.width(i, strike[i]); ok {
			out = append(out, span)
		}
	}
	return out
}

// width returns the span around sample i in which the stick is more than a quarter of
// size off its level before and after; ok is false if that is not short.
func (s *stickTrace) width(i int, size float64) (flight.Span, bool) {
	g := s.grid
	base := s.x[i] - size
	out := func(k int) bool { return (s.x[k]-base)/size > 0.25 }
	lo, hi := i, i
	for lo > 0 && out(lo-1) {
		lo--
	}
	for hi < g.N-1 && out(hi+1) {
		hi++
	}
	span := flight.Span{FromS: g.TimeS(lo), ToS: g.TimeS(hi)}
	return span, span.LengthS() < 0.35
}
