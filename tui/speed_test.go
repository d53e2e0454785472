package tui

import (
	"testing"

	"github.com/muesli/termenv"

	"hopcard/analysis/debrief"
)

// 7 m/s is 13.607 kt, 6 m/s 11.663 kt (1852 m to the nautical mile).
func TestSpeedInText(t *testing.T) {
	for _, c := range [][2]string{
		{"mean wind 7.0 m/s is above the limit of 6.00 m/s", "mean wind 13.6 kt is above the limit of 11.66 kt"},
		{"gust spread 7 m/s, roll", "gust spread 14 kt, roll"},
		{"0.98 deg per m/s", "0.98 deg per m/s"},
		{"0.98 deg per m/s in 7.0 m/s of wind", "0.98 deg per m/s in 7.0 m/s of wind"},
		{"3 m/s2 and 2 m/s²", "3 m/s2 and 2 m/s²"},
		{"no wind", "no wind"},
	} {
		if got := knots().inText(c[0]); got != c[1] {
			t.Errorf("%q becomes %q, want %q", c[0], got, c[1])
		}
		if got := metresPerSecond().inText(c[0]); got != c[0] {
			t.Errorf("%q becomes %q in m/s", c[0], got)
		}
	}
}

// The reasons follow the unit of the wind on every screen.
func TestReasonsFollowUnit(t *testing.T) {
	m := started(t, fakeOptions(1), 100, 30, termenv.Ascii)
	press(m, "enter")
	m.desk.current.d.Verdict.Reasons = []debrief.Reason{{Text: "mean wind 7.0 m/s is above the limit", Weight: debrief.Caution}}
	m.desk.rows[0].sum = summarise(m.desk.current.d)
	press(m, "K")
	contains(t, m.View(), "mean wind 13.6 kt")
	press(m, "1")
	contains(t, m.View(), "mean wind 13.6 kt")
	press(m, "K")
	contains(t, m.View(), "mean wind 7.0 m/s")
}
