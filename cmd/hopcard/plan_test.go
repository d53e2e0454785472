package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"hopcard/flight"
)

// planBook is a logbook of an aircraft of which nothing but names is known.
func planBook(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	write(t, filepath.Join(dir, flight.AircraftFile), "format = 1\nname = \"Whinchat\"\n[[configuration]]\nname = \"bare\"\n[[configuration]]\nname = \"bar\"\n[configuration.bar]\nweight_kg = 0.45\n")
	return dir
}

// From the plan over the flight to the card that says what of it was flown.
func TestPlanThenCard(t *testing.T) {
	book := planBook(t)
	if a := call(t, "plan", book, "--configuration", "bare", "--hop", "hop-1"); a.code != exitFine || !strings.Contains(a.stdout, "Build-up: first hop") {
		t.Fatalf("%d: %s", a.code, a.stderr)
	}
	write(t, filepath.Join(book, "hop-1", "log.csv"), smallHop(true))
	write(t, filepath.Join(book, "hop-1", flight.HopFile), "format = 1\nconfiguration = \"bare\"\n")
	a := call(t, "report", filepath.Join(book, "hop-1"), "--format", "json")
	if a.code != exitFine || !strings.Contains(a.stdout, `"item":"configuration","planned":"bare","flown":"bare","as_planned":true`) ||
		!strings.Contains(a.stdout, `"item":"pitch sweeps","planned":"2 of 2.5 to 5 %","flown":"none","as_planned":false`) {
		t.Errorf("%d: %s%.2000s", a.code, a.stderr, a.stdout)
	}
	// The next plan rests on that hop.
	a = call(t, "plan", book, "--configuration", "bar")
	if a.code != exitFine || !strings.Contains(a.stdout, "stabiliser bar fitted, 0.45 kg at each tip") || !strings.Contains(a.stdout, "last hop hop-1, bare") {
		t.Errorf("%d: %s%s", a.code, a.stderr, a.stdout)
	}
	a = call(t, "plan", book, "--configuration", "bare")
	if a.code != exitFine || !strings.Contains(a.stdout, "changed since the last hop: nothing") || !strings.Contains(a.stdout, "from hop-1") {
		t.Errorf("%d: %s%s", a.code, a.stderr, a.stdout)
	}
	// And one for the hop flown already, on what came before it: nothing.
	a = call(t, "plan", book, "--configuration", "bare", "--hop", "hop-1", "--force")
	if a.code != exitFine || !strings.Contains(a.stdout, "Build-up: first hop") {
		t.Errorf("%d: %s%s", a.code, a.stderr, a.stdout)
	}
}

func TestPlanRefusals(t *testing.T) {
	book := planBook(t)
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"plan", book}, exitWrongUsage, `name the configuration to be flown; there is "bare", "bar"`},
		{[]string{"plan", book, "--configuration", "bar", "--format", "docx"}, exitWrongUsage, "--format"},
		{[]string{"plan", book, "--configuration", "bar", "--paper", "a3"}, exitWrongUsage, "--paper"},
		{[]string{"plan", book, "--configuration", "bar", "--wish-ms", "NaN"}, exitWrongUsage, "wish for 1 to 500 ms"},
		{[]string{"plan", book, "--configuration", "bar", "--hop", ".."}, exitWrongUsage, "plain name"},
		{[]string{"plan", book, "--configuration", "bar", "--hop", `a\b`}, exitWrongUsage, "plain name"},
		{[]string{"plan", book, "--configuration", "bar", "--to", filepath.Join(book, "hop.toml")}, exitWrongUsage, "kept for settings"},
		{[]string{"plan", book, "--configuration", "lead"}, exitBadInput, "no such configuration"},
		{[]string{"plan", t.TempDir(), "--configuration", "bar"}, exitBadInput, "there is no such file"},
		{[]string{"plan", book, "more", "--configuration", "bar"}, exitWrongUsage, "one argument too many"},
	} {
		a := call(t, c.args...)
		if a.code != c.code || a.stdout != "" || !strings.Contains(a.stderr, c.says) {
			t.Errorf("%q: %d %q %q, want %d with %q", c.args[1:], a.code, a.stdout, a.stderr, c.code, c.says)
		}
	}
}

// The taps that the card asks for, tap 1 s tap 2 s tap before and the other way round after,
// put two loggers together to a few milliseconds, and not one tap further on.
func TestPlannedKnocksAlignClocks(t *testing.T) {
	const offsetS = 23.456
	taps := []float64{6, 7, 9, 80, 82, 83}
	dir := t.TempDir()
	write(t, filepath.Join(dir, "attitude.csv"), knockLog(taps, 0, "roll_deg,pitch_deg", "az_m_s2", -1, 9.80665, 1))
	write(t, filepath.Join(dir, "stick.csv"), knockLog(taps, offsetS, "lat_stick_pct,lon_stick_pct", "knock_g", 1, 1, 2))
	h, err := readHop(t.Context(), dir, func(float64, string) {})
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, s := range h.Sources {
		if s.File != "stick.csv" {
			continue
		}
		found = true
		if s.Clock.AlignedBy != flight.AlignKnocks || math.Abs(s.Clock.OffsetS-h.Sources[0].Clock.OffsetS-offsetS) > 0.01 {
			t.Errorf("clock %+v, want by knocks and %g s apart", s.Clock, offsetS)
		}
	}
	if !found {
		t.Error("no stick log")
	}
}

// knockLog is a log of 90 s at 100 Hz with two quiet columns and an accelerometer.
func knockLog(taps []float64, offsetS float64, columns, accel string, rest, unit float64, seed uint64) string {
	rng := rand.New(rand.NewPCG(seed, 1))
	var b strings.Builder
	fmt.Fprintf(&b, "time_s,%s,%s\n", columns, accel)
	for i := range 9000 {
		tS := float64(i)*0.01 + 0.003*float64(seed)
		shake := 0.01 * rng.NormFloat64()
		for _, at := range taps {
			if d := tS - at; d >= 0 && d < 0.4 {
				shake += 2.2 * math.Exp(-d/0.03) * math.Cos(2*math.Pi*13*d)
			}
		}
		if tS > 15 && tS < 70 { // rotor turning
			shake += 0.2 * math.Sin(2*math.Pi*17*tS)
		}
		fmt.Fprintf(&b, "%.4f,%.3f,%.3f,%.4f\n", tS+offsetS, 0.5*math.Sin(0.4*tS), 0.4*math.Cos(0.3*tS), unit*(rest+shake))
	}
	return b.String()
}
