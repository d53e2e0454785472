package tui

import (
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"
)

// A drag takes text along as it does traces: the row that was held stays under the pointer,
// until the button is let go.
func TestDragMovesText(t *testing.T) {
	mouse := func(m *root, x, y int, action tea.MouseAction) {
		send(m, tea.MouseMsg{X: x, Y: y, Action: action, Button: tea.MouseButtonLeft})
	}
	row := func(m *root, x, y int) string {
		cells := []rune(strings.Split(m.View(), "\n")[y] + strings.Repeat(" ", 80))
		return strings.TrimSpace(string(cells[x:79])) // the last column tells of more
	}
	for _, c := range []struct {
		name, screen string
		x            int
	}{{"findings", "6", 4}, {"numbers beside the response", "3", 41}} {
		m := started(t, fakeOptions(1), 80, 24, termenv.Ascii)
		press(m, "enter", c.screen)
		y := 14
		for row(m, c.x, y) == "" {
			y++
		}
		held := row(m, c.x, y)
		mouse(m, c.x+5, y, tea.MouseActionMotion) // no button was pressed
		if got := row(m, c.x, y); got != held {
			t.Errorf("%s: moved by itself to %q", c.name, got)
		}
		mouse(m, c.x+5, y, tea.MouseActionPress)
		mouse(m, c.x+5, y-1, tea.MouseActionMotion)
		mouse(m, c.x+5, y-3, tea.MouseActionMotion)
		if got := row(m, c.x, y-3); held == "" || got != held {
			t.Errorf("%s: %q was dragged up three rows, where %q is", c.name, held, got)
		}
		mouse(m, c.x+5, y-3, tea.MouseActionRelease)
		mouse(m, c.x+5, 10, tea.MouseActionMotion)
		if got := row(m, c.x, y-3); got != held {
			t.Errorf("%s: moves on after the release, to %q", c.name, got)
		}
	}
}
