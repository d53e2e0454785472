package spectrum

import "math"

// Merge joins the responses found with several window lengths into one, per frequency by
// least error. All must share their frequencies; the result has them.
//
// The error of one point has two parts. The random one shrinks with the number of
// averages (GainError). The other comes from leakage: a window that is short against the
// memory of the aircraft cuts off answers whose input it did not see, and averaging does
// not remove that. It shows as power the input does not explain. So the share of unexplained
// power a window has beyond the best of the others is charged as an error that does not
// average out: e^2 = (1-c)/(2 c n) + u/2, u = (1-c)/c - min (1-c)/c, with c freed of its
// bias. Windows are then weighted by 1/e^2, H and coherence alike, which keeps the result
// smooth where one length hands over to the next.
func Merge(rs ...*Response) *Response {
	if len(rs) == 0 {
		panic("spectrum: nothing to merge")
	}
	n := len(rs[0].OmegaRadS)
	out := &Response{
		OmegaRadS: rs[0].OmegaRadS,
		H:         make([]complex128, n), Coherence: make([]float64, n), Multiple: make([]float64, n),
		Averages: make([]float64, n), BandRadS: make([]float64, n), InputPower: make([]float64, n),
	}
	weight := make([]float64, len(rs))
	for k := range n {
		mergeWeights(rs, k, weight)
		var ln float64
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
		}
		out.BandRadS[k] = math.Exp(ln)
	}
	return out
}

// mergeWeights writes the weight of each response at frequency k; they add up to 1. A
// response without averages or with an undetermined point weighs nothing, unless all are
// like that: then the first one stands alone.
func mergeWeights(rs []*Response, k int, weight []float64) {
	least := math.Inf(1)
	for _, r := range rs {
		least = min(least, unexplained(r, k))
	}
	var sum float64
	for i, r := range rs {
		weight[i] = 0
		u := unexplained(r, k)
		if math.IsInf(u, 1) {
			continue
		}
		e2 := u/(2*r.Averages[k]) + (u-least)/2
		weight[i] = 1 / (e2 + 1e-12)
		sum += weight[i]
	}
	if sum == 0 {
		weight[0] = 1
		return
	}
	for i := range weight {
		weight[i] /= sum
	}
}

// unexplained returns (1-c)/c with c freed of its bias, +Inf where nothing is known.
func unexplained(r *Response, k int) float64 {
	n := r.Averages[k]
	if !(n > 1) || math.IsNaN(real(r.H[k])) {
		return math.Inf(1)
	}
	c := UnbiasedCoherence(r.Coherence[k], n)
	if !(c > 0) {
		return math.Inf(1)
	}
	return (1 - c) / c
}
