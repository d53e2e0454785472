package tui

import (
	"fmt"

	"hopcard/analysis/debrief"
)

// listTop is the row of the screen where the list starts.
const listTop = 2

// column is one column of the list.
type column struct {
	head string
	w    int
	text func(r *row) (string, pen)
	// fromHop marks what is known only after the hop has been read.
	fromHop bool
}

// columns lists what fits the width, name first. Damping comes with wider windows.
func (l *logbook) columns() []column {
	plain := func(f func(r *row) string) func(r *row) (string, pen) {
		return func(r *row) (string, pen) { return clean(f(r)), ink }
	}
	cols := []column{
		{"date", 10, plain(func(r *row) string { return r.sum.Date }), false},
		{"configuration", min(max(l.w/6, 13), 24), plain(func(r *row) string { return r.sum.Configuration }), false},
		{"air", 6, plain(func(r *row) string { return r.sum.Air }), true},
		{"lag ms r/p", 10, plain(func(r *row) string { return r.sum.Lag }), true},
	}
	if l.w >= 100 {
		cols = append(cols, column{"damping", 7, plain(func(r *row) string { return r.sum.Damping }), true})
	}
	flags := func(r *row) (string, pen) {
		if r.sum.Flags == "none" {
			return r.sum.Flags, ink
		}
		return r.sum.Flags, danger
	}
	cols = append(cols, column{"flags", 9, flags, true},
		column{"verdict", 8, func(r *row) (string, pen) { return proceedWord(r.proceed()) }, true})
	const shortestName = 12
	name := nameRoom(l.w, cols)
	if name < shortestName {
		cols = cols[1:] // the date has to go
		name = nameRoom(l.w, cols)
	}
	head := column{"hop", min(name, 40), plain(func(r *row) string { return r.entry.Name }), false}
	return append([]column{head}, cols...)
}

// nameRoom is the width left for the name of the hop beside the columns.
func nameRoom(w int, cols []column) int {
	room := w - 3
	for _, c := range cols {
		room -= c.w + 1
	}
	return room
}

// visible is how many rows of the list fit.
func (l *logbook) visible() int { return max(l.h-listTop-l.footHeight(), 1) }

// footHeight is the space below the list for the reasons of the selected hop.
func (l *logbook) footHeight() int { return min(max(l.h/4, 5), 10) }

func (l *logbook) View() string {
	p := newPaper(l.w, l.h)
	if l.typing {
		p.text(1, 0, "filter: "+l.filter.Value()+"_   (enter keeps it, esc drops it)", accent)
	} else {
		p.text(1, 0, clip(l.title(), l.w-2), faint)
	}
	cols := l.columns()
	x := 2
	for _, c := range cols {
		p.textTo(x, 1, x+c.w, c.head, faint)
		x += c.w + 1
	}
	for i := range l.visible() {
		if l.top+i < len(l.order) {
			l.drawRow(p, cols, listTop+i, l.top+i)
		}
	}
	l.drawFoot(p, listTop+l.visible())
	return p.render(&l.desk.theme)
}

func (l *logbook) drawRow(p *paper, cols []column, y, at int) {
	r := &l.desk.rows[l.order[at]]
	own := ink
	if at == l.cursor {
		own = accent
		p.text(0, y, ">", accent)
	}
	p.set(1, y, l.desk.pair.letter(l.order[at]), strong)
	x := 2
	for _, c := range cols {
		s, pn := c.text(r)
		if c.fromHop && !r.known {
			break
		}
		switch {
		case r.known && r.state != ready && at != l.cursor:
			pn = faint // from an earlier session
		case pn == ink:
			pn = own
		}
		p.text(x, y, clip(s, c.w), pn)
		x += c.w + 1
	}
	room := l.w - x
	if r.known && r.state != failed {
		return
	}
	switch r.state {
	case waiting:
		p.text(x, y, clip("not read yet", room), faint)
	case reading:
		p.text(x, y, clip(fmt.Sprintf("reading %.0f %% %s", 100*r.done, r.what), room), faint)
	case failed:
		p.text(x, y, clip("CANNOT READ: "+clean(r.err.Error()), room), danger)
	}
}

// drawFoot says about the selected hop why its verdict is what it is.
func (l *logbook) drawFoot(p *paper, y int) {
	p.fill(1, l.w-1, y, '─', faint)
	if len(l.order) == 0 {
		p.text(1, y+1, "no hop matches the filter", ink)
		return
	}
	r := &l.desk.rows[l.selected()]
	y++
	if s := r.problem(); s != "" {
		y = paragraph(p, 1, y, l.w-2, "problem: ", clean(s), danger)
	}
	if !r.known {
		return
	}
	if r.state != ready {
		p.text(1, y, "as found earlier; it is read again", faint)
		y++
	}
	word, pn := proceedWord(r.proceed())
	lead := word + ": "
	if len(r.sum.Reasons) == 0 {
		p.text(1, y, word, pn)
	}
	for _, reason := range r.sum.Reasons {
		if y >= p.h {
			return
		}
		_, pn = proceedWord(debrief.Proceed(reason.Weight))
		y = paragraph(p, 1, y, l.w-2, lead, l.desk.speed.inText(clean(reason.Text)), pn)
		lead = "     "
	}
}

// paragraph writes wrapped text behind a lead in its own pen, and returns the next row.
func paragraph(p *paper, x, y, w int, lead, text string, pn pen) int {
	indent := textWidth(lead)
	for i, line := range wrap(text, w-indent) {
		if i == 0 {
			p.text(x, y, lead, pn)
		}
		p.text(x+indent, y, line, ink)
		y++
	}
	return y
}
