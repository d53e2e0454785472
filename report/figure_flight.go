package report

import (
	"fmt"
	"math"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/segment"
	"hopcard/flight"
)

// Measures of the flight's strips: left margin, height of a strip and of the band below.
const (
	stripLeftPt = 54.0
	stripPt     = 30.0
	stripGapPt  = 3.0
	bandPt      = 9.0
)

// strip is one row of the flight's chart.
type strip struct {
	name, unit string
	runs       [][]point
	least      float64 // smallest range of its scale
	fromZero   bool
}

// flightFigure draws the hop over time: attitude, sticks, wind, apparent damping, what
// was flown and what was flagged. It is nil if nothing is on the hop clock.
func flightFigure(d *debrief.Debrief, r room) *drawing {
	whole := flight.Span{ToS: d.Hop.DurationS}
	width := r.widthPt - stripLeftPt - 6
	high := stripPt * r.tall
	if !(whole.ToS > 0) || !finite(whole.ToS) || width < 50 {
		return nil
	}
	strips := flightStrips(d.Hop, whole, int(width))
	if len(strips) == 0 {
		return nil
	}
	damping := len(d.Stability.Damping) > 0
	rows := len(strips)
	if damping {
		rows++
	}
	const topPt = 10.0
	f := &drawing{title: "The hop", widthPt: r.widthPt}
	all := panel{f: f, x: stripLeftPt, y: topPt, w: width, h: float64(rows)*(high+stripGapPt) - stripGapPt, xs: scale{hi: whole.ToS}}
	flagShades(d, all)
	y := topPt
	flown, ok := segment.Flight(d.Segments)
	if !ok {
		flown = whole
	}
	for _, s := range strips {
		p := panel{f: f, x: all.x, y: y, w: width, h: high, xs: all.xs, ys: s.scaleIn(flown)}
		p.frame(3)
		p.curve(tracePen(), s.runs)
		p.readings(s.runs)
		p.stripName(s.name, s.unit)
		if s.name == "wind" {
			windClasses(d, p)
		}
		y += high + stripGapPt
	}
	if damping {
		dampingStrip(d, panel{f: f, x: all.x, y: y, w: width, h: high, xs: all.xs})
		y += high + stripGapPt
	}
	used := segmentBand(d, panel{f: f, x: all.x, y: y, w: width, h: bandPt, xs: all.xs})
	f.highPt = y + bandPt + 12
	f.caption = flightCaption(d, used, damping)
	return f
}

// scaleIn is a scale for what happened in flight: stick and attitude before and after
// may be much larger, in a control check for one, and are cut off there.
func (s strip) scaleIn(flown flight.Span) scale {
	low, high := math.Inf(1), math.Inf(-1)
	for _, run := range s.runs {
		for _, p := range run {
			if flown.Contains(p.x) {
				low, high = min(low, p.y), max(high, p.y)
			}
		}
	}
	if low > high {
		low, high = reach(s.runs)
	}
	if s.fromZero {
		// Zero is its lower end, and above it is room for the class of air.
		return scale{lo: 0, hi: roundScale(0, max(s.least, 1.3*high), 0).hi}
	}
	if s.unit == "%" {
		return travelScale(low, high, s.least)
	}
	return roundScale(low, high, s.least)
}

func flightStrips(h *flight.Hop, whole flight.Span, columns int) []strip {
	var out []strip
	for _, s := range []struct {
		name  string
		q     flight.Quantity
		least float64
	}{
		{"roll", flight.Roll, 4}, {"pitch", flight.Pitch, 4}, {"lat stick", flight.LatStick, 20},
		{"lon stick", flight.LonStick, 20}, {"wind", flight.WindSpeed, 4},
	} {
		c := timed(h, s.q)
		if c == nil {
			continue
		}
		unit, k := s.q.ShownUnit()
		if unit == flight.Percent {
			unit = "%"
		}
		runs := trace(c, whole, columns, k)
		if len(runs) > 0 {
			out = append(out, strip{s.name, string(unit), runs, s.least, s.q == flight.WindSpeed})
		}
	}
	return out
}

// stripName writes what a strip shows, left of its numbers.
func (p panel) stripName(name, unit string) {
	p.f.boldLabel(0, p.y+p.h/2-0.5, textPt, startAnchor, name)
	p.f.label(0, p.y+p.h/2+textPt, smallPt, startAnchor, unit)
}

// flagShades fills the flagged seconds over all strips and numbers them on top. Numbers
// that would overlap are drawn as one.
func flagShades(d *debrief.Debrief, p panel) {
	first, last, endX := -1, -1, math.Inf(-1)
	var atX float64
	write := func() {
		if first < 0 {
			return
		}
		text := fmt.Sprint(first + 1)
		if last > first {
			text += fmt.Sprintf("-%d", last+1)
		}
		p.f.boldLabel(atX, p.y-2, textPt, middleAnchor, text)
	}
	for i, u := range d.Stability.Unstable {
		p.shade(u.Span.FromS, u.Span.ToS)
		x := p.atX((u.Span.FromS + u.Span.ToS) / 2)
		if x < endX && x >= atX && first >= 0 {
			last = i
			endX = atX + 16
			continue
		}
		write()
		first, last, atX, endX = i, i, x, x+10
	}
	write()
}

// readings marks each point where there are few: what was read off by hand now and then
// must not look like a trace.
func (p panel) readings(runs [][]point) {
	const few = 30
	n := 0
	for _, run := range runs {
		n += len(run)
	}
	for _, run := range runs {
		for _, q := range run {
			if n <= few {
				p.f.dot(p.atX(q.x), p.atY(q.y), 1.2)
			}
		}
	}
}

// windClasses writes the class of air over each phase, where it fits.
func windClasses(d *debrief.Debrief, p panel) {
	for i, ph := range d.Wind.Phases {
		if ph.Span == (flight.Span{}) {
			continue
		}
		a, b := max(p.x, p.atX(ph.Span.FromS)), min(p.x+p.w, p.atX(ph.Span.ToS))
		if i > 0 {
			p.f.line(dottedPen(), point{a, p.y}, point{a, p.y + p.h})
		}
		if text := string(ph.Class); roomPt(text, textPt) < b-a {
			room := roomPt(text, textPt) // on white: the trace may run through it
			p.f.box(1, (a+b-room)/2, p.y+0.6, room, textPt+1)
			p.f.boldLabel((a+b)/2, p.y+textPt, textPt, middleAnchor, text)
		}
	}
}

// dampingStrip draws the apparent damping with its intervals: roll as dots, pitch as
// open squares.
func dampingStrip(d *debrief.Debrief, p panel) {
	p.ys = dampingScale(d)
	p.frame(3)
	p.stripName("damping", "ratio")
	for _, s := range d.Stability.Damping {
		if !finite(s.Ratio.Value) || !finite(s.TimeS) {
			continue
		}
		x, y := p.atX(s.TimeS), p.atY(s.Ratio.Value)
		if s.Ratio.HasInterval() {
			p.f.line(pen{widthPt: 0.25, grey: 0.55}, point{x, p.atY(s.Ratio.Low)}, point{x, p.atY(s.Ratio.High)})
		}
		if s.Axis == flight.RollAxis {
			p.f.dot(x, y, 1)
		} else {
			p.f.square(x, y, 1)
		}
	}
}

// dampingScale holds the ratios found, zero and some room about it; a ratio beyond -0.5 to 1
// is drawn at the edge.
func dampingScale(d *debrief.Debrief) scale {
	lo, hi := -0.1, 0.2
	for _, s := range d.Stability.Damping {
		if v := s.Ratio.Value; finite(v) {
			lo, hi = min(lo, v-0.05), max(hi, v+0.05)
		}
	}
	return scale{lo: max(-0.5, lo), hi: min(1, hi)}
}

// square is an open mark.
func (f *drawing) square(x, y, half float64) {
	f.line(pen{widthPt: 0.4}, point{x - half, y - half}, point{x + half, y - half}, point{x + half, y + half}, point{x - half, y + half}, point{x - half, y - half})
}

// segmentCodes are written where the name of a kind does not fit.
func segmentCode(k flight.SegmentKind) string {
	switch k {
	case flight.Doublet:
		return "D"
	case flight.Sweep:
		return "S"
	case flight.Steps:
		return "T"
	case flight.HandsStill:
		return "H"
	case flight.Rap:
		return "R"
	case flight.Knocks:
		return "K"
	case flight.LiftOff:
		return "U"
	case flight.Landing:
		return "L"
	}
	return ""
}

// segmentBand draws what was flown, and lists the codes it used with their meaning.
func segmentBand(d *debrief.Debrief, p panel) []string {
	var used []string
	for _, s := range d.Segments {
		a, b := max(p.x, p.atX(s.Span.FromS)), min(p.x+p.w, p.atX(s.Span.ToS))
		if b <= a {
			continue
		}
		if s.Axis != "" {
			p.f.box(0.88, a, p.y, b-a, p.h)
		}
		p.f.line(framePen(), point{a, p.y}, point{a, p.y + p.h})
		p.f.line(framePen(), point{b, p.y}, point{b, p.y + p.h})
		text := strings.TrimSpace(string(s.Kind) + " " + string(s.Axis))
		for _, short := range []string{string(s.Kind), segmentCode(s.Kind)} {
			if roomPt(text, smallPt) > b-a-1 {
				text = short
			}
		}
		if text == "" || roomPt(text, smallPt) > b-a+1 {
			continue
		}
		p.f.label((a+b)/2, p.y+p.h/2+smallPt*0.36, smallPt, middleAnchor, text)
		if text == segmentCode(s.Kind) {
			used = appendNew(used, text+" "+string(s.Kind))
		}
	}
	p.border()
	p.f.boldLabel(0, p.y+p.h/2+textPt*0.36, textPt, startAnchor, "flown")
	for _, m := range d.Hop.Marks {
		if x := p.atX(m.TimeS); x >= p.x && x <= p.x+p.w {
			p.f.area(0, point{x, p.y}, point{x - 2, p.y - stripGapPt}, point{x + 2, p.y - stripGapPt})
		}
	}
	p.numbers("time, s")
	return used
}

func appendNew(list []string, s string) []string {
	for _, have := range list {
		if have == s {
			return list
		}
	}
	return append(list, s)
}

func flightCaption(d *debrief.Debrief, used []string, damping bool) string {
	parts := []string{"scales hold the flight, more before and after it is cut off"}
	if len(d.Stability.Unstable) > 0 {
		parts = append(parts, "grey, numbered: flagged seconds")
	}
	if damping {
		parts = append(parts, "damping: apparent ratio of the swings, whoever causes them, below zero they grow; dots roll, squares pitch, bars 95 %")
	}
	if len(used) > 0 {
		parts = append(parts, "flown: "+strings.Join(used, ", "))
	}
	if len(d.Hop.Marks) > 0 {
		parts = append(parts, "triangle: mark of the crew")
	}
	for _, q := range []flight.Quantity{flight.LatStick, flight.LonStick, flight.WindSpeed} {
		if d.Hop.Channel(q) != nil && timed(d.Hop, q) == nil {
			parts = append(parts, string(q)+" is not drawn: it is not on the hop's clock")
		}
	}
	return upperFirst(strings.Join(parts, "; "))
}

// upperFirst makes a sentence of a list of parts; it is for our own words.
func upperFirst(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
