package report

import (
	"math"
	"strings"
	"testing"

	"hopcard/analysis/response"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Without a measured wind the card gives motion and stick work, and says that it is no wind.
func TestActivityIsNoWind(t *testing.T) {
	d := emptyDebrief()
	d.Wind.Activity = &wind.ClassRow{TimeS: 212, MeanMS: math.NaN(), Flags: 2, Motion: []wind.Motion{{Axis: flight.RollAxis, AttitudeRMS: 0.02, RateRMS: 0.04}}}
	text := sectionText(t, d, "Activity")
	for _, want := range []string{"| whole flight | 212 | - | 2 | roll | 1.15 | 2.29 |", "No wind was measured", "this is no wind"} {
		if !strings.Contains(text, want) {
			t.Errorf("not on the card: %q in %s", want, text)
		}
	}
	if strings.Contains(card(t, d), "## Gusts") {
		t.Error("gusts without wind")
	}
	doc := parsed(t, d)
	for path, want := range map[string]any{"wind.activity.flags": 2.0, "wind.activity.time_s": 212.0} {
		if got, err := follow(doc, path); err != nil || got != want {
			t.Errorf("%s = %v, %v; want %v", path, got, err, want)
		}
	}
	if card := card(t, syntheticDebrief()); strings.Contains(card, "## Activity") {
		t.Error("activity in place of a measured wind")
	}
}

// What the pilot's own answer does to the measurement stands beside the numbers.
func TestCardSaysHowFarTheStickAnswers(t *testing.T) {
	d := syntheticDebrief()
	d.Responses[0].TwoSided = &response.TwoSided{MotionBehindS: 0.34, MotionBehind: 0.82, StickBehindS: 0.41, StickBehind: 0.35}
	d.Responses[0].AnsweringShare = est(0.23, 0.1, 0.4)
	want := "pilot in the loop, roll: rate follows stick with correlation 0.82, 340 ms behind; stick follows rate with 0.35, 410 ms behind; 23 % (10 to 40) of the stick's power answers what gusts do"
	if text := sectionText(t, d, "Stick to answer"); !strings.Contains(text, want) {
		t.Errorf("not on the card: %q in %s", want, text)
	}
	got, err := follow(parsed(t, d), "responses.0.stick_answering_gusts_percent.high")
	if err != nil || got != 40.0 {
		t.Errorf("JSON: %v, %v", got, err)
	}
}

// Charts of the air are in the JSON with all their numbers.
func TestJSONHoldsTheChartsOfTheAir(t *testing.T) {
	d := flownDebrief()
	d.Wind.Events[0].AttitudePerMS[3].Low = math.NaN()
	doc := parsed(t, d)
	for path, want := range map[string]float64{
		"wind.phases.1.dryden.along_length_m.high":     71,
		"wind.phases.1.dryden.spectrum.0.frequency_hz": 0.01,
		"wind.activity_by_20_s.1.sd_m_s":               0.4,
		"wind.activity_by_20_s.1.roll_rms_deg":         0.012 * degPerRad,
		"wind.gust_average.0.time_s.3":                 0, // the one at -0.5 s has no interval
		"wind.gust_average.0.deg_per_m_s.3":            0.03 * degPerRad,
		"wind.gust_average.0.low_deg_per_m_s.3":        0.02 * degPerRad,
	} {
		got, err := follow(doc, path)
		if v, ok := got.(float64); err != nil || !ok || math.Abs(v-want) > 1e-8 {
			t.Errorf("%s = %v, %v; want %g", path, got, err, want)
		}
	}
	if got, _ := follow(doc, "wind.activity_by_20_s.1.stick_rms_percent"); got != nil {
		t.Errorf("a stick that was not logged: %v", got)
	}
}
