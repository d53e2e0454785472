package recall

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"hopcard/flight"
)

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func key(t *testing.T, s Store, e flight.HopEntry) string {
	t.Helper()
	k, err := s.Key(e)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestStore(t *testing.T) {
	book := t.TempDir()
	log := filepath.Join(book, "hop1", "a.csv")
	write(t, log, "t,roll\n0,1\n")
	e := flight.HopEntry{Name: "hop1", Path: filepath.Dir(log)}
	s := Store{Dir: filepath.Join(t.TempDir(), "cache", "rows"), Version: "1"}
	if _, ok := s.Recall(key(t, s, e)); ok {
		t.Error("an empty store recalls something")
	}
	want := Summary{Date: "2025-05-11", Flags: "2A", Proceed: "no", Reasons: []Reason{{"roll grew", "no"}}}
	if err := s.Keep(e, key(t, s, e), want); err != nil {
		t.Fatal(err)
	}
	if got, ok := s.Recall(key(t, s, e)); !ok || !reflect.DeepEqual(got, want) {
		t.Errorf("recalled %+v %v, want %+v", got, ok, want)
	}
	if _, ok := s.Recall(key(t, Store{Dir: s.Dir, Version: "2"}, e)); ok {
		t.Error("another version recalls it")
	}
	if _, err := s.Key(flight.HopEntry{Path: filepath.Join(book, "gone")}); err == nil {
		t.Error("a hop that is not there has a key")
	}
	for _, change := range []struct{ path, text string }{
		{log, "t,roll\n0,2\n"},
		{filepath.Join(book, "hop1", flight.HopFile), "format = 1\n"},
		{filepath.Join(book, flight.AircraftFile), "format = 1\n"},
		{filepath.Join(book, "hop1", "b.csv"), "t,roll\n0,1\n"},
	} {
		write(t, change.path, change.text)
		if _, ok := s.Recall(key(t, s, e)); ok {
			t.Errorf("recalled after %s changed", filepath.Base(change.path))
		}
		if err := s.Keep(e, key(t, s, e), want); err != nil {
			t.Fatal(err)
		}
	}
}

// A damaged or deleted store forgets, and works again afterwards.
func TestDamagedStore(t *testing.T) {
	log := filepath.Join(t.TempDir(), "a.csv")
	write(t, log, "t,roll\n0,1\n")
	e := flight.HopEntry{Name: "a", Path: log}
	s := Store{Dir: filepath.Join(t.TempDir(), "rows"), Version: "1"}
	want := Summary{Air: "calm", Proceed: "yes"}
	damage := []func(file string) error{
		func(f string) error { return os.WriteFile(f, []byte(`{"date": "20`), 0o644) },
		func(f string) error { return os.WriteFile(f, nil, 0o644) },
		func(f string) error { return os.WriteFile(f, []byte("{}"), 0o644) },
		func(f string) error { return os.WriteFile(f, []byte{0, 1, 2}, 0o644) },
		func(f string) error { return os.RemoveAll(s.Dir) },
	}
	for i, d := range damage {
		if err := s.Keep(e, key(t, s, e), want); err != nil {
			t.Fatal(err)
		}
		if got, ok := s.Glance(e); !ok || got.Air != "calm" {
			t.Errorf("damage %d: before it, a glance gives %+v %v", i, got, ok)
		}
		files, _ := filepath.Glob(filepath.Join(s.Dir, "*"))
		if len(files) != 2 {
			t.Fatalf("%d files kept, want 2: %v", len(files), files)
		}
		for _, f := range files {
			if err := d(f); err != nil {
				t.Fatal(err)
			}
		}
		if got, ok := s.Glance(e); ok {
			t.Errorf("damage %d: a glance gives %+v", i, got)
		}
		if got, ok := s.Recall(key(t, s, e)); ok {
			t.Errorf("damage %d: recalled %+v", i, got)
		}
	}
	if err := s.Keep(e, key(t, s, e), want); err != nil {
		t.Error(err)
	}
	if err := (Store{Dir: log, Version: "1"}).Keep(e, "0", want); err == nil {
		t.Error("a store that cannot be written keeps something")
	}
}

// A glance needs the files to look as they did, whatever they hold; the key needs their
// bytes.
func TestGlance(t *testing.T) {
	log := filepath.Join(t.TempDir(), "hop1", "a.csv")
	write(t, log, "t,roll\n0,1\n")
	e := flight.HopEntry{Name: "hop1", Path: filepath.Dir(log)}
	s := Store{Dir: filepath.Join(t.TempDir(), "rows"), Version: "1"}
	if _, ok := s.Glance(e); ok {
		t.Error("a glance at nothing")
	}
	if err := s.Keep(e, key(t, s, e), Summary{Proceed: "no"}); err != nil {
		t.Fatal(err)
	}
	if sum, ok := s.Glance(e); !ok || sum.Proceed != "no" {
		t.Errorf("a glance gives %+v %v", sum, ok)
	}
	if _, ok := (Store{Dir: s.Dir, Version: "2"}).Glance(e); ok {
		t.Error("a glance of another version")
	}
	moved := filepath.Join(t.TempDir(), "hop1")
	if err := os.Rename(e.Path, moved); err != nil {
		t.Fatal(err)
	}
	if _, ok := s.Glance(flight.HopEntry{Path: moved}); ok {
		t.Error("a glance at another place")
	}
	if _, ok := s.Recall(key(t, s, flight.HopEntry{Path: moved})); !ok {
		t.Error("the same bytes at another place are not recalled")
	}
	if err := os.Rename(moved, e.Path); err != nil {
		t.Fatal(err)
	}
	for _, change := range []func() error{
		func() error { return os.WriteFile(log, []byte("t,roll\n0,1\n1,1\n"), 0o644) },
		func() error { return os.Chtimes(log, time.Unix(1, 0), time.Unix(1, 0)) },
		func() error {
			return os.WriteFile(filepath.Join(e.Path, flight.HopFile), []byte("format = 1\n"), 0o644)
		},
		func() error { return os.WriteFile(filepath.Join(e.Path, "b.csv"), []byte("t\n"), 0o644) },
	} {
		if err := change(); err != nil {
			t.Fatal(err)
		}
		if _, ok := s.Glance(e); ok {
			t.Error("a glance at files that look otherwise now")
		}
		if err := s.Keep(e, key(t, s, e), Summary{Proceed: "yes"}); err != nil {
			t.Fatal(err)
		}
	}
}

// The key with another settings file is the key that the hop then has.
func TestKeyWith(t *testing.T) {
	log := filepath.Join(t.TempDir(), "hop1", "a.csv")
	write(t, log, "t,roll\n0,1\n")
	e := flight.HopEntry{Name: "hop1", Path: filepath.Dir(log)}
	s := Store{Version: "1"}
	none := key(t, s, e)
	write(t, filepath.Join(e.Path, flight.HopFile), "format = 1\n")
	some := key(t, s, e)
	for text, want := range map[string]string{"": none, "format = 1\n": some} {
		if got, err := s.KeyWith(e, []byte(text)); err != nil || got != want {
			t.Errorf("with %q the key is %s, %v; want %s", text, got, err, want)
		}
	}
}
