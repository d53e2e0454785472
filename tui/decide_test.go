package tui

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// keptOptions is a logbook whose settings files are really there. The debrief follows them
// as far as the screens show it: signs, units, what is left out, configuration.
func keptOptions(t testing.TB, n int) Options {
	t.Helper()
	o := fakeOptions(n)
	dir := t.TempDir()
	for i := range o.Logbook.Hops {
		e := &o.Logbook.Hops[i]
		e.Path = filepath.Join(dir, e.Name)
		e.Files = []string{"attitude.csv", "wind.csv"}
		if err := os.Mkdir(e.Path, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	o.Load = func(ctx context.Context, e flight.HopEntry, p func(float64, string)) (*debrief.Debrief, error) {
		s, err := flight.ReadHopSettings(e.Path)
		if err != nil {
			return nil, err
		}
		return follow(ctx, e, p, s)
	}
	o.Decide = func(ctx context.Context, e flight.HopEntry, c flight.Change, p func(float64, string)) (*debrief.Debrief, flight.Edit, error) {
		edit, s, err := c.Try(e.Path)
		if err != nil {
			return nil, flight.Edit{}, err
		}
		d, err := follow(ctx, e, p, s)
		if err != nil {
			return nil, flight.Edit{}, err
		}
		return d, edit, edit.Write(e.Path)
	}
	o.Note = func(e flight.HopEntry, c flight.Change) (flight.Edit, error) {
		edit, _, err := c.Try(e.Path)
		if err != nil {
			return flight.Edit{}, err
		}
		return edit, edit.Write(e.Path)
	}
	return o
}

func follow(ctx context.Context, e flight.HopEntry, p func(float64, string), s *flight.HopSettings) (*debrief.Debrief, error) {
	d, err := fakeLoad(ctx, e, p)
	if err != nil || s == nil {
		return d, err
	}
	for i := range d.Hop.Channels {
		c := &d.Hop.Channels[i]
		set := s.File(d.Hop.Sources[c.Source].File).Column(c.Column)
		if set == nil {
			continue
		}
		if set.Sign != 0 {
			c.Sign = set.Sign
		}
		if set.Quantity == flight.Time {
			return nil, fmt.Errorf("attitude.csv: two columns of stamps; leave one out")
		}
	}
	for _, x := range s.Exclude {
		d.Hop.Exclude = append(d.Hop.Exclude, flight.Span{FromS: x.FromS, ToS: x.ToS})
	}
	if s.Configuration != "" {
		d.Hop.Configuration = s.Configuration
	}
	d.Hop.Notes = s.Notes
	return d, nil
}

func settingsText(t *testing.T, o Options, i int) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(o.Logbook.Hops[i].Path, flight.HopFile))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	return string(data)
}

func lineWith(t *testing.T, view, what string) string {
	t.Helper()
	for s := range strings.SplitSeq(view, "\n") {
		if strings.Contains(s, what) {
			return s
		}
	}
	t.Fatalf("no line with %q:\n%s", what, view)
	return ""
}

// How good an offset is stands beside it: the form and an order set it as they set the rest.
func TestClockInterval(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 100, 40, termenv.Ascii)
	press(m, "enter", "6", "n", "enter")
	contains(t, m.View(), "clock offset s", "good to ± s", "drift ppm")
	press(m, "1", ".", "2", "5", "down", "0", ",", "0", "1", "enter")
	contains(t, settingsText(t, o, 0), "clock_offset_s = 1.25\n", "clock_interval_s = 0.01\n")
	press(m, "u")
	lacks(t, settingsText(t, o, 0), "clock_")
	order(m, "interval attitude.csv 0.02")
	contains(t, m.View(), "which is not given")
	order(m, "offset attitude.csv 1.25")
	order(m, "interval attitude.csv -0.02")
	contains(t, m.View(), "write seconds above 0")
	order(m, "interval attitude.csv 0.02")
	contains(t, settingsText(t, o, 0), "clock_offset_s = 1.25\n", "clock_interval_s = 0.02\n")
}

func TestTurnSense(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 100, 40, termenv.Ascii)
	press(m, "enter", "6", "s")
	contains(t, m.View(), "choose a column first")
	press(m, "n", "n") // the file, then its first column
	contains(t, lineWith(t, m.View(), "> "), "lateral stick", "as ours")
	press(m, "s")
	contains(t, m.View(), "sense of lateral stick turned")
	contains(t, lineWith(t, m.View(), "> "), "lateral stick", "turned", "by hand")
	contains(t, settingsText(t, o, 0), "name = \"lateral stick\"\nsign = -1\n")
	press(m, "u")
	contains(t, m.View(), "undone: sense of lateral stick turned")
	contains(t, lineWith(t, m.View(), "> "), "lateral stick", "as ours")
	if s := settingsText(t, o, 0); s != "" {
		t.Errorf("after undo the settings are\n%s", s)
	}
	press(m, "U")
	contains(t, lineWith(t, m.View(), "> "), "turned")
	contains(t, settingsText(t, o, 0), "sign = -1")
	press(m, "s") // turned round again
	contains(t, lineWith(t, m.View(), "> "), "as ours", "by hand")
	contains(t, settingsText(t, o, 0), "sign = 1")
	press(m, "U")
	contains(t, m.View(), "nothing to do again")
	press(m, "u", "u", "u")
	contains(t, m.View(), "nothing to take back")
}

func TestColumnForm(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 80, 24, termenv.Ascii)
	press(m, "enter", "6", "n", "n", "enter")
	contains(t, m.View(), "lateral stick of attitude.csv", "> quantity", "‹ as found ›", "now: lateral stick", "neutral", "full throw")
	press(m, "down", "right", "right", "right") // percent, unit, pulse
	contains(t, m.View(), "pulse_us")
	press(m, "down", "down", "1", "5", "2", "x")
	contains(t, m.View(), "152x_")
	press(m, "enter")
	contains(t, m.View(), `neutral "152x" is not a number`)
	press(m, "backspace", "0", "enter")
	contains(t, m.View(), "lateral stick of attitude.csv: unit, neutral")
	contains(t, settingsText(t, o, 0), "unit = \"pulse_us\"\nneutral = 1520.0\n")
	press(m, "enter")
	contains(t, m.View(), "pulse_us", "1520")
	press(m, "t", "down", "p", "esc") // time, and a unit that fits none: dropped
	lacks(t, m.View(), "enter decides")
	if s := settingsText(t, o, 0); strings.Contains(s, "time") {
		t.Errorf("a form that was dropped is kept:\n%s", s)
	}
}

// What cannot be read is said in one line, and nothing is changed.
func TestDecisionThatFails(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 120, 40, termenv.Ascii)
	press(m, "enter", "6", "n", "n", "enter", "t", "enter")
	contains(t, m.View(), "nothing changed: attitude.csv: two columns of stamps", "lateral stick")
	if s := settingsText(t, o, 0); s != "" {
		t.Errorf("the settings are\n%s", s)
	}
	press(m, "u")
	contains(t, m.View(), "nothing to take back")
	if m.desk.rows[0].state != ready {
		t.Errorf("the row is in state %d", m.desk.rows[0].state)
	}
}

func TestLeaveOut(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 100, 40, termenv.Ascii)
	press(m, "enter", "6", "n", "n", "x")
	contains(t, settingsText(t, o, 0), "skip = true")
	contains(t, m.View(), "left out")
	press(m, "x") // the fake still shows its channel: the same line takes it in again
	lacks(t, settingsText(t, o, 0), "skip")
}

// The interval between the cursors is left out, drawn, listed and taken in again.
func TestExcludeBetweenCursors(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 100, 40, termenv.Ascii)
	press(m, "enter", "x")
	contains(t, m.View(), "set the second cursor with t")
	press(m, "t", "x")
	contains(t, m.View(), "move the cursor away")
	order(m, "70")
	press(m, "x")
	contains(t, m.View(), "60.0 to 70.0 s left out, why: _")
	press(m, "t", "u", "g", "enter")
	contains(t, settingsText(t, o, 0), "from_s = 60.0\nto_s = 70.0\nwhy = \"tug\"\n")
	contains(t, m.View(), "×××", "left out of the analysis: 60.0 to 70.0 s, tug")
	if v := m.screens[hopScreen].(*hopView); v.cursor != 70 {
		t.Errorf("the cursor is at %g s", v.cursor)
	}
	press(m, "6", "end")
	contains(t, m.View(), "Left out  60.0 to 70.0 s, tug")
	press(m, "2")
	order(m, "65")
	press(m, "x")
	lacks(t, m.View(), "×××")
	lacks(t, settingsText(t, o, 0), "exclude")
	press(m, "u")
	contains(t, m.View(), "×××")
}

func TestOrders(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 120, 40, termenv.Ascii)
	order(m, "sign roll rate -1")
	contains(t, m.View(), "open a hop first")
	press(m, "enter")
	for _, c := range []struct{ order, says, settings string }{
		{"sign roll rate -1", "sign of roll rate of attitude.csv -1", "name = \"roll rate\"\nsign = -1"},
		{"sign attitude.csv Roll Rate 1", "sign of roll rate of attitude.csv 1", "sign = 1"},
		{"sign roll rate found", "sign of roll rate of attitude.csv as found", ""},
		{"sign roll rate 2", `sign "2": it is 1 where`, ""},
		{"sign roll rate", "a value is missing", ""},
		{"sign wind.csv -1", "wind.csv is a file: sign takes a column", ""},
		{"sign nothing -1", `this hop has no column or file "nothing -1"`, ""},
		{"unit roll rate rpm", "rpm is no unit of roll rate; it may be deg/s, rad/s", ""},
		{"unit roll rate degs", `unit "degs" is not known; did you mean "deg"?`, ""},
		{"unit roll rate rad/s", "unit of roll rate", "unit = \"rad/s\""},
		{"quantity roll rate yaw rate", "quantity of roll rate of attitude.csv yaw rate", "quantity = \"yaw rate\""},
		{"neutral lateral stick 12,5", "neutral of lateral stick", "neutral = 12.5"},
		{"throw lateral stick 400", "throw of lateral stick", "full_throw = 400.0"},
		{"throw lateral stick 0", "nothing changed: ", "full_throw = 400.0"},
		{"offset wind.csv 12.5", "offset of wind.csv 12.5", "clock_offset_s = 12.5"},
		{"drift wind.csv x", `clock drift ppm "x" is not a number`, ""},
		{"skip wind.csv", "wind.csv left out", "skip = true"},
		{"use wind.csv", "wind.csv taken in again", ""},
		{"exclude 40 50 lorry", "40.0 to 50.0 s left out", "why = \"lorry\""},
		{"exclude 50 40", "the earlier first", ""},
		{"include 45", "40.0 to 50.0 s taken in again", ""},
		{"include 45", `no interval is left out at "45"`, ""},
		{"configuration heavy bar", "configuration heavy bar", "configuration = \"heavy bar\""},
		{"mark 12.5 over the hedge", "mark at 12.5 s", ""},
		{"mark soon", "mark takes a time in s and words", ""},
		{"remarks seat felt light", "remarks", "notes = \"seat felt light\""},
	} {
		order(m, c.order)
		if !strings.Contains(m.notice, c.says) {
			t.Errorf("%q gives the notice %q, want %q", c.order, m.notice, c.says)
		}
		if s := settingsText(t, o, 0); !strings.Contains(s, c.settings) {
			t.Errorf("after %q the settings lack %q:\n%s", c.order, c.settings, s)
		}
	}
	if h := m.desk.current.d.Hop; h.Notes != "seat felt light" || h.Configuration != "heavy bar" || len(h.Marks) != 2 {
		t.Errorf("the hop on show is not as decided: %q %q %v", h.Notes, h.Configuration, h.Marks)
	}
}

// While a hop is read anew its screens keep working, a second decision waits its turn,
// and stopping says what became of the first.
func TestDecidingInBackground(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 100, 40, termenv.Ascii)
	press(m, "enter", "6", "n", "n")
	m.Update(keyMsg("s")) // the command is not run: the hop is still being read
	contains(t, m.View(), "sense of lateral stick turned", "as ours", "[6 data]")
	m.Update(keyMsg("3"))
	contains(t, m.View(), "[3 response]", "phase delay")
	m.Update(keyMsg("6"))
	m.Update(keyMsg("n"))
	m.Update(keyMsg("s"))
	contains(t, m.View(), "next: sense of longitudinal stick turned")
	if len(m.queue) != 1 || len(m.jobs) != 1 {
		t.Errorf("%d decisions wait, %d jobs run", len(m.queue), len(m.jobs))
	}
	m.Update(keyMsg("u"))
	contains(t, m.View(), "still at it")
}

func TestDecisionStopped(t *testing.T) {
	for _, kept := range []bool{false, true} {
		o := keptOptions(t, 2)
		o.Decide = func(ctx context.Context, e flight.HopEntry, c flight.Change, _ func(float64, string)) (*debrief.Debrief, flight.Edit, error) {
			if !kept {
				return nil, flight.Edit{}, context.Canceled
			}
			edit, _, err := c.Try(e.Path)
			if err == nil {
				err = edit.Write(e.Path)
			}
			return nil, edit, errors.Join(err, context.Canceled)
		}
		m := started(t, o, 100, 40, termenv.Ascii)
		press(m, "enter", "6", "n", "n", "s")
		if kept { // read again as it is now kept
			contains(t, m.View(), "kept; the hop is still to be read", "turned")
			contains(t, settingsText(t, o, 0), "sign = -1")
			continue
		}
		contains(t, m.View(), "nothing changed")
		if m.desk.rows[0].state != ready || len(m.jobs) != 0 {
			t.Errorf("the row is in state %d, %d jobs", m.desk.rows[0].state, len(m.jobs))
		}
	}
}

// Nothing can be decided where nothing can be kept.
func TestNoDecisionsWithoutKeeper(t *testing.T) {
	o := fakeOptions(2)
	o.Decide, o.Note = nil, nil
	m := started(t, o, 100, 30, termenv.Ascii)
	press(m, "enter", "6", "n", "n", "enter")
	contains(t, m.View(), "decisions cannot be kept here")
	press(m, "s", "x")
	order(m, "skip wind.csv")
	contains(t, m.View(), "decisions cannot be kept here")
	press(m, "7", "r")
	lacks(t, m.View(), "Remarks of the card")
}

func TestRemarks(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 80, 24, termenv.Ascii)
	press(m, "enter", "7", "r")
	contains(t, m.View(), "Remarks of the card", "F2")
	press(m, "q", " ", "u", "enter", "t", "w", "o", "f2")
	if h := m.desk.current.d.Hop; h.Notes != "q u\ntwo" {
		t.Errorf("the remarks are %q", h.Notes)
	}
	contains(t, settingsText(t, o, 0), "notes = \"\"\"\nq u\ntwo\"\"\"\n")
	contains(t, m.View(), "[7 card]", "remarks")
	press(m, "6", "end")
	contains(t, m.View(), "Remarks", "q u", "two")
	press(m, "u")
	lacks(t, m.View(), "q u")
	if s := settingsText(t, o, 0); s != "" {
		t.Errorf("after undo the settings are\n%s", s)
	}
	press(m, "7", "r", "x", "esc")
	lacks(t, m.View(), "Remarks of the card")
	if m.desk.current.d.Hop.Notes != "" {
		t.Error("remarks that were dropped are kept")
	}
}

// A key that is pressed right after another finds done what that one asked for.
func TestFastKeysAfterOpening(t *testing.T) {
	m := started(t, fakeOptions(3), 100, 30, termenv.Ascii)
	m.Update(keyMsg("enter")) // the commands are not run
	m.Update(keyMsg("7"))
	contains(t, m.View(), "[7 card]")
	m.Update(keyMsg("5"))
	m.Update(keyMsg("enter")) // shows the flag in the traces
	m.Update(keyMsg("3"))
	contains(t, m.View(), "[3 response]")
}

// What was decided on stays under the cursor and where it is on the screen, even if the
// findings above it are others now.
func TestDecidedLineStays(t *testing.T) {
	o := keptOptions(t, 2)
	decide := o.Decide
	o.Decide = func(ctx context.Context, e flight.HopEntry, c flight.Change, p func(float64, string)) (*debrief.Debrief, flight.Edit, error) {
		d, edit, err := decide(ctx, e, c, p)
		if err == nil && edit.After != "" {
			for range 3 {
				d.Findings = append(d.Findings, flight.Finding{Code: flight.CodeSign, Severity: flight.Note, Text: strings.Repeat("one more ", 20)})
			}
		}
		return d, edit, err
	}
	m := started(t, o, 80, 24, termenv.Ascii)
	press(m, "enter", "6", "n", "n", "n", "n")
	row := func() int {
		for y, s := range strings.Split(m.View(), "\n") {
			if strings.HasPrefix(s, ">") && strings.Contains(s, "roll attitude") {
				return y
			}
		}
		t.Fatalf("the column is not under the cursor:\n%s", m.View())
		return 0
	}
	was := row()
	press(m, "s")
	contains(t, lineWith(t, m.View(), "> "), "turned")
	if row() != was {
		t.Errorf("the column went from row %d to %d", was, row())
	}
	press(m, "u")
	contains(t, lineWith(t, m.View(), "> "), "as ours")
}

// A card that is asked for while a change is being made holds the change.
func TestCardWaitsForChange(t *testing.T) {
	o := keptOptions(t, 2)
	notes := "no card"
	o.Export = func(_ context.Context, d *debrief.Debrief, format string) (string, error) {
		notes = d.Hop.Notes
		return "card." + format, nil
	}
	m := started(t, o, 100, 40, termenv.Ascii)
	press(m, "enter", "7", "r", "o", "k")
	_, change := m.Update(keyMsg("f2")) // not carried out yet
	m.Update(keyMsg("w"))
	_, cmd := m.Update(keyMsg("enter"))
	run(m, cmd)
	if notes != "no card" {
		t.Errorf("the card was written before the remarks: %q", notes)
	}
	run(m, change)
	contains(t, m.View(), "card written: card.md")
	if notes != "ok" {
		t.Errorf("the card holds %q", notes)
	}
}

// Leaving waits for what is being changed, unless it is asked for twice.
func TestLeavingWaitsForChange(t *testing.T) {
	o := keptOptions(t, 2)
	m := started(t, o, 100, 40, termenv.Ascii)
	press(m, "enter", "m", "x")
	_, change := m.Update(keyMsg("enter")) // not carried out yet
	if _, cmd := m.Update(keyMsg("q")); cmd != nil {
		t.Error("the program leaves before the mark is kept")
	}
	contains(t, m.View(), "q leaves at once")
	if _, cmd := m.Update(change()); !quits(cmd) {
		t.Error("the program does not leave when the mark is kept")
	}
	m = started(t, o, 100, 40, termenv.Ascii)
	press(m, "enter", "m", "x")
	m.Update(keyMsg("enter"))
	m.Update(keyMsg("q"))
	if _, cmd := m.Update(keyMsg("q")); !quits(cmd) {
		t.Error("asked twice the program does not leave")
	}
}

func quits(cmd tea.Cmd) bool {
	if cmd == nil {
		return false
	}
	_, ok := cmd().(tea.QuitMsg)
	return ok
}
