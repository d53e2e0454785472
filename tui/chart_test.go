package tui

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/muesli/termenv"

	"hopcard/analysis/wind"
	"hopcard/flight"
)

// A chart as rows of text.
func chartRows(p *paper) []string {
	var t theme
	return strings.Split(p.render(&t), "\n")
}

func TestChartPlacesPoints(t *testing.T) {
	c := newChart(80, 13, "title", axis{name: "Hz", b: bounds{0.01, 1}, log: true}, axis{b: bounds{0, 10}})
	c.points([]float64{0.1}, []float64{5}, 'o', strong) // half way on both axes
	rows := chartRows(c.p)
	for y, row := range rows {
		if x := strings.IndexRune(row, 'o'); x >= 0 {
			col := len([]rune(row[:x])) - chartGutter
			if want := (80 - chartGutter - 1) / 2; y < 5 || y > 6 || col < want-1 || col > want+1 {
				t.Errorf("the middle is at row %d, column %d, want row 5 or 6, column %d", y, col, want)
			}
			return
		}
	}
	t.Errorf("no point drawn:\n%s", strings.Join(rows, "\n"))
}

// What has no place on an axis is left out, and nothing is drawn outside the plot.
func TestChartLeavesOut(t *testing.T) {
	bad := []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 0, 1e300}
	for _, log := range []bool{false, true} {
		y := axis{b: bounds{1, 10}, log: log}
		c := newChart(40, 10, "", axis{b: bounds{1, 10}, log: log}, y)
		empty := chartRows(newChart(40, 10, "", axis{b: bounds{1, 10}, log: log}, y).p)
		c.points(bad, bad, 'o', ink)
		var es []flight.Estimate
		for _, v := range bad {
			es = append(es, flight.Estimate{Value: v, Low: math.NaN(), High: v})
		}
		c.bars(bad, es, ink)
		c.band(bad, bad, bad, ink)
		if got := chartRows(c.p); strings.Join(got, "\n") != strings.Join(empty, "\n") {
			t.Errorf("log %v: something was drawn:\n%s", log, strings.Join(got, "\n"))
		}
	}
	if a := (axis{b: none(), log: true}).round(0); !(a.b.hi > a.b.lo) || !(a.b.lo > 0) {
		t.Errorf("an axis without values runs over %v", a.b)
	}
}

func TestTableKeepsEveryCell(t *testing.T) {
	head := []string{"axis", "first long head", "second long head", "third"}
	rows := [][]string{{"roll", "1.00 (0.50 to 1.50)", "2.00 (1.50 to 2.50)", "3"}, {"pitch", "4", "5", "6"}}
	for _, w := range []int{10, 30, 52, 100} {
		var all []string
		for _, l := range tableLines(head, rows, w) {
			all = append(all, l.lead+l.text)
		}
		text := strings.Join(all, "\n")
		for _, row := range append(rows, head) {
			contains(t, text, row...)
		}
		if most := map[int]int{10: 9, 30: 9, 52: 6, 100: 3}[w]; len(all) != most {
			t.Errorf("width %d: %d lines, want %d:\n%s", w, len(all), most, text)
		}
	}
}

func TestDampingMark(t *testing.T) {
	for _, c := range []struct {
		e    flight.Estimate
		want rune
	}{
		{*around(0.3, 0.1), '+'}, {*around(-0.3, 0.1), '-'}, {*around(0.05, 0.1), '~'}, {*flight.Plain(-0.3), '~'},
	} {
		if got, _ := dampingMark(c.e); got != c.want {
			t.Errorf("%v is marked %c, want %c", c.e, got, c.want)
		}
	}
}

// Charts and tables of the air are in knots after the key, everywhere, and back again.
func TestWindInKnots(t *testing.T) {
	m := started(t, fakeOptions(2), 120, 90, termenv.Ascii)
	press(m, "enter", "4")
	contains(t, m.View(), "Wind, m/s, and its class", "3.50 m/s", "├", "gusty", "Dryden", "deg per m/s")
	press(m, "K")
	contains(t, m.View(), "Wind, kt, and its class", "6.80 kt") // 3.5 m/s * 3600/1852
	lacks(t, m.View(), " m/s")
	press(m, "2", "end")
	contains(t, m.View(), " kt")
	press(m, "4", "K")
	contains(t, m.View(), "3.50 m/s")
}

// Activity stands where its numbers say, with the letter of its class; an axis that was
// not logged has no chart.
func TestActivityChart(t *testing.T) {
	ms := fakeDebrief("hop", 120, 10).Wind.Minutes
	p := activityChart(ms, flight.RollAxis, 60, metresPerSecond())
	text := strings.Join(chartRows(p)[1:airChartHeight-2], "\n")
	if s, g := strings.Count(text, "s"), strings.Count(text, "g"); s != 2 || g != 2 {
		t.Errorf("%d steady and %d gusty blocks, want 2 and 2:\n%s", s, g, text)
	}
	if activityChart(ms, flight.PitchAxis, 60, knots()) != nil {
		t.Error("a chart of an axis that was not logged")
	}
}

// Down goes to the next line that enter can follow, or moves the page; page down moves it
// at once.
func TestPageMoves(t *testing.T) {
	m := started(t, fakeOptions(2), 80, 24, termenv.Ascii)
	press(m, "enter", "5")
	before := m.View()
	press(m, "pgdown")
	if m.View() == before {
		t.Error("page down moved nothing")
	}
	press(m, "home")
	contains(t, m.View(), ">   P pilot-coupled")
	press(m, "down", "down", "down", "enter")
	contains(t, m.View(), "[2 hop]")
}

// Motion without a wind log is shown as what it is, and no more.
func TestActivityWithoutWind(t *testing.T) {
	d := fakeDebrief("a", 120, 10)
	row := fakeClasses()[0]
	d.Wind = wind.Result{Activity: &row}
	ls := airLines(&opened{d: d}, 90, metresPerSecond())
	var text strings.Builder
	for _, l := range ls {
		text.WriteString(l.lead + l.text + "\n")
	}
	contains(t, text.String(), "No wind was logged", "growing oscillations: 1", "1.15", "41.0", "this is no wind")
}

// TestGustTableOfANarrowWindow: the number that finds no room beside the others stands beside
// its band once more.
func TestGustTableOfANarrowWindow(t *testing.T) {
	r := &wind.Result{Gusts: []wind.Gust{
		{Axis: flight.RollAxis, Input: wind.CrossGust, BandRadS: [2]float64{0.6, 1.2}, RadPerMS: around(0.02, 0.004), PilotInLoopRadPerMS: around(0.03, 0.004), PartialCoherence: 0.44},
		{Axis: flight.PitchAxis, Input: wind.HeadGust, BandRadS: [2]float64{1.2, 2.4}, PartialCoherence: 0.91},
	}}
	var text string
	for _, l := range gustTables(r, 76, metresPerSecond()) {
		text += l.lead + l.text + "\n"
	}
	for _, want := range []string{`roll +cross +0\.60 to 1\.20 +0\.44`, `pitch +head +1\.20 to 2\.40 +0\.91`} {
		if !regexp.MustCompile(want).MatchString(text) {
			t.Errorf("no line like %q in\n%s", want, text)
		}
	}
}
