package stability

import (
	"math"
	"math/cmplx"
)

// hoverForm is A of an aircraft that hovers on its rotor alone. With m its damping from the
// disc's lag, h = g Mu what its own speed does to it, tau the following time of the disc and
// x the drag per speed and mass,
//
//	(tau s^3 + s^2 + m s) (s + x) + h (1 + tau s^2/m) = 0
//
// which for tau = 0 is the hover cubic s (s + m) (s + x) + h = 0 (Hohenemser 1946; Padfield,
// Helicopter Flight Dynamics, ch. 4; from memory).
type hoverForm struct{ stepS float64 }

// The parameters of hoverForm.
const (
	hoverDamping = iota // m, 1/s
	hoverSpeed          // h, 1/s^3
	hoverDisc           // tau, s
	hoverDrag           // x, 1/s
)

// before returns what is known of a parameter before the hop is looked at, as mean and
// standard deviation; 0 for nothing. A disc follows within 16/(gamma Omega): Lock numbers
// of 4 to 8 at 40 to 60 rad/s make 0.03 to 0.1 s. The drag of light helicopters about the
// hover takes 0.5 to 1 minute to stop them.
func (f hoverForm) before(parameter int) (mean, sd float64) {
	switch parameter {
	case hoverDisc:
		return 0.06, 0.015
	case hoverDrag:
		return usualDrag, 0.015
	}
	return 0, 0
}

const usualDrag = 0.03

func (f hoverForm) order() int { return 4 }

func (f hoverForm) coefficients(alpha []float64) ([]float64, [][]float64, bool) {
	for i, most := range []float64{15, 20, 0.2, 0.2} {
		if !(alpha[i] > 1e-4 && alpha[i] < most) {
			return nil, nil, false
		}
	}
	a := f.discrete(alpha)
	d := make([][]float64, len(alpha))
	for i := range d {
		const rel = 1e-5
		up, down := append([]float64(nil), alpha...), append([]float64(nil), alpha...)
		up[i] *= 1 + rel
		down[i] *= 1 - rel
		u, v := f.discrete(up), f.discrete(down)
		d[i] = make([]float64, len(a))
		for k := range u {
			d[i][k] = (u[k] - v[k]) / (up[i] - down[i])
		}
	}
	return a, d, true
}

// polynomial returns the coefficients of the motion in s, highest first, the first 1.
func (f hoverForm) polynomial(alpha []float64) []float64 {
	m, h, tau, x := alpha[hoverDamping], alpha[hoverSpeed], alpha[hoverDisc], alpha[hoverDrag]
	return []float64{1, (1 + tau*x) / tau, (x + m + h*tau/m) / tau, m * x / tau, h / tau}
}

// discrete returns a1, a2, ... of the poles exp(s step).
func (f hoverForm) discrete(alpha []float64) []float64 {
	p := []complex128{1}
	for _, s := range roots(f.polynomial(alpha)[1:]) {
		z := cmplx.Exp(s * complex(f.stepS, 0))
		next := make([]complex128, len(p)+1)
		for i, c := range p {
			next[i] += c
			next[i+1] -= c * z
		}
		p = next
	}
	out := make([]float64, len(p)-1)
	for i := range out {
		out[i] = real(p[i+1])
	}
	return out
}

// lessDrag returns the input with the zero that drag gives it: no stick holds an attitude
// for long, since the aircraft then gathers speed until the rotor flaps back.
func lessDrag(u []float64, x, stepS float64) []float64 {
	f := math.Exp(-x * stepS)
	out := make([]float64, len(u))
	for i := 1; i < len(u); i++ {
		out[i] = u[i] - f*u[i-1]
	}
	return out
}
