package response

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// leastSquares minimises the sum of squares of residuals(p, out, jac) from the start p by
// the Levenberg-Marquardt method (Marquardt 1963, J. SIAM 11(2), 431-441). Where jac is not
// nil residuals writes the derivatives by each parameter to it. It returns the parameters,
// the sum of squares there and J'J; ok is false if nothing finite was found.
func leastSquares(p []float64, count int, residuals func(p, out []float64, jac [][]float64)) (best []float64, cost float64, normal *mat.SymDense, ok bool) {
	n := len(p)
	best = append([]float64{}, p...)
	r := make([]float64, count)
	trial := make([]float64, count)
	next := make([]float64, n)
	jac := make([][]float64, n)
	for i := range jac {
		jac[i] = make([]float64, count)
	}
	residuals(best, r, jac)
	cost = sumSquares(r)
	if math.IsNaN(cost) || math.IsInf(cost, 0) {
		return nil, 0, nil, false
	}
	lambda := 1e-3
	for range 30 {
		normal = products(jac)
		improved := false
		for lambda < 1e10 {
			if !step(next, best, jac, r, normal, lambda) {
				lambda *= 10
				continue
			}
			residuals(next, trial, nil)
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
		residuals(best, r, jac)
		if !improved {
			break
		}
	}
	return best, cost, products(jac), true
}

func sumSquares(r []float64) (s float64) {
	for _, v := range r {
		s += v * v
	}
	return s
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
	damped := blas64.Symmetric{Uplo: blas.Upper, N: n, Stride: n, Data: make([]float64, n*n)}
	copy(damped.Data, normal.RawSymmetric().Data)
	d := blas64.General{Rows: n, Cols: 1, Stride: 1, Data: make([]float64, n)}
	for i := range n {
		damped.Data[i*n+i] = normal.At(i, i)*(1+lambda) + 1e-12
		for k, v := range jac[i] {
			d.Data[i] += v * r[k]
		}
	}
	factor, ok := lapack64.Potrf(damped)
	if !ok {
		return false
	}
	lapack64.Potrs(factor, d)
	for i := range n {
		next[i] = p[i] - d.Data[i]
	}
	return true
}
