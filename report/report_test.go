package report

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// golden compares got with a file of testdata/report; run with -update to rewrite it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("..", "testdata", "report", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	gotLines, wantLines := strings.Split(string(got), "\n"), strings.Split(string(want), "\n")
	for i := range max(len(gotLines), len(wantLines)) {
		g, w := cell(gotLines, i), cell(wantLines, i)
		if g != w {
			t.Fatalf("%s:%d:\n got %q\nwant %q", path, i+1, g, w)
		}
	}
}

func rendered(t *testing.T, write func(b *bytes.Buffer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func card(t *testing.T, d *debrief.Debrief) string {
	return string(rendered(t, func(b *bytes.Buffer) error { return Markdown(b, d) }))
}

func TestGolden(t *testing.T) {
	d, none := syntheticDebrief(), emptyDebrief()
	for name, write := range map[string]func(b *bytes.Buffer) error{
		"card.md":          func(b *bytes.Buffer) error { return Markdown(b, d) },
		"card.json":        func(b *bytes.Buffer) error { return JSON(b, d) },
		"card-empty.md":    func(b *bytes.Buffer) error { return Markdown(b, none) },
		"card-empty.json":  func(b *bytes.Buffer) error { return JSON(b, none) },
		"check.txt":        func(b *bytes.Buffer) error { return Check(b, d.Hop) },
		"check.json":       func(b *bytes.Buffer) error { return CheckJSON(b, d.Hop) },
		"check-empty.txt":  func(b *bytes.Buffer) error { return Check(b, none.Hop) },
		"check-empty.json": func(b *bytes.Buffer) error { return CheckJSON(b) },
		"logbook.txt": func(b *bytes.Buffer) error {
			b.WriteString(LogbookLine(d) + "\n" + LogbookLine(none) + "\n")
			return nil
		},
	} {
		t.Run(name, func(t *testing.T) { golden(t, name, rendered(t, write)) })
	}
}

func TestSameBytesEveryTime(t *testing.T) {
	d := syntheticDebrief()
	first := rendered(t, func(b *bytes.Buffer) error { return JSON(b, d) })
	firstCard := card(t, d)
	for range 20 {
		if again := rendered(t, func(b *bytes.Buffer) error { return JSON(b, d) }); !bytes.Equal(first, again) {
			t.Fatal("JSON differs between two runs")
		}
		if card(t, d) != firstCard {
			t.Fatal("card differs between two runs")
		}
	}
}

// A card must fit a sheet: no line of prose wider than the page.
func TestCardFitsThePage(t *testing.T) {
	const tableWidth = 90 // tables cannot be broken: what fits at thirteen and a half an inch
	d := syntheticDebrief()
	d.Hop.Notes = strings.Repeat("long notes of the crew ", 50)
	for i, line := range strings.Split(card(t, d), "\n") {
		width := pageWidth
		if strings.HasPrefix(line, "|") {
			width = tableWidth
		}
		if n := utf8.RuneCountInString(line); n > width {
			t.Errorf("line %d is %d characters wide: %s", i+1, n, line)
		}
	}
}

// What the card calls an answer of an axis must be the answer to that axis's stick.
func TestCardTakesOnAxisOnly(t *testing.T) {
	if text := card(t, syntheticDebrief()); strings.Contains(text, "9900") {
		t.Error("the off-axis lag is shown as the lag of the axis")
	}
}

func TestCautionsFollowTheRotor(t *testing.T) {
	d := syntheticDebrief()
	for turns, want := range map[string]string{
		"counter-clockwise": "285 to 315 deg", "clockwise": "45 to 75 deg", "": "mirrored",
	} {
		d.Aircraft.RotorTurns = turns
		if text := strings.Join(strings.Fields(card(t, d)), " "); !strings.Contains(text, want) {
			t.Errorf("rotor %q: no %q on the card", turns, want)
		}
	}
}

// Cautions and stops are all on the card, however many notes there are.
func TestNoCautionIsLeftOut(t *testing.T) {
	d := syntheticDebrief()
	for range 50 {
		d.Findings = append(d.Findings, flight.Finding{Severity: flight.Note, Text: "a note"})
	}
	d.Findings = append(d.Findings, flight.Finding{Severity: flight.Stop, Text: "the last stop"})
	text := card(t, d)
	if !strings.Contains(text, "stop: the last stop") {
		t.Error("a stop behind many notes is missing")
	}
	if n := strings.Count(text, "note: "); n != maxNotes {
		t.Errorf("%d notes on the card, want %d", n, maxNotes)
	}
	if !strings.Contains(text, "and 43 more notes") {
		t.Error("the card does not say how many notes it leaves out")
	}
}

type brokenWriter struct{}

var errFull = errors.New("disk full")

func (brokenWriter) Write([]byte) (int, error) { return 0, errFull }

func TestWriteErrorsAreReturned(t *testing.T) {
	d := syntheticDebrief()
	for name, err := range map[string]error{
		"Markdown": Markdown(brokenWriter{}, d), "JSON": JSON(brokenWriter{}, d),
		"Check": Check(brokenWriter{}, d.Hop), "CheckJSON": CheckJSON(brokenWriter{}, d.Hop),
	} {
		if !errors.Is(err, errFull) {
			t.Errorf("%s: error %v, want %v", name, err, errFull)
		}
	}
}
