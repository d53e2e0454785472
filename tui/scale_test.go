package tui

import (
	"slices"
	"strings"
	"testing"

	"github.com/muesli/termenv"

	"hopcard/flight"
)

// checkedHop is a hop whose lateral stick goes to reach, a fraction of full travel, both
// ways in a control check on the ground at 3 to 5 s.
func checkedHop(t *testing.T, reach float64) *hopView {
	t.Helper()
	m := newTestRoot(t, fakeOptions(1), termenv.Ascii)
	d := fakeDebrief("hop-01", 120, 100)
	c := d.Hop.Channel(flight.LatStick)
	c.Value = slices.Clone(c.Value)
	for i, at := range c.TimeS {
		switch {
		case at >= 3 && at < 4:
			c.Value[i] = reach
		case at >= 4 && at < 5:
			c.Value[i] = -reach
		}
	}
	m.desk.current = &opened{d: d, tracks: tracksOf(d.Hop)}
	v := m.screens[hopScreen].(*hopView)
	v.SetSize(100, 30)
	v.Update(hopMsg{})
	return v
}

// Full stick on the ground must not make the flight look small, whatever is on show; what
// leaves the scale is marked where it does.
func TestControlCheckDoesNotSetTheScale(t *testing.T) {
	v := checkedHop(t, 1)
	stick := v.desk.current.tracks[flight.LatStick]
	inFlight := v.scaleOf(stick)
	if inFlight.hi > 0.25 || inFlight.lo < -0.25 {
		t.Fatalf("scale of a flight within 15 %% of travel is %v", inFlight)
	}
	lacks(t, v.View(), "↑", "↓")
	v.setWindow(v.whole)
	if got := v.scaleOf(stick); got != inFlight {
		t.Errorf("scale with the ground on show is %v, want %v as in flight", got, inFlight)
	}
	row := strings.Split(v.View(), "\n")[v.lay.strips[0].y]
	cells := []rune(row)
	at := slices.Index(cells, '↑')
	if want := v.columnOf(3); at < want-1 || at > want+1 {
		t.Errorf("the stop is marked at column %d, want %d: %s", at, want, row)
	}
	v.setWindow(flight.Span{FromS: 0, ToS: 7}) // the check alone has a scale of its own
	contains(t, v.View(), "100┤", "-100┤", "════")
	lacks(t, v.View(), "↑")
}

// A stick has no travel beyond its stops, whatever its calibration says.
func TestStickScaleEndsAtTheStops(t *testing.T) {
	v := checkedHop(t, 1.7)
	v.setWindow(flight.Span{FromS: 0, ToS: 7})
	contains(t, v.View(), "100┤", "-100┤", "↑", "↓")
	lacks(t, v.View(), "200┤")
	if b := withinTravel(bounds{1.2, 1.6}); b != (bounds{1.2, 1.6}) {
		t.Errorf("a stick wholly beyond its stops is shown from %v", b)
	}
}

func TestVerdictLeadsWithTheWorstReason(t *testing.T) {
	m := started(t, fakeOptions(4), 80, 24, termenv.Ascii)
	press(m, "enter")
	contains(t, m.View(), " STOP  60.0 s: pilot-coupled growing", "+1 more")
	press(m, "1", "down", "enter")
	contains(t, m.View(), " go on")
}
