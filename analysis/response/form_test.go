package response

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// Each form's own derivatives must be those of its values: central differences, whose error
// at this step is below 1e-7 of the derivative.
func TestFormDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	const h = 1e-5
	for _, f := range forms(priors{}) {
		for range 50 {
			p := append([]float64{}, f.starts[rng.IntN(len(f.starts))]...)
			for i := range p {
				p[i] += 0.3 * rng.NormFloat64()
			}
			s := complex(0, math.Exp(-1+4*rng.Float64()))
			grad := make([]complex128, len(p))
			f.logRate(p, s, grad)
			for i := range p {
				keep := p[i]
				p[i] = keep + h
				up := f.rate(p, s)
				p[i] = keep - h
				down := f.rate(p, s)
				p[i] = keep
				want := (cmplx.Log(up / down)) / (2 * h)
				if cmplx.Abs(grad[i]-want) > 1e-5*(1+cmplx.Abs(want)) {
					t.Fatalf("%s, %s at %g rad/s: %v, by differences %v", f.name, f.names[i], imag(s), grad[i], want)
				}
			}
		}
	}
}
