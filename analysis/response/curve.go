package response

import (
	"math"

	"hopcard/analysis/spectrum"
)

// curve is a response on a grid even in log frequency, as log gain and phase in rad, over
// the stretch of frequencies around the anchor that the data carry.
type curve struct {
	lnOmega  []float64
	lnGain   []float64
	phase    []float64
	sd       []float64 // of both, one standard deviation
	bandRadS []float64
}

// carriedCoherence is the least coherence of a point that bandwidth and delay may rest on
// (Tischler and others 1987, NASA TM 89422, use 0.6 as rule of thumb).
const carriedCoherence = 0.6

// carried cuts the stretch around the anchor out of r in which the coherence holds.
// Single points that dip are bridged: up to three, if the points on both sides hold. It
// returns a curve of no points if the anchor's surroundings do not carry.
func carried(r *spectrum.Response, phase []float64) curve {
	n := len(r.H)
	good := func(k int) bool {
		return k >= 0 && k < n && r.Coherence[k] >= carriedCoherence &&
			r.SD[k] < 0.5
	}
	start := nearestGood(anchorIndex(r), n, good)
	if !good(start) {
		return curve{}
	}
	reach := func(dir int) int {
		k := start
		for {
			switch {
			case good(k + dir):
				k += dir
			case good(k + 2*dir):
				k += 2 * dir
			case good(k + 3*dir):
				k += 3 * dir
			case good(k + 4*dir):
				k += 4 * dir
			default:
				return k
			}
		}
	}
	var c curve
	for k := reach(-1); k <= reach(1); k++ {
		h := r.H[k]
		c.lnOmega = append(c.lnOmega, math.Log(r.OmegaRadS[k]))
		c.lnGain = append(c.lnGain, math.Log(math.Hypot(real(h), imag(h))))
		c.phase = append(c.phase, phase[k])
		c.sd = append(c.sd, max(1e-9, r.SD[k]))
		c.bandRadS = append(c.bandRadS, r.BandRadS[k])
	}
	return c
}

// smoother is a linear smoother: local weighted quadratics in log frequency. One is made
// per curve and used for the curve and every sample of it.
type smoother struct {
	first  []int
	weight [][]float64
}

// smoothHalf is the half width of the local fits in log frequency: 12 % to either side,
// narrow against any bend of a response without a very lightly damped mode.
const smoothHalf = 0.12

func newSmoother(c curve) smoother {
	n := len(c.lnOmega)
	s := smoother{first: make([]int, n), weight: make([][]float64, n)}
	for k := range n {
		lo, hi := k, k
		for lo > 0 && c.lnOmega[k]-c.lnOmega[lo-1] < smoothHalf {
			lo--
		}
		for hi < n-1 && c.lnOmega[hi+1]-c.lnOmega[k] < smoothHalf {
			hi++
		}
		s.first[k] = lo
		s.weight[k] = localFit(c, k, lo, hi)
	}
	return s
}

// localFit returns the weights that turn the values lo..hi into the value at k of the
// quadratic fitted to them, weighted by distance (Cleveland 1979, tricube) and error.
func localFit(c curve, k, lo, hi int) []float64 {
	ws := make([]float64, hi-lo+1)
	if len(ws) < 4 {
		ws[k-lo] = 1
		return ws
	}
	var s [5]float64
	for i := range ws {
		x := (c.lnOmega[lo+i] - c.lnOmega[k]) / smoothHalf
		t := 1 - math.Abs(x*x*x)
		w := t * t * t / (c.sd[lo+i]*c.sd[lo+i] + 1e-6)
		ws[i] = w
		for p, xp := 0, 1.0; p < 5; p, xp = p+1, xp*x {
			s[p] += w * xp
		}
	}
	// First row of the inverse of [[s0 s1 s2][s1 s2 s3][s2 s3 s4]].
	a, b, d := s[2]*s[4]-s[3]*s[3], s[2]*s[3]-s[1]*s[4], s[1]*s[3]-s[2]*s[2]
	det := s[0]*a + s[1]*b + s[2]*d
	for i := range ws {
		x := (c.lnOmega[lo+i] - c.lnOmega[k]) / smoothHalf
		ws[i] *= (a + b*x + d*x*x) / det
	}
	return ws
}

func (s smoother) apply(dst, x []float64) []float64 {
	dst = dst[:0]
	for k, w := range s.weight {
		var v float64
		for i, f := range w {
			v += f * x[s.first[k]+i]
		}
		dst = append(dst, v)
	}
	return dst
}

// interpolate returns y at lnW, linear between the points; ok is false outside.
func (c curve) interpolate(y []float64, lnW float64) (v float64, ok bool) {
	n := len(c.lnOmega)
	if n < 2 || lnW < c.lnOmega[0] || lnW > c.lnOmega[n-1] {
		return 0, false
	}
	k := 1
	for k < n-1 && c.lnOmega[k] < lnW {
		k++
	}
	f := (lnW - c.lnOmega[k-1]) / (c.lnOmega[k] - c.lnOmega[k-1])
	return y[k-1] + f*(y[k]-y[k-1]), true
}

// dipErrors is how many standard deviations a curve must dip below a level for the dip not to be
// taken for noise.
const dipErrors = 2

// fallsThrough returns where y falls through level from index from on. A curve with errors
// crosses and recrosses the level, and the first of these crossings comes too early. So the
// crossing is that of the falling curve nearest to y by weighted least squares, which is where
// the sum of (y - level)/sd^2 from the start is greatest (isotonic regression: Barlow,
// Bartholomew, Bremner and Brunk 1972, Statistical Inference under Order Restrictions, section
// 1.2). Where y clearly dips below the level before, it is the first crossing after all.
func (c curve) fallsThrough(y []float64, level float64, from int) (lnW float64, ok bool) {
	best, sum, most := -1, 0.0, math.Inf(-1)
	for k := from; k < len(y)-1; k++ {
		sum += (y[k] - level) / (c.sd[k] * c.sd[k])
		if y[k] > level && y[k+1] <= level && sum > most {
			best, most = k, sum
		}
		if best >= 0 && y[k+1] < level-dipErrors*c.sd[k+1] {
			break
		}
	}
	if best < 0 {
		return 0, false
	}
	f := (y[best] - level) / (y[best] - y[best+1])
	return c.lnOmega[best] + f*(c.lnOmega[best+1]-c.lnOmega[best]), true
}
