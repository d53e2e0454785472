package tui

import (
	"testing"

	"github.com/muesli/termenv"

	"hopcard/flight"
)

// Laid over each other, traces of one dimension share a strip and a scale; what has no
// partner keeps its own, and stacking brings all back.
func TestOverlay(t *testing.T) {
	m := started(t, fakeOptions(1), 120, 40, termenv.Ascii)
	press(m, "enter")
	v := m.screens[hopScreen].(*hopView)
	stacked := len(v.layout().strips)
	press(m, "o")
	pairs := map[flight.Quantity]flight.Quantity{flight.LatStick: flight.LonStick, flight.Roll: flight.Pitch,
		flight.RollRate: flight.PitchRate, flight.WindSpeed: ""}
	strips := v.layout().strips
	if len(strips) != len(pairs) {
		t.Errorf("%d strips, want %d", len(strips), len(pairs))
	}
	for _, b := range strips {
		var over flight.Quantity
		if b.over != nil {
			over = b.over.quantity
			s, one, other := v.scaleOfBox(b), v.scaleOf(b.t), v.scaleOf(b.over)
			if s.lo > one.lo || s.lo > other.lo || s.hi < one.hi || s.hi < other.hi {
				t.Errorf("%s over %s: scale %v does not hold %v and %v", over, b.t.quantity, s, one, other)
			}
		}
		if over != pairs[b.t.quantity] {
			t.Errorf("over %s lies %q, want %q", b.t.quantity, over, pairs[b.t.quantity])
		}
	}
	contains(t, m.View(), "━ roll", "┅ pitch")
	press(m, "o")
	if got := len(v.layout().strips); got != stacked {
		t.Errorf("stacked again: %d strips, want %d", got, stacked)
	}
}

// A dotted trace uses only the left dots of a cell.
func TestDottedTrace(t *testing.T) {
	d := newDots(10, 4, bounds{0, 1})
	d.line(0, 0.5, 19, 0.5)
	d.dotted = true
	p := newPaper(10, 4)
	d.draw(p, 0, 0, ink)
	n := 0
	for _, c := range p.cells {
		if isDots(c.r) {
			n++
			if (c.r-dotsBlank)&rightDots != 0 {
				t.Errorf("cell %c has dots on the right", c.r)
			}
		}
	}
	if n != 10 {
		t.Errorf("%d cells drawn, want 10", n)
	}
}
