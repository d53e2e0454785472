package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// sheet is the list of keys, over the screen it belongs to.
type sheet struct {
	open bool
	top  int // first row on show
	most int // last row it may be
}

// typed handles a key while the sheet is open: it moves the sheet or closes it.
func (s *sheet) typed(msg tea.KeyMsg, list listKeys) {
	const some = 10 // rows
	switch {
	case s.most > 0 && key.Matches(msg, list.Down, list.PageDown):
		s.top = min(s.top+some, s.most)
	case s.most > 0 && key.Matches(msg, list.Up, list.PageUp):
		s.top = max(s.top-some, 0)
	default:
		*s = sheet{}
	}
}

// keySheet lists every key that works now, in two columns. What does not fit the height
// is reached with the keys of a list.
func (m *root) keySheet() string {
	const tall = 120
	long := newPaper(m.w, tall)
	used := m.writeSheet(long)
	p := newPaper(m.w, m.bodyHeight())
	m.sheet.most = max(used-p.h+1, 0)
	m.sheet.top = min(m.sheet.top, m.sheet.most)
	copy(p.cells, long.cells[m.sheet.top*m.w:])
	last := p.h - 1
	p.fill(0, p.w, last, ' ', ink)
	close := "any key closes"
	if m.sheet.most > 0 {
		close = "↓ and ↑ for the rest, any other key closes"
	}
	p.textRight(m.w-1, last, close, faint)
	return p.render(&m.desk.theme)
}

// writeSheet writes the whole sheet and returns how many rows it takes.
func (m *root) writeSheet(p *paper) int {
	s := m.screens[m.at]
	half := m.w / 2
	p.text(1, 0, "Keys on the screen \""+s.Title()+"\"", strong)
	left := 2
	for _, group := range s.FullHelp() {
		left = keyGroup(p, 1, left, half-1, group) + 1
	}
	general := append([]key.Binding{}, m.keys.Screens...)
	general = append(general, m.keys.Next, m.keys.Prev, m.keys.Back, m.keys.Order, m.keys.Undo, m.keys.Redo, m.keys.Speed, m.keys.Stop, m.keys.Sheet, m.keys.Quit)
	p.text(half, 0, "Everywhere", strong)
	right := keyGroup(p, half, 2, m.w, general) + 1
	for _, text := range []string{
		"Mouse: the wheel zooms or scrolls, a click sets the cursor or chooses, a drag moves traces and text. With shift held most terminals select text.",
		"Flags: A airframe unstable, P pilot-coupled, U grew for a cause not known, C control near its stop, L limit exceeded.",
		"Damping: + swings decay, - they grow, ~ the interval leaves it open.",
		"Strips: ↑ and ↓ at an edge mark what leaves the scale, ═ the stops of a stick.",
	} {
		right = paragraph(p, half, right, m.w-half-1, "", text, faint) + 1
	}
	y := max(left, right)
	p.text(1, y, "Orders: typed after :, about the hop on show; found as a value leaves it to hopcard again", strong)
	y += 2
	return max(y-1, orderSheet(p, y, half)-1)
}

// orderSheet writes the orders of the command line in two columns from row y on.
func orderSheet(p *paper, y, half int) int {
	const labelWidth = 21
	orders := orderWords()
	rows := (len(orders) + 1) / 2
	for i, o := range orders {
		x, row, end := 1, y+i, half-1
		if i >= rows {
			x, row, end = half, y+i-rows, p.w
		}
		p.textTo(x, row, x+labelWidth-1, o[0], accent)
		p.textTo(x+labelWidth, row, end, o[1], ink)
	}
	return y + rows
}

// keyGroup writes keys below each other, what they do wrapped, and returns the next row.
func keyGroup(p *paper, x, y, end int, group []key.Binding) int {
	const labelWidth = 11
	for _, b := range group {
		if !b.Enabled() || b.Help().Desc == "" {
			continue
		}
		p.textTo(x, y, x+labelWidth-1, b.Help().Key, accent)
		for _, s := range wrap(longDesc(b), end-x-labelWidth) {
			p.textTo(x+labelWidth, y, end, s, ink)
			y++
		}
	}
	return y
}
