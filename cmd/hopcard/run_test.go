package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestWrongUsage(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"two logbooks", []string{"one", "two"}, `"two" is one argument too many`},
		{"two backgrounds", []string{"--light", "--dark"}, "exclude each other"},
		{"two backgrounds of the demo", []string{"demo", "--light", "--dark"}, "exclude each other"},
		{"unknown flag", []string{"--fast"}, "--fast"},
		{"check without a log", []string{"check"}, "LOG is missing"},
		{"check in an unknown format", []string{"check", "--format", "xml", "."}, `--format "xml" is not known`},
		{"report without a hop", []string{"report"}, "HOP is missing"},
		{"report of two hops", []string{"report", "a", "b"}, `"b" is one argument too many`},
		{"report in an unknown format", []string{"report", ".", "--format", "docx"}, `it may be md or `},
		{"flag without its value", []string{"report", ".", "--to"}, "--to"},
		{"two demo folders", []string{"demo", "a", "b"}, `"b" is one argument too many`},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := call(t, c.args...)
			if a.code != exitWrongUsage || a.stdout != "" {
				t.Errorf("exit %d, standard output %q; want %d and nothing", a.code, a.stdout, exitWrongUsage)
			}
			if !strings.HasPrefix(a.stderr, "hopcard: ") || !strings.Contains(a.stderr, c.want) || !strings.Contains(a.stderr, "--help") {
				t.Errorf("standard error %q, want %q and a pointer to the help", a.stderr, c.want)
			}
		})
	}
}

func TestHelp(t *testing.T) {
	for _, args := range [][]string{{"--help"}, {"demo", "--help"}, {"check", "--help"}, {"report", "--help"}, {"export", "--help"}, {"watch", "--help"}, {"help", "report"}} {
		a := call(t, args...)
		if a.code != exitFine || a.stderr != "" || !strings.Contains(a.stdout, "Usage:") || !strings.Contains(a.stdout, "Examples:") {
			t.Errorf("%v: exit %d, %q, %q", args, a.code, a.stdout, a.stderr)
		}
	}
	if a := call(t, "--version"); a.code != exitFine || !strings.HasPrefix(a.stdout, "hopcard ") {
		t.Errorf("--version: exit %d, %q", a.code, a.stdout)
	}
}

// Every command names what is wrong with its input in one line and exits with 1.
func TestBadInput(t *testing.T) {
	dir := t.TempDir()
	loop := filepath.Join(dir, "loop.csv")
	if err := os.Symlink(loop, loop); err != nil {
		t.Fatal(err)
	}
	cases := []struct{ name, path, want string }{
		{"missing", filepath.Join(dir, "missing.csv"), "no such file or folder"},
		{"empty file", write(t, filepath.Join(dir, "empty.csv"), ""), "empty.csv"},
		{"header only", write(t, filepath.Join(dir, "header.csv"), "time_s,roll_deg,pitch_deg\n"), "header.csv"},
		{"prose", write(t, filepath.Join(dir, "prose.txt"), strings.Repeat("The wind was kind to us today.\n", 40)), "prose.txt"},
		{"binary", write(t, filepath.Join(dir, "binary.dat"), strings.Repeat("\x00\x01\xfe\xff\x80PK\x03", 500)), "binary.dat"},
		{"folder without logs", filepath.Dir(write(t, filepath.Join(dir, "photos", "a.jpg"), "x")), "no log files"},
		{"a link to itself", loop, "loop.csv"},
		{"escapes in the name", filepath.Join(dir, "\x1b]0;x\a\x1b[2Jodd.csv"), "no such file or folder"},
	}
	if locked := write(t, filepath.Join(dir, "locked.csv"), smallHop(true)); os.Chmod(locked, 0) == nil {
		if _, err := os.ReadFile(locked); err != nil { // an administrator may read it all the same
			cases = append(cases, struct{ name, path, want string }{"locked", locked, "may not be read"})
		}
	}
	for _, c := range cases {
		for _, command := range [][]string{{"check"}, {"report"}, {"report", "--format", "json"}} {
			t.Run(c.name+"/"+strings.Join(command, " "), func(t *testing.T) {
				a := call(t, append(command, c.path)...)
				if a.code != exitBadInput || a.stdout != "" {
					t.Errorf("exit %d, standard output %q; want %d and nothing", a.code, a.stdout, exitBadInput)
				}
				a.oneLine(t, c.want)
				if strings.ContainsAny(a.stderr, "\x1b\a") {
					t.Errorf("control characters reach the terminal: %q", a.stderr)
				}
			})
		}
	}
}

func TestLogbookOfBadInput(t *testing.T) {
	dir := t.TempDir()
	if a := call(t, dir); a.code != exitBadInput || !strings.Contains(a.stderr, "hopcard demo") {
		t.Errorf("empty folder: exit %d, %q; want 1 and a way on", a.code, a.stderr)
	}
	write(t, filepath.Join(dir, "aircraft.toml"), "format = 1\nnaem = \"Whinchat\"\n")
	write(t, filepath.Join(dir, "h1", "log.csv"), smallHop(true))
	a := call(t, dir)
	if a.code != exitBadInput {
		t.Errorf("bad settings: exit %d, want 1", a.code)
	}
	a.oneLine(t, `aircraft.toml:2: key "naem" is not known; did you mean "name"?`)
}

// A bad hop does not keep the others from being listed.
func TestListsHops(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "h1", "log.csv"), smallHop(true))
	write(t, filepath.Join(dir, "h2", "log.csv"), "")
	write(t, filepath.Join(dir, "h3", "log.csv"), smallHop(true))
	a := call(t, dir)
	lines := strings.Split(strings.TrimRight(a.stdout, "\n"), "\n")
	if a.code != exitBadInput || len(lines) != 3 {
		t.Fatalf("exit %d, %q; want 1 and three lines", a.code, a.stdout)
	}
	if !strings.HasPrefix(lines[0], "h1 ") || !strings.Contains(lines[1], "h2  cannot be debriefed") || !strings.HasPrefix(lines[2], "h3 ") {
		t.Errorf("lines are %q", lines)
	}
	a.oneLine(t, "log.csv")
}

func TestListsOneLog(t *testing.T) {
	log := write(t, filepath.Join(t.TempDir(), "morning.csv"), smallHop(true))
	if a := call(t, log); a.code != exitFine || !strings.HasPrefix(a.stdout, "morning ") || a.stderr != "" {
		t.Errorf("exit %d, %q, %q", a.code, a.stdout, a.stderr)
	}
}

func TestCheck(t *testing.T) {
	dir := t.TempDir()
	whole := write(t, filepath.Join(dir, "whole.csv"), smallHop(true))
	stick := write(t, filepath.Join(dir, "stick.csv"), "time_s,lat_stick_pct\n"+stickRows(500))
	a := call(t, "check", whole, stick)
	if a.code != exitFine || a.stderr != "" {
		t.Fatalf("exit %d, %q", a.code, a.stderr)
	}
	for _, want := range []string{"roll_deg", "roll attitude", "lateral stick", "percent", "single file", "stick.csv"} {
		if !strings.Contains(a.stdout, want) {
			t.Errorf("no %q in\n%s", want, a.stdout)
		}
	}
	a = call(t, "check", "--format", "json", whole, stick)
	var doc struct {
		Format int
		Hops   []struct{ Sources, Findings []map[string]any }
	}
	if err := json.Unmarshal([]byte(a.stdout), &doc); err != nil || a.code != exitFine {
		t.Fatalf("exit %d, %v", a.code, err)
	}
	if doc.Format != 1 || len(doc.Hops) != 2 || len(doc.Hops[0].Sources) != 1 || doc.Hops[1].Findings == nil {
		t.Errorf("document is %+v", doc)
	}
}

// One bad log among good ones is named, and the others are checked.
func TestCheckGoesOn(t *testing.T) {
	dir := t.TempDir()
	a := call(t, "check", filepath.Join(dir, "missing.csv"), write(t, filepath.Join(dir, "whole.csv"), smallHop(true)))
	if a.code != exitBadInput || !strings.Contains(a.stdout, "roll attitude") {
		t.Errorf("exit %d, %q", a.code, a.stdout)
	}
	a.oneLine(t, "missing.csv")
}

func stickRows(n int) string {
	var b strings.Builder
	for i := range n {
		t := float64(i) / 50
		fmt.Fprintf(&b, "%.2f,%.2f\n", t, 100*doublets(10+t))
	}
	return b.String()
}

func TestInterrupted(t *testing.T) {
	log := write(t, filepath.Join(t.TempDir(), "h.csv"), smallHop(true))
	for _, args := range [][]string{{"report", log}, {"check", log}, {log}, {"demo", filepath.Join(t.TempDir(), "d")}} {
		var out, errs bytes.Buffer
		if code := run(cancelled(), strings.NewReader(""), &out, &errs, args); code != exitInterrupted {
			t.Errorf("%v: exit %d, want %d; %q", args, code, exitInterrupted, errs.String())
		}
		if out.Len() > 0 || errs.String() != "hopcard: stopped\n" {
			t.Errorf("%v: %q, %q", args, out.String(), errs.String())
		}
	}
}

// What --write writes reads the hop as it was read without, and is never written over.
func TestCheckWrite(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "h1")
	log := write(t, filepath.Join(dir, "log.csv"), smallHop(true))
	before := contents(t, dir)
	first := call(t, "check", "--write", dir)
	settings := filepath.Join(dir, "hop.toml")
	if first.code != exitFine || first.stderr != "wrote "+settings+"\n" {
		t.Fatalf("exit %d, %q", first.code, first.stderr)
	}
	text, err := os.ReadFile(settings)
	if err != nil || !strings.Contains(string(text), "lat_stick_pct") {
		t.Errorf("decisions are %q, %v", text, err)
	}
	if again := call(t, "check", dir); again.code != exitFine || again.stdout != first.stdout {
		t.Errorf("with the file the hop reads differently:\n%s\nwithout\n%s", again.stdout, first.stdout)
	}
	write(t, settings, "format = 1\nnotes = \"mine\"\n")
	a := call(t, "check", "--write", dir)
	if a.code != exitBadInput || !strings.Contains(a.stdout, "lateral stick") {
		t.Errorf("exit %d, %q", a.code, a.stdout)
	}
	a.oneLine(t, "is there already and is kept")
	if text, err := os.ReadFile(settings); err != nil || string(text) != "format = 1\nnotes = \"mine\"\n" {
		t.Errorf("somebody's settings are now %q, %v", text, err)
	}
	if err := os.Remove(settings); err != nil {
		t.Fatal(err)
	}
	a = call(t, "check", "--write", log)
	if a.code != exitBadInput {
		t.Errorf("exit %d", a.code)
	}
	a.oneLine(t, "put the log into a folder of its own")
	if contents(t, dir) != before {
		t.Error("something else was written")
	}
}
