package main

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func TestExport(t *testing.T) {
	dir := t.TempDir()
	log := write(t, filepath.Join(dir, "book", "h1", "log.csv"), smallHop(true))
	write(t, filepath.Join(dir, "book", "aircraft.toml"), "format = 1\nname = \"Whinchat\"\n")
	hop, book := filepath.Dir(log), filepath.Join(dir, "book")
	before := contents(t, book)
	for _, to := range []string{filepath.Join(dir, "h1.parquet"), filepath.Join(dir, "samples.csv"), filepath.Join(hop, "h1.parquet")} {
		a := call(t, "export", hop, "--to", to)
		if a.code != exitFine || a.stdout != "" || a.stderr != "wrote "+to+": 7 channels\n" {
			t.Errorf("%s: exit %d, %q, %q", to, a.code, a.stdout, a.stderr)
		}
	}
	if err := os.Remove(filepath.Join(hop, "h1.parquet")); err != nil {
		t.Fatal(err)
	}
	table := filepath.Join(dir, "table.csv")
	if a := call(t, "export", hop, "--rate", "20", "--to", table); a.code != exitFine {
		t.Fatalf("exit %d, %q", a.code, a.stderr)
	}
	f, err := os.Open(table)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil || len(records) != 1+70*20 {
		t.Fatalf("%d rows, %v", len(records), err)
	}
	if want := []string{"time_s", "roll_deg", "pitch_deg", "roll_rate_deg_s", "pitch_rate_deg_s", "longitudinal_stick_percent", "lateral_stick_percent", "height_m"}; !slices.Equal(records[0], want) {
		t.Errorf("header %q", records[0])
	}
	// hopcard itself must be able to take over from what it wrote.
	a := call(t, "check", table)
	for _, want := range []string{"roll_rate_deg_s             roll rate", "lateral_stick_percent       lateral stick", "height_m"} {
		if !strings.Contains(a.stdout, want) {
			t.Errorf("no %q in\n%s", want, a.stdout)
		}
	}
	if strings.Contains(a.stdout, "guessed") || strings.Contains(a.stdout, "STOP") {
		t.Errorf("doubts about an exported table:\n%s", a.stdout)
	}
	if contents(t, book) != before {
		t.Error("the logbook has changed")
	}
}

func TestExportRefuses(t *testing.T) {
	dir := t.TempDir()
	log := write(t, filepath.Join(dir, "book", "h1", "log.csv"), smallHop(true))
	write(t, filepath.Join(dir, "book", "aircraft.toml"), "format = 1\n")
	hop := filepath.Dir(log)
	before := contents(t, dir)
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{hop}, exitWrongUsage, "--to FILE.csv or --to FILE.parquet is missing"},
		{[]string{hop, "--to", "x.xlsx"}, exitWrongUsage, "the ending must be .csv or .parquet"},
		{[]string{hop, "--to", "x.csv", "--rate", "0"}, exitWrongUsage, "--rate 0 is not possible"},
		{[]string{hop, "--to", "x.csv", "--rate", "nan"}, exitWrongUsage, "--rate NaN is not possible"},
		{[]string{hop, "--to", filepath.Join(dir, "x.csv"), "--rate", "1e9"}, exitBadInput, "up to 10000"},
		{[]string{hop, "--to", log}, exitBadInput, "would overwrite an input"},
		{[]string{hop, "--to", filepath.Join(hop, "all.csv")}, exitBadInput, "would be taken for a log there"},
		{[]string{hop, "--to", filepath.Join(dir, "book", "all.csv")}, exitBadInput, "would be taken for a log there"},
		{[]string{log, "--to", filepath.Join(hop, "all.csv")}, exitBadInput, "would be taken for a log there"},
		{[]string{hop, "--to", filepath.Join(dir, "nowhere", "all.csv")}, exitBadInput, "nowhere"},
		{[]string{filepath.Join(dir, "gone"), "--to", filepath.Join(dir, "all.csv")}, exitBadInput, "no such file or folder"},
	} {
		a := call(t, append([]string{"export"}, c.args...)...)
		if a.code != c.code || !strings.Contains(a.stderr, c.want) {
			t.Errorf("%v: exit %d, %q; want %d and %q", c.args, a.code, a.stderr, c.code, c.want)
		}
	}
	if contents(t, dir) != before {
		t.Error("a file has changed")
	}
}
