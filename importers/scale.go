package importers

import (
	"fmt"
	"math"
	"sort"

	"hopcard/flight"
)

// settleStick finds out how the written values of a stick become fractions of full
// travel: from hop.toml, from the unit's own range, or from the range that was seen.
func (f *logFile) settleStick(c *column) {
	g := c.figures
	if c.unit == flight.NoUnit {
		u, sure := likelyStickUnit(g)
		c.unit, c.guessed = u, true
		c.sure *= sure
		f.add(flight.CodeUnitGuessed, guessSeverity(sure), c.header, flight.Span{},
			fmt.Sprintf("column %q (%s) says no unit: values from %.4g to %.4g, taken for %s, %.0f %% sure",
				c.header, c.quantity, g.low, g.high, u, 100*sure), "name the unit in hop.toml if this is wrong")
	}
	if c.user != nil && c.user.Neutral != nil && c.user.FullThrow != nil && *c.user.FullThrow != 0 {
		c.zero, c.scale = *c.user.Neutral, 1 / *c.user.FullThrow
		return
	}
	k, _, known := c.unit.Scale()
	switch {
	case c.quantity == flight.Collective && known:
		c.scale = k
		return
	case known && !oneSided(g, k):
		c.scale = k
		return
	}
	t, seen := findTravel(c.values, c.figures, f.stamps)
	seen = seen && plausibleTravel(c.unit, t)
	switch {
	case seen:
		f.seenTravel(c, t)
	case known: // 0 to 100 % with neutral at half
		c.zero, c.scale = 0.5/k, 2*k
		f.add(flight.CodeStickScale, flight.Caution, c.header, flight.Span{},
			fmt.Sprintf("%q runs from %.4g to %.4g %s around %.4g: taken for 0 to 100 %% with neutral at the middle",
				c.header, g.low, g.high, c.unit, g.median), stickAdvice)
	default:
		f.assumedTravel(c, g)
	}
	if c.user != nil && c.user.Neutral != nil {
		c.zero = *c.user.Neutral
	}
	if c.user != nil && c.user.FullThrow != nil && *c.user.FullThrow != 0 {
		c.scale = 1 / *c.user.FullThrow
	}
}

const stickAdvice = "give neutral and full_throw of this column in hop.toml, or move the stick to all stops on the ground before the flight"

// oneSided reports whether a percentage runs from 0 to 100 with neutral at half, rather
// than from -100 to 100.
func oneSided(g figures, k float64) bool {
	return g.low*k > -0.02 && g.median*k > 0.3 && g.median*k < 0.7 && g.high*k <= 1.02 && g.high*k > 0.55
}

func likelyStickUnit(g figures) (flight.Unit, float64) {
	switch {
	case g.low >= -1.1 && g.high <= 1.1:
		return flight.UnitTravel, 0.92
	case g.low >= 700 && g.high <= 2300 && g.median > 900 && g.median < 2100:
		return flight.PulseUs, 0.9
	case g.low >= -115 && g.high <= 115 && (g.low < -1.5 || !g.whole):
		return flight.Percent, 0.9
	case g.whole && g.low >= 0 && g.high <= 65535:
		if g.high <= 100 {
			return flight.Percent, 0.6
		}
		return flight.Counts, 0.85
	}
	return flight.Counts, 0.5
}

// travel is the range of a stick as seen in a control check.
type travel struct {
	neutral, low, high float64 // written values at rest and at the stops
	atLow, atHigh      flight.Span
	rest               bool // neutral was seen at rest; otherwise it is half way
}

// findTravel looks for a control check: both ends of the range reached and held, one
// soon after the other. A stick that only works around its trim in flight turns back at
// the ends of its range instead of standing there.
func findTravel(v []float64, g figures, stamps []float64) (travel, bool) {
	reach := g.high - g.low
	if g.n < 10 || reach <= 0 {
		return travel{}, false
	}
	near := 0.015 * reach
	highs := stops(v, stamps, reach, func(x float64) bool { return x >= g.high-near })
	lows := stops(v, stamps, reach, func(x float64) bool { return x <= g.low+near })
	t := travel{}
	closest := math.Inf(1)
	for _, h := range highs {
		for _, l := range lows {
			if apart := math.Abs(h.FromS - l.FromS); apart < closest {
				closest, t.atHigh, t.atLow = apart, h, l
			}
		}
	}
	if closest > 30 {
		return travel{}, false
	}
	t.high, t.low = medianIn(v, stamps, t.atHigh), medianIn(v, stamps, t.atLow)
	half := (t.high + t.low) / 2
	t.neutral = restBefore(v, stamps, math.Min(t.atHigh.FromS, t.atLow.FromS))
	t.rest = math.Abs(t.neutral-half) < 0.08*(t.high-t.low)
	if !t.rest {
		t.neutral = half
	}
	return t, true
}

// stops lists the holds in which the stick stands at a stop: flat, with steep flanks. A
// smooth turn is bent like a parabola and comes and goes slowly.
func stops(v, stamps []float64, reach float64, is func(float64) bool) []flight.Span {
	var out []flight.Span
	for _, s := range holds(v, stamps, is) {
		third := s.LengthS() / 3
		mid := meanIn(v, stamps, flight.Span{FromS: s.FromS + third, ToS: s.ToS - third})
		ends := (meanIn(v, stamps, flight.Span{FromS: s.FromS, ToS: s.FromS + third}) +
			meanIn(v, stamps, flight.Span{FromS: s.ToS - third, ToS: s.ToS})) / 2
		const flank = 0.12 // s
		before := meanIn(v, stamps, flight.Span{FromS: s.FromS - flank - 0.05, ToS: s.FromS - flank + 0.05})
		after := meanIn(v, stamps, flight.Span{FromS: s.ToS + flank - 0.05, ToS: s.ToS + flank + 0.05})
		flat := math.Abs(mid-ends) < 0.004*reach
		steep := math.Abs(before-mid) > 0.06*reach && math.Abs(after-mid) > 0.06*reach
		if flat && steep {
			out = append(out, s)
		}
	}
	return out
}

func meanIn(v, stamps []float64, s flight.Span) float64 {
	lo := sort.SearchFloat64s(stamps, s.FromS)
	hi := min(sort.SearchFloat64s(stamps, s.ToS)+1, len(v))
	sum, n := 0.0, 0.0
	for _, x := range v[min(lo, hi):hi] {
		if x == x {
			sum, n = sum+x, n+1
		}
	}
	return sum / n // NaN without values: no comparison with it holds
}

// plausibleTravel refuses a range too small to be that from stop to stop: 400 us of
// pulse, or a tenth of what the converter can count.
func plausibleTravel(u flight.Unit, t travel) bool {
	reach := t.high - t.low
	switch u {
	case flight.PulseUs:
		return reach >= 400
	case flight.Counts:
		full := 256.0
		for full <= t.high {
			full *= 2
		}
		return reach >= full/10
	}
	return true
}

// holds lists the stretches of at least 0.08 s in which is holds for every value.
func holds(v, stamps []float64, is func(float64) bool) []flight.Span {
	const least = 0.08
	var spans []flight.Span
	from := -1
	for i := 0; i <= len(v); i++ {
		if i < len(v) && is(v[i]) {
			if from < 0 {
				from = i
			}
			continue
		}
		if from >= 0 && i-from >= 3 && stamps[i-1]-stamps[from] >= least {
			spans = append(spans, flight.Span{FromS: stamps[from], ToS: stamps[i-1]})
		}
		from = -1
	}
	return spans
}

func medianIn(v, stamps []float64, s flight.Span) float64 {
	lo := sort.SearchFloat64s(stamps, s.FromS)
	hi := sort.SearchFloat64s(stamps, s.ToS)
	return medianOf(v[lo:min(hi+1, len(v))])
}

// restBefore returns the resting value: the median of what was written up to two
// seconds before the check began, when the stick was left alone.
func restBefore(v, stamps []float64, checkS float64) float64 {
	end := sort.SearchFloat64s(stamps, checkS-2)
	if end < 5 {
		end = min(sort.SearchFloat64s(stamps, stamps[0]+0.5)+1, len(v))
	}
	return medianOf(v[:end])
}

func (f *logFile) seenTravel(c *column, t travel) {
	full := (t.high - t.low) / 2
	c.zero, c.scale = t.neutral, 1/full
	text := fmt.Sprintf("%q (%s): neutral %.5g at rest, stops at %.5g and %.5g in the control check: full throw %.5g %s",
		c.header, c.quantity, t.neutral, t.low, t.high, full, c.unit)
	sev := flight.Note
	if !t.rest {
		sev = flight.Caution
		text = fmt.Sprintf("%q (%s): stops at %.5g and %.5g, but the stick did not rest near the middle before the control check; neutral is put half way, %.5g %s",
			c.header, c.quantity, t.low, t.high, t.neutral, c.unit)
		c.sure *= 0.9
	}
	f.add(flight.CodeStickScale, sev, c.header,
		flight.Span{FromS: math.Min(t.atLow.FromS, t.atHigh.FromS), ToS: math.Max(t.atLow.ToS, t.atHigh.ToS)}, text,
		"give neutral and full_throw of this column in hop.toml if the stick did not reach its stops")
}

// assumedTravel falls back to the usual range of the unit where no control check was
// seen.
func (f *logFile) assumedTravel(c *column, g figures) {
	switch {
	case c.unit == flight.PulseUs:
		c.zero, c.scale = 1500, 1.0/500
		f.add(flight.CodeStickScale, flight.Caution, c.header, flight.Span{},
			fmt.Sprintf("%q (%s): no control check to both stops is seen; 1500 us is taken for neutral and 500 us for full throw",
				c.header, c.quantity), stickAdvice)
	default:
		c.zero, c.scale = g.median, 2/math.Max(g.high-g.low, 1e-9)
		c.sure *= 0.5
		f.add(flight.CodeStickScale, flight.Stop, c.header, flight.Span{},
			fmt.Sprintf("%q (%s): no control check to both stops is seen, so the full throw is not known; the range seen, %.5g to %.5g, is taken for it: gains and control left are wrong by an unknown factor",
				c.header, c.quantity, g.low, g.high), stickAdvice)
	}
}
