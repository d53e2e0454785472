package tui

import (
	"context"
	"strings"
	"testing"

	"github.com/muesli/termenv"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
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
	lacks(t, seen, "timing withheld")
}

// The lag to compare hops by and the coupling by a step stand with the others.
func TestNumbersOfDoubletAndStep(t *testing.T) {
	e := func(v float64) *flight.Estimate { return &flight.Estimate{Value: v, Low: 0.9 * v, High: 1.1 * v} }
	fs := figuresOf(&response.Result{StepCoupling: e(0.3)}, &response.Result{DoubletLagS: e(0.2), StepCoupling: e(9)})
	got := map[string]float64{}
	for _, f := range fs {
		if f.e != nil {
			got[f.name] = f.e.Value
		}
	}
	if len(got) != 2 || got["doublet lag"] != 200 || got["  by a step"] != 0.3 {
		t.Errorf("numbers %v", got)
	}
}

// Numbers that are withheld come with the reason.
func TestWithheldNumbersSayWhy(t *testing.T) {
	o := fakeOptions(1)
	o.Load = func(ctx context.Context, e flight.HopEntry, progress func(float64, string)) (*debrief.Debrief, error) {
		d, err := fakeLoad(ctx, e, progress)
		d.Responses[0].BandwidthRadS = nil
		d.Findings = append([]flight.Finding{{Code: flight.CodeLeadsStick, Severity: flight.Stop, Channel: string(flight.LatStick),
			Text: "the roll rate leads the stick by 67 ms"}}, d.Findings...)
		return d, err
	}
	m := started(t, o, 120, 60, termenv.Ascii)
	press(m, "enter", "3")
	contains(t, m.View(), "B bandwidth  not known", "STOP the roll rate leads", "timing withheld no phase to use", "not drawn: timing withheld", "phase withheld, coh.")
	lacks(t, m.View(), "phase deg")
	plain := started(t, fakeOptions(1), 120, 60, termenv.Ascii)
	press(plain, "enter", "3")
	contains(t, plain.View(), "phase deg")
	lacks(t, plain.View(), "withheld")
	dots := func(view string) (n int) {
		for _, r := range view {
			if isDots(r) && r != dotsBlank {
				n++
			}
		}
		return n
	}
	if dots(plain.View()) <= dots(m.View()) {
		t.Error("the phase is drawn all the same")
	}
}

// The head's curve draws no measured phase that must not be used.
func TestHeadDrawsNoWithheldPhase(t *testing.T) {
	wrong := false
	o := fakeOptions(1)
	load := o.Load
	o.Load = func(ctx context.Context, e flight.HopEntry, progress func(float64, string)) (*debrief.Debrief, error) {
		d, err := load(ctx, e, progress)
		if wrong && err == nil {
			d.Findings = append(d.Findings, flight.Finding{Code: flight.CodeLeadsStick, Severity: flight.Stop, Channel: string(flight.LatStick)})
		}
		return d, err
	}
	crosses := func() int {
		m := started(t, o, 120, 40, termenv.Ascii)
		press(m, "enter", "9", "v")
		return strings.Count(m.View(), "×") - strings.Count(m.View(), "× measured")
	}
	with := crosses()
	wrong = true
	if without := crosses(); without == 0 || without >= with {
		t.Errorf("%d crosses with the phase, %d where it is withheld", with, without)
	}
}
