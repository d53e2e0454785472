package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// A demo that is there already is left as it is, whatever its owner did to it.
func TestDemoIsWrittenOnce(t *testing.T) {
	book := demoBook(t)
	notes := filepath.Join(book, demoHop, flight.HopFile)
	before, err := os.Stat(notes)
	if err != nil {
		t.Fatal(err)
	}
	var errs bytes.Buffer
	a := &app{stdout: io.Discard, stderr: &errs}
	if err := a.writeDemo(t.Context(), book); err != nil || errs.Len() > 0 {
		t.Errorf("second time: %v, %q", err, errs.String())
	}
	if after, err := os.Stat(notes); err != nil || !os.SameFile(before, after) || !after.ModTime().Equal(before.ModTime()) {
		t.Errorf("the demo was written again: %v", err)
	}
	if list, err := flight.OpenLogbook(book); err != nil || len(list.Hops) < 6 || !list.HasAircraft {
		t.Errorf("the demo is no logbook of six hops: %+v, %v", list, err)
	}
}

func TestDemoTakesNobodysFolder(t *testing.T) {
	dir := t.TempDir()
	mine := filepath.Join(dir, "mine")
	write(t, filepath.Join(mine, "letter.odt"), "Dear inspector")
	a := &app{stdout: io.Discard, stderr: io.Discard}
	if err := a.writeDemo(t.Context(), mine); err == nil || !strings.Contains(err.Error(), "holds other files") {
		t.Errorf("error %v", err)
	}
	if err := a.writeDemo(t.Context(), filepath.Join(mine, "letter.odt")); err == nil {
		t.Error("a file was taken for a folder")
	}
	if err := a.writeDemo(t.Context(), filepath.Join(dir, "no", "such", "place")); err == nil || !strings.Contains(err.Error(), "name a folder") {
		t.Errorf("error %v", err)
	}
	if err := a.writeDemo(cancelled(), filepath.Join(dir, "stopped")); err == nil {
		t.Error("an interrupted demo is no error")
	}
	if got, want := contents(t, dir), filepath.Join(mine, "letter.odt")+"\nDear inspector\n"; got != want {
		t.Errorf("left behind: %q", got)
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 1 {
		t.Errorf("left behind: %v, %v", entries, err)
	}
}

func TestMoreTelling(t *testing.T) {
	full := &debrief.Debrief{Responses: make([]response.Result, 2), Verdict: debrief.Verdict{Proceed: debrief.Yes}}
	grave := &debrief.Debrief{Verdict: debrief.Verdict{Proceed: debrief.No}}
	flagged := &debrief.Debrief{Responses: make([]response.Result, 1),
		Stability: stability.Result{Unstable: make([]stability.Unstable, 1)}, Verdict: debrief.Verdict{Proceed: debrief.Caution}}
	twice := &debrief.Debrief{Responses: make([]response.Result, 1),
		Stability: stability.Result{Unstable: make([]stability.Unstable, 2)}, Verdict: debrief.Verdict{Proceed: debrief.Caution}}
	order := []*debrief.Debrief{grave, full, flagged, twice}
	for i, a := range order {
		for j, b := range order {
			if got := moreTelling(a, b); got != (i > j) {
				t.Errorf("moreTelling(%d, %d) = %v", i, j, got)
			}
		}
	}
}
