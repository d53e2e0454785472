//go:build study

package plan_test

import "testing"

func TestStudy(t *testing.T) {
	for seed := uint64(1); seed <= 12; seed++ {
		for _, wish := range []float64{0.01} {
			b, i := flyTwice(t, seed, wish)
			for k := range b {
				t.Logf("seed %d %s blind   n %d want %.1f got %.1f phase want %.1f got %.1f  deg want %.0f got %.0f", seed, b[k].axis, b[k].sweeps, b[k].want*1e3, b[k].got*1e3, b[k].wantPhase*1e3, b[k].gotHz*1e3, b[k].wantDeg, b[k].peakDeg)
				t.Logf("seed %d %s informed n %d want %.1f got %.1f phase want %.1f got %.1f  deg want %.0f got %.0f", seed, i[k].axis, i[k].sweeps, i[k].want*1e3, i[k].got*1e3, i[k].wantPhase*1e3, i[k].gotHz*1e3, i[k].wantDeg, i[k].peakDeg)
			}
		}
	}
}
