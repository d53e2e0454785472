package identify

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"hopcard/analysis/rotor"
)

// headOf is the mean of the hops' heads, weighted by what each tells of every combination of
// parameters (the inverses of their covariances), so that parameters which are only told
// together stay together. What no hop tells stands at the dimensions.
func (r *Result) headOf() rotor.Head {
	var fitted []rotor.Unknown
	for _, u := range rotor.Unknowns() {
		for i := range r.Hops {
			if f := r.Hops[i].held; f != nil && slices.Contains(f.Unknown, u) {
				fitted = append(fitted, u)
				break
			}
		}
	}
	n := len(fitted)
	if n == 0 {
		return r.Dimensions
	}
	information, right := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range r.Hops {
		if f := r.Hops[i].held; f != nil {
			addInformation(information, right, fitted, f)
		}
	}
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(information) || chol.SolveVecTo(&x, right) != nil {
		return r.firstHead() // hops that contradict in what they tell: never seen
	}
	return rotor.AtCoordinates(r.Dimensions, fitted, x.RawVector().Data)
}

func (r *Result) firstHead() rotor.Head {
	for i := range r.Hops {
		if f := r.Hops[i].held; f != nil {
			return f.Head
		}
	}
	return r.Dimensions
}

// addInformation adds the inverse of a hop's covariance, and that times its parameters.
func addInformation(information *mat.SymDense, right *mat.VecDense, fitted []rotor.Unknown, f *rotor.Fit) {
	n := len(f.Unknown)
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for k := i; k < n; k++ {
			cov.SetSym(i, k, f.Covariance[i][k])
		}
	}
	var chol mat.Cholesky
	var inverse mat.SymDense
	if !chol.Factorize(cov) || chol.InverseTo(&inverse) != nil {
		return
	}
	x := rotor.Coordinates(f.Head, f.Unknown)
	for i, u := range f.Unknown {
		a := slices.Index(fitted, u)
		sum := 0.0
		for k, v := range f.Unknown {
			b := slices.Index(fitted, v)
			sum += inverse.At(i, k) * x[k]
			if b >= a {
				information.SetSym(a, b, information.At(a, b)+inverse.At(i, k))
			}
		}
		right.SetVec(a, right.AtVec(a)+sum)
	}
}
