package simulate

import (
	"gonum.org/v1/gonum/mat"

	"hopcard/analysis/rotor"
)

// stepper advances a linear model by one step with inputs that go in a straight line from
// start to end: x1 = F x0 + G i0 + R (i1 - i0). The three matrices come from one matrix
// exponential (Van Loan, IEEE Trans. Automatic Control 23(3), 1978, 395-404).
type stepper struct {
	n       int
	f, g, r []float64 // row by row, g and r with four columns
	scratch []float64
}

func newStepper(m *rotor.Model, stepS float64) *stepper {
	n := m.Order()
	big := mat.NewDense(n+8, n+8, nil)
	for i := range n {
		for j, a := range m.A[i] {
			big.Set(i, j, a*stepS)
		}
		for j, b := range m.B[i] {
			big.Set(i, n+j, b*stepS)
		}
	}
	for j := range 4 {
		big.Set(n+j, n+4+j, 1)
	}
	var e mat.Dense
	e.Exp(big)
	s := &stepper{n: n, scratch: make([]float64, n)}
	for i := range n {
		row := e.RawRowView(i)
		s.f = append(s.f, row[:n]...)
		s.g = append(s.g, row[n:n+4]...)
		s.r = append(s.r, row[n+4:n+8]...)
	}
	return s
}

// step overwrites x with the state at the end of the step.
func (s *stepper) step(x []float64, from, to *[4]float64) {
	n := s.n
	for i := range n {
		sum := 0.0
		for j, f := range s.f[i*n : i*n+n] {
			sum += f * x[j]
		}
		for j := range 4 {
			sum += s.g[i*4+j]*from[j] + s.r[i*4+j]*(to[j]-from[j])
		}
		s.scratch[i] = sum
	}
	copy(x, s.scratch)
}
