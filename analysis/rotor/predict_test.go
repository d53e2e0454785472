package rotor

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

func number(t *testing.T, p *Prediction, name string) float64 {
	t.Helper()
	for _, n := range p.Numbers() {
		if n.Name == name {
			return n.Value
		}
	}
	t.Fatalf("no number %q", name)
	return 0
}

func predict(t *testing.T, c flight.Configuration) *Prediction {
	t.Helper()
	p, err := Predict(c, Surroundings{ControlDelayS: 0.05})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Common practice and the physics: more bar weight, slower bar; with a bar the growing hover
// oscillation turns into a slower, damped one; gusts throw it less.
func TestPredictionsGoTheRightWay(t *testing.T) {
	light := configuration()
	heavy := configuration()
	heavy.Bar.WeightKg = 1.15
	bare := configuration()
	bare.Bar = nil
	b, l, h := predict(t, bare), predict(t, light), predict(t, heavy)
	if !math.IsNaN(b.BarTimeS) || !(l.BarTimeS < h.BarTimeS) {
		t.Errorf("bar times: none %g, light %g, heavy %g", b.BarTimeS, l.BarTimeS, h.BarTimeS)
	}
	for _, a := range []struct {
		name    string
		b, l, h AxisPrediction
	}{{"pitch", b.Pitch, l.Pitch, h.Pitch}, {"roll", b.Roll, l.Roll, h.Roll}} {
		if a.b.Hover == nil || a.l.Hover == nil || a.h.Hover == nil || a.b.Short != nil || a.l.Short == nil || a.h.Short == nil {
			t.Fatalf("%s: modes missing", a.name)
		}
		if z := a.b.Hover.DampingRatio(); z >= 0 {
			t.Errorf("%s: bare hover oscillation is damped, %g", a.name, z)
		}
		if p := a.b.Hover.PeriodS(); p < 8 || p > 17 {
			t.Errorf("%s: period %g s, want 8 to 17", a.name, p)
		}
		if a.l.Hover.DampingRatio() <= 0 || a.h.Hover.PeriodS() <= a.l.Hover.PeriodS() {
			t.Errorf("%s: the bar should damp and slow the hover oscillation", a.name)
		}
		if a.h.Short.DampingRatio() >= a.l.Short.DampingRatio() {
			t.Errorf("%s: the heavier bar should damp the short oscillation less", a.name)
		}
		if !(a.l.GustRadPerMS[1] < a.b.GustRadPerMS[1] && a.h.GustRadPerMS[1] < a.l.GustRadPerMS[1]) {
			t.Errorf("%s: gusts at 1 rad/s: %g, %g, %g", a.name, a.b.GustRadPerMS[1], a.l.GustRadPerMS[1], a.h.GustRadPerMS[1])
		}
	}
	if number(t, b, "phase lag of the blades") != 90 || number(t, b, "pitch, coupling at 2 rad/s") > 1e-12 {
		t.Error("a teetering head with 90 deg of advance is not coupled")
	}
	near(t, "full stick, bare", number(t, b, "disc tilt at full stick"), 8, 1e-9)
	near(t, "full stick, bar", number(t, l, "disc tilt at full stick"), 8*1.1, 1e-9)
}

// The answer to gusts in a band is that of the model's responses within it, so that prediction
// and hop are of the same thing.
func TestGustsInBands(t *testing.T) {
	p := predict(t, configuration())
	for k, band := range GustBandsRadS() {
		near(t, "pitch", p.Pitch.GustBandRadPerMS[k], p.Model.BandGain(HeadWind, Pitch, band), 1e-9)
		near(t, "roll", number(t, p, GustBandName("roll", band)), p.Model.BandGain(WindFromRight, Roll, band)/deg, 1e-7)
	}
}

func TestPredictionOfAHingeAngle(t *testing.T) {
	c := configuration()
	c.Delta3Deg = 18
	p := predict(t, c)
	near(t, "lag", number(t, p, "phase lag of the blades"), 72, 1e-9)
	near(t, "phasing error", number(t, p, "phasing error"), 18, 1e-9)
	if number(t, p, "roll, coupling at 2 rad/s") < 0.1 {
		t.Error("18 deg out of phase must couple the axes")
	}
}

func TestSensitivitiesAgainstClosedForms(t *testing.T) {
	c := configuration()
	list, err := Sensitivities(c, Surroundings{})
	if err != nil {
		t.Fatal(err)
	}
	relative := func(key, name string) float64 {
		for _, s := range list {
			if s.Key == key && s.Number.Name == name {
				return s.PerStep / s.Number.Value * 100 // percent per percent
			}
		}
		t.Fatalf("no sensitivity of %s to %s", name, key)
		return 0
	}
	for _, w := range []struct {
		key, name string
		want      float64
	}{
		{"rotor_radius_m", "Lock number", 4}, {"flap_inertia_kg_m2", "Lock number", -1},
		{"rotor_radius_m", "following time of the disc", -4}, {"rotor_speed_rpm", "following time of the disc", -1},
		{"rotor_speed_rpm", "following time of the bar", -1}, {"bar.paddle_chord_m", "following time of the bar", -1},
		{"bar.weight_kg", "following time of the bar", 2 * 0.45 * 0.64 / 0.736},
		{"bar.weight_at_m", "following time of the bar", 2 * 2 * 0.45 * 0.64 / 0.736},
		{"cyclic_throw_deg", "disc tilt at full stick", 1}, {"mass_kg", "following time of the disc", 0},
	} {
		near(t, w.name+" on "+w.key, relative(w.key, w.name), w.want, 5e-3)
	}
	for _, s := range list {
		if s.Key == "delta3_deg" && s.Number.Name == "phase lag of the blades" {
			near(t, "lag per deg of hinge", s.PerStep, -1, 1e-9)
		}
		if s.Key == "hinge_offset" || s.Key == "bar.following_time_s" {
			t.Errorf("%s is not given and has a sensitivity", s.Key)
		}
		if math.IsNaN(s.PerStep) || !(s.Step > 0) {
			t.Errorf("%+v", s)
		}
	}
	if *configuration().Bar != *c.Bar {
		t.Error("the configuration's bar was changed")
	}
}

func TestDimensionsCoverTheSettings(t *testing.T) {
	c := configuration()
	seen := map[string]bool{}
	for _, d := range Dimensions() {
		if seen[d.Key] || d.Of(&c) == nil {
			t.Errorf("%s: twice, or nowhere", d.Key)
		}
		seen[d.Key] = true
		if strings.HasPrefix(d.Key, "bar.") {
			bare := flight.Configuration{}
			if d.Of(&bare) != nil {
				t.Errorf("%s of a machine without a bar", d.Key)
			}
		}
	}
	// Every key that FromConfiguration can miss is a dimension.
	_, _, err := FromConfiguration(flight.Configuration{Bar: &flight.Bar{StickToBlade: 1}}, Surroundings{})
	var missing *MissingError
	if !errors.As(err, &missing) {
		t.Fatal(err)
	}
	for _, k := range missing.Keys {
		if !seen[k] {
			t.Errorf("%s is needed and not a dimension", k)
		}
	}
}

// Blades scaled to another size with the same Lock number, rotor speed and disc keep lag and
// following time.
func TestLagDependsOnLockNumberAlone(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := rapid.Float64Range(0.5, 2).Draw(rt, "scale")
		c := configuration()
		c.Bar, c.HingeOffset = nil, 0.04
		a, _, err := FromConfiguration(c, Surroundings{})
		if err != nil {
			rt.Fatal(err)
		}
		c.RotorRadiusM *= k
		c.FlapInertiaKg *= math.Pow(k, 4)
		b, _, err := FromConfiguration(c, Surroundings{})
		if err != nil {
			rt.Fatal(err)
		}
		if math.Abs(a.LagRad()-b.LagRad()) > 1e-9 || math.Abs(a.DiscTimeS()-b.DiscTimeS()) > 1e-9 {
			rt.Fatalf("lag %g and %g, time %g and %g", a.LagRad(), b.LagRad(), a.DiscTimeS(), b.DiscTimeS())
		}
	})
}

// One prediction costs 0.65 ms on two cores shared with other jobs (amd64), so that a screen
// may run one for each key press; with the equations solved at each frequency instead of
// summed over modes it was 10 ms.
func BenchmarkPredict(b *testing.B) {
	c := configuration()
	for b.Loop() {
		if _, err := Predict(c, Surroundings{}); err != nil {
			b.Fatal(err)
		}
	}
}
