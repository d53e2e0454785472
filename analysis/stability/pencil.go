package stability

import (
	"math"
	"math/cmplx"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// pencil returns the order poles, per second, of a record that is a sum of that many
// exponentials, by the matrix pencil with singular value truncation (Hua and Sarkar, IEEE
// Trans. ASSP 38(5), 1990, pp. 814-824): with Y0 and Y1 the Hankel matrix without its
// last and its first column, the poles exp(p dt) are the eigenvalues of the pseudo-inverse
// of Y0 times Y1 on the leading singular vectors. It returns nil if the record is too
// short or holds fewer exponentials than asked for.
func pencil(x []float64, stepS float64, order int) []complex128 {
	n := len(x)
	l := n / 3 // pencil parameter between n/3 and n/2 is least touched by noise
	if l < order+1 || n-l < order+1 {
		return nil
	}
	hankel := mat.NewDense(n-l, l+1, nil)
	for i := range n - l {
		for j := range l + 1 {
			hankel.Set(i, j, x[i+j])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(hankel, mat.SVDThin) {
		return nil
	}
	values := svd.Values(nil)
	if !(values[order-1] > 1e-11*values[0]) {
		return nil
	}
	var v mat.Dense
	svd.VTo(&v)
	v0 := v.Slice(0, l, 0, order)
	v1 := v.Slice(1, l+1, 0, order)
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
