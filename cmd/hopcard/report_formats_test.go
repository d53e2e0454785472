package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"
)

// Every format gives the same bytes on standard output and in a file, and twice the same.
func TestReportFormats(t *testing.T) {
	dir := t.TempDir()
	log := write(t, filepath.Join(dir, "h.csv"), smallHop(true))
	for name, c := range map[string]struct {
		args  []string
		start string
	}{
		"html":   {[]string{"--format", "html"}, "<!DOCTYPE html>\n"},
		"pdf":    {[]string{"--format", "pdf"}, "%PDF-1."},
		"letter": {[]string{"--format", "pdf", "--paper", "letter"}, "%PDF-1."},
		"csv":    {[]string{"--format", "csv"}, "item,axis,value,low,high,unit,text"},
	} {
		t.Run(name, func(t *testing.T) {
			args := append([]string{"report", log}, c.args...)
			a := call(t, args...)
			if a.code != exitFine || a.stderr != "" || !strings.HasPrefix(a.stdout, c.start) {
				t.Fatalf("exit %d, %.40q, %q", a.code, a.stdout, a.stderr)
			}
			to := filepath.Join(dir, "card."+name)
			if b := call(t, append(args, "--to", to)...); b.code != exitFine || b.stdout != "" {
				t.Fatalf("exit %d, %q", b.code, b.stderr)
			}
			if file, err := os.ReadFile(to); err != nil || string(file) != a.stdout {
				t.Errorf("the file differs from what is printed: %v", err)
			}
		})
	}
	a4, letter := call(t, "report", log, "--format", "pdf"), call(t, "report", log, "--format", "pdf", "--paper", "letter")
	if a4.stdout == letter.stdout {
		t.Error("the paper makes no difference")
	}
}

func TestReportRefusesUnknownPaper(t *testing.T) {
	log := write(t, filepath.Join(t.TempDir(), "h.csv"), smallHop(false))
	if a := call(t, "report", log, "--format", "pdf", "--paper", "a3"); a.code != exitWrongUsage || !strings.Contains(a.stderr, "a4 or letter") {
		t.Errorf("exit %d, %q", a.code, a.stderr)
	}
}

// A table among the logs of a hop would be taken for one of them.
func TestCSVIsNotWrittenAmongLogs(t *testing.T) {
	dir := t.TempDir()
	log := write(t, filepath.Join(dir, "h1", "log.csv"), smallHop(false))
	a := call(t, "report", filepath.Dir(log), "--format", "csv", "--to", filepath.Join(dir, "h1", "card.csv"))
	if a.code != exitBadInput {
		t.Errorf("exit %d, want 1", a.code)
	}
	a.oneLine(t, "would be read as a log")
	if a := call(t, "report", filepath.Dir(log), "--format", "csv", "--to", filepath.Join(dir, "card.csv")); a.code != exitFine {
		t.Errorf("outside the folder: exit %d, %q", a.code, a.stderr)
	}
}

// A PDF on a terminal would only be noise: it is refused before the work is done.
func TestPDFIsNotWrittenToATerminal(t *testing.T) {
	screen, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer screen.Close()
	defer tty.Close()
	log := write(t, filepath.Join(t.TempDir(), "h.csv"), smallHop(false))
	var errs bytes.Buffer
	code := run(t.Context(), strings.NewReader(""), tty, &errs, []string{"report", log, "--format", "pdf"})
	if code != exitWrongUsage || !strings.Contains(errs.String(), "--to") {
		t.Errorf("exit %d, %q", code, errs.String())
	}
}
