package response

import (
	"context"
	"math"
	"sort"
	"testing"

	"hopcard/flight"
)

func show(e *flight.Estimate) []float64 {
	if e == nil {
		return nil
	}
	return []float64{e.Value, e.Low, e.High}
}

func TestTruthPrint(t *testing.T) {
	for _, name := range []string{"h01", "h06", "h08"} {
		h, segs, tr := loadHop(t, name)
		a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range a.Findings {
			t.Log(f)
		}
		for _, r := range a.Responses {
			ax, ok := tr.Response.Axes[string(r.Axis)]
			if !ok {
				continue
			}
			tab := ax.Attitude
			if r.Output == Rate {
				tab = ax.Rate
			}
			var sg, sp, n float64
			for k, w := range r.FrequencyRadS {
				g, p := at(tr.Response.FrequencyRadS, tab.GainDB, w), at(tr.Response.FrequencyRadS, tab.PhaseDeg, w)
				dg, dp := r.GainDB[k]-g, math.Remainder(r.PhaseDeg[k]-p, 360)
				if testing.Verbose() && k%8 == 0 {
					t.Logf("   %6.2f  %6.2f dB  %6.2f deg  c %.3f sd %.2f %.2f", w, dg, dp, r.Coherence[k], r.GainSDDB[k], r.PhaseSDDeg[k])
				}
				if r.Coherence[k] > 0.8 {
					sg += dg * dg
					sp += dp * dp
					n++
				}
			}
			t.Logf("%s %s %s n %.0f rms %.2f dB %.2f deg", name, r.Axis, r.Output, n, math.Sqrt(sg/n), math.Sqrt(sp/n))
			t.Log("lag", show(r.CorrelationLagS), show(r.WeightedCorrelationLagS))
			if r.Output == Attitude {
				b := ax.Bandwidth
				pr := func(what string, e *flight.Estimate, want *float64) {
					if want == nil {
						t.Log(what, show(e), "want none")
					} else {
						t.Log(what, show(e), *want)
					}
				}
				pr("w180", r.W180RadS, b.W180)
				pr("phase", r.BandwidthPhaseRadS, b.Phase)
				pr("gain", r.BandwidthGainRadS, b.Gain)
				pr("delay", r.PhaseDelayS, b.PhaseDelay)
			}
		}
	}
}

// at interpolates y over log x.
func at(x, y []float64, w float64) float64 {
	k := min(max(1, sort.SearchFloat64s(x, w)), len(x)-1)
	f := math.Log(w/x[k-1]) / math.Log(x[k]/x[k-1])
	return y[k-1] + f*(y[k]-y[k-1])
}
