package stability

import (
	"math"
	"math/cmplx"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// hankel holds the singular values and vectors of a record's Hankel matrix, found once for
// every order.
type hankel struct {
	stepS  float64
	l      int // pencil parameter
	rows   int
	values []float64
	v      mat.Dense
}

// newHankel returns nil if the record is too short.
func newHankel(x []float64, stepS float64) *hankel {
	n := len(x)
	h := &hankel{stepS: stepS, l: n / 3} // between n/3 and n/2 noise matters least
	h.rows = n - h.l
	if h.l < 2 {
		return nil
	}
	m := mat.NewDense(h.rows, h.l+1, nil)
	for i := range h.rows {
		for j := range h.l + 1 {
			m.Set(i, j, x[i+j])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDThinV) {
		return nil
	}
	h.values = svd.Values(nil)
	svd.VTo(&h.v)
	return h
}

// poles returns order poles, per second, of a record that is a sum of that many
// exponentials, by the matrix pencil with singular value truncation (Hua and Sarkar, IEEE
// Trans. ASSP 38(5), 1990, pp. 814-824): with Y0 and Y1 the Hankel matrix without its
// last and its first column, the poles exp(p dt) are the eigenvalues of the pseudo-inverse
// of Y0 times Y1 on the leading singular vectors. It returns nil if the record is too
// short or holds fewer exponentials than asked for.
func (h *hankel) poles(order int) []complex128 {
	if h == nil || h.l < order+1 || h.rows < order+1 || !(h.values[order-1] > 1e-11*h.values[0]) {
		return nil
	}
	l, stepS := h.l, h.stepS
	v0 := h.v.Slice(0, l, 0, order)
	v1 := h.v.Slice(1, l+1, 0, order)
	var a mat.Dense
	if err := a.Solve(v0, v1); err != nil {
		return nil
	}
	var eigen mat.Eigen
	if !eigen.Factorize(&a, mat.EigenNone) {
		return nil
	}
	poles := make([]complex128, 0, order)
	for _, z := range eigen.Values(nil) {
		if cmplx.Abs(z) > 1e-9 {
			poles = append(poles, cmplx.Log(z)/complex(stepS, 0))
		}
	}
	sort.Slice(poles, func(i, j int) bool {
		if a, b := math.Abs(imag(poles[i])), math.Abs(imag(poles[j])); a != b {
			return a < b
		}
		if real(poles[i]) != real(poles[j]) {
			return real(poles[i]) < real(poles[j])
		}
		return imag(poles[i]) < imag(poles[j])
	})
	return poles
}
