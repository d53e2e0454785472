package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"hopcard/analysis/identify"
	"hopcard/flight"
)

// syntheticFit has a number that agrees, one that differs, one that is not told, and a
// forecast with a row of every kind.
func syntheticFit() Identified {
	nan := math.NaN()
	fit := &identify.Result{
		Configuration: flight.Configuration{Name: "light bar"}, Hops: []identify.HopFit{{Name: "h1", ChiSquare: 0.4}, {Name: "h2", ChiSquare: nan, Problem: "no answer"}},
		Parameters: []identify.Parameter{
			{Key: "bar_following_time", Name: "following time of the bar", Unit: flight.Second, Estimate: est(0.6, 0.5, 0.7), Dimensions: 0.61,
				Agreement: identify.Agrees, Hops: []string{"h1"}, SpreadSD: nan, Positive: true},
			{Key: "bar_to_blade", Name: "bar tilt into blade pitch", Estimate: est(0.45, 0.44, 0.46), Dimensions: 0.5, Agreement: identify.Differs,
				Hops: []string{"h1"}, SpreadSD: 0.02, Positive: true},
			{Key: "flap_back", Name: "flap-back", Dimensions: nan, SpreadSD: nan, Reason: "no slow inputs", Hint: "slow inputs", Positive: true},
		},
		NotTold: []string{"flap-back: no slow inputs; slow inputs would tell it"}, Products: []string{"a and b act as one"},
		Assumptions: []string{"rigid blades"}, Notes: []string{"one hop"},
	}
	forecast := &identify.Forecast{
		From: flight.Configuration{Name: "light bar"}, To: flight.Configuration{Name: "light bar"}, RestsOn: []string{"drag"}, Notes: []string{"taken as known"},
		Rows: []identify.Row{
			{Name: "following time of the bar", Unit: flight.Second, Paper: 0.9, Flown: est(0.6, 0.5, 0.7), Changed: est(0.9, 0.8, 1), Moves: est(0.3, 0.28, 0.32)},
			{Name: "lag", Unit: flight.Deg, Paper: 90, Flown: est(90, 89, 91), Changed: est(90, 89, 91), Moves: est(0, 0, 0)},
			{Name: "gust", Unit: flight.NoUnit, Paper: 0.2, Withheld: "rests on the flap-back"},
			{Name: "swing", Unit: flight.RadPerS, Paper: nan},
			{Name: "new swing", Unit: flight.RadPerS, Paper: 2, Changed: est(2, 1.9, 2.1)},
		},
	}
	return Identified{Fit: fit, Forecast: forecast, Changes: []identify.Changed{{Key: "bar.weight_kg", From: 0.45, To: 0.7}}}
}

// What fit and forecast both beware of is said once, in full.
func TestIdentifySaysNotesOnce(t *testing.T) {
	c := syntheticFit()
	c.Fit.Notes = []string{"One hop: not in the intervals. A second hop would tell."}
	c.Forecast.Notes = []string{"taken as known", "One hop: not in the intervals."}
	var text, doc bytes.Buffer
	if err := errors.Join(Identify(&text, c), IdentifyJSON(&doc, c)); err != nil {
		t.Fatal(err)
	}
	for _, s := range []string{text.String(), doc.String()} {
		if strings.Count(s, "One hop") != 1 || !strings.Contains(s, "A second hop would tell.") || !strings.Contains(s, "taken as known") {
			t.Errorf("notes not once each:\n%s", s)
		}
	}
}

func TestIdentifyText(t *testing.T) {
	var b bytes.Buffer
	if err := Identify(&b, syntheticFit()); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	at := -1
	for _, want := range []string{
		"light bar: the rotor head as flown in h1, h2\n", "following time of the bar  ms    600 (500 to 700)", "610", "agrees", "0.450 (0.440 to 0.460)", "differs",
		"bar tilt into blade pitch is 10.0 % less than the dimensions say\n",
		"not told by these hops\n  - flap-back: no slow inputs; slow inputs would tell it\n", "told apart by no hop\n  - a and b act as one\n",
		"what the fitted head says of the change: bar.weight_kg 0.45 -> 0.7\n", "following time of the bar, ms\n      600 (500 to 700) -> 900 (800 to 1000), by 300 (280 to 320)\n",
		"gust: rests on the flap-back\n", "new swing, rad/s\n      none -> 2.00 (1.90 to 2.10)\n", "not moved: lag\n",
		"because no hop tells them: drag\n", "assumed\n  - rigid blades\n", "beware\n  - one hop\n  - taken as known\n", "for small",
	} {
		next := strings.Index(text[at+1:], want)
		if next < 0 {
			t.Fatalf("no %q after place %d in\n%s", want, at, text)
		}
		at += 1 + next
	}
	if strings.Contains(text, "\n  swing") || strings.Contains(text, "NaN") {
		t.Errorf("a number that is not there:\n%s", text)
	}
	for _, line := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(line) > pageWidth {
			t.Errorf("line of more than %d characters: %q", pageWidth, line)
		}
	}
	same := syntheticFit()
	same.Changes = nil
	b.Reset()
	if err := Identify(&b, same); err != nil {
		t.Fatal(err)
	}
	if got := b.String(); !strings.Contains(got, "of the aircraft as flown\n  following time of the bar, ms: 600 (500 to 700); on paper 900\n") {
		t.Errorf("without a change:\n%s", got)
	}
}

func TestIdentifyJSON(t *testing.T) {
	var b bytes.Buffer
	if err := IdentifyJSON(&b, syntheticFit()); err != nil {
		t.Fatal(err)
	}
	var doc map[string]any
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	walk(t, "", doc)
	for path, want := range map[string]any{
		"format": 1.0, "fitted_on": "light bar", "hops.1.problem": "no answer", "hops.0.misfit": 0.4, "parameters.0.flown.high": 0.7,
		"parameters.1.hop_spread_share": 0.02, "parameters.1.agreement": "differs", "parameters.2.reason": "no slow inputs", "parameters.2.would_tell": "slow inputs",
		"changes.0.dimension": "bar.weight_kg", "changes.0.to": 0.7, "forecast.0.moves.low": 0.28, "forecast.2.withheld": "rests on the flap-back", "rests_on.0": "drag",
	} {
		got, err := follow(doc, path)
		if err != nil || got != want {
			t.Errorf("%s = %v, want %v (%v)", path, got, want, err)
		}
	}
}
