package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// demoCopy is a logbook with one hop of the demo, to be changed.
func demoCopy(t *testing.T, hop string) (book, dir string) {
	t.Helper()
	book = filepath.Join(t.TempDir(), "book")
	dir = filepath.Join(book, hop)
	if err := os.CopyFS(dir, os.DirFS(filepath.Join(demoBook(t), hop))); err != nil {
		t.Fatal(err)
	}
	aircraft, err := os.ReadFile(filepath.Join(demoBook(t), flight.AircraftFile))
	if err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(book, flight.AircraftFile), string(aircraft))
	return book, dir
}

func findingsOf(d *debrief.Debrief, code flight.Code, channel string) []string {
	var texts []string
	for _, f := range d.Findings {
		if f.Code == code && f.Channel == channel {
			texts = append(texts, string(f.Severity)+" "+f.Text)
		}
	}
	return texts
}

func quietly(float64, string) {}

// A sense that was turned makes a finding vanish and numbers change places; undone, both
// are back, and the file is as it was to the byte.
func TestDecideSense(t *testing.T) {
	_, dir := demoCopy(t, "2031-05-10-b")
	e := flight.HopEntry{Name: "2031-05-10-b", Path: dir}
	before, err := os.ReadFile(filepath.Join(dir, flight.HopFile))
	if err != nil {
		t.Fatal(err)
	}
	was, err := debriefHop(t.Context(), dir, quietly)
	if err != nil {
		t.Fatal(err)
	}
	turned, edit, err := decide(t.Context(), e, flight.Deciding(flight.Decision{File: "stick.csv", Column: "stick_lat", Key: "sign", Value: -1}), quietly)
	if err != nil {
		t.Fatal(err)
	}
	if c := turned.Hop.Channel(flight.LatStick); c.Sign != -1 {
		t.Errorf("the stick has sign %d", c.Sign)
	}
	if a, b := findingsOf(was, flight.CodeSign, "roll_deg"), findingsOf(turned, flight.CodeSign, "roll_deg"); len(a) != 0 || len(b) != 1 {
		t.Errorf("findings about the sense of roll_deg: %q, then %q", a, b)
	}
	a, b := rollControl(was), rollControl(turned)
	if a[0] != -b[1] || a[1] != -b[0] || a[0] == b[0] {
		t.Errorf("the stick went from %v %% to %v %%", a, b)
	}
	again, err := debriefHop(t.Context(), dir, quietly)
	if err != nil || rollControl(again) != b {
		t.Errorf("read from its folder the stick goes %v, %v", rollControl(again), err)
	}
	back, _, err := decide(t.Context(), e, edit.Back().Change(), quietly)
	if err != nil {
		t.Fatal(err)
	}
	if rollControl(back) != a || len(findingsOf(back, flight.CodeSign, "roll_deg")) != 0 {
		t.Errorf("after undo the stick goes %v", rollControl(back))
	}
	if after, err := os.ReadFile(filepath.Join(dir, flight.HopFile)); err != nil || string(after) != string(before) {
		t.Errorf("after undo the settings are %q, %v", after, err)
	}
}

func rollControl(d *debrief.Debrief) [2]float64 {
	for _, c := range d.Stability.Control {
		if c.Axis == flight.RollAxis {
			return [2]float64{c.LowPercent, c.HighPercent}
		}
	}
	return [2]float64{}
}

// Where no clock is common, an offset that the crew knows ties the stick to the attitude:
// the findings that it is untied vanish, control left is given. Taken back, they return.
func TestDecideClock(t *testing.T) {
	_, dir := demoCopy(t, "2031-05-11-b")
	e := flight.HopEntry{Name: "2031-05-11-b", Path: dir}
	untied := func(d *debrief.Debrief) (n int) {
		for _, f := range d.Findings {
			if f.Code == flight.CodeNoClock {
				n++
			}
		}
		return n
	}
	was, err := debriefHop(t.Context(), dir, quietly)
	if err != nil {
		t.Fatal(err)
	}
	timed, edit, err := decide(t.Context(), e, flight.Deciding(
		flight.Decision{File: "stick-box.csv", Key: "clock_offset_s", Value: 3.5}), quietly)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := untied(was), untied(timed); a == 0 || b != 0 {
		t.Errorf("%d findings about the clock without an offset, %d with one", a, b)
	}
	if a, b := len(was.Stability.Control), len(timed.Stability.Control); a != 0 || b == 0 {
		t.Errorf("control left in %d axes without a clock, %d with one", a, b)
	}
	for _, s := range timed.Hop.Sources {
		if s.File == "stick-box.csv" && (s.Clock.AlignedBy != flight.AlignUser || s.Clock.OffsetS != 3.5) {
			t.Errorf("clock %+v", s.Clock)
		}
	}
	back, _, err := decide(t.Context(), e, edit.Back().Change(), quietly)
	if err != nil || untied(back) != untied(was) || len(back.Stability.Control) != 0 {
		t.Errorf("after undo: %d findings, %v", untied(back), err)
	}
}

// What cannot be read is refused in one line, and the file stays as it is.
func TestDecideRefuses(t *testing.T) {
	_, dir := demoCopy(t, "2031-05-10-b")
	e := flight.HopEntry{Name: "2031-05-10-b", Path: dir}
	before := contents(t, dir)
	for _, c := range []struct {
		d    flight.Decision
		want string
	}{
		{flight.Decision{File: "sticks.csv", Column: "stick_lat", Key: "sign", Value: -1}, `there is no log "sticks.csv" in this hop; did you mean "stick.csv"?`},
		{flight.Decision{File: "stick.csv", Column: "stick_let", Key: "sign", Value: -1}, `did you mean "stick_lat"?`},
		{flight.Decision{File: "stick.csv", Column: "stick_lat", Key: "unit", Value: "rpm"}, `hop.toml, column "stick_lat": rpm is no unit of lateral stick; it may be percent, unit, pulse_us, counts`},
		{flight.Decision{File: "attitude.csv", Column: "p_rad_s", Key: "quantity", Value: "rol rate"}, `did you mean "roll rate"?`},
		{flight.Decision{File: "stick.csv", Column: "utc", Key: "skip", Value: true}, "stick.csv"},
	} {
		d, edit, err := decide(t.Context(), e, flight.Deciding(c.d), quietly)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") || d != nil || edit != (flight.Edit{}) {
			t.Errorf("%+v gives %v, want one line with %q", c.d, err, c.want)
		}
	}
	if contents(t, dir) != before {
		t.Error("something was written")
	}
	log := filepath.Join(dir, "stick.csv")
	if _, _, err := decide(t.Context(), flight.HopEntry{Path: log}, flight.Deciding(), quietly); err == nil || !strings.Contains(err.Error(), "folder of its own") {
		t.Errorf("a single log: %v", err)
	}
	if _, err := note(flight.HopEntry{Path: log}, flight.Deciding()); err == nil || !strings.Contains(err.Error(), "folder of its own") {
		t.Errorf("remarks of a single log: %v", err)
	}
}

// Stopped before the change is written nothing is changed; stopped afterwards it is kept.
func TestDecideStopped(t *testing.T) {
	_, dir := demoCopy(t, "2031-05-10-b")
	e := flight.HopEntry{Name: "2031-05-10-b", Path: dir}
	change := flight.Deciding(flight.Decision{File: "stick.csv", Column: "stick_lat", Key: "sign", Value: 1})
	before := contents(t, dir)
	if _, edit, err := decide(cancelled(), e, change, quietly); err == nil || edit != (flight.Edit{}) || contents(t, dir) != before {
		t.Errorf("stopped at once: %v, %+v", err, edit)
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	_, edit, err := decide(ctx, e, change, func(done float64, _ string) {
		if done > readShare { // the logs are read
			cancel()
		}
	})
	if err == nil || edit == (flight.Edit{}) || !strings.Contains(contents(t, dir), "sign = 1") {
		t.Errorf("stopped while analysing: %v, %+v", err, edit)
	}
}

// Remarks go into the file and onto the card.
func TestNote(t *testing.T) {
	_, dir := demoCopy(t, "2031-05-10-b")
	e := flight.HopEntry{Name: "2031-05-10-b", Path: dir}
	if _, err := note(e, flight.Deciding(flight.Decision{Key: "notes", Value: "tail light in the gusts\n\"again\" after noon"})); err != nil {
		t.Fatal(err)
	}
	card := call(t, "report", dir)
	if card.code != exitFine || !strings.Contains(card.stdout, "tail light in the gusts") || !strings.Contains(card.stdout, `"again" after noon`) {
		t.Errorf("the card does not hold the remarks: %s", card.stderr)
	}
}

// A card is written in each format; a table is not put where it would be taken for a log.
func TestExportCardFormats(t *testing.T) {
	book, dir := demoCopy(t, "2031-05-10-b")
	d, err := debriefHop(t.Context(), dir, quietly)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	for format, start := range map[string]string{"md": "# Test card", "html": "<!", "pdf": "%PDF-", "json": "{", "csv": ""} {
		path, err := exportCard(t.Context(), d, format)
		if err != nil {
			t.Fatal(err)
		}
		if text, err := os.ReadFile(path); err != nil || len(text) < 500 || !strings.HasPrefix(string(text), start) || path != "2031-05-10-b-card."+format {
			t.Errorf("%s: %d bytes, %v", path, len(text), err)
		}
	}
	if _, err := exportCard(t.Context(), d, "docx"); err == nil {
		t.Error("a card in a format that there is not")
	}
	for _, place := range []string{book, dir} {
		t.Chdir(place)
		if path, err := exportCard(t.Context(), d, "csv"); err == nil || !strings.Contains(err.Error(), "taken for a log") {
			t.Errorf("%s was written: %v", path, err)
		}
	}
}
