package segment

import (
	"math"
	"sort"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// groundSegments covers the time outside the flights: spin-up and spin-down, control
// checks, knocks, and plain ground between them.
func (f *finder) groundSegments() []flight.Segment {
	var segs []flight.Segment
	for _, g := range f.outside(f.flights) {
		var taken []flight.Span
		add := func(kind flight.SegmentKind, spans []flight.Span) {
			for _, s := range spans {
				for _, free := range without(clip(s, g), taken) {
					if free.LengthS() < 0.2 {
						continue
					}
					segs = append(segs, flight.Segment{Kind: kind, Span: free})
					taken = append(taken, free)
					sort.Slice(taken, func(i, j int) bool { return taken[i].FromS < taken[j].FromS })
				}
			}
		}
		add(flight.Knocks, f.knocks(g))
		add(flight.ControlCheck, f.controlChecks(g))
		add(flight.SpinUp, within(f.spinUp, g))
		add(flight.SpinDown, within(f.spinDown, g))
		for _, s := range without(g, taken) {
			segs = append(segs, flight.Segment{Kind: flight.Ground, Span: s})
		}
	}
	return segs
}

func within(s, g flight.Span) []flight.Span {
	if s.LengthS() <= 0 || !s.Overlaps(g) {
		return nil
	}
	return []flight.Span{s}
}

func clip(s, to flight.Span) flight.Span {
	return flight.Span{FromS: max(s.FromS, to.FromS), ToS: min(s.ToS, to.ToS)}
}

// controlChecks returns the spans in g in which a stick goes through more than 15 % of
// its travel while the aircraft stands.
func (f *finder) controlChecks(g flight.Span) []flight.Span {
	const (
		movedSI = 0.15
		joinS   = 2.5
	)
	var moved []flight.Span
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		c := f.stick(axis)
		if c == nil {
			continue
		}
		x := series.Even(c, f.slow, 0.2)
		rest := series.Percentile(f.pick(x, []flight.Span{g}), 0.5)
		if rest != rest {
			continue
		}
		for _, s := range f.runs(func(i int) bool { return math.Abs(x[i]-rest) > movedSI }) {
			if g.Overlaps(s) {
				moved = append(moved, clip(s, g))
			}
		}
	}
	sort.Slice(moved, func(i, j int) bool { return moved[i].FromS < moved[j].FromS })
	var out []flight.Span
	for _, s := range closeGaps(moved, joinS) {
		// The stick leaves its rest a little before it has gone 15 %.
		s = clip(flight.Span{FromS: s.FromS - 0.2, ToS: s.ToS + 0.2}, g)
		if s.LengthS() > 0.8 {
			out = append(out, s)
		}
	}
	return out
}

// knocks returns the spans in g that hold two or more sharp taps felt by an
// accelerometer while the rotor stands.
func (f *finder) knocks(g flight.Span) []flight.Span {
	var at []float64
	for _, q := range []flight.Quantity{flight.AccelX, flight.AccelY, flight.AccelZ, flight.Knock} {
		c := f.hop.Channel(q)
		if c == nil {
			continue
		}
		if q == flight.Knock && !f.sharesClock(c) {
			continue
		}
		at = append(at, f.taps(c, g)...)
	}
	sort.Float64s(at)
	var out []flight.Span
	for i := 0; i < len(at); {
		k := i
		for k+1 < len(at) && at[k+1]-at[k] < 3 {
			k++
		}
		if at[k]-at[i] > 0.2 { // more than one tap
			out = append(out, clip(flight.Span{FromS: at[i] - 0.5, ToS: at[k] + 0.5}, g))
		}
		i = k + 1
	}
	return out
}

// taps returns the times of single sharp peaks in c within g: more than 12 times the
// usual change from sample to sample, and at least 1 m/s2.
func (f *finder) taps(c *flight.Channel, g flight.Span) []float64 {
	const leastMS2 = 1.0
	lo, hi := c.Index(g.FromS), c.Index(g.ToS)
	if hi-lo < 20 {
		return nil
	}
	change := make([]float64, 0, hi-lo)
	for i := lo + 1; i < hi; i++ {
		change = append(change, c.Value[i]-c.Value[i-1])
	}
	limit := max(12*series.Spread(change), leastMS2)
	var at []float64
	for i, d := range change {
		t := c.TimeS[lo+1+i]
		if !(math.Abs(d) > limit) || f.turning(t) {
			continue
		}
		if n := len(at); n == 0 || t-at[n-1] > 0.2 {
			at = append(at, t)
		}
	}
	return at
}

// turning reports whether the rotor is known to turn fast at tS.
func (f *finder) turning(tS float64) bool {
	if f.rotor == nil {
		return false
	}
	// A knock shakes the airframe too, for less than the second over which vibration is
	// averaged: ask before and after it.
	a, b := f.rotor[f.slow.Index(tS-1.2)], f.rotor[f.slow.Index(tS+1.2)]
	return min(a, b) > 0.5
}

// stick returns the stick channel of the axis if it can be timed against the attitude.
func (f *finder) stick(axis flight.Axis) *flight.Channel {
	c := f.hop.Channel(axis.Stick())
	if c == nil || c.Len() < 20 || !f.sharesClock(c) {
		return nil
	}
	return c
}

// sharesClock reports whether c can be timed against the channels that tell flight from
// ground.
func (f *finder) sharesClock(c *flight.Channel) bool {
	for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.RollRate, flight.PitchRate} {
		if lead := f.hop.Channel(q); lead != nil {
			_, ok := f.hop.CommonClock(lead, c)
			return ok
		}
	}
	return false
}
