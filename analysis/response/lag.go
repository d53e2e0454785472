package response

import (
	"math"
	"slices"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// lagWindowS is the window behind the correlation lag: long against any lag of interest.
const lagWindowS = 8

// leastPower is the input's least density, as a share of its highest, that counts.
const leastPower = 1e-4

// The lags searched for the peak.
const (
	lagFromS = -1.0
	lagToS   = 2.0
)

// plainWeight leaves the cross spectrum as it is.
func plainWeight(gain, coherence float64) float64 { return 1 }

// likelihoodWeight is the maximum likelihood weighting c/(|G| (1-c)) of Hannan and
// Thomson (Knapp and Carter 1976, IEEE Trans. ASSP-24(4), 320-327, table I).
func likelihoodWeight(gain, coherence float64) float64 {
	if !(gain > 0) {
		return 0
	}
	return coherence / (gain * max(1e-3, 1-coherence))
}

// correlationLag returns the lag at which the cross-correlation of input and output
// peaks: the inverse transform of the cross spectrum, evaluated on a fine grid and then
// refined, so that no sampling step shows. The interval follows from the phase errors of
// the bins (first order), with the clocks' share added. Nil if there is no peak inside
// the range searched.
func correlationLag(s *spectrum.Response, weight func(gain, coherence float64) float64, clockS float64) *flight.Estimate {
	type bin struct{ w, amp, phase, sd float64 }
	var bins []bin
	power := slices.Max(s.InputPower)
	for k, h := range s.H {
		// Below the window's resolution the trend is missing; where the stick has no power
		// there is leakage only.
		if s.OmegaRadS[k] <= s.BandRadS[k] || math.IsNaN(real(h)) || s.InputPower[k] < leastPower*power {
			continue
		}
		g := s.InputPower[k] * math.Hypot(real(h), imag(h))
		bins = append(bins, bin{s.OmegaRadS[k], g * weight(g, s.Coherence[k]), math.Atan2(imag(h), real(h)),
			spectrum.GainError(spectrum.UnbiasedCoherence(s.Coherence[k], s.Averages[k]), s.Averages[k])})
	}
	// Value, slope and curvature of the correlation at a lag.
	at := func(t float64) (r, d1, d2 float64) {
		for _, b := range bins {
			sin, cos := math.Sincos(b.w*t + b.phase)
			r += b.amp * cos
			d1 -= b.amp * b.w * sin
			d2 -= b.amp * b.w * b.w * cos
		}
		return r, d1, d2
	}
	best, peak := math.NaN(), 0.0
	const step = 0.02
	for t := lagFromS; t <= lagToS; t += step {
		if r, _, _ := at(t); r > peak {
			best, peak = t, r
		}
	}
	if math.IsNaN(best) || best <= lagFromS+step/2 || best >= lagToS-step/2 {
		return nil
	}
	var d2 float64
	for range 20 {
		_, d1, dd := at(best)
		d2 = dd
		if !(dd < 0) {
			return nil
		}
		best -= math.Max(-step, math.Min(step, d1/dd))
	}
	var variance float64
	for _, b := range bins {
		e := b.amp * b.w * math.Cos(b.w*best+b.phase) * min(b.sd, math.Pi)
		variance += e * e
	}
	// Neighbouring bins share their errors. The sum over all bins and windows scatters like
	// that over the bare record, with 2 pi/T of bandwidth to each independent bin; at three
	// quarters of overlap Ke is 2.08 times the number of window lengths in T.
	if len(bins) > 1 {
		variance *= max(1, 2.08*s.BandRadS[0]/1.5/(bins[1].w-bins[0].w))
	}
	half := math.Hypot(1.96*math.Sqrt(variance)/-d2, clockS)
	return &flight.Estimate{Value: best, Low: best - half, High: best + half}
}
