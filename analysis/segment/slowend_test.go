package segment

import (
	"math"
	"testing"

	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// TestPhaseIsTheIntegralOfFrequency compares the closed forms with sums by Simpson's rule.
func TestPhaseIsTheIntegralOfFrequency(t *testing.T) {
	const tol, steps = 1e-6, 2000
	for _, linear := range []bool{false, true} {
		c := law{linear: linear, atS: [2]float64{2, 40}, ln: [2]float64{math.Log(0.4), math.Log(9)}, phase0: 0.7}
		for _, at := range []float64{5, 20, 38} {
			h := (40 - at) / steps
			sum := c.omega(at) + c.omega(40)
			for i := 1; i < steps; i++ {
				sum += float64(2+2*(i%2)) * c.omega(at+float64(i)*h)
			}
			if got, want := c.phase(at), 0.7-sum*h/3; math.Abs(got-want) > tol {
				t.Errorf("linear %v: phase %.7f at %g s, want %.7f", linear, got, at, want)
			}
		}
	}
}

// TestFitFindsTheLaw starts the fit beside the law that the stick follows exactly, with trim
// and a known part on top: all of both must come back.
func TestFitFindsTheLaw(t *testing.T) {
	const tol = 1e-4
	want := law{atS: [2]float64{20, 50}, ln: [2]float64{math.Log(1.2), math.Log(8)}, phase0: 0.4}
	r := rows{stepS: rowStepS, n: 500, stick: make([]float64, 500)}
	one, known := make([]float64, r.n), make([]float64, r.n)
	for i := range r.stick {
		at := r.timeS(i)
		one[i], known[i] = 1, math.Sin(0.9*at)+math.Cos(2.3*at)
		r.stick[i] = 0.2 + 0.05*known[i]
		if p := want.phase(at); p >= -20*math.Pi {
			r.stick[i] += 0.04 * math.Sin(p)
		}
	}
	r.prepare([][]float64{one, known}, 0.9)
	start := want.moved([3]float64{0.01, -0.005, 0.2})
	got, sum := r.fit(start, -20*math.Pi)
	if sum > tol*r.free {
		t.Errorf("%.2g of the stick is left, want none", sum/r.free)
	}
	for k := range 2 {
		if math.Abs(got.ln[k]-want.ln[k]) > tol {
			t.Errorf("ln frequency %d is %.5f, want %.5f", k, got.ln[k], want.ln[k])
		}
	}
	if d := math.Remainder(got.phase0-want.phase0, math.Pi); math.Abs(d) > 10*tol {
		t.Errorf("phase off by %.5f", d)
	}
}

// TestSlowStrokesThatThePilotCancels flies sweeps whose first strokes the pilot takes out
// nearly as they come: the stick alone hardly shows them.
func TestSlowStrokesThatThePilotCancels(t *testing.T) {
	for seed := uint64(1); seed <= 4; seed++ {
		f := simulate.Fly(simulate.DrawExcited(seed, simulate.Sweep, 10))
		segs, _ := Find(f.Hop())
		for _, l := range f.Truth.Legs {
			if l.Leg.Kind != simulate.Sweep {
				continue
			}
			got := Inputs(segs, l.Leg.Axis, flight.Sweep)
			if len(got) != 1 || math.Abs(got[0].FromS-l.Span.FromS) > 2 || math.Abs(got[0].ToS-l.Span.ToS) > 1 {
				t.Errorf("seed %d: %s sweeps %v, want %v", seed, l.Leg.Axis, got, l.Span)
			}
		}
	}
}

// BenchmarkTwoSweeps: a hop of 2 min at 100 Hz with a sweep in each axis.
func BenchmarkTwoSweeps(b *testing.B) {
	h := simulate.Fly(simulate.DrawExcited(3, simulate.Sweep, 10)).Hop()
	for b.Loop() {
		Find(h)
	}
}
