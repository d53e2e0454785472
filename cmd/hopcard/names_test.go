package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/sourcegraph/conc"
)

// A name that no hop has is answered with the one that may have been meant, whichever way
// hops are named to a command.
func TestHopNamesThatAreNotThere(t *testing.T) {
	book := demoBook(t)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"report", filepath.Join(book, "10-a")}, `there is no such file or folder; did you mean "2031-05-10-a"?`},
		{[]string{"check", filepath.Join(book, "2031-5-10-b")}, `there is no such file or folder; did you mean "2031-05-10-b"?`},
		{[]string{"export", filepath.Join(book, "11-"), "--to", "x.parquet"}, "it is a part of 2031-05-11-a, 2031-05-11-b"},
		{[]string{filepath.Join(book, "nonsense")}, "hops there: 2031-05-03-a, 2031-05-03-b, "},
		{[]string{"compare", ":10-a", "2031-05-10-b", "--logbook", book}, `flown there: "bare head", "light bar", "heavy bar"; did you mean "2031-05-10-a"?`},
		{[]string{"compare", "bare head", "2031-05-03-b,10-b", "--logbook", book}, `did you mean "2031-05-10-b"?`},
		{[]string{"predict", "heavy bar", "--from", "03-b", "--logbook", book}, `did you mean "2031-05-03-b"?`},
		{[]string{"plan", book, "--configuration", "light bar", "--last", "10-b"}, `has that name; did you mean "2031-05-10-b"?`},
	} {
		a := call(t, c.args...)
		if a.code != exitBadInput || a.stdout != "" {
			t.Errorf("%v: exit %d, %q", c.args, a.code, a.stdout)
		}
		a.oneLine(t, c.want)
	}
	if got, want := listed([]string{"1", "2", "3", "4", "5", "6", "7", "8", "9", "10"}), "2 earlier ones, 3, 4, 5, 6, 7, 8, 9, 10"; got != want {
		t.Errorf("listed: %q, want %q", got, want)
	}
}

// A command that is misspelt is not taken for a folder without a word.
func TestMisspeltCommand(t *testing.T) {
	for _, args := range [][]string{{"reprot"}, {"reprot", demoBook(t)}, {"raport", "a", "b"}} {
		a := call(t, args...)
		if a.code != exitWrongUsage || !strings.Contains(a.stderr, `is neither a command nor a folder or log that is there; did you mean "report"?`) {
			t.Errorf("%v: exit %d, %q", args, a.code, a.stderr)
		}
	}
	if a := call(t, "summer-of-flights"); a.code != exitBadInput || strings.Contains(a.stderr, "did you mean") {
		t.Errorf("a folder that is not there: exit %d, %q", a.code, a.stderr)
	}
	t.Chdir(t.TempDir())
	write(t, filepath.Join("reports", "log.csv"), smallHop(true))
	if a := call(t, "reports"); a.code != exitFine {
		t.Errorf("a folder named much like a command: exit %d, %q", a.code, a.stderr)
	}
}

// A mistake of the program while one hop is read is that hop's error, also where the mistake
// was in a goroutine.
func TestMistakeIsTheHopsError(t *testing.T) {
	for name, mistake := range map[string]func(){
		"plain":       func() { panic("out of range") },
		"a goroutine": func() { var w conc.WaitGroup; w.Go(func() { panic("out of range") }); w.Wait() },
	} {
		err := func() (err error) {
			defer caught("h1", &err)
			mistake()
			return nil
		}()
		if err == nil || err.Error() != "h1: hopcard itself failed on this hop (please report it): out of range" {
			t.Errorf("%s: %v", name, err)
		}
	}
}
