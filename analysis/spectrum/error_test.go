package spectrum

import (
	"context"
	"math"
	"math/cmplx"
	"slices"
	"testing"
)

// Bendat and Piersol, Random Data (4th ed. 2010), table 9.6.
func TestRandomErrors(t *testing.T) {
	for _, c := range []struct{ c, n, gain, phaseDeg, coherence float64 }{
		{0.8, 10, 0.111803, 6.4059, 0.1000}, {0.6, 16, 0.144338, 8.2699, 0.18257},
		{0.9, 20, 0.0527046, 3.0198, math.NaN()}, {0.6, 64, 0.0721688, 4.1350, math.NaN()},
	} {
		e := GainError(c.c, c.n)
		near(t, "gain error", e, c.gain, 1e-4*c.gain)
		near(t, "phase error in deg", e*180/math.Pi, c.phaseDeg, 1e-4*c.phaseDeg)
		if !math.IsNaN(c.coherence) {
			near(t, "coherence error", CoherenceError(c.c, c.n), c.coherence, 1e-4*c.coherence)
		}
	}
	if !math.IsInf(GainError(0, 10), 1) || !math.IsInf(GainError(0.5, 0), 1) || !math.IsInf(CoherenceError(0, 3), 1) {
		t.Error("without coherence or averages the error must be infinite")
	}
}

// Carter, Knapp and Nuttall 1973 (IEEE Trans. AU-21(4), 337-344): level exceeded by chance.
func TestCriticalCoherence(t *testing.T) {
	for _, c := range []struct{ n, alpha, want float64 }{
		{5, 0.05, 0.52713}, {8, 0.05, 0.34816}, {10, 0.05, 0.28313}, {16, 0.05, 0.18104},
		{20, 0.05, 0.14587}, {32, 0.05, 0.09211}, {10, 0.01, 0.40052}, {1, 0.05, 1},
	} {
		near(t, "critical coherence", CriticalCoherence(c.n, c.alpha), c.want, 1e-5)
	}
}

// The same paper's exact means of the estimate; the correction is good to order 1/n.
func TestUnbiasedCoherence(t *testing.T) {
	for _, c := range []struct{ true, n, mean, tol float64 }{
		{0.3, 8, 0.36575, 0.012}, {0.5, 16, 0.51663, 0.002}, {0.8, 10, 0.80474, 0.001}, {0.6, 32, 0.60519, 0.0005},
	} {
		near(t, "unbiased coherence", UnbiasedCoherence(c.mean, c.n), c.true, c.tol)
	}
	if c := UnbiasedCoherence(0.05, 8); c != 0 {
		t.Errorf("below the level of chance: %g, want 0", c)
	}
	if c := UnbiasedCoherence(1, 8); c != 1 {
		t.Errorf("of full coherence: %g, want 1", c)
	}
}

// End to end: true coherence 0.8, 16 windows at half overlap; over many records the phase
// must scatter as the formula with Ke says (5.19 deg; 5.37 seen elsewhere in 400 runs), and
// the scatter printed must be that.
func TestPhaseScatterEndToEnd(t *testing.T) {
	const n, k, runs = 64, 16, 400
	length := n/2*(k-1) + n
	var phases, printed []float64
	for i := range runs {
		x, e := noise(uint64(2*i+1), length), noise(uint64(2*i+2), length)
		y := make([]float64, length)
		for j := range y {
			y[j] = x[j] + 0.5*e[j] // coherence 1/(1+0.25)
		}
		r := estimate(t, 1, Settings{Window: n}, [][]float64{x, y}).Solve(0, 1)
		phases = append(phases, cmplx.Phase(r.H[10])*180/math.Pi)
		printed = append(printed, GainError(r.Coherence[10], r.Averages[10])*180/math.Pi)
	}
	var square float64
	for _, p := range phases {
		square += p * p / runs
	}
	sd := math.Sqrt(square)
	slices.Sort(printed)
	if sd < 5.0-0.4 || sd > 5.8 { // 400 runs know a scatter to 3.5 %
		t.Errorf("phase scatters by %.2f deg, want 5.0 to 5.8", sd)
	}
	if p := printed[runs/2]; math.Abs(p/sd-1) > 0.15 {
		t.Errorf("printed scatter %.2f deg against %.2f seen", p, sd)
	}
}

// Wellstead 1978 (Automatica 14): with test input r and disturbance v the response measured
// in the loop u = r - C y, y = G u + v is (G Sr - conj(C) Sv)/(Sr + |C|^2 Sv): with no test
// input, -1/C. Here with known spectra instead of records, through Solve; with r as a
// second channel the cross spectra give G itself.
func TestClosedLoopBias(t *testing.T) {
	const w = 3.0
	g := 2 * cmplx.Exp(complex(0, -0.1*w)) / (complex(0, w) * complex(1, 0.3*w))
	c := 1.2 * cmplx.Exp(complex(0, -0.3*w))
	for _, p := range []struct{ ratio, gain, phaseDeg float64 }{
		{10, 0.53255, -145.176}, {1, 0.68551, -134.457}, {0, 0.83333, -128.434},
	} {
		loop := 1 / (1 + g*c)
		// u = (r - C v) loop, y = (G r + v) loop
		conj := func(z complex128) complex128 { return complex(real(z), -imag(z)) }
		r := complex(p.ratio, 0)
		uu := (r + c*conj(c)) * loop * conj(loop)
		uy := (g*r - conj(c)) * loop * conj(loop)
		yy := (g*conj(g)*r + 1) * loop * conj(loop)
		s := &Spectra{OmegaRadS: []float64{w}, Effective: 1e9, channels: 2, g: [][]complex128{{uu}, {uy}, {yy}}}
		h := s.Solve(0, 1).H[0]
		near(t, "gain in the loop", cmplx.Abs(h), p.gain, 1e-4*p.gain)
		near(t, "phase in the loop", cmplx.Phase(h)*180/math.Pi, p.phaseDeg, 1e-3)
		if p.ratio > 0 {
			near(t, "gain from the test input", cmplx.Abs((g*r*loop)/(r*loop)), 0.49553, 1e-4)
		}
	}
}

// Bendat and Piersol, chapters 6 and 7: output noise as strong as the answer halves the
// coherence; input noise at a quarter of the input's power takes a fifth off the gain.
func TestNoiseOnOutputAndInput(t *testing.T) {
	x, e, m := noise(11, 200000), noise(12, 200000), noise(13, 200000)
	y := make([]float64, len(x))
	seen := make([]float64, len(x))
	for k := range x {
		y[k] = x[k] + e[k]
		seen[k] = x[k] + 0.5*m[k]
	}
	s, err := Estimate(context.Background(), [][][]float64{{x, y, seen}}, 1, Settings{Window: 256})
	if err != nil {
		t.Fatal(err)
	}
	var c, h float64
	for k := 2; k < 126; k++ {
		c += s.Coherence(0, 1)[k] / 124
		h += cmplx.Abs(s.Solve(2, 0).H[k]) / 124
	}
	near(t, "coherence", c, 0.5, 0.01)
	near(t, "gain", h, 0.8, 0.01)
}
