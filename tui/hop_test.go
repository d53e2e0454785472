package tui

import (
	"math"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"hopcard/flight"
)

func openHop(t testing.TB, w, h int) (*root, *hopView) {
	m := started(t, fakeOptions(4), w, h, termenv.Ascii)
	press(m, "enter")
	return m, m.screens[hopScreen].(*hopView)
}

func TestJumps(t *testing.T) {
	m, v := openHop(t, 100, 30)
	if v.cursor != 60 {
		t.Errorf("opens at %g s, want the first flag at 60", v.cursor)
	}
	press(m, "home")
	want := []float64{60, 82}
	for _, w := range want {
		press(m, "f")
		if v.cursor != w {
			t.Errorf("next flag: cursor at %g s, want %g", v.cursor, w)
		}
	}
	press(m, "f") // there is no further flag
	if v.cursor != 82 {
		t.Errorf("after the last flag: cursor at %g s, want 82", v.cursor)
	}
	press(m, "F")
	if v.cursor != 60 {
		t.Errorf("previous flag: cursor at %g s, want 60", v.cursor)
	}
	press(m, "home")
	for _, w := range []float64{10, 20, 27, 35, 60, 75, 82, 90, 108} {
		press(m, "n")
		if v.cursor != w {
			t.Errorf("next mark: cursor at %g s, want %g", v.cursor, w)
		}
	}
	press(m, "p")
	if v.cursor != 90 {
		t.Errorf("previous mark: cursor at %g s, want 90", v.cursor)
	}
}

func TestZoomKeepsCursorInPlace(t *testing.T) {
	m, v := openHop(t, 100, 30)
	before := v.columnOf(v.cursor)
	press(m, "+", "+", "+")
	if after := v.columnOf(v.cursor); after < before-1 || after > before+1 {
		t.Errorf("zoom moved the cursor from column %d to %d", before, after)
	}
	if got, want := v.window.LengthS(), v.flown.LengthS()/8; math.Abs(got-want) > 1e-9 {
		t.Errorf("window %g s after three steps closer, want %g", got, want)
	}
	for _, want := range []flight.Span{v.flown, v.whole, v.flown} {
		press(m, "w")
		if v.window != want {
			t.Errorf("window %v, want %v", v.window, want)
		}
	}
	if want := (flight.Span{FromS: 8, ToS: 114}); v.flown != want {
		t.Errorf("the flight with two seconds to spare is %v, want %v", v.flown, want)
	}
	press(m, "z")
	if v.window.FromS > 60 || v.window.ToS < 70 || v.window.LengthS() > 20 {
		t.Errorf("zoom to the flag shows %v", v.window)
	}
}

func TestCursorTakesViewAlong(t *testing.T) {
	m, v := openHop(t, 80, 24)
	press(m, "+", "+", "+", "+")
	for range 300 {
		press(m, "right")
		if v.cursor < v.window.FromS-1e-9 || v.cursor > v.window.ToS+1e-9 {
			t.Fatalf("cursor %g s left the view %v", v.cursor, v.window)
		}
	}
	press(m, "end")
	if v.cursor != v.whole.ToS {
		t.Errorf("end: cursor at %g s, want %g", v.cursor, v.whole.ToS)
	}
}

func TestMouse(t *testing.T) {
	m, v := openHop(t, 100, 30)
	const x, y = 60, 10
	at := func(x int) float64 { return v.timeAt(x) }
	send(m, tea.MouseMsg{X: x, Y: y, Action: tea.MouseActionPress, Button: tea.MouseButtonLeft})
	if want := at(x); v.cursor != want {
		t.Errorf("click: cursor at %g s, want %g", v.cursor, want)
	}
	send(m, tea.MouseMsg{X: x, Y: y, Action: tea.MouseActionRelease})
	held := at(x)
	send(m, tea.MouseMsg{X: x, Y: y, Action: tea.MouseActionPress, Button: tea.MouseButtonWheelUp})
	if math.Abs(at(x)-held) > 1e-9 || v.window.LengthS() > 0.51*v.whole.LengthS() {
		t.Errorf("wheel: time under the pointer went from %g to %g s, window %v", held, at(x), v.window)
	}
	send(m, tea.MouseMsg{X: x, Y: y, Action: tea.MouseActionPress, Button: tea.MouseButtonLeft})
	send(m, tea.MouseMsg{X: x + 7, Y: y, Action: tea.MouseActionMotion, Button: tea.MouseButtonLeft})
	if math.Abs(at(x+7)-held) > 1e-6 {
		t.Errorf("drag: time under the pointer went from %g to %g s", held, at(x+7))
	}
	send(m, tea.MouseMsg{X: x + 7, Y: y, Action: tea.MouseActionRelease})
	send(m, tea.MouseMsg{X: 14, Y: tabRow, Action: tea.MouseActionPress, Button: tea.MouseButtonLeft})
	send(m, tea.MouseMsg{X: 22, Y: tabRow, Action: tea.MouseActionPress, Button: tea.MouseButtonLeft})
	contains(t, m.View(), "[3 response]")
}

// What is read out at the cursor is the sample, in shown units; in a gap it is nothing.
func TestReadings(t *testing.T) {
	m, v := openHop(t, 100, 30)
	press(m, "home", "n", "n")
	tr := v.desk.current.tracks["roll attitude"]
	c := v.desk.current.d.Hop.Channel("roll attitude")
	got, ok := tr.at(20)
	if want := c.Value[2000] * 180 / math.Pi; !ok || math.Abs(got-want) > 1e-12 {
		t.Errorf("roll at 20 s = %g %v, want %g", got, ok, want)
	}
	contains(t, m.View(), withUnit(number(got), "deg"))
	wind := v.desk.current.tracks["wind speed"]
	if _, ok := wind.at(45); ok {
		t.Error("wind at 45 s lies in a gap and must not be read out")
	}
	if _, ok := wind.at(-5); ok {
		t.Error("nothing can be read before the record starts")
	}
}

func TestSeeFromData(t *testing.T) {
	m, v := openHop(t, 100, 30)
	press(m, "5", "down", "down", "enter")
	if m.at != hopScreen || v.cursor != 60 && v.cursor != 82 {
		t.Errorf("enter on an unstable segment: screen %d, cursor %g s", m.at, v.cursor)
	}
}

// Between two cursors in an oscillation the time is told as its phase too.
func TestPhaseBetweenCursors(t *testing.T) {
	m, v := openHop(t, 100, 30)
	v.look(62)
	press(m, "t")
	v.look(62.5) // 0.5 s at 5 rad/s is 2.5 rad
	contains(t, m.View(), "from 62", "143 deg at 5.00 rad/s")
	v.look(80)
	lacks(t, m.View(), "deg at 5.00")
}

// Flags, segments and event marks each have a key of their own, there and back.
func TestJumpByKind(t *testing.T) {
	m := started(t, fakeOptions(1), 100, 30, termenv.Ascii)
	press(m, "enter", "home")
	v := m.screens[hopScreen].(*hopView)
	for _, c := range []struct {
		key  string
		want float64
	}{
		{"i", 10}, {"i", 20}, {"i", 27}, {"I", 20}, {"f", 60}, {"e", 75}, {"e", 75}, {"f", 82}, {"F", 60}, {"E", 60}, {"i", 90}, {"E", 75}, {"i", 90}, {"i", 108},
	} {
		press(m, c.key)
		if v.cursor != c.want {
			t.Errorf("after %q the cursor is at %g s, want %g", c.key, v.cursor, c.want)
		}
	}
}
