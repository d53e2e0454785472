package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
)

// line is one line of a page of text.
type line struct {
	lead string // in pen
	pen  pen
	text string
	row  []cell // drawn as it is, in place of lead and text; nil for none
	// seeS is the hop time that enter goes to from this line, nil for none.
	seeS *float64
	more bool // goes on with the line above: the cursor stays on the first
	// about is what can be decided from this line, nil for nothing, excluded the interval
	// that it can take in again.
	about    *subject
	excluded *flight.Span
	// jump is the key that goes to this heading, index its name in the line of headings; 0
	// for none.
	jump  rune
	index string
}

// canChoose reports whether the cursor of a page can stand on the line.
func (l *line) canChoose() bool { return (l.seeS != nil || l.about != nil) && !l.more }

// page is a screen of lines that scrolls. What the lines say comes from write, which is
// given the width and called again when the hop or the size changes.
type page struct {
	desk   *desk
	title  string
	write  func(d *opened, w int) []line
	w, h   int
	lines  []line
	alone  bool // the page needs no open hop
	stale  bool // lines are to be written when next asked for
	top    int
	cursor int // the chosen line among those that can be chosen, -1 for none
	held   heldRow
	list   listKeys
	see    key.Binding
}

func newPage(d *desk, title string, write func(*opened, int) []line) *page {
	return &page{desk: d, title: title, write: write, cursor: -1, list: newListKeys(),
		see: bind("show in the traces", "enter", "enter")}
}

func (g *page) Title() string { return g.title }

func (g *page) SetSize(w, h int) {
	g.w, g.h = w, h
	g.refresh()
}

func (g *page) ShortHelp() []key.Binding {
	g.freshen()
	return []key.Binding{g.list.Up, g.list.Down, g.list.PageDown, g.see}
}

func (g *page) FullHelp() [][]key.Binding {
	return [][]key.Binding{{g.see}, g.list.all(), g.jumps()}
}

// refresh has the lines written again when the page is next looked at: a hop that is
// opened must not wait for pages that nobody looks at.
func (g *page) refresh() { g.stale = true }

func (g *page) freshen() {
	if !g.stale {
		return
	}
	g.stale = false
	g.lines = nil
	if (g.desk.current != nil || g.alone) && g.w > 0 {
		g.lines = g.write(g.desk.current, g.w-3)
	}
	g.lines = append(indexLines(g.lines, g.w-3), g.lines...)
	g.see.SetEnabled(false)
	for i := range g.lines {
		if g.lines[i].seeS != nil {
			g.see.SetEnabled(true)
		}
	}
	g.scroll(0)
}

func (g *page) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case hopMsg:
		if !msg.same {
			g.top, g.cursor = 0, -1
		}
		g.refresh()
	case speedMsg:
		g.refresh()
	case rowMsg:
		if g.alone {
			g.refresh()
		}
	case tea.KeyMsg:
		return g.key(msg)
	case tea.MouseMsg:
		g.mouse(msg)
	}
	return nil
}

func (g *page) mouse(msg tea.MouseMsg) {
	g.freshen()
	if by := g.held.drag(msg); by != 0 {
		g.scroll(by)
	}
	switch {
	case msg.Button == tea.MouseButtonWheelUp:
		g.scroll(-3)
	case msg.Button == tea.MouseButtonWheelDown:
		g.scroll(3)
	case msg.Action == tea.MouseActionPress && msg.Button == tea.MouseButtonLeft:
		g.held = heldRow{true, msg.Y}
		g.click(g.top + msg.Y)
	}
}

// heldRow is the row of a text that the pointer holds, as it holds a place of a trace.
type heldRow struct {
	on bool
	y  int
}

// drag returns how many rows the text is to go on by for the held row to stay under the
// pointer, and lets go when the button does.
func (r *heldRow) drag(msg tea.MouseMsg) (by int) {
	switch {
	case msg.Action == tea.MouseActionRelease:
		*r = heldRow{}
	case r.on && msg.Action == tea.MouseActionMotion:
		by, r.y = r.y-msg.Y, msg.Y
	}
	return by
}

// click chooses a line, or the one that it goes on with.
func (g *page) click(i int) {
	if !g.inView(i) || i >= len(g.lines) {
		return
	}
	for i > 0 && g.lines[i].more {
		i--
	}
	if g.lines[i].canChoose() {
		g.goTo(i)
	}
}

func (g *page) key(msg tea.KeyMsg) tea.Cmd {
	g.freshen()
	switch {
	case key.Matches(msg, g.list.Up):
		g.step(-1)
	case key.Matches(msg, g.list.Down):
		g.step(1)
	case key.Matches(msg, g.list.PageUp):
		g.scroll(1 - g.h)
	case key.Matches(msg, g.list.PageDown):
		g.scroll(g.h - 1)
	case key.Matches(msg, g.list.Home):
		g.scroll(-len(g.lines))
	case key.Matches(msg, g.list.End):
		g.scroll(len(g.lines))
	case key.Matches(msg, g.see):
		if g.cursor >= 0 && g.cursor < len(g.lines) && g.lines[g.cursor].seeS != nil {
			tS := *g.lines[g.cursor].seeS
			return g.desk.ask(seeMsg{tS})
		}
	default:
		g.jump(msg)
	}
	return nil
}

// jump goes to the heading of a key.
func (g *page) jump(msg tea.KeyMsg) {
	if msg.Type != tea.KeyRunes || len(msg.Runes) != 1 {
		return
	}
	for i := range g.lines {
		if g.lines[i].jump == msg.Runes[0] {
			g.cursor = -1
			g.scroll(i - g.top)
			return
		}
	}
}

// indexLines names the headings of a page with their keys.
func indexLines(ls []line, w int) []line {
	p := newPaper(w, 1)
	var out []line
	x := 0
	for _, l := range ls {
		if l.jump == 0 {
			continue
		}
		if x > 0 && x+2+textWidth(l.index) > w {
			out = append(out, line{row: p.cells})
			p, x = newPaper(w, 1), 0
		}
		x = p.text(x, 0, string(l.jump)+" ", strong)
		x = p.text(x, 0, l.index, faint) + 2
	}
	if x == 0 {
		return nil
	}
	return append(out, line{row: p.cells}, plainLine(""))
}

// jumps are the keys of the headings, for the key sheet.
func (g *page) jumps() []key.Binding {
	g.freshen()
	var bs []key.Binding
	for i := range g.lines {
		if l := &g.lines[i]; l.jump != 0 {
			bs = append(bs, bind("to "+l.index, string(l.jump), string(l.jump)))
		}
	}
	return bs
}

// chosen is the line under the cursor, nil if there is none.
func (g *page) chosen() *line {
	g.freshen()
	if g.cursor < 0 || g.cursor >= len(g.lines) || !g.lines[g.cursor].canChoose() {
		return nil
	}
	return &g.lines[g.cursor]
}

// goTo chooses a line and brings it into view.
func (g *page) goTo(i int) {
	if !g.inView(i) {
		g.top = max(min(i-g.h/3, len(g.lines)-max(g.h, 1)), 0)
	}
	g.cursor = i
}

// scroll moves the page. The chosen line stays chosen as long as it is in view.
func (g *page) scroll(by int) {
	g.top = max(min(g.top+by, len(g.lines)-max(g.h, 1)), 0)
	if !g.inView(g.cursor) {
		g.cursor = -1
		g.choose(g.top, 1)
	}
}

func (g *page) inView(i int) bool { return i >= g.top && i < g.top+g.h }

// choose takes the first line from i on, in view, that can be chosen.
func (g *page) choose(i, direction int) bool {
	for ; g.inView(i) && i >= 0 && i < len(g.lines); i += direction {
		if g.lines[i].canChoose() {
			g.cursor = i
			return true
		}
	}
	return false
}

// step goes to the next line that enter can follow, or else moves the page by one.
func (g *page) step(direction int) {
	from := g.cursor + direction
	if g.cursor < 0 {
		from = g.top
		if direction < 0 {
			from = g.top + g.h - 1
		}
	}
	if !g.choose(from, direction) {
		g.scroll(direction)
	}
}

func (g *page) View() string {
	g.freshen()
	if g.desk.current == nil && !g.alone {
		return emptyPage(g.w, g.h, g.desk)
	}
	return g.draw().render(&g.desk.theme)
}

// draw draws the lines in view.
func (g *page) draw() *paper {
	g.freshen()
	p := newPaper(g.w, g.h)
	for y := range min(g.h, len(g.lines)-g.top) {
		l := g.lines[g.top+y]
		if g.top+y == g.cursor {
			p.text(0, y, ">", accent)
		}
		for i, c := range l.row {
			p.set(2+i, y, c.r, c.p)
		}
		x := p.text(2, y, l.lead, l.pen)
		p.text(x, y, l.text, ink)
	}
	// More above or below is told in a column of its own: a word would hide what stands there.
	if g.top+g.h < len(g.lines) {
		p.set(g.w-1, g.h-1, '↓', accent)
	}
	if g.top > 0 {
		p.set(g.w-1, 0, '↑', accent)
	}
	return p
}

// The ways to write lines.

func heading(s string) line { return line{lead: s, pen: strong} }

// section is a heading that a key goes to; index names it at the top of the page.
func section(jump rune, index, s string) line {
	return line{lead: s, pen: strong, jump: jump, index: index}
}

func plainLine(s string) line { return line{text: s} }

// wrapped breaks text behind a lead into lines; the first carries the time.
func wrapped(lead string, pn pen, text string, w int, seeS *float64) []line {
	indent := textWidth(lead)
	blank := ""
	for range indent {
		blank += " "
	}
	var ls []line
	for i, s := range wrap(clean(text), w-indent) {
		l := line{lead: blank, text: s, pen: pn, seeS: seeS, more: i > 0}
		if i == 0 {
			l.lead = lead
		}
		ls = append(ls, l)
	}
	if ls == nil {
		ls = []line{{lead: lead, pen: pn, seeS: seeS}}
	}
	return ls
}
