package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// A straight line from corner to corner, a curve with a hole, and a star at the middle.
func TestDesignChartText(t *testing.T) {
	c := rotor.DesignChart{
		Key: "k", Title: "title", XName: "time", XUnit: flight.Second, YName: "lag", YUnit: flight.Deg,
		Curves: []rotor.DesignCurve{{Label: "up", X: []float64{0, 1}, Y: []float64{0, 10}}, {Label: "hole", X: []float64{0, 0.5, 1}, Y: []float64{math.NaN(), math.NaN(), math.NaN()}}},
		Points: []rotor.DesignPoint{{Name: "flown", X: 0.5, Y: 5}, {Name: "nowhere", X: 0.5, Y: math.NaN()}},
	}
	p := &page{}
	designChart(p, &c)
	lines := strings.Split(p.b.String(), "\n")
	if lines[1] != "title: lag, deg, over the time, s" {
		t.Errorf("title %q", lines[1])
	}
	rows := lines[2 : 2+chartHeight]
	if !strings.HasPrefix(rows[0], "     10.0 |") || !strings.HasSuffix(rows[0], "a") || utf8.RuneCountInString(rows[0]) != 11+chartWidth {
		t.Errorf("top %q", rows[0])
	}
	if rows[chartHeight-1] != "        0 |aaa" {
		t.Errorf("bottom %q", rows[chartHeight-1])
	}
	if at := strings.IndexByte(rows[chartHeight/2], '*'); at < 11+chartWidth/2-1 || at > 11+chartWidth/2 {
		t.Errorf("middle %q", rows[chartHeight/2])
	}
	text := p.b.String()
	if strings.Contains(text, "nowhere") || !strings.Contains(text, "* flown (0.500, 5.00)") || !strings.Contains(text, "a up; b hole") {
		t.Errorf("%s", text)
	}
	empty := &page{}
	designChart(empty, &rotor.DesignChart{Curves: c.Curves[1:]})
	if empty.b.Len() != 0 {
		t.Errorf("a chart of nothing: %q", empty.b.String())
	}
}

// Real charts keep to the page and to JSON.
func TestPredictCharts(t *testing.T) {
	c := predicted(t, bareConfiguration())
	var err error
	if c.Charts, err = rotor.DesignCharts(c.Configuration, rotor.Surroundings{}, []flight.Configuration{c.Configuration}); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Predict(&b, c); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "how far round the disc answers") {
		t.Error("no chart")
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if utf8.RuneCountInString(line) > pageWidth {
			t.Errorf("line of more than %d characters: %q", pageWidth, line)
		}
	}
	b.Reset()
	if err := PredictJSON(&b, c); err != nil {
		t.Fatal(err)
	}
	var doc map[string]any
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	walk(t, "", doc)
	for path, want := range map[string]any{"charts.0.key": "lag_over_hinge", "charts.0.flown.0.x": 18.0, "charts.0.flown.0.y": 72.0, "charts.0.curves.0.label": "lag"} {
		got, err := follow(doc, path)
		if err != nil || got != want {
			t.Errorf("%s = %v, want %v (%v)", path, got, want, err)
		}
	}
}
