package response

import (
	"math"
	"math/cmplx"
	"sort"

	"hopcard/analysis/spectrum"
)

const degPerRad = 180 / math.Pi

// anchorRadS is where the branch of the phase is fixed.
const anchorRadS = 2

// gainDB is |h|, in rad per fraction of travel, as decibels re 1 deg per percent.
func gainDB(h complex128) float64 {
	return 20 * math.Log10(cmplx.Abs(h)*degPerRad/100)
}

// unwrapped returns the phase of r in rad, continuous from point to point outward from
// the anchor, and in (-270, 90] deg there. A point whose phase is noise is stepped over:
// the next is continued from the last one that was not.
func unwrapped(r *spectrum.Response) []float64 {
	n := len(r.H)
	phase := make([]float64, n)
	good := func(k int) bool { return r.SD[k] < 0.5 }
	start := nearestGood(anchorIndex(r), n, good)
	ref := cmplx.Phase(r.H[start])
	ref = place(ref, -math.Pi/2)
	phase[start] = ref
	for _, dir := range []int{1, -1} {
		last := ref
		for k := start + dir; k >= 0 && k < n; k += dir {
			phase[k] = place(cmplx.Phase(r.H[k]), last)
			if good(k) {
				last = phase[k]
			}
		}
	}
	return phase
}

// anchorIndex is the first point at or above the anchor, the last if there is none.
func anchorIndex(r *spectrum.Response) int {
	return min(sort.SearchFloat64s(r.OmegaRadS, anchorRadS), len(r.OmegaRadS)-1)
}

// nearestGood returns the index nearest to from that is good, from itself if none is.
func nearestGood(from, n int, good func(int) bool) int {
	for d := range n {
		for _, k := range []int{from + d, from - d} {
			if k >= 0 && k < n && good(k) {
				return k
			}
		}
	}
	return from
}

// place moves the angle by whole turns into (near - pi, near + pi].
func place(angle, near float64) float64 {
	if math.IsNaN(angle) {
		return near
	}
	return angle - 2*math.Pi*math.Ceil((angle-near-math.Pi)/(2*math.Pi))
}
