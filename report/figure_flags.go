package report

import (
	"fmt"
	"strconv"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// maxFlagFigures is how many groups of flags get traces of their own; the list has all
// flags.
const maxFlagFigures = 6

// Left margins of figures half a page wide, with and without names left of the numbers.
const (
	smallLeftPt = 50.0
	numbersPt   = 30.0
)

// flagPt is the height of a trace of a flagged interval.
const flagPt = 36.0

// title names the flags by the numbers that the list gives them.
func (g flagGroup) title(flags []stability.Unstable) string {
	var kinds []string
	for _, i := range g.index {
		kinds = appendNew(kinds, string(flags[i].Kind))
	}
	return fmt.Sprintf("%s: %s, %s, %s", numbersText(g.index), g.axis, strings.Join(kinds, ", "), spanText(g.span))
}

// numbersText lists the numbers of flags, three or more in a row as a range.
func numbersText(index []int) string {
	var parts []string
	for i := 0; i < len(index); {
		k := i
		for k+1 < len(index) && index[k+1] == index[k]+1 {
			k++
		}
		if k < i+2 {
			k = i
			parts = append(parts, strconv.Itoa(index[i]+1))
		} else {
			parts = append(parts, fmt.Sprintf("%d-%d", index[i]+1, index[k]+1))
		}
		i = k + 1
	}
	return strings.Join(parts, ", ")
}

// flagFigure draws attitude and stick of a group of flags and some seconds about it. It
// is nil if the attitude is not on the hop clock.
func flagFigure(d *debrief.Debrief, g flagGroup, r room) *drawing {
	around := aroundSpan(g.span, d.Hop.DurationS)
	width := r.widthPt - smallLeftPt - 4
	attitude := timed(d.Hop, g.axis.Attitude())
	if attitude == nil || width < 40 || !(around.LengthS() > 0) {
		return nil
	}
	f := &drawing{title: g.title(d.Stability.Unstable), widthPt: r.widthPt}
	channels := []*flight.Channel{attitude}
	names, units := []string{string(g.axis)}, []string{"deg"}
	least := []float64{4, 20}
	if stick := timed(d.Hop, g.axis.Stick()); stick != nil {
		channels, names, units = append(channels, stick), append(names, shortStick(g.axis)), append(units, "%")
	}
	y := 1.0
	for k, c := range channels {
		_, scaled := c.Quantity.ShownUnit()
		runs := trace(c, around, int(width), scaled)
		if k == 0 && len(runs) == 0 {
			return nil
		}
		low, high := reach(runs)
		p := panel{f: f, x: smallLeftPt, y: y, w: width, h: flagPt * r.tall, xs: scale{lo: around.FromS, hi: around.ToS}, ys: travelScale(low, high, least[k])}
		for _, i := range g.index {
			p.shade(d.Stability.Unstable[i].Span.FromS, d.Stability.Unstable[i].Span.ToS)
		}
		p.frame(3)
		p.curve(tracePen(), runs)
		p.stripName(names[k], units[k])
		if k == len(channels)-1 {
			p.numbers("time, s")
		}
		y += flagPt*r.tall + stripGapPt
	}
	f.highPt = y + 9
	return f
}

// shortStick names the control of an axis in a margin.
func shortStick(a flight.Axis) string {
	switch a {
	case flight.RollAxis:
		return "lat stick"
	case flight.PitchAxis:
		return "lon stick"
	}
	return "pedal"
}

// aroundSpan is span with a third more before and after it, at least two seconds.
func aroundSpan(span flight.Span, durationS float64) flight.Span {
	more := max(2, span.LengthS()/3)
	return flight.Span{FromS: max(0, span.FromS-more), ToS: min(max(durationS, span.ToS), span.ToS+more)}
}
