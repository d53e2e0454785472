package wind

import (
	"math"
	"math/cmplx"

	"hopcard/analysis/spectrum"
)

const (
	// AwayS is the lead above which the anemometer stands away from the aircraft; below
	// it the aircraft's own following may be all there is.
	AwayS = 2.0
	// leadStandsOut is how many times the mean square of the answer its peak must reach.
	// Of unrelated records the largest of some sixty independent places stays below.
	leadStandsOut = 8
)

// leadS finds how long after the anemometer the aircraft answers the gusts; NaN if that
// does not stand out.
//
// A gust tilts the disc at once and the disc accelerates the fuselage, so that the high
// part of the answer is sharp in time. Its phase alone is used, weighted with coherence
// and frequency, as where delays between two sensors are found (phase transform, Knapp
// and Carter 1976, IEEE Trans. ASSP 24, 320): the peak of what it gives in time is the
// lead and the following time of aircraft and pilot, up to about one second.
func leadS(sp *spectrum.Spectra) float64 {
	const fromS, toS, stepS = -5.0, 20.0, 0.1
	n := int((toS-fromS)/stepS) + 1
	total := make([]float64, n)
	for _, p := range [2][3]int{{headGust, pitchOut, crossGust}, {crossGust, rollOut, headGust}} {
		r := sp.Solve(p[0], p[1], p[2])
		scale := 0.0
		h := make([]float64, n)
		for k, w := range r.OmegaRadS {
			size := cmplx.Abs(r.H[k])
			if w < 0.3 || w > 5 || !(size > 0) {
				continue
			}
			weight := w * spectrum.UnbiasedCoherence(r.Coherence[k], r.Averages[k])
			v := r.H[k] * complex(weight/size, 0)
			scale += weight
			turnBy(h, v, w*fromS, w*stepS)
		}
		if scale == 0 {
			continue
		}
		for i, v := range h {
			total[i] += v * v / (scale * scale)
		}
	}
	best, sum := 0, 0.0
	for i, v := range total {
		sum += v
		if v > total[best] {
			best = i
		}
	}
	if !(total[best] > leadStandsOut*sum/float64(n)) || best == 0 || best == n-1 {
		return math.NaN()
	}
	return fromS + float64(best)*stepS
}

// turnBy adds the real part of v turned by first, first+step, ... to h.
func turnBy(h []float64, v complex128, first, step float64) {
	v *= cmplx.Rect(1, first)
	turn := cmplx.Rect(1, step)
	for i := range h {
		h[i] += real(v)
		v *= turn
	}
}
