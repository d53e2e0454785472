package stability

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// TestPencilPublished: DM-4 of the reference list, the hover poles of the textbook
// helicopter of Franklin, Powell and Emami-Naeini sampled at 0.1 s: a growing oscillation
// and a decaying exponential come back to 1e-8.
func TestPencilPublished(t *testing.T) {
	x := make([]float64, 200)
	for i := range x {
		s := 0.1 * float64(i)
		x[i] = math.Exp(0.11825634*s)*math.Cos(0.36781655*s+0.3) + 0.5*math.Exp(-0.65651269*s)
	}
	poles := newHankel(x, 0.1).poles(3)
	want := []complex128{complex(-0.65651269, 0), complex(0.11825634, -0.36781655), complex(0.11825634, 0.36781655)}
	if len(poles) != 3 {
		t.Fatalf("poles %v, want %v", poles, want)
	}
	for i, p := range poles {
		if cmplx.Abs(p-want[i]) > 1e-8 {
			t.Errorf("pole %v, want %v", p, want[i])
		}
	}
	if p := newHankel(x, 0.1).poles(4); p != nil {
		t.Errorf("four poles out of three exponentials: %v", p)
	}
}

// ring is a second-order system let go from 3 deg, about an attitude of 1.2 deg.
func ring(zeta, wn, lengthS float64) []float64 {
	wd := wn * math.Sqrt(1-zeta*zeta)
	x := make([]float64, int(lengthS/stepS))
	for i := range x {
		s := float64(i) * stepS
		x[i] = 0.021 + 0.05*math.Exp(-zeta*wn*s)*(math.Cos(wd*s)+zeta/math.Sqrt(1-zeta*zeta)*math.Sin(wd*s))
	}
	return x
}

// TestRingdownClosedForm: damping ratios -0.3 to 0.9 and the frequency exactly, with times
// to half and double ln 2/(|zeta| wn) (DM-2).
func TestRingdownClosedForm(t *testing.T) {
	const tol = 1e-6
	for _, zeta := range []float64{-0.3, -0.1, -0.02, 0.05, 0.109653, 0.3, 0.5, 0.7, 0.9} {
		for _, wn := range []float64{0.9, 2, 5} {
			r, ok := bestRingdown(ring(zeta, wn, 8), stepS)
			if !ok || len(r.pairs) == 0 {
				t.Errorf("zeta %g wn %g: no oscillation found", zeta, wn)
				continue
			}
			m, ok := r.mode(len(r.pairs) - 1)
			if !ok || math.Abs(m.DampingRatio.Value-zeta) > tol || math.Abs(m.FrequencyRadS.Value-wn) > tol*wn {
				t.Errorf("zeta %g wn %g: %v %v %v", zeta, wn, ok, m.DampingRatio, m.FrequencyRadS)
				continue
			}
			want := math.Ln2 / (math.Abs(zeta) * wn)
			if zeta > 0 && math.Abs(m.TimeToHalfS.Value-want) > 1e-3*want {
				t.Errorf("zeta %g wn %g: half in %g s, want %g", zeta, wn, m.TimeToHalfS.Value, want)
			}
			if zeta < 0 && math.Abs(m.TimeToDoubleS.Value-want) > 1e-3*want {
				t.Errorf("zeta %g wn %g: double in %g s, want %g", zeta, wn, m.TimeToDoubleS.Value, want)
			}
		}
	}
}

// TestRingdownScatter lets 200 systems go from 3 deg, damping -0.15 to 0.45, 1 to 4.5
// rad/s, for 8 s, under the noise of a cheap attitude sensor: the damping ratio must be
// within 0.03, and 95 % intervals must hold it in 90 to 99 % of the cases.
func TestRingdownScatter(t *testing.T) {
	const draws, worst = 200, 0.03
	rng := rand.New(rand.NewPCG(5, 6))
	found, damping, omega := 0, 0, 0
	for range draws {
		zeta, wn := -0.15+0.6*rng.Float64(), 1+3.5*rng.Float64()
		x := ring(zeta, wn, 8)
		for i := range x {
			x[i] += 0.03 * math.Pi / 180 * rng.NormFloat64()
		}
		r, ok := bestRingdown(x, stepS)
		if !ok {
			continue
		}
		for k := range r.pairs {
			m, ok := r.mode(k)
			if !ok || r.size[k] < leastClear*r.rms || math.Abs(m.FrequencyRadS.Value-wn) > 0.2*wn {
				continue
			}
			found++
			if math.Abs(m.DampingRatio.Value-zeta) > worst {
				t.Errorf("zeta %.3f wn %.2f: %v", zeta, wn, *m.DampingRatio)
			}
			if m.DampingRatio.Low <= zeta && zeta <= m.DampingRatio.High {
				damping++
			}
			if m.FrequencyRadS.Low <= wn && wn <= m.FrequencyRadS.High {
				omega++
			}
		}
	}
	if found < draws*95/100 {
		t.Errorf("%d of %d found", found, draws)
	}
	for _, in := range []int{damping, omega} {
		if share := float64(in) / float64(found); share < 0.90 || share > 0.99 {
			t.Errorf("intervals hold the truth in %.3f of the cases", share)
		}
	}
}
