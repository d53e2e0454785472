//go:build study

package plan_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// How often a hop flown as planned reaches what was wished, over machines, pilots and airs
// drawn at random; how well the interval and the attitude are foreseen.
func TestStudy(t *testing.T) {
	const seeds = 30
	for _, wish := range []float64{0.005, 0.010} {
		var blind, informed []outcome
		for seed := uint64(1); seed <= seeds; seed++ {
			b, i := flyTwice(t, seed, wish)
			blind, informed = append(blind, b...), append(informed, i...)
		}
		tell(t, wish, "nothing known", blind)
		tell(t, wish, "one hop known", informed)
	}
}

func tell(t *testing.T, wish float64, what string, all []outcome) {
	var promised, kept, got float64
	var ratio, phase, attitude []float64
	most, sweeps := 0.0, 0
	for _, o := range all {
		if o.got <= wish && o.gotHz <= wish {
			got++
		}
		if o.reached {
			promised++
			if o.got <= wish && o.gotHz <= wish {
				kept++
			}
		}
		ratio, phase = append(ratio, o.got/o.want), append(phase, o.gotHz/o.wantPhase)
		if o.wantDeg > 0 {
			attitude = append(attitude, o.peakDeg/o.wantDeg)
		}
		most = max(most, o.peakDeg)
		sweeps += o.sweeps
	}
	n := float64(len(all))
	t.Logf("wish %2.0f ms, %s: %3.0f %% reach it; promised to %3.0f %%, kept to %3.0f %% of these; got/foreseen lag %s, phase %s, attitude %s; largest attitude %.0f deg; %.1f sweeps",
		wish*1e3, what, 100*got/n, 100*promised/n, 100*kept/promised, quantiles(ratio), quantiles(phase), quantiles(attitude), most, float64(sweeps)/n)
}

func quantiles(x []float64) string {
	if len(x) == 0 {
		return "-"
	}
	slices.Sort(x)
	at := func(p float64) float64 { return math.Round(100*x[int(p*float64(len(x)-1))]) / 100 }
	return fmt.Sprint(at(0.1), at(0.5), at(0.9))
}
