package response

import (
	"math"
	"math/cmplx"
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

// A doublet for comparison: half a second each way, by a hand that follows within a tenth.
const (
	doubletS     = 0.5
	doubletHandS = 0.1
	// doubletToRadS is how far the coherence must hold for the answer to it to be known.
	doubletToRadS = 6
)

// doubletPower is the power of that doublet at w, in any unit.
func doubletPower(w float64) float64 {
	sin := math.Sin(w * doubletS / 2)
	side, hand := sin*sin/w, 1+w*w*doubletHandS*doubletHandS
	return side * side / hand
}

// asDoublet returns the response with a doublet in place of the stick as flown.
func asDoublet(s *spectrum.Response) *spectrum.Response {
	d := *s
	d.InputPower = make([]float64, len(s.OmegaRadS))
	for k, w := range s.OmegaRadS {
		if w > 0 {
			d.InputPower[k] = doubletPower(w)
		}
	}
	return &d
}

// lagBin is one frequency of a cross spectrum.
type lagBin struct{ w, amp, phase, sd float64 }

// lagBins are the bins of a response, driven with the stick as flown, that count.
func lagBins(s *spectrum.Response, weight func(gain, coherence float64) float64) []lagBin {
	var bins []lagBin
	power := slices.Max(s.InputPower)
	for k, h := range s.H {
		// Below the window's resolution the trend is missing; where the stick has no power
		// there is leakage only.
		if s.OmegaRadS[k] <= s.BandRadS[k] || math.IsNaN(real(h)) || s.InputPower[k] < leastPower*power {
			continue
		}
		g := s.InputPower[k] * math.Hypot(real(h), imag(h))
		bins = append(bins, lagBin{s.OmegaRadS[k], g * weight(g, s.Coherence[k]), math.Atan2(imag(h), real(h)),
			spectrum.GainError(spectrum.UnbiasedCoherence(s.Coherence[k], s.Averages[k]), s.Averages[k])})
	}
	return bins
}

// lagPeak returns where the cross-correlation of the bins peaks and its curvature there: the
// inverse transform of the cross spectrum, evaluated on a fine grid and then refined, so that
// no sampling step shows. ok is false if there is no peak inside the range searched.
func lagPeak(bins []lagBin) (lagS, curvature float64, ok bool) {
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
		return 0, 0, false
	}
	for range 20 {
		_, d1, d2 := at(best)
		curvature = d2
		if !(d2 < 0) {
			return 0, 0, false
		}
		move := math.Max(-step, math.Min(step, d1/d2))
		best -= move
		if math.Abs(move) < 1e-12 {
			break
		}
	}
	return best, curvature, true
}

// correlationLag returns the lag at which the cross-correlation of input and output
// peaks. The interval follows from the phase errors of the bins (first order), with the
// clocks' share added. Nil if there is no peak inside the range searched.
func correlationLag(s *spectrum.Response, weight func(gain, coherence float64) float64, clockS float64) *flight.Estimate {
	bins := lagBins(s, weight)
	best, d2, ok := lagPeak(bins)
	if !ok {
		return nil
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

// drivenLag is correlationLag with the predictor's response, times factor, in place of that
// of the spectra: the lag at which the motion that the stick alone makes correlates best with
// the stick as flown. The window behind the spectra is short against the memory of a slow
// bar, and leaves out what it did to the motion later; that alone draws the lag down by tens
// of milliseconds.
func (p *predictor) drivenLag(s *spectrum.Response, factor func(w float64) complex128, weight func(gain, coherence float64) float64,
	clockS float64) *flight.Estimate {
	driven := *s
	driven.H = make([]complex128, len(s.H))
	for k, w := range s.OmegaRadS {
		driven.H[k] = cmplx.NaN()
		if w > 0 {
			driven.H[k] = p.at(w, 0) * factor(w)
		}
	}
	bins := lagBins(&driven, weight)
	best, d2, ok := lagPeak(bins)
	if !ok {
		return nil
	}
	ws := make([]float64, len(bins))
	for i, b := range bins {
		ws[i] = b.w
	}
	// The slope of the correlation moves with every log gain and phase; the predictor says how
	// these move together.
	m := p.whitened(ws, 0)
	var variance float64
	for i := range m.Rows {
		var moved float64
		row := m.Data[i*m.Stride : i*m.Stride+m.Cols]
		for k, b := range bins {
			sin, cos := math.Sincos(b.w*best + b.phase)
			moved += b.amp * b.w * (sin*row[2*k] + cos*row[2*k+1])
		}
		variance += moved * moved
	}
	half := math.Hypot(1.96*math.Sqrt(variance)/-d2, clockS)
	return &flight.Estimate{Value: best, Low: best - half, High: best + half}
}
