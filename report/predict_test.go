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

// bareConfiguration is an invented teetering head with hinge at 18 deg: the lag is 72 deg.
func bareConfiguration() flight.Configuration {
	return flight.Configuration{
		Name: "hinge at 18 deg", RotorSpeedRPM: 500, MassKg: 240, HubHeightM: 1.1, RollInertiaKgM2: 70, PitchInertKgM2: 130,
		RotorRadiusM: 3, BladeChordM: 0.17, LiftSlope: 5.7, FlapInertiaKg: 24, Delta3Deg: 18, AdvanceDeg: 84, CyclicThrowDeg: 8,
	}
}

func predicted(t *testing.T, c flight.Configuration) Prediction {
	t.Helper()
	n, err := rotor.Predict(c, rotor.Surroundings{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := rotor.Sensitivities(c, rotor.Surroundings{})
	if err != nil {
		t.Fatal(err)
	}
	return Prediction{Configuration: c, RotorTurns: "counter-clockwise", Numbers: n, Sensitivities: s}
}

// An input ahead of the blades by more than their lag answers too early, against the
// rotation: the swashplate input must go with the rotation, whichever way it turns.
func TestPhasingText(t *testing.T) {
	const deg = math.Pi / 180
	for _, c := range []struct {
		errorDeg float64
		turns    string
		want     string
	}{
		{12, "counter-clockwise", "the input is 12.0 deg too early: turn the swashplate input 12.0 deg in the direction of rotation (counter-clockwise seen from above)"},
		{12, "clockwise", "the input is 12.0 deg too early: turn the swashplate input 12.0 deg in the direction of rotation (clockwise seen from above)"},
		{-5, "clockwise", "the input is 5.0 deg too late: turn the swashplate input 5.0 deg against the direction of rotation (counter-clockwise seen from above)"},
		{-5, "counter-clockwise", "the input is 5.0 deg too late: turn the swashplate input 5.0 deg against the direction of rotation (clockwise seen from above)"},
		{12, "", "error 12.0 deg of azimuth; which way to turn the swashplate depends on the rotor: set rotor_turns in aircraft.toml"},
		{0.01, "", "the advance angle is the lag of the blades: no phasing error"},
		{math.NaN(), "", "not measured"},
	} {
		if got := PhasingText(c.errorDeg*deg, c.turns); got != c.want {
			t.Errorf("%g deg, %q: %q, want %q", c.errorDeg, c.turns, got, c.want)
		}
	}
}

func TestPredictText(t *testing.T) {
	var b bytes.Buffer
	if err := Predict(&b, predicted(t, bareConfiguration())); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	for _, want := range []string{
		"phase lag of the blades     72.0   deg of azimuth", "12.0 deg too early", "GROWS: time to double",
		"uniform inflow, rigid blades", "air density 1.225", "delta3_deg", "Trust a measured number",
	} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), strings.Join(strings.Fields(want), " ")) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if strings.Contains(text, "following time of the bar") || strings.Contains(text, "NaN") {
		t.Errorf("a bar that is not there, or no number:\n%s", text)
	}
	for _, line := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(line) > pageWidth {
			t.Errorf("line of more than %d characters: %q", pageWidth, line)
		}
	}
}

// Without an advance angle the model assumes a right one; that is no measured phasing.
func TestPredictWithoutAdvanceAngle(t *testing.T) {
	c := bareConfiguration()
	c.AdvanceDeg = 0
	var text, doc bytes.Buffer
	if err := Predict(&text, predicted(t, c)); err != nil {
		t.Fatal(err)
	}
	if err := PredictJSON(&doc, predicted(t, c)); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.String(), "phasing: not told; give advance_angle_deg") || strings.Contains(doc.String(), "phasing_error_deg") {
		t.Errorf("%s\n%s", text.String(), doc.String())
	}
}

func TestPredictJSON(t *testing.T) {
	var b bytes.Buffer
	p := predicted(t, bareConfiguration())
	if err := PredictJSON(&b, p); err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Format        int
		Head          map[string]float64
		Phasing       string
		Axes          []map[string]any
		Sensitivities []struct {
			Dimension, Number string
			PerStep           float64 `json:"per_step"`
		}
		Assumptions, Cautions []string
	}
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	// Closed forms: lag 90 deg less delta3, following time 16/(gamma Omega).
	gamma := 1.225 * 5.7 * 0.17 * 81 / 24
	for name, want := range map[string]float64{
		"lag_deg": 72, "phasing_error_deg": 12, "lock_number": gamma, "disc_following_time_s": 16 / (gamma * 500 * math.Pi / 30),
	} {
		if got := doc.Head[name]; math.Abs(got-want) > 1e-6*math.Abs(want) {
			t.Errorf("%s is %g, want %g", name, got, want)
		}
	}
	if _, ok := doc.Head["bar_following_time_s"]; ok || doc.Format != 1 || len(doc.Axes) != 2 || len(doc.Assumptions) == 0 || len(doc.Cautions) == 0 {
		t.Errorf("document is %+v", doc)
	}
	if len(doc.Sensitivities) != len(p.Sensitivities) {
		t.Errorf("%d sensitivities, want %d", len(doc.Sensitivities), len(p.Sensitivities))
	}
	hover, _ := doc.Axes[0]["hover_oscillation"].(map[string]any)
	if _, grows := hover["time_to_double_s"]; !grows {
		t.Errorf("without a bar the hover swing grows; axis is %v", doc.Axes[0])
	}
}
