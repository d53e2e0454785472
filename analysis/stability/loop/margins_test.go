package loop

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
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

// TestGrowingLoop is the crossover model with a gain beyond pi/(2 tau): phase and gain
// margin are negative, by the same formulas.
func TestGrowingLoop(t *testing.T) {
	const tau, wc = 0.3, 7.0
	m := margins(sampled(func(s complex128) complex128 { return wc * cmplx.Exp(-s*tau) / s }, 0.3, 20, 2000))
	near(t, "phase margin, deg", m.phase*degPerRad, 90-degPerRad*tau*wc, 1e-3)
	near(t, "gain margin, dB", m.gain*dbPerNeper, 20*math.Log10(math.Pi/(2*tau*wc)), 1e-3)
}

// TestMarginsMove: more gain takes as much off the gain margin; a further delay takes off
// the phase margin what it turns the crossover by.
func TestMarginsMove(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wc, lag := rapid.Float64Range(0.8, 2).Draw(t, "wc"), rapid.Float64Range(0.05, 0.3).Draw(t, "lag")
		more, late := rapid.Float64Range(0.7, 1.3).Draw(t, "more"), rapid.Float64Range(0, 0.15).Draw(t, "late")
		loop := func(gain, delay float64) marks {
			return margins(sampled(func(s complex128) complex128 {
				return complex(gain*wc, 0) * cmplx.Exp(-s*complex(0.2+delay, 0)) / (s * (1 + s*complex(lag, 0)))
			}, 0.3, 20, 3000))
		}
		a, b, c := loop(1, 0), loop(more, 0), loop(1, late)
		if d := a.gain - b.gain - math.Log(more); math.Abs(d) > 1e-6 {
			t.Fatalf("the gain margin moves by %g too much", d)
		}
		if d := a.phase - c.phase - late*a.crossover; math.Abs(d) > 1e-4 {
			t.Fatalf("the phase margin moves by %g rad too much", d)
		}
	})
}

// TestTurn: whatever whole turns a phase has run up, less them it stands on its margin.
func TestTurn(t *testing.T) {
	for turns := -2; turns <= 2; turns++ {
		l := open{}
		for w := 0.5; w < 8; w *= 1.02 {
			l.w, l.lnGain = append(l.w, w), append(l.lnGain, math.Log(2/w))
			l.phase = append(l.phase, -math.Pi/2-0.3*w+2*math.Pi*float64(turns))
		}
		m := margins(l)
		near(t, "phase margin", m.phase, math.Pi/2-0.6, 1e-3)
		near(t, "turn", m.turn(l), 2*math.Pi*float64(turns), 1e-9)
		// Without a crossover the gain margin places it.
		m.crossover = math.NaN()
		near(t, "turn by the gain margin", m.turn(l), 2*math.Pi*float64(turns), 1e-9)
	}
	if (marks{crossover: math.NaN(), w180: math.NaN(), wLow: math.NaN()}).turn(open{}) != 0 {
		t.Error("a turn without a loop")
	}
}
