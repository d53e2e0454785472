package tui

import (
	"errors"
	"slices"
	"testing"

	"github.com/muesli/termenv"

	"hopcard/flight"
)

func TestMarks(t *testing.T) {
	var kept []flight.MarkSettings
	o := fakeOptions(2)
	o.AddMark = func(e flight.HopEntry, m flight.MarkSettings) error {
		if m.Text == "bad" {
			return errors.New("hop.toml: read only")
		}
		kept = append(kept, m)
		return nil
	}
	o.RemoveMark = func(e flight.HopEntry, m flight.MarkSettings) error {
		kept = slices.DeleteFunc(kept, func(k flight.MarkSettings) bool { return k == m })
		return nil
	}
	m := started(t, o, 100, 30, termenv.Ascii)
	press(m, "enter", "m", "q", "u", "i", "t", " ", "f", "backspace", "g")
	contains(t, m.View(), "mark at 60 s: quit g_")
	press(m, "enter")
	want := flight.MarkSettings{TimeS: 60, Text: "quit g"}
	if len(kept) != 1 || kept[0] != want {
		t.Fatalf("kept %v, want %v", kept, want)
	}
	contains(t, m.View(), "mark: quit g", "mark at 60.0 s")
	press(m, "u")
	if len(kept) != 0 {
		t.Errorf("after undo %v is kept", kept)
	}
	lacks(t, m.View(), "mark: quit g")
	press(m, "u")
	contains(t, m.View(), "nothing to take back")
	press(m, "U")
	contains(t, m.View(), "mark: quit g")
	press(m, "m", "x", "esc", "m", "enter", "m", "b", "a", "d", "enter")
	contains(t, m.View(), "nothing changed: hop.toml: read only")
	if len(kept) != 1 {
		t.Errorf("kept %v, want one", kept)
	}
}

func TestNoMarksWithoutKeeper(t *testing.T) {
	o := fakeOptions(2)
	o.AddMark = nil
	m := started(t, o, 100, 30, termenv.Ascii)
	press(m, "enter", "m", "x", "u", "U")
	lacks(t, m.View(), "mark at")
}
