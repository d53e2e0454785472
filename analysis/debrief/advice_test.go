package debrief

import (
	"strings"
	"testing"

	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

func TestAdvice(t *testing.T) {
	flag := func(kinds ...stability.Kind) func(*Debrief) {
		return func(d *Debrief) {
			for _, k := range kinds {
				d.Stability.Unstable = append(d.Stability.Unstable, stability.Unstable{Kind: k, Reason: "because"})
			}
		}
	}
	for _, c := range []struct {
		name   string
		change func(*Debrief)
		want   []string // how each line begins
	}{
		{"fit to go on", func(d *Debrief) {
			d.Responses = []response.Result{{Output: response.Attitude}}
		}, []string{"Next step"}},
		{"nothing measured", func(*Debrief) {}, []string{"Repeat with test inputs", "Next step"}},
		{"airframe", flag(stability.Airframe), []string{"Step back: the aircraft"}},
		{"pilot-coupled, through a limit", flag(stability.PilotCoupled, stability.Limit), []string{"Step back: pilot and aircraft"}},
		{"limit alone", flag(stability.Limit), []string{"Smaller step: a limit"}},
		{"cause unknown", flag(stability.Unattributed), []string{"Repeat with the stick logged"}},
		{"little stick left", func(d *Debrief) { d.Stability.Control[0].LeftPercent = 5 }, []string{"Smaller step: too little stick"}},
		{"too gusty", func(d *Debrief) { d.Wind.Whole.SpreadMS = flight.Plain(9) }, []string{"Calmer air"}},
		{"margin", func(d *Debrief) {
			d.Stability.Margins = []stability.Margin{{GainMarginDB: &flight.Estimate{Value: 2, Low: 1, High: 3}}}
		}, []string{"Smaller step: damping or margin"}},
		{"data", func(d *Debrief) {
			d.Findings = []flight.Finding{{Severity: flight.Stop, Text: "two clocks"}}
		}, []string{"Repeat: the data"}},
		{"no flight", func(d *Debrief) { d.Segments = nil }, []string{"Repeat: something"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := good()
			c.change(d)
			d.Verdict = judge(d)
			got := advise(d)
			if len(got) != len(c.want) {
				t.Fatalf("advice %q, want %d lines", got, len(c.want))
			}
			for i, begin := range c.want {
				if !strings.HasPrefix(got[i], begin) {
					t.Errorf("line %d is %q, want %q", i, got[i], begin)
				}
			}
		})
	}
}
