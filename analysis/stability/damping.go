package stability

import (
	"math"

	"hopcard/analysis/segment"
	"hopcard/flight"
)

// damping returns the apparent damping once a second: the slope of the log of the swings'
// peaks over the six swings nearest to that second, over their frequency. Where the swings
// have no common frequency, or a test input lies among them, there is no point.
func (t *trace) damping(flights []flight.Span, segs []flight.Segment) []DampingPoint {
	const swings = 6
	use := t.usable(flights, segment.Inputs(segs, t.axis))
	var out []DampingPoint
	lo := 0
	for _, air := range flights {
		for at := math.Ceil(air.FromS); at < air.ToS; at++ {
			for lo+swings < len(t.swings) && t.middle(lo+1, swings) <= at {
				lo++
			}
			if lo+swings > len(t.swings) || math.Abs(t.middle(lo, swings)-at) > 1.5 {
				continue
			}
			if p, ok := t.dampingOf(lo, lo+swings, use); ok {
				p.TimeS = at
				out = append(out, p)
			}
		}
	}
	return out
}

// middle is the time in the middle of n swings from lo.
func (t *trace) middle(lo, n int) float64 {
	return (t.swings[lo].fromS + t.swings[lo+n-1].toS) / 2
}

func (t *trace) dampingOf(lo, hi int, use []bool) (DampingPoint, bool) {
	w := t.swings[lo:hi]
	half := (w[len(w)-1].toS - w[0].fromS) / float64(len(w))
	for i, s := range w {
		if !use[lo+i] || s.lengthS() < 0.5*half || s.lengthS() > 1.7*half {
			return DampingPoint{}, false
		}
	}
	g := t.fit(w)
	g.sigma = t.disturbed(g.sigma, w)
	wd := math.Pi / half
	ratio := func(sigma float64) float64 { return -sigma / math.Hypot(sigma, wd) }
	return DampingPoint{
		Axis: t.axis, FrequencyRadS: wd,
		Ratio: flight.Estimate{Value: ratio(g.sigma.Value), Low: ratio(g.sigma.High), High: ratio(g.sigma.Low)},
	}, true
}
