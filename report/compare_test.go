package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"hopcard/analysis/compare"
	"hopcard/flight"
)

// syntheticComparison has a row of every verdict.
func syntheticComparison() *compare.Result {
	nan := math.NaN()
	row := func(key, name string, v compare.Verdict) compare.Row {
		return compare.Row{Key: key, Name: name, Axis: flight.RollAxis, Unit: "ms", DifferenceUnit: "ms", Verdict: v,
			A: est(100, 98, 102), B: est(142, 139, 145), Difference: est(42, 36, 49), HopsA: []string{"h1", "h2"}, HopsB: []string{"h3"},
			Sentence: name + " sentence", HopSpread: 1.5, Chance: 1e-5, Corrected: 0.0002, OddsAtMost: 216}
	}
	r := &compare.Result{A: "light bar", B: "heavy bar", HopsA: []string{"h1", "h2"}, HopsB: []string{"h3"}, Compared: 4, Notes: []string{"four rows"}}
	open := row("roll_open", "open row", compare.Open)
	open.Corrected, open.OddsAtMost, open.Settle = 0.4, 1, "2 more gusty hops with light bar"
	two := row("roll_two", "two-hop row", compare.TwoHops)
	two.BetweenHops, two.HopSpread = true, nan
	withheld := compare.Row{Key: "roll_none", Name: "row withheld", Axis: flight.RollAxis, Verdict: compare.Withheld, Reason: "no wind logged", Settle: "1 gusty hop with light bar",
		Sentence: "roll, row withheld: not compared: no wind logged", HopSpread: nan, Chance: nan, Corrected: nan, OddsAtMost: nan}
	r.Rows = []compare.Row{row("roll_real", "real row", compare.Real), two, row("roll_alike", "alike row", compare.Alike), open, withheld}
	return r
}

func TestCompareText(t *testing.T) {
	var b bytes.Buffer
	if err := Compare(&b, syntheticComparison()); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	at := -1
	for _, want := range []string{
		"heavy bar against light bar\n", "  A  light bar: h1, h2\n", "four rows",
		"real differences between the configurations\n  - real row sentence\n      A 100.0 ms (98.0 to 102.0), B 142.0 ms (139.0 to 145.0); odds at most 220",
		"another hop of each must confirm\n  - two-hop row", "alike: ", "  - alike row",
		"open: ", "rows in mind 0.40", "to settle it: 2 more gusty hops with light bar",
		"not compared\n  - no wind logged: roll row withheld\n      to settle it: 1 gusty hop with light bar\n", "how to read it",
	} {
		next := strings.Index(text[at+1:], want)
		if next < 0 {
			t.Fatalf("no %q after place %d in\n%s", want, at, text)
		}
		at += 1 + next
	}
	for _, line := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(line) > pageWidth {
			t.Errorf("line of more than %d characters: %q", pageWidth, line)
		}
	}
}

// Where nothing is real, the text says so.
func TestCompareTextOfNothing(t *testing.T) {
	r := syntheticComparison()
	r.Rows = r.Rows[4:]
	r.Rows[0].Reason = "\x1b[2Jodd\nname"
	var b bytes.Buffer
	if err := Compare(&b, r); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "real differences between the configurations\n  none\n") || strings.Contains(b.String(), "open:") ||
		strings.Contains(b.String(), "\x1b") {
		t.Errorf("%q", b.String())
	}
}

func TestCompareJSON(t *testing.T) {
	var b bytes.Buffer
	if err := CompareJSON(&b, syntheticComparison()); err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Format, Compared int
		A, B             struct {
			Name string
			Hops []string
		}
		Rows []map[string]any
	}
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Format != 1 || doc.Compared != 4 || doc.B.Name != "heavy bar" || len(doc.A.Hops) != 2 || len(doc.Rows) != 5 {
		t.Fatalf("document is %+v", doc)
	}
	first := doc.Rows[0]["difference"].(map[string]any)
	if first["value"] != 42.0 || first["low"] != 36.0 || doc.Rows[0]["odds_at_most"] != 216.0 {
		t.Errorf("row is %v", doc.Rows[0])
	}
	if _, ok := doc.Rows[1]["hop_spread"]; ok || doc.Rows[1]["between_two_hops"] != true {
		t.Errorf("row is %v", doc.Rows[1])
	}
	for _, name := range []string{"difference", "chance", "a", "b"} {
		if _, ok := doc.Rows[4][name]; ok {
			t.Errorf("a withheld row has %s: %v", name, doc.Rows[4])
		}
	}
	if doc.Rows[4]["reason"] != "no wind logged" || doc.Rows[3]["to_settle"] == nil {
		t.Errorf("rows are %v", doc.Rows[3:])
	}
}
