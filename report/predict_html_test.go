package report

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// syntheticChart has a curve with a hole, a curve that is none, and a configuration that
// lies outside.
func syntheticChart() rotor.DesignChart {
	nan := math.NaN()
	return rotor.DesignChart{
		Key: "k", Title: "roll: how late", Axis: flight.RollAxis, XName: "following time of the bar", XUnit: flight.Second, YName: "lag", YUnit: flight.Deg, XLog: true,
		Curves: []rotor.DesignCurve{
			{Label: "bar_to_blade 0.5", X: []float64{0.1, 0.2, 0.5, 1, 2}, Y: []float64{100, 105, nan, 115, 120}},
			{Label: "nothing", X: []float64{0.1, 1}, Y: []float64{nan, nan}},
		},
		Points: []rotor.DesignPoint{{Name: evilText, X: 0.4, Y: 111}, {Name: "far away", X: 30, Y: 112}, {Name: "nowhere", X: 1, Y: nan}},
	}
}

func TestDesignFigure(t *testing.T) {
	c := syntheticChart()
	f := designFigure(&c, room{180, 1})
	finiteFigure(t, f)
	solid := 0
	for _, s := range f.shapes {
		if s.pen.widthPt == designPen(0).widthPt && len(s.points) == 2 {
			solid++
		}
	}
	if solid != 2 {
		t.Errorf("%d runs of the curve with a hole, want two", solid)
	}
	var bold []string
	for _, s := range f.shapes {
		if s.bold {
			bold = append(bold, s.text)
		}
	}
	if got := strings.Join(bold, " "); got != "a 1" {
		t.Errorf("letters and numbers %q, want those of the curve and of the configuration inside", got)
	}
	for _, want := range []string{"Over the following time of the bar, s; a bar_to_blade 0.5; 1 ", "2 far away (30.0, 112)"} {
		if !strings.Contains(f.caption, want) {
			t.Errorf("caption %q does not say %q", f.caption, want)
		}
	}
	if strings.Contains(f.caption, "nowhere") || strings.Contains(f.caption, "nothing") {
		t.Errorf("caption %q names what is not there", f.caption)
	}
	if designFigure(&rotor.DesignChart{}, room{180, 1}) != nil {
		t.Error("drawn from nothing")
	}
}

// The page holds the tables, the charts, what was assumed, and what to beware of.
func TestPredictHTML(t *testing.T) {
	c := predicted(t, bareConfiguration())
	c.Charts = []rotor.DesignChart{syntheticChart()}
	c.Configuration.Name, c.Configuration.Note = evilText, evilText
	page := string(rendered(t, func(b *bytes.Buffer) error { return PredictHTML(b, c) }))
	balanced(t, page)
	loadsNothing(t, page)
	text := plainText(page)
	texts := append(append([]string{}, c.Numbers.Assumptions...), paperCautions()...)
	for _, row := range append(headRows(c), axisRows(c.Numbers)...) {
		texts = append(texts, strings.Join(strings.Fields(strings.Join(row, " ")), " "))
	}
	for _, want := range append(texts, "Design charts", "far away") {
		if !strings.Contains(text, strings.Join(strings.Fields(want), " ")) {
			t.Errorf("not on the page: %q", want)
		}
	}
	if strings.Count(page, "<svg") != 1 {
		t.Error("the chart is not drawn once")
	}
}
