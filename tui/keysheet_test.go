package tui

import (
	"testing"

	"github.com/muesli/termenv"
)

// Every key and every legend can be read at 80x24, and a key that does not move the sheet
// closes it.
func TestKeySheetAtSmallSize(t *testing.T) {
	m := started(t, fakeOptions(1), 80, 24, termenv.Ascii)
	press(m, "enter", "?")
	contains(t, m.View(), "cursor left", "for the rest")
	seen := m.View()
	for range 3 {
		press(m, "down")
		seen += m.View()
	}
	contains(t, seen, "and make it again", "lay traces", "Flags: A", "Damping: +", "the stops of a")
	press(m, "x")
	contains(t, m.View(), "lat stick")
}
