package response

import (
	"context"
	"math"
	"sort"
	"testing"

	"hopcard/flight"
)

// The simulated hops' own truth. The bars are those a decision in the field needs: phase
// delay to 10 ms, bandwidth and w180 to 8 %, the response where coherence is above 0.8 to
// 0.8 dB and 5 deg rms.
func TestAgainstTruth(t *testing.T) {
	for _, name := range []string{"h01", "h06", "h08"} {
		t.Run(name, func(t *testing.T) {
			h, segs, tr := loadHop(t, name)
			a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if hasFinding(a, flight.CodeNoClock, flight.Stop) {
				if len(a.Responses) != 0 {
					t.Errorf("clocks not aligned, but %d responses", len(a.Responses))
				}
				return // withheld, not guessed
			}
			if len(a.Responses) != 4 {
				t.Fatalf("%d responses, want roll and pitch, attitude and rate", len(a.Responses))
			}
			for _, r := range a.Responses {
				checkAgainst(t, r, tr)
			}
		})
	}
}

func checkAgainst(t *testing.T, r Result, tr truth) {
	t.Helper()
	ax := tr.Response.Axes[string(r.Axis)]
	gain, phase := ax.Attitude.GainDB, ax.Attitude.PhaseDeg
	if r.Output == Rate {
		gain, phase = ax.Rate.GainDB, ax.Rate.PhaseDeg
	}
	var dg, dp, n float64
	for k, w := range r.FrequencyRadS {
		if r.Coherence[k] > 0.8 {
			g := r.GainDB[k] - at(tr.Response.FrequencyRadS, gain, w)
			p := math.Remainder(r.PhaseDeg[k]-at(tr.Response.FrequencyRadS, phase, w), 360)
			dg, dp, n = dg+g*g, dp+p*p, n+1
		}
	}
	dg, dp = math.Sqrt(dg/n), math.Sqrt(dp/n)
	t.Logf("%s %s: %.0f points, rms %.2f dB %.2f deg", r.Axis, r.Output, n, dg, dp)
	if n < 40 || dg > 0.8 || dp > 5 {
		t.Errorf("%s %s: %.0f points, rms error %.2f dB and %.2f deg, allowed 0.8 and 5", r.Axis, r.Output, n, dg, dp)
	}
	if r.Output != Attitude {
		dead := ax.Delay
		within(t, r.Axis, "transport delay", r.TransportDelayS, &dead, 0, 0.010)
		if r.Model != nil {
			t.Logf("model %s, fit %.1f %%, effective delay %v", r.Model.Form, r.Model.FitPercent, r.EffectiveDelayS)
		}
		return
	}
	within(t, r.Axis, "w180", r.W180RadS, ax.Bandwidth.W180, 0.08, 0)
	within(t, r.Axis, "phase bandwidth", r.BandwidthPhaseRadS, ax.Bandwidth.Phase, 0.08, 0)
	within(t, r.Axis, "gain bandwidth", r.BandwidthGainRadS, ax.Bandwidth.Gain, 0.08, 0)
	within(t, r.Axis, "bandwidth", r.BandwidthRadS, ax.Bandwidth.Bandwidth, 0.08, 0)
	within(t, r.Axis, "phase delay", r.PhaseDelayS, ax.Bandwidth.PhaseDelay, 0, 0.010)
}

func within(t *testing.T, axis flight.Axis, what string, got *flight.Estimate, want *float64, share, absolute float64) {
	t.Helper()
	switch {
	case want == nil && got == nil:
	case want == nil:
		t.Errorf("%s %s = %.4g, but there is none", axis, what, got.Value)
	case got == nil:
		t.Errorf("%s %s not found, truth %.4g", axis, what, *want)
	default:
		t.Logf("%s %s = %.4f (%.4f to %.4f), truth %.4f", axis, what, got.Value, got.Low, got.High, *want)
		if d := math.Abs(got.Value - *want); d > max(share**want, absolute) {
			t.Errorf("%s %s = %.4f, truth %.4f", axis, what, got.Value, *want)
		}
	}
}

// at interpolates y over log x.
func at(x, y []float64, w float64) float64 {
	k := min(max(1, sort.SearchFloat64s(x, w)), len(x)-1)
	f := math.Log(w/x[k-1]) / math.Log(x[k]/x[k-1])
	return y[k-1] + f*(y[k]-y[k-1])
}
