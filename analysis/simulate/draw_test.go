package simulate

import (
	"math"
	"reflect"
	"testing"

	"hopcard/flight"
)

// Drawn hops stay flyable, and truth lists what was planted and nothing else.
func TestDrawnScenarios(t *testing.T) {
	var grown, weak int
	check := func(s Scenario, quiet bool) *Flight {
		t.Helper()
		s.StepS = 0.01
		f := Fly(s)
		for k := range f.Roll {
			if math.IsNaN(f.Roll[k]) || quiet && math.Abs(f.Roll[k]) > 25*deg {
				t.Fatalf("%s, seed %d: roll %.1f deg at %.1f s", s.Name, s.Seed, f.Roll[k]/deg, float64(k)*f.StepS)
			}
		}
		if quiet && len(f.Truth.Growing) > 0 {
			t.Errorf("%s, seed %d: %+v", s.Name, s.Seed, f.Truth.Growing)
		}
		return f
	}
	for seed := range uint64(4) {
		if a, b := DrawPlanted(seed), DrawPlanted(seed); !reflect.DeepEqual(a, b) {
			t.Fatalf("seed %d draws two scenarios", seed)
		}
		check(DrawExcited(seed, []LegKind{Doublet, Steps, Sweep, Shaking}[seed], 15), true)
		check(DrawGusty(seed, seed%2 == 0, 30, 30, 0.5), true)
		check(DrawQuiet(seed), true)
		f := check(DrawPlanted(seed), false)
		if len(f.Truth.Growing) == 0 {
			t.Errorf("seed %d: nothing planted", seed)
		}
		for _, g := range f.Truth.Growing {
			grown++
			if !(g.GrowthPerS > 0.15 && g.FrequencyRadS > 1) || g.PeakRad < 1.5*deg {
				weak++
				t.Logf("seed %d: weak %+v", seed, g)
			}
		}
	}
	if weak > grown/4 {
		t.Errorf("%d of %d planted oscillations hardly grew", weak, grown)
	}
}

func TestSettleFindsAPilotWhoHoldsIt(t *testing.T) {
	h := BareHead()
	h.DelayS = 0.1
	p, ok := Settle(h, BarePilot())
	if !ok {
		t.Fatal("no pilot holds the bare head with 100 ms")
	}
	if p.GainPerRad.Of(flight.PitchAxis) > BarePilot().GainPerRad.Pitch {
		t.Error("gain went up")
	}
	h.DelayS = 0.6
	if _, ok := Settle(h, BarePilot()); ok {
		t.Error("a bare head with 600 ms of dead time cannot be held")
	}
}
