package stability

import (
	"math"
	"math/cmplx"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/simulate"
)

// TestHoverFormPublished: RO-13 of the reference list, a light teetering rotor without a bar
// (computed with NumPy 1.24 from its four states).
func TestHoverFormPublished(t *testing.T) {
	const tol = 1e-5
	tau, stiff := 16/(5.0*55), 15.50677
	f := hoverForm{0.2}
	alpha := []float64{stiff * tau, 9.80665 * stiff * 0.3 / (55 * 3), tau, 0.03}
	want := []complex128{-16.21088, -1.20102, complex(0.0971965, 0.4843918), complex(0.0971965, -0.4843918)}
	for _, s := range roots(f.polynomial(alpha)[1:]) {
		off := math.Inf(1)
		for _, w := range want {
			off = min(off, cmplx.Abs(s-w))
		}
		if off > tol {
			t.Errorf("root %.6f, want one of %.6f", s, want)
		}
	}
}

// TestHoverFormIsTheRotor: with the numbers of a rotor head, the form has its modes.
func TestHoverFormIsTheRotor(t *testing.T) {
	h := simulate.BareHead()
	m, err := rotor.NewModel(h)
	if err != nil {
		t.Fatal(err)
	}
	ku, tau := h.SpeedTiltRadPerMS(), h.DiscTimeS()
	for stiff, drag := range map[float64]float64{h.PitchStiffnessPerS2(): -h.XuPerS, h.RollStiffnessPerS2(): -h.YvPerS} {
		f := hoverForm{0.2}
		for _, s := range roots(f.polynomial([]float64{stiff * tau, 9.80665 * stiff * ku, tau, drag})[1:]) {
			off := math.Inf(1)
			for _, mode := range m.Modes() {
				off = min(off, cmplx.Abs(s-mode.Eigenvalue), cmplx.Abs(cmplx.Conj(s)-mode.Eigenvalue))
			}
			if off > 1e-9 {
				t.Errorf("root %v is %.2g off the rotor's modes", s, off)
			}
		}
	}
}

// TestHoverDerivatives against differences of another size.
func TestHoverDerivatives(t *testing.T) {
	f := hoverForm{0.2}
	alpha := []float64{1.3, 0.36, 0.066, 0.03}
	_, d, ok := f.coefficients(alpha)
	if !ok {
		t.Fatal("no model")
	}
	for i := range alpha {
		up := append([]float64(nil), alpha...)
		up[i] *= 1 + 1e-4
		a, b := f.discrete(up), f.discrete(alpha)
		for k := range a {
			want := (a[k] - b[k]) / (up[i] - alpha[i])
			if math.Abs(d[i][k]-want) > 1e-3*(math.Abs(want)+0.1) {
				t.Errorf("da%d/dp%d %.6g, want %.6g", k+1, i, d[i][k], want)
			}
		}
	}
	if _, _, ok := f.coefficients([]float64{-1, 0.3, 0.06, 0.03}); ok {
		t.Error("negative damping of the disc's lag taken")
	}
}
