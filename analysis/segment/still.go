package segment

import (
	"math"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

const (
	// A hands-still hover in still air is not longer than this without a correction: an
	// unstable aircraft does not wait. This project's own choice.
	longestStillS = 15
	// On its skids the aircraft comes back to the attitude it rested at; hovering it hangs
	// at that of its trim. This much apart tells the two from each other, well above what a
	// settled attitude sensor wanders in a hop. This project's own choice.
	restsApartRad = 0.4 * degree
)

// joinStill joins flights between which the aircraft held still in the air: a hover with
// hands still, in calm, turns no faster than an aircraft on its skids.
func (f *finder) joinStill(spans []flight.Span) []flight.Span {
	if len(spans) < 2 {
		return spans
	}
	rests := []flight.Span{
		{FromS: f.whole.FromS, ToS: spans[0].FromS - 1},
		{FromS: spans[len(spans)-1].ToS + 1, ToS: f.whole.ToS},
	}
	out := spans[:1:1]
	for _, s := range spans[1:] {
		last := &out[len(out)-1]
		gap := flight.Span{FromS: last.ToS, ToS: s.FromS}
		if gap.LengthS() <= longestStillS && f.airborne(gap, rests, *last) {
			last.ToS = s.ToS
			continue
		}
		out = append(out, s)
	}
	return out
}

// airborne reports whether a quiet gap after the flight before was spent in the air, by
// the collective, else the height, else the attitude, against those of the rests before
// and after the hop. Without any of them the gap counts as ground.
func (f *finder) airborne(gap flight.Span, rests []flight.Span, before flight.Span) bool {
	for _, q := range []flight.Quantity{flight.Collective, flight.Height} {
		c := f.hop.Channel(q)
		if c == nil {
			continue
		}
		x := series.Even(c, f.slow, 0.4)
		down := series.Percentile(f.pick(x, rests), 0.5)
		up := series.Percentile(f.pick(x, []flight.Span{before}), 0.5)
		here := series.Percentile(f.pick(x, []flight.Span{gap}), 0.5)
		// A fixed collective, or a height that wanders, tells nothing.
		if up-down > 0.1 {
			return here-down > 0.5*(up-down)
		}
	}
	for _, q := range []flight.Quantity{flight.Roll, flight.Pitch} {
		c := f.hop.Channel(q)
		if c == nil || c.Len() <= 20 {
			continue
		}
		x := series.Even(c, f.slow, 0.4)
		here := series.Percentile(f.pick(x, []flight.Span{gap}), 0.5)
		nearest := math.Inf(1)
		for _, r := range rests {
			if at := f.pick(x, []flight.Span{r}); len(at) >= 20 {
				nearest = min(nearest, math.Abs(here-series.Percentile(at, 0.5)))
			}
		}
		if nearest > restsApartRad && !math.IsInf(nearest, 1) {
			return true
		}
	}
	return false
}
