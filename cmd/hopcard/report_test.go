package main

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// hopReport is the part of a JSON report that the tests look at.
type hopReport struct {
	Format    int
	Sources   []struct{ File string }
	Findings  []struct{ Code, Severity string }
	Responses []map[string]any
	Verdict   struct{ Proceed string }
}

func jsonReport(t *testing.T, path string) hopReport {
	t.Helper()
	a := call(t, "report", path, "--format", "json")
	if a.code != exitFine || a.stderr != "" {
		t.Fatalf("exit %d, %q", a.code, a.stderr)
	}
	var doc hopReport
	if err := json.Unmarshal([]byte(a.stdout), &doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

func (r hopReport) has(code string) bool {
	for _, f := range r.Findings {
		if f.Code == code {
			return true
		}
	}
	return false
}

func TestReport(t *testing.T) {
	log := write(t, filepath.Join(t.TempDir(), "h.csv"), smallHop(true))
	before, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	a := call(t, "report", log)
	if a.code != exitFine || a.stderr != "" || !strings.HasPrefix(a.stdout, "# Test card: hop h\n") {
		t.Errorf("exit %d, %q, %q", a.code, a.stdout, a.stderr)
	}
	if doc := jsonReport(t, log); doc.Format != 1 || len(doc.Sources) != 1 || len(doc.Responses) == 0 || doc.Verdict.Proceed == "" {
		t.Errorf("report is %+v", doc)
	}
	again := call(t, "report", log)
	if again.stdout != a.stdout {
		t.Error("two reports of the same hop differ")
	}
	if after, err := os.ReadFile(log); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the log has changed: %v", err)
	}
}

// A hop without a stick still gets everything that needs none.
func TestReportWithoutStick(t *testing.T) {
	log := write(t, filepath.Join(t.TempDir(), "h.csv"), smallHop(false))
	if doc := jsonReport(t, log); len(doc.Responses) != 0 || len(doc.Findings) == 0 {
		t.Errorf("report is %+v, want no response and a finding that says why", doc)
	}
}

func TestReportToFile(t *testing.T) {
	dir := t.TempDir()
	log := write(t, filepath.Join(dir, "h.csv"), smallHop(true))
	to := filepath.Join(dir, "card.md")
	for range 2 { // an earlier card may be replaced
		if a := call(t, "report", log, "--to", to); a.code != exitFine || a.stdout != "" {
			t.Fatalf("exit %d, %q, %q", a.code, a.stdout, a.stderr)
		}
	}
	card, err := os.ReadFile(to)
	if err != nil || string(card) != call(t, "report", log).stdout {
		t.Errorf("the file differs from what is printed: %v", err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 2 {
		t.Errorf("left behind: %v, %v", entries, err)
	}
}

func TestNeverWritesOverALog(t *testing.T) {
	dir := t.TempDir()
	log := write(t, filepath.Join(dir, "h1", "log.csv"), smallHop(true))
	other := write(t, filepath.Join(dir, "h2", "log.csv"), smallHop(true))
	settings := write(t, filepath.Join(dir, "h1", "hop.toml"), "format = 1\n")
	aircraft := write(t, filepath.Join(dir, "aircraft.toml"), "format = 1\nname = \"Whinchat\"\n")
	link := filepath.Join(dir, "card.md")
	if err := os.Symlink(log, link); err != nil {
		t.Fatal(err)
	}
	hard := filepath.Join(dir, "hard.md")
	if err := os.Link(log, hard); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct{ to, want string }{
		"the log":           {log, "would overwrite an input"},
		"a link to it":      {link, "would overwrite an input"},
		"its other name":    {hard, "would overwrite an input"},
		"its settings":      {settings, "would overwrite an input"},
		"the aircraft":      {aircraft, "would overwrite an input"},
		"another hop's log": {other, "may be a log"},
		"a folder":          {dir, "is a folder"},
		"no folder":         {filepath.Join(dir, "nowhere", "card.md"), "nowhere"},
	} {
		t.Run(name, func(t *testing.T) {
			before := contents(t, dir)
			a := call(t, "report", filepath.Dir(log), "--to", c.to)
			if a.code != exitBadInput {
				t.Errorf("exit %d, want 1", a.code)
			}
			a.oneLine(t, c.want)
			if after := contents(t, dir); after != before {
				t.Error("a file has changed")
			}
		})
	}
}

// contents is everything under dir, names and bytes.
func contents(t *testing.T, dir string) string {
	t.Helper()
	var b strings.Builder
	err := filepath.WalkDir(dir, func(path string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		b.WriteString(path + "\n" + string(data) + "\n")
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// A write that fails leaves the earlier file and nothing else.
func TestWriteFileFails(t *testing.T) {
	dir := t.TempDir()
	path := write(t, filepath.Join(dir, "card.md"), "earlier")
	err := writeFile(path, dir, func(w io.Writer) error {
		if _, err := w.Write([]byte("half")); err != nil {
			return err
		}
		return os.ErrClosed
	})
	if err == nil || contents(t, dir) != path+"\nearlier\n" {
		t.Errorf("error %v; folder holds %q", err, contents(t, dir))
	}
}

func TestCardFile(t *testing.T) {
	for in, want := range map[string]string{
		"h01": "h01-card.md", "../../etc/x": "etc-x-card.md", `a\b:c*?"<>|`: "a-b-c-------card.md", "\x1b[2Jx": "x-card.md",
	} {
		if got := cardFile(in); got != want {
			t.Errorf("cardFile(%q) = %q, want %q", in, got, want)
		}
	}
}

const sharedHops = "../../../shared/hops"

// The hops of the trade exercise load without help and give a whole report.
func TestSharedHops(t *testing.T) {
	if _, err := os.Stat(sharedHops); err != nil {
		t.Skip("no shared hops beside the project")
	}
	for _, hop := range []string{"h01", "h06", "h08"} {
		t.Run(hop, func(t *testing.T) {
			path := filepath.Join(sharedHops, hop)
			doc := jsonReport(t, path)
			if doc.Format != 1 || len(doc.Sources) == 0 || doc.Verdict.Proceed == "" {
				t.Errorf("report is %+v", doc)
			}
			if a := call(t, "report", path); a.code != exitFine || !strings.Contains(a.stdout, "## Verdict") {
				t.Errorf("card: exit %d, %q", a.code, a.stderr)
			}
			if a := call(t, "check", path); a.code != exitFine || a.stderr != "" {
				t.Errorf("check: exit %d, %q", a.code, a.stderr)
			}
		})
	}
}

// The real log: its rates are out of scale with its attitude and lead the stick. No delay
// may be printed as if it were good.
func TestSharedDoublets(t *testing.T) {
	path := "../../../shared/data/real-helicopter/doublets.csv"
	if _, err := os.Stat(path); err != nil {
		t.Skip("no real log beside the project")
	}
	doc := jsonReport(t, path)
	for _, code := range []string{"rate-factor", "leads-stick"} {
		if !doc.has(code) {
			t.Errorf("no finding %q in %+v", code, doc.Findings)
		}
	}
	for _, r := range doc.Responses {
		for _, name := range []string{"correlation_lag_s", "transport_delay_s", "effective_delay_s", "phase_delay_s"} {
			if v, ok := r[name]; ok {
				t.Errorf("%v %v: %s = %v, want it withheld", r["axis"], r["output"], name, v)
			}
		}
	}
}
