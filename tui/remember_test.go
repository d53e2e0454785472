package tui

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/tui/recall"
)

// A second session lists what the first one found before it has read anything, and one
// whose logs have changed since does not.
func TestRowsAreRemembered(t *testing.T) {
	o := fakeOptions(8)
	dir := t.TempDir()
	for i := range o.Logbook.Hops {
		e := &o.Logbook.Hops[i]
		e.Path = filepath.Join(dir, e.Name+".csv")
		if err := os.WriteFile(e.Path, []byte(fmt.Sprintf("t,roll\n0,%d\n", i)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	o.Rows = &recall.Store{Dir: filepath.Join(t.TempDir(), "rows"), Version: "test"}
	want := started(t, o, 120, 30, termenv.Ascii).View()
	contains(t, want, "STOP", "CANNOT READ")
	if err := os.WriteFile(o.Logbook.Hops[2].Path, []byte("t,roll\n0,9\n"), 0o644); err != nil {
		t.Fatal(err)
	}

	m := newTestRoot(t, o, termenv.Ascii)
	m.Update(tea.WindowSizeMsg{Width: 120, Height: 30})
	m.paused = true // nothing is read in this session
	run(m, m.Init())
	contains(t, m.View(), "as found earlier", "go on")
	for i := range m.desk.rows {
		r := &m.desk.rows[i]
		if known := i != 2 && i != 4; r.known != known || r.state != waiting { // 4 failed
			t.Errorf("%s: known %v state %d, want known %v and waiting", r.entry.Name, r.known, r.state, known)
		}
	}
	o.Load = func(context.Context, flight.HopEntry, func(float64, string)) (*debrief.Debrief, error) {
		return nil, errors.New("a.csv: cannot be read today")
	}
	m.desk.opts = o
	send(m, openMsg{7})
	press(m, "1")
	contains(t, m.View(), "CANNOT READ: a.csv") // and no verdict from earlier beside it
	o.Load = fakeLoad
	m.desk.opts = o
	press(m, "s") // go on reading: everything is computed again
	if got := m.View(); m.desk.rows[2].state != ready {
		t.Errorf("not read again:\n%s", got)
	}
	lacks(t, m.View(), "as found earlier")
}
