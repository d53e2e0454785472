package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
)

// The root's own rows above and below a screen.
const (
	tabRow   = 1
	headRows = 2
	footRows = 1
)

func (m *root) bodyHeight() int { return max(m.h-headRows-footRows, 0) }

func (m *root) View() string {
	switch {
	case m.w == 0 || m.h == 0:
		return "" // no size has been told yet
	case m.tooSmall():
		p := newPaper(m.w, m.h)
		for i, line := range wrap(fmt.Sprintf("hopcard needs a window of %d columns and %d rows; this one has %d and %d. Make it larger or the letters smaller.",
			minWidth, minHeight, m.w, m.h), m.w) {
			p.text(0, i, line, ink)
		}
		return p.render(&m.desk.theme)
	}
	body := m.screens[m.at].View()
	if m.sheet.open {
		body = m.keySheet()
	}
	if rows := strings.Count(body, "\n") + 1; rows < m.bodyHeight() {
		body += strings.Repeat("\n", m.bodyHeight()-rows)
	}
	if m.longNotice() && !m.order.open {
		return m.head() + "\n" + m.withNotice(body)
	}
	return m.head() + "\n" + body + "\n" + m.foot()
}

// longNotice reports whether the notice finds no room in the head.
func (m *root) longNotice() bool { return textWidth(m.notice) > m.w/2 }

// withNotice puts a long notice in place of the help line and of what it needs above it,
// up to the next key: what went wrong must be read whole.
func (m *root) withNotice(body string) string {
	const most = 5 // rows
	lines := wrap(m.notice, m.w-2)
	lines = lines[:min(len(lines), most)]
	p := newPaper(m.w, len(lines))
	for y, s := range lines {
		p.text(1, y, s, warn)
	}
	rows := strings.Split(body, "\n")
	keep := max(len(rows)+footRows-len(lines), 0)
	return strings.Join(append(rows[:keep], p.render(&m.desk.theme)), "\n")
}

// head is the aircraft and what is going on, and below it the screens.
func (m *root) head() string {
	p := newPaper(m.w, headRows)
	right := clip(m.news(), m.w/2)
	edge := m.w - 1 - textWidth(right)
	p.text(edge, 0, right, faint)
	x := p.textTo(1, 0, edge-1, "hopcard", strong)
	a := m.desk.opts.Logbook.Aircraft
	if a != nil && a.Name != "" {
		x = p.textTo(x+2, 0, edge-1, clean(a.Name), ink)
		if a.Field != "" {
			x = p.textTo(x, 0, edge-1, " at "+clean(a.Field), ink)
		}
	}
	if h := m.desk.current; h != nil && m.at != logbookScreen {
		p.textTo(x+2, 0, edge-1, clean(h.d.Hop.Name), strong)
	}
	for i, t := range m.tabs() {
		pn := faint
		if i == m.at {
			pn = accent
		}
		p.text(t.from, tabRow, t.text, pn)
	}
	return p.render(&m.desk.theme)
}

type tab struct {
	from, to int
	text     string
}

// tabs lays the names of the screens out; the one on show stands in brackets. Where the
// window is too narrow for all of them the names become short, and then numbers.
func (m *root) tabs() []tab {
	whole := func(i int) string { return m.screens[i].Title() }
	short := func(i int) string { return shortTitle(whole(i)) }
	least := func(i int) string {
		if i == m.at {
			return short(i)
		}
		return ""
	}
	var tabs []tab
	for _, try := range []struct {
		name func(int) string
		gap  string
	}{{whole, " "}, {short, " "}, {short, ""}, {least, " "}} {
		tabs = m.tabsNamed(try.name, try.gap)
		if tabs[len(tabs)-1].to <= m.w {
			break
		}
	}
	return tabs
}

// tabsNamed lays out tabs of these names with a gap behind each.
func (m *root) tabsNamed(name func(int) string, gap string) []tab {
	var tabs []tab
	x := 0
	for i := range m.screens {
		text := strings.TrimRight(m.keys.Screens[i].Help().Key+" "+name(i), " ")
		if i == m.at {
			text = "[" + text + "]"
		} else {
			text = " " + text + gap
		}
		tabs = append(tabs, tab{x, x + textWidth(text), text})
		x += textWidth(text)
	}
	return tabs
}

// shortTitle is the name of a screen where room is short.
func shortTitle(title string) string {
	switch title {
	case "logbook":
		return "log"
	case "response":
		return "resp"
	case "stability":
		return "stab"
	}
	return title
}

func (m *root) tabAt(x int) int {
	for i, t := range m.tabs() {
		if x >= t.from && x < t.to {
			return i
		}
	}
	return -1
}

// news is the notice, or how far reading is.
func (m *root) news() string {
	if m.notice != "" && !m.longNotice() {
		return m.notice
	}
	left, done, what := 0, 0.0, ""
	for i := range m.desk.rows {
		r := &m.desk.rows[i]
		switch r.state {
		case waiting:
			left++
		case reading:
			left++
			if what == "" {
				done, what = r.done, r.entry.Name
			}
		}
	}
	switch {
	case left == 0:
		return hopsText(len(m.desk.rows))
	case what == "":
		return "stopped, " + hopsText(left) + " not read"
	}
	return fmt.Sprintf("reading %s %.0f %%, %d to go", clip(clean(what), 24), 100*done, left)
}

// foot is the help line: as many keys of the screen as fit, and always how to see them
// all and how to leave.
func (m *root) foot() string {
	p := newPaper(m.w, 1)
	if m.order.open {
		p.text(1, 0, "go to: "+m.order.text+"_   (screen, hop, channel, time, or an order: see ?; esc closes)", accent)
		return p.render(&m.desk.theme)
	}
	if t, ok := m.screens[m.at].(typing); ok && t.Typing() {
		return p.render(&m.desk.theme) // no key does what it usually does
	}
	end := m.w - 1
	for _, b := range []key.Binding{m.keys.Quit, m.keys.Sheet} {
		label, desc := b.Help().Key, shortDesc(b)
		end -= textWidth(label) + 1 + textWidth(desc)
		p.text(p.text(end, 0, label+" ", strong), 0, desc, faint)
		end -= 2
	}
	x := 1
	for _, b := range m.screens[m.at].ShortHelp() {
		label, desc := b.Help().Key, shortDesc(b)
		if !b.Enabled() || x+textWidth(label)+1+textWidth(desc) > end {
			continue
		}
		x = p.text(p.text(x, 0, label+" ", strong), 0, desc, faint) + 2
	}
	return p.render(&m.desk.theme)
}
