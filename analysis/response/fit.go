package response

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// leastSquares minimises the sum of squares of residuals(p, out) from the start p by the
// Levenberg-Marquardt method (Marquardt 1963, J. SIAM 11(2), 431-441) with a Jacobian by
// differences. It returns the parameters, the sum of squares there and J'J; ok is false
// if nothing finite was found.
func leastSquares(p []float64, count int, residuals func(p, out []float64)) (best []float64, cost float64, normal *mat.SymDense, ok bool) {
	n := len(p)
	best = append([]float64{}, p...)
	r := make([]float64, count)
	trial := make([]float64, count)
	next := make([]float64, n)
	jac := make([][]float64, n)
	for i := range jac {
		jac[i] = make([]float64, count)
	}
	residuals(best, r)
	cost = sumSquares(r)
	if math.IsNaN(cost) || math.IsInf(cost, 0) {
		return nil, 0, nil, false
	}
	lambda := 1e-3
	for range 30 {
		jacobian(best, r, next, jac, residuals)
		normal = products(jac)
		improved := false
		for lambda < 1e10 {
			if !step(next, best, jac, r, normal, lambda) {
				lambda *= 10
				continue
			}
			residuals(next, trial)
			if c := sumSquares(trial); c < cost {
				gain := cost - c
				copy(best, next)
				copy(r, trial)
				cost = c
				lambda = max(1e-9, lambda/10)
				improved = gain > 1e-5*cost
				break
			}
			lambda *= 10
		}
		if !improved {
			break
		}
	}
	jacobian(best, r, next, jac, residuals)
	return best, cost, products(jac), true
}

func sumSquares(r []float64) (s float64) {
	for _, v := range r {
		s += v * v
	}
	return s
}

// jacobian writes the derivatives of the residuals by each parameter; scratch is as long
// as p.
func jacobian(p, r, scratch []float64, jac [][]float64, residuals func(p, out []float64)) {
	copy(scratch, p)
	for i := range p {
		h := 1e-6 * max(1, math.Abs(p[i]))
		scratch[i] = p[i] + h
		residuals(scratch, jac[i])
		scratch[i] = p[i]
		for k := range jac[i] {
			jac[i][k] = (jac[i][k] - r[k]) / h
		}
	}
}

func products(jac [][]float64) *mat.SymDense {
	m := mat.NewSymDense(len(jac), nil)
	for i, a := range jac {
		for j := i; j < len(jac); j++ {
			var s float64
			for k, v := range a {
				s += v * jac[j][k]
			}
			m.SetSym(i, j, s)
		}
	}
	return m
}

// step writes p less the damped Gauss-Newton step into next.
func step(next, p []float64, jac [][]float64, r []float64, normal *mat.SymDense, lambda float64) bool {
	n := len(p)
	damped := mat.NewSymDense(n, nil)
	damped.CopySym(normal)
	g := mat.NewVecDense(n, nil)
	for i := range n {
		damped.SetSym(i, i, normal.At(i, i)*(1+lambda)+1e-12)
		var s float64
		for k, v := range jac[i] {
			s += v * r[k]
		}
		g.SetVec(i, s)
	}
	var chol mat.Cholesky
	if !chol.Factorize(damped) {
		return false
	}
	var d mat.VecDense
	if err := chol.SolveVecTo(&d, g); err != nil {
		return false
	}
	for i := range n {
		next[i] = p[i] - d.AtVec(i)
	}
	return true
}
