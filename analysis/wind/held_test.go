package wind

import (
	"math"
	"math/cmplx"
	"testing"
)

// TestAllowance: by hand, from 1/(1-k) = 1 + q u and the root of the coherence.
func TestAllowance(t *testing.T) {
	q := followed(2)
	for _, c := range []struct {
		name   string
		far    *followed
		shared float64
		want   float64
	}{
		{"at the aircraft, nothing else", nil, 1, 1},
		{"at the aircraft, a quarter", nil, 0.25, 2},
		{"away, nothing else", &q, 1, 1},
		{"away, 0.8", &q, 0.8, 1.5 / math.Sqrt(0.8)}, // u = 0.25
		{"away, a half", &q, 0.5, 3 / math.Sqrt(0.5)},
	} {
		closeTo(t, c.name, c.far.allowance(c.shared), c.want, 1e-12)
	}
	if !math.IsInf((*followed)(nil).allowance(0), 1) {
		t.Error("an allowance where the gusts account for nothing")
	}
}

// gain is a fitted answer k/(s + 1), s in fractionUnitRadS, whose coefficients are known
// exactly but for a small scatter.
func gain(k float64) *fraction {
	f := &fraction{order: 1, inputs: heldInputs(), p: make([]float64, 1+len(heldInputs())), n: 1000}
	f.p[0], f.p[1] = 1, k
	f.cov = symmetric(len(f.p), 1e-6)
	return f
}

// TestMostNoise: an answer is given while the noise taken off is a lesser part, and withheld
// where it would change the answer by more than half.
func TestMostNoise(t *testing.T) {
	for _, c := range []struct {
		share float64 // noise over gusts in power
		given bool
	}{{0, true}, {0.2, true}, {0.45, true}, {0.6, false}, {2, false}} {
		f := gain(1 / (1 + c.share))
		f.weighted = f.p[:1]
		sh := sheet{omega: []float64{1.5}, x: make([][]complex128, answerChannels)}
		for i := range sh.x {
			sh.x[i] = []complex128{1}
		}
		f.remains = [][]complex128{{0}}
		h := &heldAnswer{sheets: []sheet{sh}, best: f, noisy: gain(1 / (1 + 2*c.share))}
		attitude, rate := h.answer(headGust, [2]float64{1.2, 2.4}, nil)
		if (attitude != nil) != c.given || (rate != nil) != c.given {
			t.Errorf("share %g: attitude %v, rate %v", c.share, attitude, rate)
			continue
		}
		if c.given {
			closeTo(t, "attitude", attitude.Value, gain(1).rms(gain(1).p, 0, [2]float64{1.2, 2.4}, 0), 1e-9)
		}
	}
}

// TestFlow: nose turning from north to east in a wind from the north that once gusts. The
// mean turns with the nose at the moment it turns, however far the air is moved in time.
func TestFlow(t *testing.T) {
	const n = 100
	var f flow
	for i := range n {
		heading := math.Pi / 2 * float64(i) / n
		s, c := math.Sincos(heading)
		f.sin, f.cos = append(f.sin, s), append(f.cos, c)
		gust := 0.0
		if i == 20 {
			gust = 2
		}
		f.north, f.east = append(f.north, 5+gust), append(f.east, 0)
	}
	f.meanNorth = 5
	for _, shift := range []int{0, 30, -10} {
		m := n - max(shift, -shift)
		moved := f.later(shift, m)
		whole, mean := moved.against()
		for i := range m {
			nose := i + max(shift, 0) // its own place in time
			s, c := math.Sincos(math.Pi / 2 * float64(nose) / n)
			gust := 0.0
			if i+max(-shift, 0) == 20 {
				gust = 2
			}
			for what, x := range map[string][2]float64{
				"mean head": {mean[0][i], 5 * c}, "mean cross": {mean[1][i], -5 * s},
				"head": {whole[0][i], (5 + gust) * c}, "cross": {whole[1][i], -(5 + gust) * s},
			} {
				if math.Abs(x[0]-x[1]) > 1e-12 {
					t.Fatalf("moved by %d, place %d: %s %g, want %g", shift, i, what, x[0], x[1])
				}
			}
		}
	}
}

// TestSharedOfFewFrequencies: motion that no input made, over few frequencies. A fit of many
// coefficients follows some of it; what the gusts are said to account for is told from
// remainders in which the equation had no part.
func TestSharedOfFewFrequencies(t *testing.T) {
	rng := newRand(11)
	sh := sheet{x: make([][]complex128, answerChannels)}
	for i := range 40 {
		sh.omega = append(sh.omega, 0.3+0.1*float64(i))
		for c := range sh.x {
			sh.x[c] = append(sh.x[c], complex(rng.NormFloat64(), rng.NormFloat64()))
		}
	}
	sheets := []sheet{sh}
	f, ok := solve(sheets, []products{multiply(sh)}, pitchOut, heldInputs(), lowestOrder, 4)
	if !ok {
		t.Fatal("no fit")
	}
	band := [2]float64{0.3, 5}
	fitted := f.shared(sheets, band)
	f.covariance(sheets)
	if told := f.shared(sheets, band); !(told < 0.6*fitted) {
		t.Errorf("gusts account for %.2f of what they did not make, %.2f as fitted", told, fitted)
	}
}

// TestSizeSquared: the denominator taken apart is the denominator.
func TestSizeSquared(t *testing.T) {
	den := []float64{0.7, -1.3, 2.1, 0.4, 1.9, -0.6}
	for order := 1; order <= len(den); order++ {
		f := &fraction{order: order}
		for _, w := range []float64{0.2, 1.1, 4.7} {
			for _, p := range [][]float64{nil, den[:order]} {
				d := cmplx.Abs(f.denominator(p, w))
				got := sizeSquared(p, order, w/fractionUnitRadS)
				closeTo(t, "size", got/(d*d), 1, 1e-12)
			}
		}
	}
}
