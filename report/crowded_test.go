package report

import (
	"math"
	"strings"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/analysis/plan"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// crowdedDebrief is a hop of which everything is known, in both axes, with three flagged
// events.
func crowdedDebrief() *debrief.Debrief {
	d := flownDebrief()
	answer := d.Responses[0]
	answer.Output, answer.W180RadS, answer.BandwidthRadS, answer.PhaseDelayS = response.Attitude, est(6.4, 6.1, 6.7), est(3.4, 3.2, 3.6), est(0.1, 0.09, 0.11)
	answer.BandwidthPhaseRadS, answer.BandwidthGainRadS, answer.TransportDelayS = est(3.4, 3.2, 3.6), est(4.1, 3.3, 5), est(0.061, 0.055, 0.067)
	answer.DiscFollowingS, answer.BarFollowingS, answer.Coupling, answer.RotorSpeedRadS = est(0.08, 0.06, 0.1), est(0.51, 0.4, 0.6), est(0.1, 0.05, 0.15), 53
	answer.Lag = nil
	for _, at := range []string{"0.5 Hz", "1 Hz", "2 Hz", "crossover"} {
		answer.Lag = append(answer.Lag, response.LagAt{At: at, FrequencyRadS: 3, PhaseDeg: *est(-134.2, -136.1, -132.3), TimeS: *est(0.745, 0.731, 0.759)})
	}
	d.Responses = nil
	for _, axis := range swungAxes() {
		for _, out := range []response.Output{response.Attitude, response.Rate} {
			r := answer
			r.Axis, r.Input, r.Output = axis, axis.Stick(), out
			d.Responses = append(d.Responses, r)
		}
	}
	pitch := d.Stability.Margins[0]
	pitch.Axis = flight.PitchAxis
	d.Stability.Margins[1] = pitch
	second := d.Wind.Events[0]
	second.Axis, second.Input = flight.PitchAxis, wind.HeadGust
	d.Wind.Events = append(d.Wind.Events, second)
	g := d.Wind.Gusts[0]
	d.Wind.Gusts = nil
	for _, band := range [][2]float64{{0.3, 0.6}, {0.6, 1.2}, {1.2, 2.4}, {2.4, 4.8}} {
		for _, axis := range swungAxes() {
			g.Axis, g.BandRadS = axis, band
			d.Wind.Gusts = append(d.Wind.Gusts, g)
		}
	}
	row := d.Wind.Classes[1]
	row.Work = append(row.Work, row.Work[0])
	row.Work[1].Axis = flight.PitchAxis
	d.Wind.Classes = nil
	for _, class := range []wind.Class{wind.Calm, wind.Steady, wind.Gusty} {
		row.Class = class
		d.Wind.Classes = append(d.Wind.Classes, row)
	}
	d.Stability.Control = append(d.Stability.Control, d.Stability.Control[0])
	d.Stability.Control[1].Axis = flight.PitchAxis
	d.Stability.Unstable = append(d.Stability.Unstable, stability.Unstable{Axis: flight.PitchAxis, Kind: stability.PilotCoupled,
		Span: flight.Span{FromS: 250, ToS: 261}, GrowthPerS: est(0.3, 0.2, 0.4), FrequencyRadS: est(3.7, 3.6, 3.8), Reason: "pitch grew 34-fold with the pilot in it"})
	d.Plan = &plan.Flown{Plan: &flight.Plan{Format: 1, Configuration: "light bar"}, Rows: []plan.Row{
		{Item: "configuration", Planned: "light bar", Flown: "light bar", Done: true},
		{Item: "roll doublets", Planned: "4 of 6 %, 1.6 s", Flown: "4 of 5.8 %, 1.5 s", Done: true, Span: flight.Span{FromS: 60, ToS: 95}},
		{Item: "pitch doublets", Planned: "4 of 6 %, 1.6 s", Flown: "2 of 5.8 %, 1.5 s", Span: flight.Span{FromS: 100, ToS: 120}},
		{Item: "roll sweep", Planned: "1 of 40 s", Flown: "1 of 38 s", Done: true, Span: flight.Span{FromS: 120, ToS: 158}},
		{Item: "pitch sweep", Planned: "1 of 40 s", Flown: "none"},
		{Item: "roll correlation lag", Planned: "within 5.0 ms", Flown: "within 6.3 ms"},
		{Item: "wind mean", Planned: "at most 5 m/s", Flown: "4.1 m/s", Done: true},
	}}
	for range 10 {
		d.Findings = append(d.Findings, d.Findings[2])
	}
	return d
}

// A card on which everything stands takes two pages, with letters that can be read.
func TestCrowdedCardTakesTwoPages(t *testing.T) {
	d := crowdedDebrief()
	if parts := sections(describe(d).blocks); !crowded(d, parts) {
		t.Error("not crowded")
	}
	for _, paper := range []Paper{A4, Letter} {
		if n := pages(t, pdfCard(t, d, paper)); n > fewPages {
			t.Errorf("%s: %d pages", paper, n)
		}
	}
	least := math.Inf(1)
	for _, f := range fits() {
		least = min(least, f.size)
	}
	if pt := least * finePt; pt < 5.8 {
		t.Errorf("letters of %g pt", pt)
	}
	printsOnTwoPages(t, htmlCard(t, d), Letter)
	if text := sectionText(t, d, "Flown against the plan"); !strings.Contains(text, "| pitch sweep | 1 of 40 s | none | |") {
		t.Errorf("the plan is not on the card: %s", text)
	}
	if doc := parsed(t, d); doc["plan"] == nil || parsed(t, syntheticDebrief())["plan"] != nil {
		t.Error("JSON has no plan where there is one, or one where there is none")
	}
}
