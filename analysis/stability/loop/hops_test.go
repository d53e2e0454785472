package loop

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hopcard/analysis/response"
	"hopcard/analysis/segment"
	"hopcard/flight"
	"hopcard/importers"
)

const hopsDir = "../../../../shared/hops"

// TestSharedHops holds the margins of recorded hops against what their truth says of the
// pilot: with his gain raised by a factor an oscillation grew, so the gain margin lies below
// that factor.
func TestSharedHops(t *testing.T) {
	for _, name := range []string{"h01", "h06", "h08"} {
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join(hopsDir, name+".truth.json"))
			if err != nil {
				t.Skip("the shared hops are not here")
			}
			var truth struct {
				Growing []struct {
					Axis   flight.Axis
					T0, T1 float64
					Factor float64 `json:"pilot_gain_factor"`
				} `json:"growing_oscillations"`
			}
			if err := json.Unmarshal(data, &truth); err != nil {
				t.Fatal(err)
			}
			ctx := context.Background()
			h, err := importers.ReadHop(ctx, filepath.Join(hopsDir, name), importers.Options{})
			if err != nil {
				t.Fatal(err)
			}
			segs, _ := segment.Find(h)
			a, err := response.Analyse(ctx, h, segs, response.Settings{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			var grew []flight.Span
			for _, g := range truth.Growing {
				grew = append(grew, flight.Span{FromS: g.T0, ToS: g.T1 + 1})
			}
			r, err := AnalyseApart(ctx, h, segs, a.Responses, grew, nil)
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Margins) != 2 {
				t.Fatalf("margins in %d axes, want 2: %v", len(r.Margins), r.Findings)
			}
			for _, m := range r.Margins {
				t.Logf("%s: crossover %v phase margin %v gain margin %v down %v", m.Axis, m.CrossoverRadS, m.PhaseMarginDeg, m.GainMarginDB, m.GainLowDB)
				if m.Pilot != nil {
					t.Logf("   %s: gain %v lead %v delay %v, fit %.0f %%", m.Pilot.Method, m.Pilot.GainPerRad, m.Pilot.LeadS, m.Pilot.DelayS, m.Pilot.FitPercent)
				}
				for _, p := range m.Assumed {
					t.Logf("   %.1f s: most gain %v crossover %v pm %v gm %v", p.DelayS, p.MostGainPerRad, p.CrossoverRadS, p.PhaseMarginDeg, p.GainMarginDB)
				}
				for _, g := range truth.Growing {
					if e := m.GainMarginDB; e != nil && g.Axis == m.Axis && g.Factor > 0 && e.Low > 20*math.Log10(g.Factor) {
						t.Errorf("%s: gain margin %.1f dB (from %.1f), but it grew with %.1f dB more", m.Axis, e.Value, e.Low, 20*math.Log10(g.Factor))
					}
				}
			}
			for _, f := range r.Findings {
				t.Log(f.Code, f.Text)
			}
		})
	}
}
