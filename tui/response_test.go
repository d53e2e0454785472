package tui

import (
	"context"
	"testing"

	"github.com/muesli/termenv"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// What finds no room beside the charts is reached with page down, also at 80x24.
func TestAllNumbersCanBeReached(t *testing.T) {
	m := started(t, fakeOptions(1), 80, 24, termenv.Ascii)
	press(m, "enter", "3")
	contains(t, m.View(), "B bandwidth", "↓\n")
	lacks(t, m.View(), "break_rad_s")
	seen := m.View()
	for range 3 {
		press(m, "pgdown")
		seen += m.View()
	}
	contains(t, seen, "phasing off", "model ", "break_rad_s", "bars: two standard")
	lacks(t, m.View(), "↓\n")
	for range 3 {
		press(m, "pgup")
	}
	contains(t, m.View(), "B bandwidth", "↓\n")
}

// Numbers that are withheld come with the reason.
func TestWithheldNumbersSayWhy(t *testing.T) {
	o := fakeOptions(1)
	o.Load = func(ctx context.Context, e flight.HopEntry, progress func(float64, string)) (*debrief.Debrief, error) {
		d, err := fakeLoad(ctx, e, progress)
		d.Responses[0].BandwidthRadS = nil
		d.Findings = append([]flight.Finding{{Code: flight.CodeLeadsStick, Severity: flight.Stop,
			Text: "the roll rate leads the stick by 67 ms"}}, d.Findings...)
		return d, err
	}
	m := started(t, o, 120, 60, termenv.Ascii)
	press(m, "enter", "3")
	contains(t, m.View(), "B bandwidth  not known", "STOP the roll rate leads")
}
