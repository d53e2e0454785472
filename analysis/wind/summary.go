package wind

import (
	"math"
	"math/cmplx"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// summary is a response over one band, weighted by the power of the gust: the rms of the
// answer over that of the gust.
type summary struct {
	gain, sd  float64 // rad per m/s
	coherence float64
	ok        bool
}

// summarise forms the power-weighted mean square of the response over a band. The random
// part of each |H|^2, (1-c)/(c n)|H|^2, is taken off, because it would add to the mean
// square; neighbouring frequencies within the window's bandwidth share their errors.
func (a answers) summarise(r *spectrum.Response, band [2]float64) summary {
	var power, square, noise, spread, coherent, width, n float64
	for k, w := range r.OmegaRadS {
		if w < band[0] || w >= band[1] || cmplx.IsNaN(r.H[k]) || r.InputPower[k] <= 0 {
			continue
		}
		c := spectrum.UnbiasedCoherence(r.Coherence[k], r.Averages[k])
		h := cmplx.Abs(r.H[k])
		h *= a.passed(w)
		e := h * h * (1 - r.Coherence[k]) / (math.Max(r.Coherence[k], 1e-6) * r.Averages[k])
		p := r.InputPower[k]
		power += p
		square += p * h * h
		noise += p * e
		spread += p * h * math.Sqrt(e)
		coherent += p * c
		width = r.BandRadS[k]
		n++
	}
	if n == 0 || power == 0 {
		return summary{}
	}
	mean := (square - noise) / power
	if mean <= 0 {
		return summary{coherence: coherent / power}
	}
	independent := math.Max(1, (band[1]-band[0])/width)
	return summary{
		gain: math.Sqrt(mean), sd: math.Sqrt2 * spread / power / math.Sqrt(independent) / (2 * math.Sqrt(mean)),
		coherence: coherent / power, ok: true,
	}
}

// estimate returns the gain with its interval, nil if it is not told from nothing. From
// an anemometer that stands away the answer comes out low by the root of the coherence
// of the gust there and here. That is not known, but at least as high as the coherence
// of gust and answer, which bounds the true gain from above.
func (s summary) estimate(away bool) *flight.Estimate {
	if !s.ok || s.coherence < leastCoherence || s.sd > 0.5*s.gain {
		return nil
	}
	e := &flight.Estimate{Value: s.gain, Low: s.gain - 1.96*s.sd, High: s.gain + 1.96*s.sd}
	if away {
		e.High /= math.Sqrt(s.coherence)
	}
	return e
}
