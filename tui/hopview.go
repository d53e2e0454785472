package tui

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// Rows of the screen that are no strips: verdict, worst finding, segments, flags, time
// axis and what the cursor is in.
const plainRows = 7

// gutterWidth is the space left of a strip for its name, value and scale.
const gutterWidth = 20

// layout says where things are.
type layout struct {
	plotX, plotW int
	strips       []box
	hidden       int // strips that found no room
	damping      int // first row of damping, one for each axis
	axes         []flight.Axis
	segments, flags,
	axis, words int
}

type box struct {
	t    *track
	over *track // laid over it, nil for none
	y, h int
}

// layout spreads the strips over the height.
func (v *hopView) layout() layout {
	l := layout{plotX: gutterWidth, plotW: v.plotWidth()}
	l.words = v.h - 2
	l.axis, l.flags, l.segments = l.words-1, l.words-2, l.words-3
	const top = 2
	l.axes = v.dampingAxes()
	l.damping = l.segments - len(l.axes)
	room := max(l.damping-top, 0)
	bs := v.boxes(v.strips(v.set))
	if most := room / 2; len(bs) > most {
		bs, l.hidden = bs[:most], len(bs)-most
	}
	for i, b := range bs {
		y0, y1 := top+room*i/len(bs), top+room*(i+1)/len(bs)
		h := y1 - y0
		if h >= 5 {
			h-- // a blank row keeps the strips apart
		}
		b.y, b.h = y0, h
		l.strips = append(l.strips, b)
	}
	return l
}

func (v *hopView) View() string {
	if v.desk.current == nil {
		return emptyPage(v.w, v.h, v.desk)
	}
	if v.base == nil {
		v.lay = v.layout()
		v.base = v.drawBase()
	}
	p := v.base.clone()
	v.drawCursors(p)
	v.drawReadings(p)
	v.drawWords(p)
	return p.render(&v.desk.theme)
}

// drawBase draws all that does not move with the cursor.
func (v *hopView) drawBase() *paper {
	p := newPaper(v.w, v.h)
	v.drawVerdict(p)
	for _, b := range v.lay.strips {
		v.drawStrip(p, b)
	}
	for i, a := range v.lay.axes {
		v.drawDamping(p, v.lay.damping+i, a)
	}
	v.drawSegments(p)
	v.drawFlags(p)
	v.drawAxis(p)
	return p
}

func (v *hopView) drawVerdict(p *paper) {
	d := v.desk.current.d
	word, pn := proceedWord(d.Verdict.Proceed)
	x := p.text(1, 0, word, pn)
	text, others := worstReason(d.Verdict.Reasons)
	text = v.desk.speed.inText(text)
	x0 := p.w - 1
	if others > 0 {
		more := fmt.Sprintf("+%d more", others)
		x0 -= textWidth(more)
		p.text(x0, 0, more, faint)
	}
	p.text(x+2, 0, clip(text, x0-x-4), ink)
	if len(d.Findings) == 0 {
		p.text(1, 1, "no findings about the data", faint)
		return
	}
	f := d.Findings[0]
	word, pn = severityWord(f.Severity)
	more := ""
	if n := len(d.Findings) - 1; n > 0 {
		more = fmt.Sprintf("  +%d in data", n)
	}
	x = p.text(1, 1, word, pn)
	room := p.w - x - 3 - textWidth(more)
	p.text(x+2, 1, clip(clean(findingTitle(f)+": "+f.Text), room), ink)
	p.textRight(p.w-1, 1, more, faint)
}

// worstReason is the reason that weighs most, with where in the hop it is, and how many
// others there are.
func worstReason(rs []debrief.Reason) (text string, others int) {
	if len(rs) == 0 {
		return "", 0
	}
	r := worstFirst(rs)[0]
	text = clean(r.Text)
	if r.Span != (flight.Span{}) && r.Weight != debrief.Yes {
		text = seconds(r.Span.FromS) + " s: " + text
	}
	return text, len(rs) - 1
}

func (v *hopView) drawStrip(p *paper, b box) {
	scale := v.scaleOfBox(b)
	lo, hi := scale.lo*b.t.scale, scale.hi*b.t.scale
	step := roundStep((hi - lo) / 8)
	drawNames(p, b)
	p.textRight(gutterWidth-1, b.y, stepText(hi, step), faint)
	p.textRight(gutterWidth-1, b.y+b.h-1, stepText(lo, step), faint)
	for y := b.y; y < b.y+b.h; y++ {
		p.set(gutterWidth-1, y, '┤', faint)
	}
	d := newDots(v.lay.plotW, b.h, scale)
	if scale.lo < 0 && scale.hi > 0 {
		p.fill(v.lay.plotX, v.lay.plotX+v.lay.plotW, b.y+int(d.row(0))/4, '┄', faint)
	}
	if b.t.quantity.Dimension() == flight.StickTravel {
		for _, stop := range []float64{-1, 1} {
			if stop >= scale.lo && stop <= scale.hi {
				p.fill(v.lay.plotX, v.lay.plotX+v.lay.plotW, b.y+int(d.row(stop))/4, '═', faint)
			}
		}
	}
	pn := ink
	if b.t.quantity.Dimension() == flight.Speed || b.t.quantity == flight.WindDirectionFrom {
		pn = accent2
	}
	d.trace(b.t, v.window)
	d.draw(p, v.lay.plotX, b.y, pn)
	v.markBeyond(p, b.t, b, scale)
	if b.over != nil {
		d = newDots(v.lay.plotW, b.h, scale)
		d.dotted = true
		d.trace(b.over, v.window)
		d.draw(p, v.lay.plotX, b.y, accent2)
		v.markBeyond(p, b.over, b, scale)
	}
	for _, u := range v.desk.current.d.Stability.Unstable {
		if a := axisOf(b.t.quantity); a == u.Axis && a != "" && b.over == nil {
			v.repenSpan(p, u.Span, b, danger)
		}
	}
}

// markBeyond puts an arrow at the edge of a strip wherever the trace leaves its scale.
func (v *hopView) markBeyond(p *paper, t *track, b box, scale bounds) {
	// A dot row is the least that can be seen to be missing.
	dot := (scale.hi - scale.lo) / float64(4*b.h)
	beyond := func(e bounds) (above, below bool) { return e.hi > scale.hi+dot, e.lo < scale.lo-dot }
	if above, below := beyond(t.visible(v.window)); !above && !below {
		return
	}
	from := v.window.FromS
	for x := range v.lay.plotW {
		to := v.window.FromS + float64(x+1)*v.perCell()
		above, below := beyond(t.extent(t.index(from), t.index(to)))
		if above {
			p.set(v.lay.plotX+x, b.y, '↑', warn)
		}
		if below {
			p.set(v.lay.plotX+x, b.y+b.h-1, '↓', warn)
		}
		from = to
	}
}

// repenSpan changes the pen of a strip's trace inside an interval.
func (v *hopView) repenSpan(p *paper, s flight.Span, b box, pn pen) {
	x0, x1, ok := v.columns(s)
	if !ok {
		return
	}
	for x := x0; x <= x1; x++ {
		for y := b.y; y < b.y+b.h; y++ {
			if c := p.cells[y*p.w+x]; isDots(c.r) {
				p.repen(x, y, pn)
			}
		}
	}
}

// columns returns the first and last column of the plot that s touches.
func (v *hopView) columns(s flight.Span) (x0, x1 int, ok bool) {
	if s.ToS < v.window.FromS || s.FromS > v.window.ToS {
		return 0, 0, false
	}
	left, right := v.lay.plotX, v.lay.plotX+v.lay.plotW-1
	x0, x1 = v.columnOf(s.FromS), v.columnOf(s.ToS)
	return min(max(x0, left), right), min(max(x1, left), right), true
}

func (v *hopView) drawSegments(p *paper) {
	p.text(1, v.lay.segments, "flown", faint)
	for _, inputs := range []bool{false, true} { // inputs lie on top of phases
		for _, s := range v.desk.current.d.Segments {
			if isInput(s.Kind) != inputs {
				continue
			}
			if x0, x1, ok := v.columns(s.Span); ok {
				pn := faint
				if inputs {
					pn = accent
				}
				drawSegment(p, x0, x1, v.lay.segments, segmentText(s), pn)
			}
		}
	}
	for _, s := range v.desk.current.d.Hop.Exclude {
		if x0, x1, ok := v.columns(s); ok {
			p.fill(x0, x1+1, v.lay.segments, '×', warn)
		}
	}
	for _, m := range v.desk.current.d.Hop.Marks {
		if x, _, ok := v.columns(flight.Span{FromS: m.TimeS, ToS: m.TimeS}); ok {
			p.set(x, v.lay.segments, '▾', strong)
		}
	}
}

// drawSegment draws an interval with as much of its name as fits.
func drawSegment(p *paper, x0, x1, y int, name string, pn pen) {
	p.fill(x0, x1+1, y, '─', pn)
	p.set(x0, y, '╶', pn)
	if x1 > x0 {
		p.set(x0, y, '├', pn)
		p.set(x1, y, '┤', pn)
	}
	room := x1 - x0 - 1
	if short, _, ok := strings.Cut(name, " "); ok && len(name) > room {
		name = short
	}
	switch {
	case name == "":
	case len(name) <= room:
		p.text(x0+1+(room-len(name))/2, y, name, pn)
	case room > 0:
		p.text(x0+1+(room-1)/2, y, name[:1], pn)
	default:
		p.text(x0, y, name[:1], pn)
	}
}

func (v *hopView) drawFlags(p *paper) {
	us := slices.Clone(v.desk.current.d.Stability.Unstable)
	label := "flags"
	if len(us) == 0 {
		label = "flags none"
	}
	p.text(1, v.lay.flags, label, faint)
	kinds := flagKinds()
	for i := len(kinds) - 1; i >= 0; i-- { // the worst is drawn last and stays
		for _, u := range us {
			if u.Kind != kinds[i] {
				continue
			}
			if x0, x1, ok := v.columns(u.Span); ok {
				p.fill(x0, x1+1, v.lay.flags, flagLetter(u.Kind), danger)
			}
		}
	}
}

func (v *hopView) drawAxis(p *paper) {
	p.text(1, v.lay.axis, "time s", faint)
	const perTick = 12 // cells
	at, step := ticks(v.window.FromS, v.window.ToS, max(v.lay.plotW/perTick, 1))
	for _, t := range at {
		x := v.columnOf(t)
		if x < v.lay.plotX {
			continue
		}
		label := "╵" + stepText(t, step)
		if x+textWidth(label) <= p.w {
			p.text(x, v.lay.axis, label, faint)
		}
	}
}

// drawCursors draws both cursors over the strips.
func (v *hopView) drawCursors(p *paper) {
	top, bottom := 2, v.lay.axis
	if !math.IsNaN(v.ref) {
		v.drawCursor(p, v.ref, top, bottom, '┊')
	}
	v.drawCursor(p, v.cursor, top, bottom, '│')
	if x, _, ok := v.columns(flight.Span{FromS: v.cursor, ToS: v.cursor}); ok {
		if r := p.cells[v.lay.axis*p.w+x].r; r == ' ' || r == '╵' {
			p.set(x, v.lay.axis, '▲', accent)
		} else {
			p.repen(x, v.lay.axis, marked)
		}
	}
}

func (v *hopView) drawCursor(p *paper, tS float64, top, bottom int, r rune) {
	x, _, ok := v.columns(flight.Span{FromS: tS, ToS: tS})
	if !ok {
		return
	}
	for y := top; y < bottom; y++ {
		c := p.cells[y*p.w+x]
		switch {
		case isDots(c.r) || (y == v.lay.flags || y >= v.lay.damping && y < v.lay.segments) && c.r != ' ':
			p.repen(x, y, marked)
		case y != v.lay.segments || c.r == ' ':
			p.set(x, y, r, accent)
		}
	}
}

// drawReadings writes the values at the cursor into the gutter.
func (v *hopView) drawReadings(p *paper) {
	for _, b := range v.lay.strips {
		v.drawReading(p, b)
	}
}

// drawWords says where the cursor is and what is there.
func (v *hopView) drawWords(p *paper) {
	step := roundStep(v.perCell() / 2)
	if v.entry.open {
		head := fmt.Sprintf("mark at %s s", stepText(v.atTime, step))
		if v.leaveOut {
			head = spanText(v.between()) + " left out, why"
		}
		p.text(1, v.lay.words, head+": "+v.entry.text+"_", accent)
		p.text(1, v.lay.words+1, "enter keeps it in hop.toml, esc drops it", faint)
		return
	}
	head := stepText(v.cursor, step) + " s"
	if !math.IsNaN(v.ref) {
		head += fmt.Sprintf(" (%s from %s%s)", stepText(v.cursor-v.ref, step), stepText(v.ref, step), v.phaseBetween())
	}
	x := p.text(1, v.lay.words, head, accent)
	text, pn := v.atCursor()
	if text == "" && v.lay.hidden > 0 {
		text, pn = fmt.Sprintf("%d more traces need a taller window", v.lay.hidden), faint
	}
	y := v.lay.words
	if x > p.w*2/5 { // no room beside it
		x, y = 3, y+1
	}
	for lines := wrap(text, p.w-x-3); len(lines) > 0 && y < p.h; y++ {
		line := lines[0]
		if y == p.h-1 && len(lines) > 1 {
			line = clip(line+" …", p.w-x-3)
		}
		p.text(x+2, y, line, pn)
		lines = lines[1:]
	}
}
