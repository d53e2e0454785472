package main

import (
	"path/filepath"
	"testing"
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
