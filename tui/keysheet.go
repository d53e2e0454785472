package tui

import "github.com/charmbracelet/bubbles/key"

// keySheet lists every key that works now, in two columns.
func (m *root) keySheet() string {
	p := newPaper(m.w, m.bodyHeight())
	s := m.screens[m.at]
	p.text(1, 0, "Keys on the screen \""+s.Title()+"\"", strong)
	half := m.w / 2
	y := 2
	for _, group := range s.FullHelp() {
		y = keyGroup(p, 1, y, half, group) + 1
	}
	general := append([]key.Binding{}, m.keys.Screens...)
	general = append(general, m.keys.Next, m.keys.Prev, m.keys.Back, m.keys.Order, m.keys.Speed, m.keys.Sheet, m.keys.Quit)
	p.text(half, 0, "Everywhere", strong)
	y = keyGroup(p, half, 2, m.w, general) + 1
	mouse := "Mouse: the wheel zooms or scrolls, a click sets the cursor or chooses, a drag moves the view."
	y = paragraph(p, half, y, m.w-half-1, "", mouse, faint) + 1
	flags := "Flags: A airframe unstable, P pilot-coupled, U grew for a cause not known, C control near its stop, L limit exceeded."
	y = paragraph(p, half, y, m.w-half-1, "", flags, faint) + 1
	damping := "Damping: + swings decay, - they grow, ~ the interval leaves it open."
	paragraph(p, half, y, m.w-half-1, "", damping, faint)
	p.textRight(m.w-1, p.h-1, "any key closes", faint)
	return p.render(&m.desk.theme)
}

func keyGroup(p *paper, x, y, end int, group []key.Binding) int {
	const labelWidth = 13
	for _, b := range group {
		if !b.Enabled() || b.Help().Desc == "" {
			continue
		}
		p.textTo(x, y, x+labelWidth-1, b.Help().Key, accent)
		p.textTo(x+labelWidth, y, end, longDesc(b), ink)
		y++
	}
	return y
}
