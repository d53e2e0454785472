package wind

import (
	"math"
	"testing"
)

func TestBeaufortLimits(t *testing.T) {
	// WMO code table 1100 and AIM table 10-2-3: lowest and highest of each number.
	ms := [][2]float64{{0, 0.2}, {0.3, 1.5}, {1.6, 3.3}, {3.4, 5.4}, {5.5, 7.9}, {8.0, 10.7}, {10.8, 13.8},
		{13.9, 17.1}, {17.2, 20.7}, {20.8, 24.4}, {24.5, 28.4}, {28.5, 32.6}, {32.7, 60}}
	kt := [][2]float64{{0, 0}, {1, 3}, {4, 6}, {7, 10}, {11, 16}, {17, 21}, {22, 27}, {28, 33}, {34, 40},
		{41, 47}, {48, 55}, {56, 63}, {64, 100}}
	for b := range ms {
		for side := range 2 {
			if got := Beaufort(ms[b][side]); got != b {
				t.Errorf("Beaufort(%g m/s) = %d, want %d", ms[b][side], got, b)
			}
			if got := BeaufortKnots(kt[b][side]); got != b {
				t.Errorf("BeaufortKnots(%g) = %d, want %d", kt[b][side], got, b)
			}
		}
	}
	if got := Beaufort(5.45); got != 4 {
		t.Errorf("Beaufort(5.45) = %d, want 4: halves round up", got)
	}
	for _, bad := range []float64{-1, math.NaN()} {
		if got := Beaufort(bad); got != -1 {
			t.Errorf("Beaufort(%g) = %d, want -1", bad, got)
		}
	}
	for b, want := range []float64{0, 0.84, 2.36, 4.34, 6.69, 9.35, 12.29, 15.48, 18.92} {
		closeTo(t, "formula of 1946", BeaufortSpeedMS(float64(b)), want, 0.005)
	}
}

func TestReportRules(t *testing.T) {
	kt := knot()
	closeTo(t, "knot", kt, 0.514444444444444, 1e-15)
	// Mean 12 kt, lull 8, peak 19: reported in the United States (11 kt between peak and
	// lull), not by ICAO (7 kt above the mean).
	if !GustReportedUS(19*kt, 8*kt) || GustReportedICAO(19*kt, 12*kt) {
		t.Error("mean 12, lull 8, peak 19 kt: want reported by the US rule and not by ICAO's")
	}
	if !GustReportedUS(17*kt, 7*kt) || GustReportedUS(16.9*kt, 7*kt) || !GustReportedICAO(9.3, 4.3) {
		t.Error("the limit itself counts as reported")
	}
	if !CalmReportedICAO(0.49) || CalmReportedICAO(0.5) {
		t.Error("calm is below 0.5 m/s")
	}
	for _, c := range []struct {
		meanMS, arcDeg float64
		us, icao       DirectionRule
	}{
		{22 * kt, 70, DirectionExtremes, DirectionExtremes}, // 32022KT 280V350 of AIM
		{22 * kt, 59, DirectionMean, DirectionMean},
		{6 * kt, 60, DirectionVariable, DirectionExtremes},
		{1.4, 60, DirectionVariable, DirectionVariable},
		{8, 180, DirectionExtremes, DirectionVariable},
		{8, math.NaN(), DirectionUnknown, DirectionUnknown},
	} {
		if us, icao := DirectionRuleUS(c.meanMS, c.arcDeg*degree), DirectionRuleICAO(c.meanMS, c.arcDeg*degree); us != c.us || icao != c.icao {
			t.Errorf("mean %.1f m/s, arc %g deg: %q, %q, want %q, %q", c.meanMS, c.arcDeg, us, icao, c.us, c.icao)
		}
	}
}

func TestDirections(t *testing.T) {
	d := SumUpDirections([]float64{350 * degree, 10 * degree})
	closeTo(t, "mean of 350 and 10", wrapPi(d.MeanRad), 0, 1e-12)
	d = SumUpDirections([]float64{350 * degree, math.NaN(), 10 * degree, 20 * degree})
	closeTo(t, "mean", d.MeanRad/degree, 6.70495, 1e-4)
	closeTo(t, "Yamartino", d.YamartinoRad/degree, 12.4791, 1e-4)
	closeTo(t, "circular sd", d.SDRad/degree, 12.5094, 1e-4)
	closeTo(t, "arc", d.ArcRad()/degree, 30, 1e-9)
	closeTo(t, "arc from", d.FromRad/degree, 350, 1e-9)

	d = SumUpDirections([]float64{2, 2, 2})
	closeTo(t, "sd of equal directions", d.SDRad+d.YamartinoRad+d.ArcRad(), 0, 0)
	if d = SumUpDirections([]float64{0, math.Pi}); d.SDRad < 5 {
		t.Errorf("opposite directions: sd %g rad, want a very large one", d.SDRad)
	}
	if d = SumUpDirections([]float64{math.NaN()}); d.N != 0 || !math.IsNaN(d.MeanRad) || !math.IsNaN(d.ArcRad()) {
		t.Errorf("no direction: %+v", d)
	}
	head, cross := Components(12, 310*degree, 270*degree)
	closeTo(t, "head", head, 9.1925, 1e-4)
	closeTo(t, "cross", cross, 7.7135, 1e-4)
}
