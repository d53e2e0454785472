package rotor

import (
	"errors"
	"math"
	"testing"

	"hopcard/flight"
)

func chart(t *testing.T, list []DesignChart, key string) DesignChart {
	t.Helper()
	for _, c := range list {
		if c.Key == key {
			return c
		}
	}
	t.Fatalf("no chart %s", key)
	return DesignChart{}
}

func curveOf(t *testing.T, c DesignChart, label string) DesignCurve {
	t.Helper()
	for _, v := range c.Curves {
		if v.Label == label {
			if len(v.X) != len(v.Y) || len(v.X) < 10 {
				t.Fatalf("%s, %s: %d and %d points", c.Key, label, len(v.X), len(v.Y))
			}
			return v
		}
	}
	t.Fatalf("%s: no curve %q", c.Key, label)
	return DesignCurve{}
}

func charts(t *testing.T) ([]DesignChart, flight.Configuration) {
	t.Helper()
	light, bare := configuration(), configuration()
	light.Name, bare.Name, bare.Bar = "light", "bare", nil
	half := flight.Configuration{Name: "no dimensions"}
	list, err := DesignCharts(light, Surroundings{ControlDelayS: 0.05}, []flight.Configuration{bare, light, half})
	if err != nil {
		t.Fatal(err)
	}
	return list, light
}

// Flown configurations lie on the curves that they belong to, at the prediction's numbers.
func TestChartsMarkWhatWasFlown(t *testing.T) {
	list, light := charts(t)
	p := predict(t, light)
	damping := chart(t, list, "roll_short_damping_over_bar_time")
	if len(damping.Points) != 1 || damping.Points[0].Name != "light" {
		t.Fatalf("points %+v: of a bar only one was flown", damping.Points)
	}
	near(t, "its following time", damping.Points[0].X, p.BarTimeS, 1e-12)
	near(t, "its damping", damping.Points[0].Y, p.Roll.Short.DampingRatio(), 1e-9)
	v := curveOf(t, damping, "bar_to_blade 0.5")
	k := 0
	for v.X[k+1] < p.BarTimeS {
		k++
	}
	f := (p.BarTimeS - v.X[k]) / (v.X[k+1] - v.X[k])
	near(t, "the curve there", v.Y[k]+f*(v.Y[k+1]-v.Y[k]), damping.Points[0].Y, 2e-3)
	if got := chart(t, list, "lag_over_hinge"); len(got.Points) != 2 {
		t.Errorf("hinge points %+v", got.Points)
	}
}

// A teetering head of 18 deg hinge angle answers after 72 deg (common practice; REFERENCES
// RO-8), and the phasing error grows by a degree a degree.
func TestHingeCharts(t *testing.T) {
	list, _ := charts(t)
	lag, phasing := curveOf(t, chart(t, list, "lag_over_hinge"), "lag"), curveOf(t, chart(t, list, "phasing_over_hinge"), "phasing error")
	found := false
	for k, x := range lag.X {
		near(t, "lag", lag.Y[k], 90-x, 1e-9)
		near(t, "phasing error", phasing.Y[k], x, 1e-9)
		found = found || math.Abs(x-18) < 1e-9 && math.Abs(lag.Y[k]-72) < 1e-9
	}
	if !found {
		t.Error("18 deg is not on the chart")
	}
	coupling := curveOf(t, chart(t, list, "coupling_over_hinge"), "roll stick into pitch")
	for k, x := range coupling.X {
		if x == 0 && coupling.Y[k] > 1e-9 || math.Abs(x) > 15 && coupling.Y[k] < 0.1 {
			t.Errorf("coupling %g at %g deg", coupling.Y[k], x)
		}
	}
}

// A slower bar damps the short oscillation less (REFERENCES RO-14), more mixing slows the hover
// oscillation, and the line without a bar is that of a bare head.
func TestBarCharts(t *testing.T) {
	list, light := charts(t)
	short := curveOf(t, chart(t, list, "pitch_short_damping_over_bar_time"), "bar_to_blade 0.5")
	last := math.Inf(1)
	for k, x := range short.X {
		if x < 0.3 { // a bar so quick is not a swing of its own yet
			continue
		}
		if !(short.Y[k] < last) {
			t.Errorf("damping rises at %g s", x)
		}
		last = short.Y[k]
	}
	bare := light
	bare.Bar = nil
	p := predict(t, bare)
	none := curveOf(t, chart(t, list, "pitch_hover_damping_over_bar_time"), "no bar")
	for k := range none.X {
		near(t, "without a bar", none.Y[k], p.Pitch.Hover.DampingRatio(), 1e-9)
	}
	lag := curveOf(t, chart(t, list, "roll_lag_over_bar_time"), "no bar")
	want := UnwrapDeg([]float64{2, 2 * math.Pi}, p.Model.Response(LatStick, Roll, []float64{2, 2 * math.Pi}), 2)[1]
	near(t, "lag at 1 Hz", lag.Y[0], -want, 1e-6)
}

func TestChartsWithoutABar(t *testing.T) {
	bare := configuration()
	bare.Bar = nil
	list, err := DesignCharts(bare, Surroundings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range list {
		if c.XUnit != flight.Deg {
			t.Errorf("chart %s of a bar that nothing is known of", c.Key)
		}
	}
	var missing *MissingError
	if _, err := DesignCharts(flight.Configuration{Name: "x"}, Surroundings{}, nil); !errors.As(err, &missing) {
		t.Errorf("error %v", err)
	}
}

// All charts of a head with a bar cost as much as 220 predictions (BenchmarkPredict).
func BenchmarkDesignCharts(b *testing.B) {
	c := configuration()
	for b.Loop() {
		if _, err := DesignCharts(c, Surroundings{}, []flight.Configuration{c}); err != nil {
			b.Fatal(err)
		}
	}
}
