package tui

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/tui/recall"
)

const manyHops = 300

// manyOptions is a logbook of 300 small hops on disk. What they say follows from their
// logs; loads counts how often one was read.
func manyOptions(t *testing.T, loads *int) Options {
	t.Helper()
	o := fakeOptions(manyHops)
	dir := t.TempDir()
	for i := range o.Logbook.Hops {
		e := &o.Logbook.Hops[i]
		e.Name = fmt.Sprintf("hop-%03d", i)
		e.Path = filepath.Join(dir, e.Name)
		writeLog(t, *e, fmt.Sprintf("bar %d g", 100+i%7))
	}
	o.Rows = &recall.Store{Dir: filepath.Join(t.TempDir(), "rows"), Version: "1"}
	o.Load = func(_ context.Context, e flight.HopEntry, _ func(float64, string)) (*debrief.Debrief, error) {
		*loads++
		log, err := os.ReadFile(filepath.Join(e.Path, "log.csv"))
		if err != nil {
			return nil, err
		}
		d := &debrief.Debrief{Hop: &flight.Hop{Name: e.Name, Configuration: strings.TrimSpace(string(log))}}
		d.Verdict.Proceed = debrief.Yes
		return d, nil
	}
	return o
}

func writeLog(t *testing.T, e flight.HopEntry, text string) {
	t.Helper()
	if err := os.MkdirAll(e.Path, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(e.Path, "log.csv"), []byte(text+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
}

// firstList is a session as it stands when the first message after the start has been
// taken: the user sees the list, and nothing has been read.
func firstList(t *testing.T, o Options) *root {
	t.Helper()
	m := newTestRoot(t, o, termenv.Ascii)
	m.Update(tea.WindowSizeMsg{Width: 120, Height: 40})
	m.Update(m.Init()()) // what follows from it is not run
	return m
}

func known(m *root) int {
	n := 0
	for i := range m.desk.rows {
		if m.desk.rows[i].known {
			n++
		}
	}
	return n
}

// A logbook of 300 hops shows its list before any hop is read, and, from the second
// session on, with what earlier sessions found before the bytes of any log are looked at.
// Then all are read anew. A log that was changed behind everything's back is put right by
// that; a store that is damaged or gone costs what it held and nothing else.
func TestListOfManyHopsAtOnce(t *testing.T) {
	loads := 0
	o := manyOptions(t, &loads)
	m := firstList(t, o)
	contains(t, m.View(), "> hop-000", "hop-025", "not read yet", "300 to go")
	if loads != 0 || known(m) != 0 {
		t.Fatalf("first session: %d hops read, %d known before the list is there", loads, known(m))
	}
	m = started(t, o, 120, 40, termenv.Ascii)
	if loads != manyHops || known(m) != manyHops {
		t.Fatalf("first session: %d hops read, %d known, want all", loads, known(m))
	}
	t.Run("second session", func(t *testing.T) {
		loads = 0
		m := firstList(t, o)
		contains(t, m.View(), "> hop-000", "bar 100 g", "bar 106 g", "go on", "as found earlier")
		lacks(t, m.View(), "not read yet")
		if loads != 0 || known(m) != manyHops {
			t.Errorf("%d hops read, %d known before the list is there", loads, known(m))
		}
		m.Update(keyMsg("end")) // the whole list can be used meanwhile
		contains(t, m.View(), "> hop-299", "bar 105 g")
		other := o
		other.Rows = &recall.Store{Dir: o.Rows.Dir, Version: "2"}
		if m = firstList(t, other); known(m) != 0 {
			t.Errorf("another version knows %d hops", known(m))
		}
	})
	t.Run("changed logs", func(t *testing.T) { changedAmongMany(t, o, &loads) })
	t.Run("damaged store", func(t *testing.T) { damagedStoreOfMany(t, o) })
}

func changedAmongMany(t *testing.T, o Options, loads *int) {
	changed, sly := o.Logbook.Hops[1], o.Logbook.Hops[2]
	writeLog(t, changed, "bar 999 g, after the change")
	info, err := os.Stat(filepath.Join(sly.Path, "log.csv"))
	if err != nil {
		t.Fatal(err)
	}
	writeLog(t, sly, "bar 777 g")
	if err := os.Chtimes(filepath.Join(sly.Path, "log.csv"), info.ModTime(), info.ModTime()); err != nil {
		t.Fatal(err)
	}
	m := firstList(t, o)
	if m.desk.rows[1].known || known(m) != manyHops-1 {
		t.Errorf("%d hops known, the changed one: %v", known(m), m.desk.rows[1].known)
	}
	if _, first := m.jobs[1]; !first {
		t.Errorf("the hop that nothing is known about is not read first: %v", m.jobs)
	}
	*loads = 0
	m = started(t, o, 120, 40, termenv.Ascii)
	contains(t, m.View(), "bar 999 g", "bar 777 g")
	lacks(t, m.View(), "as found earlier")
	if *loads != manyHops {
		t.Errorf("%d hops read anew in the background, want %d", *loads, manyHops)
	}
}

func damagedStoreOfMany(t *testing.T, o Options) {
	files, err := filepath.Glob(filepath.Join(o.Rows.Dir, "*"))
	if err != nil || len(files) < manyHops {
		t.Fatalf("%d files kept, %v", len(files), err)
	}
	for i, f := range files {
		damage := [][]byte{nil, []byte("{"), {0, 1, 2}, []byte(`{"key":"../../etc","files":null}`), []byte(`{"proceed":7}`)}[i%5]
		if err := os.WriteFile(f, damage, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	m := firstList(t, o)
	contains(t, m.View(), "> hop-000", "not read yet")
	if m = started(t, o, 120, 40, termenv.Ascii); known(m) != manyHops {
		t.Errorf("%d hops known after all were read", known(m))
	}
	if m = firstList(t, o); known(m) != manyHops {
		t.Errorf("the store was not mended: %d hops known", known(m))
	}
	if err := os.RemoveAll(o.Rows.Dir); err != nil {
		t.Fatal(err)
	}
	if m = firstList(t, o); known(m) != 0 {
		t.Errorf("%d hops known without a store", known(m))
	}
	contains(t, m.View(), "> hop-000", "300 to go")
}
