package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
)

// comparison is the part of a JSON comparison that the tests look at.
type comparison struct {
	A, B struct {
		Name string
		Hops []string
	}
	Rows []struct {
		Key, Air, Verdict, Reason string
		Difference                *struct{ Value, Low, High float64 }
	}
}

func jsonComparison(t *testing.T, args ...string) comparison {
	t.Helper()
	a := call(t, append([]string{"compare", "--format", "json"}, args...)...)
	var doc comparison
	if err := json.Unmarshal([]byte(a.stdout), &doc); err != nil || a.code != exitFine || a.stderr != "" {
		t.Fatalf("%v: exit %d, %v, %q", args, a.code, err, a.stderr)
	}
	return doc
}

// The demo's light bar takes gusts of 1.2 to 2.4 rad/s off the aircraft in roll, stick
// held, and lowers the bandwidth in roll: the rotor model says the same.
func TestCompareConfigurations(t *testing.T) {
	doc := jsonComparison(t, "bare head", "light bar", "--logbook", demoBook(t))
	if doc.A.Name != "bare head" || doc.B.Name != "light bar" || len(doc.A.Hops) != 3 || len(doc.B.Hops) != 2 {
		t.Fatalf("sides %+v and %+v", doc.A, doc.B)
	}
	for key, verdict := range map[string]string{
		"roll_bandwidth": "real", "roll_gust_stick_held_1.2_2.4": "between two hops",
	} {
		found := false
		for _, r := range doc.Rows {
			if r.Key != key {
				continue
			}
			found = true
			if r.Verdict != verdict || r.Difference == nil || !(r.Difference.High < 0) {
				t.Errorf("%s: %s, %+v", key, r.Verdict, r.Difference)
			}
		}
		if !found {
			t.Errorf("no row %s", key)
		}
	}
}

// Sides may be hops by path, by name, or several; names of configurations label them.
func TestCompareNamesSides(t *testing.T) {
	book := demoBook(t)
	first, second := filepath.Join(book, "2031-05-03-a"), filepath.Join(book, "2031-05-03-b")
	doc := jsonComparison(t, first, second)
	if doc.A.Name != "bare head" || doc.B.Name != "light bar" {
		t.Errorf("two hops of different configurations are named %q and %q", doc.A.Name, doc.B.Name)
	}
	for _, r := range doc.Rows {
		if r.Verdict == "real" {
			t.Errorf("one hop a side, and %s is called real", r.Key)
		}
		if r.Air != "" && r.Verdict != "withheld" {
			t.Errorf("no wind was logged with %s, and %s is compared", second, r.Key)
		}
	}
	doc = jsonComparison(t, first, "2031-05-04-a,2031-05-10-a")
	if doc.A.Name != "2031-05-03-a" || doc.B.Name != "2031-05-04-a and 1 more" || len(doc.B.Hops) != 2 {
		t.Errorf("hops of one configuration are named %q and %q", doc.A.Name, doc.B.Name)
	}
}

func TestCompareRefuses(t *testing.T) {
	book := demoBook(t)
	hop := filepath.Join(book, demoHop)
	empty := t.TempDir()
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{hop, "lead bar"}, exitBadInput, `"lead bar" is neither a hop nor a configuration flown in the logbook`},
		{[]string{hop, "lead bar"}, exitBadInput, `flown there: "bare head", "light bar", "heavy bar"`},
		{[]string{"a", "b", "--logbook", empty}, exitBadInput, "name its folder with --logbook"},
		{[]string{hop, ""}, exitBadInput, "is neither a hop nor a configuration"},
	} {
		a := call(t, append([]string{"compare"}, c.args...)...)
		if a.code != c.code || a.stdout != "" {
			t.Errorf("%v: exit %d, %q", c.args, a.code, a.stdout)
		}
		a.oneLine(t, c.want)
	}
	for _, args := range [][]string{
		{"compare"}, {"compare", hop}, {"compare", hop, hop}, {"compare", hop, "bare head"}, {"compare", hop + "," + hop, "light bar"},
		{"compare", hop, "light bar", "--format", "pdf"}, {"compare", hop, "light bar", "third"},
	} {
		if a := call(t, args...); a.code != exitWrongUsage || a.stdout != "" || !strings.HasPrefix(a.stderr, "hopcard: ") {
			t.Errorf("%v: exit %d, %q, %q", args, a.code, a.stdout, a.stderr)
		}
	}
}

// A log that cannot be read is named, and nothing is compared without it.
func TestCompareBadHop(t *testing.T) {
	dir := t.TempDir()
	good := write(t, filepath.Join(dir, "h1", "log.csv"), smallHop(true))
	bad := write(t, filepath.Join(dir, "h2", "log.csv"), "")
	a := call(t, "compare", filepath.Dir(good), filepath.Dir(bad))
	if a.code != exitBadInput || a.stdout != "" {
		t.Errorf("exit %d, %q", a.code, a.stdout)
	}
	a.oneLine(t, "log.csv")
}

func TestCompareInterrupted(t *testing.T) {
	dir := t.TempDir()
	first := write(t, filepath.Join(dir, "h1", "log.csv"), smallHop(true))
	second := write(t, filepath.Join(dir, "h2", "log.csv"), smallHop(true))
	var out, errs bytes.Buffer
	code := run(cancelled(), strings.NewReader(""), &out, &errs, []string{"compare", first, second})
	if code != exitInterrupted || out.Len() > 0 || errs.String() != "hopcard: stopped\n" {
		t.Errorf("exit %d, %q, %q", code, out.String(), errs.String())
	}
}
