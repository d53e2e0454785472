package tui

import (
	"fmt"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
)

// views are the screens as a user reaches them.
var views = []struct {
	name string
	keys []string
}{
	{"logbook", nil},
	{"hop", []string{"enter"}},
	{"hop-zoomed", []string{"enter", "t", "z", "right", "right", "right"}},
	{"hop-overlay", []string{"enter", "o", "t", "right"}},
	{"response", []string{"enter", "3"}},
	{"response-plane", []string{"enter", "3", "v"}},
	{"air", []string{"enter", "4"}},
	{"air-classes", []string{"enter", "4", "c"}},
	{"stability", []string{"enter", "5"}},
	{"stability-margins", []string{"enter", "5", "l"}},
	{"stability-pilots", []string{"enter", "5", "p"}},
	{"data", []string{"enter", "6"}},
	{"data-form", []string{"enter", "6", "n", "n", "enter", "down", "right"}},
	{"card", []string{"enter", "7"}},
	{"card-remarks", []string{"enter", "7", "r", "l", "i", "g", "h", "t", "enter", "s", "e", "a", "t"}},
	{"pair", []string{"m", "down", "m", "8"}},
	{"head", []string{"enter", "9"}},
	{"head-turned", []string{"enter", "9", "right", "right", "v"}},
	{"trend", []string{"0"}},
	{"keys", []string{"enter", "?"}},
}

// Rewrite the files with: go test ./tui -update
func TestGoldenViews(t *testing.T) {
	for _, v := range views {
		for _, size := range [][2]int{{80, 24}, {120, 40}, {200, 60}} {
			t.Run(fmt.Sprintf("%s-%dx%d", v.name, size[0], size[1]), func(t *testing.T) {
				plain := started(t, fakeOptions(8), size[0], size[1], termenv.Ascii)
				press(plain, v.keys...)
				coloured := started(t, fakeOptions(8), size[0], size[1], termenv.TrueColor)
				press(coloured, v.keys...)
				if got := ansi.Strip(coloured.View()); got != plain.View() {
					t.Errorf("colour changes what the screen says:\n%s\n%s", got, plain.View())
				}
				golden.RequireEqual(t, []byte(plain.View()+"\n\n"+coloured.View()))
			})
		}
	}
}

// Without colour every state must still be told: by a character or a word.
func TestNoColourSaysItAll(t *testing.T) {
	m := started(t, fakeOptions(8), 80, 24, termenv.Ascii)
	lacks(t, m.View(), "\x1b")
	contains(t, m.View(), "> hop-01", "STOP", "go on", "CANNOT READ")
	press(m, "enter")
	lacks(t, m.View(), "\x1b")
	contains(t, m.View(), "[2 hop]", "PPPPP", "▲", "STOP", "CAUTION", "lat stick")
}

// A light terminal gets darker pens than a dark one.
func TestLightAndDarkDiffer(t *testing.T) {
	dark := newTheme(testRenderer(termenv.TrueColor, false))
	light := newTheme(testRenderer(termenv.TrueColor, true))
	for _, p := range []pen{faint, accent, accent2, good, warn, danger, marked} {
		if dark.before[p] == light.before[p] {
			t.Errorf("pen %d is the same on light and dark: %q", p, dark.before[p])
		}
	}
	if light.before[ink] != "" || dark.before[ink] != "" {
		t.Error("ink must be the terminal's own foreground")
	}
}

func TestTooSmall(t *testing.T) {
	m := started(t, fakeOptions(3), 40, 10, termenv.Ascii)
	contains(t, strings.Join(strings.Fields(m.View()), " "), "hopcard needs a window of 70 columns and 18 rows; this one has 40 and 10.")
}
