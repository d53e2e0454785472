package report

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"hopcard/analysis/compare/trend"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

func logbookPage(t *testing.T, title string, tr *trend.Trend) string {
	t.Helper()
	return string(rendered(t, func(b *bytes.Buffer) error { return LogbookHTML(b, title, tr) }))
}

func TestLogbookHTMLGolden(t *testing.T) {
	golden(t, "logbook.html", []byte(logbookPage(t, "Whinchat at Marsh End", syntheticTrend())))
}

// The page holds the hops with their verdicts, the changes with their letters, a chart of
// each number that was measured, and the table of each configuration.
func TestLogbookHTML(t *testing.T) {
	tr := syntheticTrend()
	tr.Hops[3].Name, tr.Tables[0].Configuration = evilText, evilText
	page := logbookPage(t, evilText, tr)
	balanced(t, page)
	loadsNothing(t, page)
	text := plainText(page)
	for _, want := range []string{
		"4 hops", "2 b 2031-05-04 06:00 light bar A gusty 4.2 (3.9 to 4.5)", "A: before hop 2: bare head -> light bar: bar added, bar.weight_kg 0.3 -> 0.45",
		"roll, lag, ms", "roll, control left, %", "Not measured in any hop: pitch, nothing.", "2 flags; verdicts: 2 go on, 0 caution, 0 stop", "gusty 100 4.0 0", "a note",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("not on the page: %q", want)
		}
	}
	if n := strings.Count(page, "<svg"); n != 2 {
		t.Errorf("%d charts, want one for each of two numbers that were measured", n)
	}
}

func TestChangeLetters(t *testing.T) {
	tr := &trend.Trend{Hops: make([]trend.Hop, 60)}
	for i := 1; i < 60; i++ {
		tr.Hops[i].Change = &trend.Change{}
	}
	tr.Hops[2].Change = nil
	for hop, want := range map[int]string{0: "", 1: "A", 2: "", 3: "B", 27: "Z", 28: "AA", 53: "AZ", 54: "BA"} {
		if got := changeLetter(tr, hop); got != want {
			t.Errorf("hop %d: %q, want %q", hop, got, want)
		}
	}
}

// A chart stays inside its frame whatever the numbers, and shows what it cannot show by
// leaving it out.
func TestTrendFigure(t *testing.T) {
	tr := syntheticTrend()
	s := &tr.Series[0]
	f := trendFigure(tr, s, room{180, 1})
	finiteFigure(t, f)
	if !hasText(f, "A") || f.title != "roll, lag, ms" || f.caption != "a warning" {
		t.Errorf("letter of the change, title %q or warning %q is missing", f.title, f.caption)
	}
	s.Air = true
	for i, air := range []wind.Class{wind.Calm, wind.Steady, wind.Gusty, ""} {
		tr.Hops[i].Air = air
		s.Points[i].Estimate = est(100+float64(i), math.Inf(-1), 400)
	}
	finiteFigure(t, trendFigure(tr, s, room{180, 1}))
	for i := range s.Points {
		s.Points[i].Estimate = flight.Plain(math.NaN())
	}
	if trendFigure(tr, s, room{180, 1}) != nil {
		t.Error("drawn without a number")
	}
}
