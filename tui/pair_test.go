package tui

import (
	"context"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

func TestPairMarks(t *testing.T) {
	p := noPair()
	for _, c := range []struct {
		mark int
		want [2]int
	}{{3, [2]int{3, -1}}, {5, [2]int{3, 5}}, {1, [2]int{3, 1}}, {3, [2]int{-1, 1}}, {1, [2]int{-1, -1}}} {
		if p.mark(c.mark); p.index != c.want {
			t.Errorf("after marking %d the pair is %v, want %v", c.mark, p.index, c.want)
		}
	}
}

// Two hops marked in the logbook stand side by side, with the difference of their values
// and a word on what it is not.
func TestPairSideBySide(t *testing.T) {
	o := fakeOptions(8) // more than the shelf holds
	o.Load = func(ctx context.Context, e flight.HopEntry, progress func(float64, string)) (*debrief.Debrief, error) {
		d, err := fakeLoad(ctx, e, progress)
		if err == nil && e.Name == "hop-08" {
			d.Responses[1].CorrelationLagS = around(0.25, 0.02) // 210 ms in the others
			d.PhasingErrorRad = nil
			d.Responses = d.Responses[:2] // no pitch
		}
		return d, err
	}
	m := started(t, o, 120, 40, termenv.Ascii)
	press(m, "8")
	contains(t, m.View(), "Mark two hops")
	press(m, "1", "m", "end", "m")
	contains(t, m.View(), " Ahop-01", ">Bhop-08")
	press(m, "8")
	row := func(name string) string {
		for _, s := range strings.Split(m.View(), "\n") {
			if strings.HasPrefix(strings.TrimSpace(s), name) {
				return strings.Join(strings.Fields(s), " ")
			}
		}
		return ""
	}
	for name, want := range map[string]string{
		"roll corr. lag":  "roll corr. lag ms 210 (198 to 222) 250 (230 to 270) +40.0",
		"pitch corr. lag": "pitch corr. lag ms 210 (198 to 222) - -",
		"roll stick left": "roll stick left % 59.0 (no interval) 59.0 (no interval) 0",
	} {
		if got := row(name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	send(m, tea.WindowSizeMsg{Width: 80, Height: 40})
	if got, want := row("roll corr. lag"), "roll corr. lag ms 210 250 +40.0"; got != want {
		t.Errorf("narrow: %q, want %q", got, want)
	}
	contains(t, m.View(), "198 to 222")
	press(m, "end")
	contains(t, strings.Join(strings.Fields(m.View()), " "), "needs more than one hop of each")
}

// A hop that cannot be read says so in the pair.
func TestPairWithFailedHop(t *testing.T) {
	m := started(t, fakeOptions(5), 100, 30, termenv.Ascii)
	press(m, "m", "end", "m", "8")
	contains(t, m.View(), "hop-05: hop-05/sticks.csv:1: no column of numbers")
}
