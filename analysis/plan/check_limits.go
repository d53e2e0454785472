package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hopcard/flight"
)

// knocks asks for taps only where clocks needed them.
func (c *checker) knocks() {
	if c.plan.KnocksBefore == 0 && c.plan.KnocksAfter == 0 {
		return
	}
	var before, after []flight.Segment
	air, flew := airborne(c.d.Segments)
	for _, s := range c.flown(kindAxis{kind: flight.Knocks}) {
		if !flew || s.Span.FromS < air.FromS {
			before = append(before, s)
		} else {
			after = append(after, s)
		}
	}
	needed, clock := c.clock()
	var found string
	switch {
	case len(before) > 0 && len(after) > 0:
		found = "before and after"
	case len(before) > 0:
		found = "before only"
	case len(after) > 0:
		found = "after only"
	default:
		found = "none found"
	}
	ok := (c.plan.KnocksBefore == 0 || len(before) > 0) && (c.plan.KnocksAfter == 0 || len(after) > 0)
	c.add("knocks", fmt.Sprintf("%d before, %d after", c.plan.KnocksBefore, c.plan.KnocksAfter), found+"; "+clock,
		ok || !needed, hull(append(before, after...)))
}

// clock words how the clocks came together, and whether knocks were needed for it.
func (c *checker) clock() (needed bool, words string) {
	var by []string
	for _, s := range c.d.Hop.Sources {
		how := string(s.Clock.AlignedBy)
		switch s.Clock.AlignedBy {
		case flight.AlignNone, "":
			needed, how = true, "nothing"
		case flight.AlignKnocks:
			needed = true
		case flight.AlignSingle:
			return false, "not needed, one log"
		case flight.AlignUTC:
			how = "UTC"
		}
		if !slices.Contains(by, how) {
			by = append(by, how)
		}
	}
	return needed, "clocks by " + strings.Join(by, " and ")
}

func (c *checker) wind() {
	l := c.plan.Limits
	planned := fmt.Sprintf("mean to %g m/s, gust spread to %g m/s", l.WindMeanMS, l.GustSpreadMS)
	if l.WindMeanMS == 0 && l.GustSpreadMS == 0 {
		return
	}
	w := c.d.Wind.Whole
	if w == nil || w.MeanMS == nil {
		c.add("wind", planned, "not logged", false, flight.Span{})
		return
	}
	flown := fmt.Sprintf("mean %.1f m/s", w.MeanMS.Value)
	done := l.WindMeanMS == 0 || w.MeanMS.Value <= l.WindMeanMS
	if w.SpreadMS != nil {
		flown += fmt.Sprintf(", gust spread %.1f m/s", w.SpreadMS.Value)
		done = done && (l.GustSpreadMS == 0 || w.SpreadMS.Value <= l.GustSpreadMS)
	}
	c.add("wind", planned, flown, done, w.Span)
}

// shakeS is what readings are averaged over, so that the head's shaking does not count: a turn
// of a light rotor takes about that long.
const shakeS = 0.12

// meanIn is the mean of a channel in an interval, NaN if it has no reading there.
func meanIn(ch *flight.Channel, fromS, toS float64) float64 {
	var sum, n float64
	for i := ch.Index(fromS); i < ch.Len() && ch.TimeS[i] < toS; i++ {
		if v := ch.Value[i]; v == v {
			sum, n = sum+v, n+1
		}
	}
	return sum / n
}

// within compares the largest reading of two channels in flight with a limit.
func (c *checker) within(a, b flight.Quantity, limit float64, name, unit string) {
	air, flew := airborne(c.d.Segments)
	if limit == 0 || !flew {
		return
	}
	most, at, seen := 0.0, 0.0, false
	for _, q := range []flight.Quantity{a, b} {
		ch := c.d.Hop.Channel(q)
		if ch == nil {
			continue
		}
		for t := air.FromS; t < air.ToS; t += shakeS / 2 {
			if v := math.Abs(meanIn(ch, t, t+shakeS)) / deg; v == v {
				seen = true
				if v > most {
					most, at = v, t
				}
			}
		}
	}
	planned := fmt.Sprintf("to %g %s", limit, unit)
	if !seen {
		c.add(name+", roll and pitch", planned, "not logged", false, flight.Span{})
		return
	}
	span := flight.Span{}
	if most > limit {
		span = flight.Span{FromS: max(at-2, 0), ToS: at + 2}
	}
	c.add(name+", roll and pitch", planned, fmt.Sprintf("to %.0f %s", most, unit), most <= limit, span)
}
