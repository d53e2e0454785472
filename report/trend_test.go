package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"hopcard/analysis/compare/trend"
	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// syntheticTrend has a change, an open interval, an absent number and names from outside.
func syntheticTrend() *trend.Trend {
	hop := func(name, configuration string, day int) trend.Hop {
		return trend.Hop{Name: name, Configuration: configuration, StartedAt: time.Date(2031, 5, day, 6, 0, 0, 0, time.UTC),
			Air: wind.Gusty, MeanMS: est(4.2, 3.9, 4.5), Proceed: debrief.Yes, Flags: 1}
	}
	t := &trend.Trend{Hops: []trend.Hop{hop("a", "bare head", 3), hop("b", "light bar", 4), hop("=cmd()", "light bar", 5), {Name: "undated\x1b[31m"}}, Notes: []string{"a note"}}
	t.Hops[1].Change = &trend.Change{From: "bare head", To: "light bar", What: []string{"bar added", "bar.weight_kg 0.3 -> 0.45"}}
	t.Series = []trend.Series{
		{Key: "roll_lag", Name: "lag", Axis: flight.RollAxis, Unit: "ms", Warning: "a warning",
			Points: []trend.Point{{Estimate: est(100, 90, 110)}, {Estimate: est(140, 130, 150)}, {Estimate: est(145, 120, math.Inf(1))}, {Reason: "not measured"}},
			Levels: []trend.Level{{Configuration: "bare head", Hops: 1, Mean: *est(100, 90, 110), SpreadSD: math.NaN()},
				{Configuration: "light bar", Hops: 2, Mean: *est(142, 120, 160), SpreadSD: 0.1, SpreadIsShare: true}}},
		{Key: "roll_left", Name: "control left", Axis: flight.RollAxis, Unit: flight.Percent, Air: true,
			Points: []trend.Point{{Estimate: flight.Plain(40)}, {Reason: "x"}, {Reason: "x"}, {Reason: "x"}}},
		{Key: "pitch_none", Name: "nothing", Axis: flight.PitchAxis, Points: make([]trend.Point, 4)},
	}
	t.Tables = []trend.Table{{Configuration: "light bar", Hops: []string{"b", "=cmd()"}, Flags: 2, Yes: 2, Classes: []wind.ClassRow{
		{Class: wind.Gusty, TimeS: 100, MeanMS: 4, SDMS: 1, SpreadMS: 5, Motion: []wind.Motion{{Axis: flight.RollAxis, AttitudeRMS: 0.02}}}}}}
	return t
}

func TestTrendText(t *testing.T) {
	var b bytes.Buffer
	if err := Trend(&b, syntheticTrend()); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	at := -1
	for _, want := range []string{
		"the key numbers over 4 hops\n", "  2*  b  ", "no date", "  2* bare head -> light bar: bar added, bar.weight_kg 0.3 -> 0.45\n",
		"roll, lag, ms\n  1   a        100 (90 to 110)   |----o---|\n", "  4   undated  - not measured\n", "  a warning\n",
		"mean of 2 hops with light bar: 142 ms (120 to 160); differs by 10 % from hop\n  to hop",
		"roll, control left, %; compare hops in the same air only\n", "40.0, no interval",
		"not measured in any hop: pitch, nothing\n", "light bar: 2 hops, 2 flags; verdicts: 2 yes, 0 caution, 0 no\n", "gusty", "  - a note\n",
	} {
		next := strings.Index(text[at+1:], want)
		if next < 0 {
			t.Fatalf("no %q after place %d in\n%s", want, at, text)
		}
		at += 1 + next
	}
	for _, line := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(line) > pageWidth || strings.ContainsRune(line, '\x1b') {
			t.Errorf("line %q", line)
		}
	}
}

func TestIntervalBar(t *testing.T) {
	for _, c := range []struct {
		e    *flight.Estimate
		want string
	}{
		{est(5, 0, 10), "|-------------o------------|"},
		{est(0, 0, 10), "o--------------------------|"},
		{est(10, 9.9, 10), strings.Repeat(" ", barWidth-1) + "o"},
		{flight.Plain(5), strings.Repeat(" ", 14) + "o"},
		{est(5, math.Inf(-1), 10), strings.Repeat(" ", 14) + "o------------|"},
		{est(math.NaN(), 0, 1), ""},
	} {
		if got := intervalBar(c.e, 0, 10); got != c.want {
			t.Errorf("%v: %q, want %q", *c.e, got, c.want)
		}
	}
	if got := intervalBar(est(5, 5, 5), 5, 5); got != "" {
		t.Errorf("no range: %q", got)
	}
}

func TestTrendJSON(t *testing.T) {
	var b bytes.Buffer
	if err := TrendJSON(&b, syntheticTrend()); err != nil {
		t.Fatal(err)
	}
	var doc map[string]any
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	walk(t, "", doc)
	for path, want := range map[string]any{
		"format": 1.0, "hops.1.change.what.0": "bar added", "hops.0.mean_m_s.value": 4.2, "series.0.points.1.estimate.low": 130.0,
		"series.0.points.2.estimate.interval": "open", "series.0.points.3.reason": "not measured", "series.0.configurations.1.hop_spread_share": 0.1,
		"series.1.points.0.estimate.interval": "none", "configurations.0.verdicts.yes": 2.0, "configurations.0.classes.0.class": "gusty",
	} {
		got, err := follow(doc, path)
		if err != nil || got != want {
			t.Errorf("%s = %v, want %v (%v)", path, got, want, err)
		}
	}
}

func TestTrendCSV(t *testing.T) {
	var b bytes.Buffer
	if err := TrendCSV(&b, syntheticTrend()); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 1+3*4 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	at := map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	second := rows[2]
	for name, want := range map[string]string{"hop": "b", "value": "140", "low": "130", "unit": "ms", "change": "bar added; bar.weight_kg 0.3 -> 0.45", "flags": "1"} {
		if second[at[name]] != want {
			t.Errorf("%s = %q, want %q", name, second[at[name]], want)
		}
	}
	if rows[3][at["hop"]] != "'=cmd()" || rows[3][at["high"]] != "" || rows[4][at["reason"]] != "not measured" {
		t.Errorf("%q, %q", rows[3], rows[4])
	}
}
