package tui

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
)

// prompt is a line of text being typed below the screen.
type prompt struct {
	open bool
	text string
}

// mostTyped is the length of a line that can be typed, in characters.
const mostTyped = 200

// typed takes a key and reports whether it ended the line.
func (p *prompt) typed(msg tea.KeyMsg) (done bool) {
	switch msg.Type {
	case tea.KeyEnter:
		p.open = false
		return true
	case tea.KeyEsc:
		*p = prompt{}
	case tea.KeyBackspace:
		_, n := utf8.DecodeLastRuneInString(p.text)
		p.text = p.text[:len(p.text)-n]
	case tea.KeyRunes, tea.KeySpace:
		if utf8.RuneCountInString(p.text) < mostTyped {
			p.text += safe(string(msg.Runes))
		}
	}
	return false
}

// ordered handles a key while the command line is open.
func (m *root) ordered(msg tea.KeyMsg) tea.Cmd {
	if !m.order.typed(msg) {
		return nil
	}
	cmd, ok := m.find(strings.ToLower(strings.TrimSpace(m.order.text)))
	if !ok {
		cmd, ok = m.carryOut(m.order.text)
	}
	if !ok {
		return m.findPart(strings.TrimSpace(m.order.text))
	}
	return cmd
}

// findPart opens the only hop with that in its name: of hops named by date it is the end
// that tells one from the other.
func (m *root) findPart(part string) tea.Cmd {
	var with []int
	for i := range m.desk.rows {
		if strings.Contains(strings.ToLower(m.desk.rows[i].entry.Name), strings.ToLower(part)) {
			with = append(with, i)
		}
	}
	switch len(with) {
	case 0:
		m.notice = fmt.Sprintf("nothing is called %q", part)
		return nil
	case 1:
		return m.open(with[0])
	}
	m.notice = fmt.Sprintf("%d hops have %q in their name, such as %s and %s: write more of it", len(with), part,
		clean(m.desk.rows[with[0]].entry.Name), clean(m.desk.rows[with[1]].entry.Name))
	return nil
}

// find goes to what a name means: a time, a screen, a hop, a channel.
func (m *root) find(name string) (tea.Cmd, bool) {
	if name == "" {
		return nil, true
	}
	if tS, err := strconv.ParseFloat(strings.TrimSuffix(strings.ReplaceAll(name, ",", "."), " s"), 64); err == nil && finite(tS) {
		m.goTo(hopScreen)
		return m.screens[hopScreen].Update(seeMsg{tS}), true
	}
	if i := named(len(m.screens), name, func(i int) string { return m.screens[i].Title() }); i >= 0 {
		return m.goToHop(i), true
	}
	if i := named(len(m.desk.rows), name, func(i int) string { return m.desk.rows[i].entry.Name }); i >= 0 {
		return m.open(i), true
	}
	qs := flight.Quantities()
	short := named(len(qs), name, func(i int) string { return shortName(qs[i]) })
	if short < 0 {
		short = named(len(qs), name, func(i int) string { return string(qs[i]) })
	}
	if short < 0 {
		return nil, false
	}
	if h := m.desk.current; h != nil && h.tracks[qs[short]] == nil {
		m.notice = fmt.Sprintf("this hop has no %s", qs[short])
		return nil, true
	}
	m.goTo(hopScreen)
	return m.screens[hopScreen].Update(chooseMsg{qs[short]}), true
}

// named returns the one whose name is name, or else the only one whose name begins with
// it, or -1.
func named(n int, name string, of func(int) string) int {
	found := -1
	for i := range n {
		switch is := strings.ToLower(of(i)); {
		case is == name:
			return i
		case strings.HasPrefix(is, name) && found == -1:
			found = i
		case strings.HasPrefix(is, name):
			found = -2
		}
	}
	return max(found, -1)
}

// chooseMsg puts a channel into the user's own set of strips, or takes it out.
type chooseMsg struct{ q flight.Quantity }
