package debrief

import (
	"strings"
	"testing"

	"hopcard/analysis/plan"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// good is a debrief without a reason against going on.
func good() *Debrief {
	channels := []flight.Channel{}
	for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.LatStick, flight.LonStick} {
		channels = append(channels, flight.Channel{Quantity: q, Sure: 1})
	}
	return &Debrief{
		Hop:      &flight.Hop{Channels: channels},
		Aircraft: aircraft(),
		Segments: []flight.Segment{
			{Kind: flight.LiftOff, Span: flight.Span{FromS: 10, ToS: 13}},
			{Kind: flight.Hover, Span: flight.Span{FromS: 13, ToS: 90}},
			{Kind: flight.Landing, Span: flight.Span{FromS: 90, ToS: 95}},
		},
		Wind: wind.Result{Whole: &wind.Phase{
			MeanMS: &flight.Estimate{Value: 2, Low: 1.8, High: 2.2}, SpreadMS: flight.Plain(1.5),
		}},
		Stability: stability.Result{Control: []stability.Control{
			{Axis: flight.RollAxis, UsedPercent: 30, LeftPercent: 70},
			{Axis: flight.PitchAxis, UsedPercent: 40, LeftPercent: 60},
		}},
	}
}

func TestVerdict(t *testing.T) {
	mode := func(value, low, high float64) func(*Debrief) {
		return func(d *Debrief) {
			d.Stability.Modes = []stability.Mode{{Axis: flight.RollAxis,
				DampingRatio: &flight.Estimate{Value: value, Low: low, High: high}}}
		}
	}
	unstable := func(k stability.Kind) func(*Debrief) {
		return func(d *Debrief) {
			d.Stability.Unstable = []stability.Unstable{{Kind: k, Axis: flight.RollAxis, Reason: "because"}}
		}
	}
	for _, c := range []struct {
		name   string
		change func(*Debrief)
		want   Proceed
		says   string
	}{
		{"nothing wrong", func(*Debrief) {}, Yes, "flew for 85 s"},
		{"airframe", unstable(stability.Airframe), No, "because"},
		{"pilot-coupled", unstable(stability.PilotCoupled), No, "because"},
		{"grew, cause unknown", unstable(stability.Unattributed), Caution, "because"},
		{"beyond a limit", unstable(stability.Limit), No, "because"},
		{"near a stop", unstable(stability.ControlStop), Caution, "because"},
		{"little control left", func(d *Debrief) { d.Stability.Control[1].LeftPercent = 8 }, Caution, "8 % of the stick"},
		{"no control left", func(d *Debrief) { d.Stability.Control[1].LeftPercent = 0.5 }, No, "no control was left"},
		{"damping below its limit", mode(-0.1, -0.15, -0.05), Caution, "damping ratio"},
		{"damping in doubt", mode(-0.1, -0.25, 0.05), Yes, "flew"},
		{"damping without interval", func(d *Debrief) {
			d.Stability.Modes = []stability.Mode{{DampingRatio: flight.Plain(-0.1)}}
		}, Caution, "damping ratio"},
		{"slow hover oscillation", func(d *Debrief) {
			d.Stability.Modes = []stability.Mode{{Hover: true, Says: "usual without a bar",
				DampingRatio:  &flight.Estimate{Value: -0.1, Low: -0.12, High: -0.08},
				TimeToDoubleS: &flight.Estimate{Value: 12, Low: 9, High: 16}}}
		}, Yes, "usual without a bar"},
		{"hover oscillation that runs away", func(d *Debrief) {
			d.Stability.Modes = []stability.Mode{{Hover: true,
				DampingRatio:  &flight.Estimate{Value: -0.3, Low: -0.4, High: -0.2},
				TimeToDoubleS: &flight.Estimate{Value: 5, Low: 4, High: 7}}}
		}, Caution, "doubles in 5.0 s"},
		{"phase margin", func(d *Debrief) {
			d.Stability.Margins = []stability.Margin{{PhaseMarginDeg: &flight.Estimate{Value: 20, Low: 10, High: 30}}}
		}, Caution, "phase margin 20 deg"},
		{"gain margin", func(d *Debrief) {
			d.Stability.Margins = []stability.Margin{{GainMarginDB: &flight.Estimate{Value: 2, Low: 1, High: 3}}}
		}, Caution, "gain margin 2.0 dB"},
		{"phase margin with bias", func(d *Debrief) {
			d.Stability.Margins = []stability.Margin{{Pilot: &stability.Pilot{Biased: true},
				PhaseMarginDeg: &flight.Estimate{Value: 20, Low: 10, High: 30}}}
		}, Yes, "hint and not judged"},
		{"too much wind", func(d *Debrief) { d.Wind.Whole.MeanMS.Value = 7 }, Caution, "mean wind 7.0 m/s"},
		{"too gusty", func(d *Debrief) { d.Wind.Whole.SpreadMS.Value = 6 }, Caution, "gust spread 6.0 m/s"},
		{"wind unknown", func(d *Debrief) { d.Wind.Whole = nil }, Yes, "not logged"},
		{"data that cannot carry it", func(d *Debrief) {
			d.Findings = []flight.Finding{{Severity: flight.Stop, Text: "two clocks"}}
		}, Caution, "two clocks"},
		{"data with a note", func(d *Debrief) {
			d.Findings = []flight.Finding{{Severity: flight.Note, Text: "coarse"}}
		}, Yes, "flew"},
		{"no stick", func(d *Debrief) { d.Hop.Channels = d.Hop.Channels[:3] }, Caution, "longitudinal stick was not logged"},
		{"plan followed in part", func(d *Debrief) {
			d.Plan = &plan.Flown{Plan: &flight.Plan{}, Rows: []plan.Row{{Done: true}, {}}}
		}, Yes, "1 of 2 items"},
		{"another head than planned", func(d *Debrief) {
			d.Hop.Configuration = "heavy bar"
			d.Plan = &plan.Flown{Plan: &flight.Plan{Configuration: "light bar"}}
		}, Caution, "planned with light bar, flown with heavy bar"},
		{"attitude withheld", func(d *Debrief) {
			d.Hop.Channels[1].Withheld = "degrees and radians mixed up"
		}, Caution, "pitch attitude was withheld"},
		{"no flight", func(d *Debrief) { d.Segments = nil }, Caution, "no flight was found"},
		{"caution does not hide no", func(d *Debrief) {
			unstable(stability.Airframe)(d)
			d.Wind.Whole.MeanMS.Value = 7
		}, No, "mean wind"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := good()
			c.change(d)
			v := judge(d)
			if v.Proceed != c.want {
				t.Errorf("verdict %s, want %s: %+v", v.Proceed, c.want, v.Reasons)
			}
			var all []string
			for _, r := range v.Reasons {
				all = append(all, r.Text)
			}
			if !strings.Contains(strings.Join(all, "; "), c.says) {
				t.Errorf("reasons %q do not say %q", all, c.says)
			}
		})
	}
}

func TestFindingsWorstFirst(t *testing.T) {
	fs := []flight.Finding{
		{Severity: flight.Note, Text: "c"},
		{Severity: flight.Stop, Span: flight.Span{FromS: 9}, Text: "b"},
		{Severity: flight.Caution, Text: "d"},
		{Severity: flight.Stop, Span: flight.Span{FromS: 3}, Text: "a"},
	}
	sortFindings(fs)
	got := ""
	for _, f := range fs {
		got += f.Text
	}
	if got != "abdc" {
		t.Errorf("order %s, want abdc", got)
	}
}
