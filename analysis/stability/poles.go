package stability

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"

	"hopcard/flight"
)

// pole is an oscillating pole in continuous time, s + i w per second, with its covariance.
type pole struct {
	s, w        float64
	vs, csw, vw float64
	// answer is its share in the motion that a push on the first input leaves: the root of
	// the energy of its impulse response, 0 if it is not one of a model with inputs.
	answer float64
}

// roots returns the roots of z^n + a1 z^(n-1) + ... + an.
func roots(a []float64) []complex128 {
	n := len(a)
	c := mat.NewDense(n, n, nil)
	for i := range a {
		c.Set(0, i, -a[i])
		if i > 0 {
			c.Set(i, i-1, 1)
		}
	}
	var e mat.Eigen
	if !e.Factorize(c, mat.EigenNone) {
		return nil
	}
	return e.Values(nil)
}

// slopeAt is the derivative of z^n + a1 z^(n-1) + ... at z.
func slopeAt(a []float64, z complex128) complex128 {
	n := len(a)
	slope := complex(float64(n), 0) * cmplx.Pow(z, complex(float64(n-1), 0))
	for k := 1; k < n; k++ {
		slope += complex(a[k-1]*float64(n-k), 0) * cmplx.Pow(z, complex(float64(n-k-1), 0))
	}
	return slope
}

// poles returns the oscillating poles of A, one of each pair. A root z moves by
// dz/da_k = -z^(n-k)/A'(z), its pole ln z / step by dz/(z step).
func (m *armax) poles(stepS float64) []pole {
	n := len(m.a)
	var out []pole
	for _, z := range roots(m.a) {
		if imag(z) < 1e-9 || cmplx.Abs(z) < 1e-3 {
			continue
		}
		slope := slopeAt(m.a, z)
		d := make([]complex128, len(m.alpha))
		for i, row := range m.dadp {
			for k, a := range row {
				d[i] -= complex(a, 0) * cmplx.Pow(z, complex(float64(n-1-k), 0)) / slope / z / complex(stepS, 0)
			}
		}
		p := cmplx.Log(z) / complex(stepS, 0)
		q := pole{s: real(p), w: imag(p)}
		for i := range d {
			for j := range d {
				v := m.cov.At(i, j)
				q.vs += real(d[i]) * real(d[j]) * v
				q.csw += real(d[i]) * imag(d[j]) * v
				q.vw += imag(d[i]) * imag(d[j]) * v
			}
		}
		q.answer = m.answer(z, slope)
		out = append(out, q)
	}
	return out
}

// answer returns the size of the residue of B/A at z over the root of its damping.
func (m *armax) answer(z, slope complex128) float64 {
	if len(m.b) == 0 {
		return 0
	}
	sum := complex(0, 0)
	for j, b := range m.b[0] {
		sum += complex(b, 0) * cmplx.Pow(z, complex(float64(len(m.a)-1-j), 0))
	}
	return cmplx.Abs(sum/slope) / math.Sqrt(max(math.Abs(1-real(z)*real(z)-imag(z)*imag(z)), 1e-6))
}

// near returns the pole of list that is most like p.
func (p pole) near(list []pole) (best pole, ok bool) {
	off := func(q pole) float64 { return math.Hypot(p.s-q.s, p.w-q.w) }
	for _, q := range list {
		if !ok || off(q) < off(best) {
			best, ok = q, true
		}
	}
	return best, ok
}

// agrees reports whether p and q lie within two standard deviations of q, and q says
// something: the difference of poles of two models of the same record, of which q's has
// more freedom (Hausman, Econometrica 46, 1978, from memory).
func (p pole) agrees(q pole) bool {
	return math.Abs(p.s-q.s) <= 2*math.Sqrt(q.vs) && math.Abs(p.w-q.w) <= 2*math.Sqrt(q.vw) &&
		q.vs+q.vw < 0.04*q.natural()*q.natural()
}

// doubted widens the covariance by how far a model about as good has the pole elsewhere.
func (p pole) doubted(q pole) pole {
	ds, dw := q.s-p.s, q.w-p.w
	p.vs += ds * ds
	p.csw += ds * dw
	p.vw += dw * dw
	return p
}

func (p pole) natural() float64 { return math.Hypot(p.s, p.w) }
func (p pole) damping() float64 { return -p.s / p.natural() }

// modeWith returns damping ratio, frequency and time to half or double, with intervals of q
// standard deviations by the first-order propagation of the covariance of s and w:
// d zeta/d s = -w^2/wn^3, d zeta/d w = s w/wn^3, d wn/d s = s/wn, d wn/d w = w/wn.
func (p pole) modeWith(q float64) Mode {
	s, w, wn := p.s, p.w, p.natural()
	ds, dw := -w*w/(wn*wn*wn), s*w/(wn*wn*wn)
	hz := q * math.Sqrt(max(ds*ds*p.vs+2*ds*dw*p.csw+dw*dw*p.vw, 0))
	hw := q * math.Sqrt(max(s*s*p.vs+2*s*w*p.csw+w*w*p.vw, 0)) / wn
	zeta := p.damping()
	m := Mode{
		FrequencyRadS: &flight.Estimate{Value: wn, Low: wn - hw, High: wn + hw},
		DampingRatio:  &flight.Estimate{Value: zeta, Low: zeta - hz, High: zeta + hz},
	}
	hs := q * math.Sqrt(p.vs)
	switch {
	case s+hs < 0:
		m.TimeToHalfS = &flight.Estimate{Value: -math.Ln2 / s, Low: -math.Ln2 / (s - hs), High: -math.Ln2 / (s + hs)}
	case s-hs > 0:
		m.TimeToDoubleS = &flight.Estimate{Value: math.Ln2 / s, Low: math.Ln2 / (s + hs), High: math.Ln2 / (s - hs)}
	}
	return m
}
