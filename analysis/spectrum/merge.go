package spectrum

import "math"

// Merge joins the responses found with several window lengths into one, per frequency by
// least error. They must be in order of falling window length, each window half as long
// as the one before, and share their frequencies; the result has them. Points below
// a response's FromRadS take no part, but still serve to judge the next longer window.
//
// The error of a point has two parts. The random one shrinks with the number of averages
// (GainError). The other is leakage: a window that is short against the memory of the
// aircraft cuts off answers whose input it did not see, which turns the response by an
// amount that averaging does not remove. It falls with the window length at least as
// 1/length, so from one window to the next, half as long, it changes by no less than what
// is left of it in the longer one. So e^2 = sd^2 + |Hs/H - 1|^2/2, Hs from the shorter
// window, the mean taken over the neighbourhood; the responses are weighted by 1/e^2, and
// SD of the result holds e.
func Merge(rs ...*Response) *Response {
	if len(rs) == 0 {
		panic("spectrum: nothing to merge")
	}
	n := len(rs[0].OmegaRadS)
	out := &Response{
		OmegaRadS: rs[0].OmegaRadS,
		H:         make([]complex128, n), Coherence: make([]float64, n), Multiple: make([]float64, n),
		Averages: make([]float64, n), BandRadS: make([]float64, n), InputPower: make([]float64, n),
		SD: make([]float64, n),
	}
	leaks := make([][]float64, len(rs))
	for i := range rs {
		leaks[i] = leak(rs, i)
	}
	weight, e2 := make([]float64, len(rs)), make([]float64, len(rs))
	for k := range n {
		for i, r := range rs {
			e2[i] = errorSquare(r, k) + leaks[i][k]/2
		}
		mergeWeights(e2, weight)
		var ln, variance float64
		for i, r := range rs {
			w := weight[i]
			if w == 0 {
				continue
			}
			out.H[k] += complex(w, 0) * r.H[k]
			out.Coherence[k] += w * r.Coherence[k]
			out.Multiple[k] += w * r.Multiple[k]
			out.Averages[k] += w * r.Averages[k]
			out.InputPower[k] += w * r.InputPower[k]
			ln += w * math.Log(r.BandRadS[k])
			variance += w * e2[i]
		}
		out.BandRadS[k] = math.Exp(ln)
		out.SD[k] = math.Sqrt(variance)
	}
	return out
}

// errorSquare is the square of the random error of point k, +Inf if it shall not be used.
// The coherence is freed of its bias, so that few averages do not pass for good ones.
func errorSquare(r *Response, k int) float64 {
	n := r.Averages[k]
	if r.OmegaRadS[k] < r.FromRadS || !(n > 1) || math.IsNaN(real(r.H[k])) {
		return math.Inf(1)
	}
	e := GainError(UnbiasedCoherence(r.Coherence[k], n), n)
	return e * e
}

// mergeWeights writes the weights that belong to the squares of the errors, adding up to
// 1. If none is known the first stands alone.
func mergeWeights(e2, weight []float64) {
	var sum float64
	for i, e := range e2 {
		weight[i] = 0
		if !math.IsInf(e, 1) {
			weight[i] = 1 / (e + 1e-12)
			sum += weight[i]
		}
	}
	if sum == 0 {
		weight[0] = 1
		return
	}
	for i := range weight {
		weight[i] /= sum
	}
}

// leakReach is how many points to either side the change between windows is averaged over.
const leakReach = 4

// leak returns the squared relative error by leakage of response i at each frequency.
func leak(rs []*Response, i int) []float64 {
	r := rs[i]
	change := make([]float64, len(r.H))
	for k := range change {
		change[k] = math.NaN()
		switch {
		case i+1 < len(rs):
			change[k] = changeSquare(rs[i+1].H[k], r.H[k])
		case i > 0: // the shortest: twice what the next longer one has
			change[k] = 4 * changeSquare(r.H[k], rs[i-1].H[k])
		default:
			change[k] = 0 // one window alone: nothing to judge it by
		}
	}
	out := make([]float64, len(change))
	for k := range out {
		var n, sum float64
		for j := max(0, k-leakReach); j <= min(len(change)-1, k+leakReach); j++ {
			if v := change[j]; !math.IsNaN(v) {
				n++
				sum += v
			}
		}
		if n > 0 {
			out[k] = sum / n
		}
	}
	return out
}

// changeSquare is |a/b - 1|^2, at most 1: beyond that the responses have nothing in common.
func changeSquare(a, b complex128) float64 {
	d := a/b - 1
	return min(1, real(d)*real(d)+imag(d)*imag(d))
}
