package tui

import (
	"testing"

	"github.com/muesli/termenv"
)

func order(m *root, text string) {
	press(m, ":")
	for _, r := range text {
		press(m, string(r))
	}
	press(m, "enter")
}

func TestGoToByName(t *testing.T) {
	m := started(t, fakeOptions(8), 100, 30, termenv.Ascii)
	order(m, "hop-03")
	contains(t, m.View(), "[2 hop]", "hop-03")
	order(m, "75.0 s")
	if v := m.screens[hopScreen].(*hopView); v.cursor != 75 {
		t.Errorf("cursor at %g s, want 75", v.cursor)
	}
	contains(t, m.View(), "felt a wallow")
	order(m, "resp")
	contains(t, m.View(), "[3 response]")
	order(m, "rotor speed")
	contains(t, m.View(), "[2 hop]", "rotor speed", "rpm")
	lacks(t, m.View(), "lat stick")
	order(m, "lat stick")
	contains(t, m.View(), "rotor speed", "lat stick")
	order(m, "rotor speed")
	lacks(t, m.View(), "rotor speed")
	order(m, "height")
	contains(t, m.View(), "this hop has no height")
	order(m, "nonsense")
	contains(t, m.View(), `nothing is called "nonsense"`)
	order(m, "op-05")
	contains(t, m.View(), "[2 hop]", "hop-05")
	order(m, "op-0")
	contains(t, m.View(), `8 hops have "op-0" in their name, such as hop-01 and hop-02: write more of it`)
	press(m, ":", "q", "esc")
	contains(t, m.View(), "q quit")
}

func TestCardScreen(t *testing.T) {
	m := started(t, fakeOptions(3), 120, 30, termenv.Ascii)
	press(m, "enter", "7")
	contains(t, m.View(), "[7 card]", "# Test card hop-01", "Verdict: no")
	press(m, "w", "enter")
	contains(t, m.View(), "card written: card-hop-01.md")
	press(m, "w", "p")
	contains(t, m.View(), "card written: card-hop-01.pdf")
	press(m, "w")
	contains(t, m.View(), "p PDF to print")
	press(m, "esc")
	lacks(t, m.View(), "PDF", "card written")
	order(m, "export html")
	contains(t, m.View(), "card written: card-hop-01.html")
	order(m, "export docx")
	contains(t, m.View(), `a card is written as md, html, pdf, csv, json, not as "docx"`)
	press(m, "1", "down", "enter", "7", "w", "m")
	contains(t, m.View(), "card not written: no space left")

	o := fakeOptions(1)
	o.Card, o.Export = nil, nil
	lacks(t, started(t, o, 120, 30, termenv.Ascii).View(), "7 card")
}
