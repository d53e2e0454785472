package loop

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"
)

// sampled is a loop over frequency, as the analysis has it.
func sampled(l func(s complex128) complex128, from, to float64, points int) open {
	var o open
	turn := 0.0
	for k := range points {
		w := from * math.Pow(to/from, float64(k)/float64(points-1))
		v := l(complex(0, w))
		a := cmplx.Phase(v)
		if k > 0 {
			a = turn + wrapped(a-turn)
		}
		turn = a
		o.w, o.lnGain, o.phase = append(o.w, w), append(o.lnGain, math.Log(cmplx.Abs(v))), append(o.phase, a)
	}
	return o
}

// TestCrossoverModel holds margins against the closed forms of the crossover model
// L = wc exp(-tau s)/s of McRuer and Krendel (AGARDograph 188, 1974): phase margin
// 90 deg - tau wc, gain margin pi/(2 tau wc) at pi/(2 tau).
func TestCrossoverModel(t *testing.T) {
	for _, c := range []struct{ tau, wc, phaseDeg, w180, gainDB float64 }{
		{0.25, 3, 47.028, 6.2832, 6.421},
		{0.35, 2.5, 39.866, 4.4880, 20 * math.Log10(math.Pi/(2*0.35*2.5))},
		{0.30, 3, 38.434, 5.2360, 4.838},
	} {
		t.Run(fmt.Sprintf("tau %g wc %g", c.tau, c.wc), func(t *testing.T) {
			m := margins(sampled(func(s complex128) complex128 {
				return complex(c.wc, 0) * cmplx.Exp(-s*complex(c.tau, 0)) / s
			}, 0.3, 20, 2000))
			const tol = 1e-3
			for _, x := range []struct {
				what      string
				got, want float64
			}{
				{"crossover", m.crossover, c.wc}, {"phase margin, deg", m.phase * degPerRad, c.phaseDeg},
				{"by the formula, deg", m.phase * degPerRad, 90 - degPerRad*c.tau*c.wc},
				{"w180", m.w180, c.w180}, {"gain margin, dB", m.gain * dbPerNeper, c.gainDB},
			} {
				if math.Abs(x.got-x.want) > tol {
					t.Errorf("%s is %.4f, want %.4f", x.what, x.got, x.want)
				}
			}
			if m.crossovers != 1 || !math.IsNaN(m.low) {
				t.Errorf("%d crossovers, reduction margin %g: want one and none", m.crossovers, m.low)
			}
		})
	}
}
