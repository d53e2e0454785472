package report

import (
	"fmt"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// maxFlagFigures is how many flagged intervals get traces of their own; the list has
// them all.
const maxFlagFigures = 6

// smallLeftPt is the left margin of figures half a page wide.
const smallLeftPt = 30.0

// flagFigure draws attitude and stick of the i-th flagged interval and some seconds
// about it. It is nil if the attitude is not on the hop clock.
func flagFigure(d *debrief.Debrief, i int, widthPt float64) *drawing {
	u := d.Stability.Unstable[i]
	around := aroundSpan(u.Span, d.Hop.DurationS)
	width := widthPt - smallLeftPt - 4
	attitude := timed(d.Hop, u.Axis.Attitude())
	if attitude == nil || width < 40 || !(around.LengthS() > 0) {
		return nil
	}
	f := &drawing{
		title:   fmt.Sprintf("%d: %s, %s, %s", i+1, u.Axis, u.Kind, spanText(u.Span)),
		widthPt: widthPt,
	}
	channels := []*flight.Channel{attitude}
	names := []string{string(u.Axis) + ", deg"}
	least := []float64{4, 20}
	if stick := timed(d.Hop, u.Axis.Stick()); stick != nil {
		channels, names = append(channels, stick), append(names, string(u.Axis.Stick())+", %")
	}
	y := 1.0
	for k, c := range channels {
		_, scaled := c.Quantity.ShownUnit()
		runs := trace(c, around, int(width), scaled)
		low, high := reach(runs)
		p := panel{f: f, x: smallLeftPt, y: y, w: width, h: 40, xs: scale{lo: around.FromS, hi: around.ToS}, ys: roundScale(low, high, least[k])}
		p.shade(u.Span.FromS, u.Span.ToS)
		p.frame(4)
		p.curve(tracePen(), runs)
		f.boldLabel(p.x+3, p.y+textPt, textPt, startAnchor, names[k])
		if k == len(channels)-1 {
			p.numbers("time, s")
		}
		y += 40 + stripGapPt
	}
	f.highPt = y + 9
	return f
}

// aroundSpan is span with a third more before and after it, at least two seconds.
func aroundSpan(span flight.Span, durationS float64) flight.Span {
	more := max(2, span.LengthS()/3)
	return flight.Span{FromS: max(0, span.FromS-more), ToS: min(max(durationS, span.ToS), span.ToS+more)}
}
