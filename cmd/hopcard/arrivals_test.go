package main

import (
	"maps"
	"path/filepath"
	"reflect"
	"testing"
	"time"
)

// New logs are handed out together, once, when none of them has changed for a while.
func TestArrivals(t *testing.T) {
	start := time.Date(2031, 5, 10, 18, 0, 0, 0, time.UTC)
	old, a, b, other := filepath.Join("card", "old.csv"), filepath.Join("card", "a.csv"), filepath.Join("card", "b.csv"), filepath.Join("card", "day", "c.csv")
	there := map[string]fileState{old: {10, start}}
	w := &arrivals{settle: 3 * time.Second, known: maps.Clone(there)}
	for _, step := range []struct {
		at   time.Duration
		file string
		size int64
		want []batch
	}{
		{at: 100 * time.Second}, // what was there at the start is nothing new
		{at: 101 * time.Second, file: a, size: 100},
		{at: 103 * time.Second, file: a, size: 200},
		{at: 105 * time.Second, file: b, size: 1}, // a is complete, b has just begun
		{at: 107 * time.Second},
		{at: 108 * time.Second, want: []batch{{"card", []string{"a.csv", "b.csv"}, []string{"old.csv"}}}},
		{at: 109 * time.Second},
		{at: 110 * time.Second, file: other, size: 0}, // made, but nothing written yet
		{at: 120 * time.Second},
		{at: 121 * time.Second, file: other, size: 5},
		{at: 122 * time.Second, file: old, size: 20}, // a logger goes on in an old file
		{at: 125 * time.Second, want: []batch{
			{"card", []string{"old.csv"}, []string{"a.csv", "b.csv"}}, {filepath.Join("card", "day"), []string{"c.csv"}, nil}}},
		{at: 999 * time.Second},
	} {
		now := start.Add(step.at)
		if step.file != "" {
			there[step.file] = fileState{step.size, now}
		}
		if got := w.look(now, there); !reflect.DeepEqual(got, step.want) {
			t.Errorf("after %v: %+v, want %+v", step.at, got, step.want)
		}
	}
	// A card that is taken out and put back again brings nothing new.
	back := maps.Clone(there)
	if w.look(start.Add(1000*time.Second), map[string]fileState{}) != nil || w.look(start.Add(2000*time.Second), back) != nil || w.look(start.Add(3000*time.Second), back) != nil {
		t.Error("the same card is new again")
	}
}

func TestLogsUnder(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a.csv", "day/b.log", "day/readme.txt", "day/photo.jpg", ".trash/c.csv", "1/2/3/4/d.csv", "1/2/3/4/5/e.csv"} {
		write(t, filepath.Join(dir, name), "x")
	}
	logs, folders, err := logsUnder(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a.csv", "day/b.log", "1/2/3/4/d.csv"} {
		if s := logs[filepath.Join(dir, name)]; s.size != 1 || s.modified.IsZero() {
			t.Errorf("%s is not among %v", name, logs)
		}
	}
	if len(logs) != 3 || len(folders) != 6 {
		t.Errorf("%d logs, %d folders: %v", len(logs), len(folders), folders)
	}
	if _, _, err := logsUnder(filepath.Join(dir, "gone")); err == nil {
		t.Error("a folder that is not there is no error")
	}
}
