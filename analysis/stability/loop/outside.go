package loop

import (
	"context"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/analysis/segment/series"
	"hopcard/analysis/spectrum"
)

// What moves the aircraft from outside the loop of one axis, gusts above all and the other
// stick as far as it comes through, is what shows the pilot:
//
//	v = attitude - H stick
//
// has nothing to do with the noise of his hand. In still air there is no v. The attitude is then
// H times the stick and no more, its past and that of the stick say the same, and a
// predictor of the stick from both tells them apart by the noise of sensors only: its answer
// lies anywhere between the pilot and minus one over the aircraft, with errors that look small
// (feedback without a signal from outside, Gustavsson, Ljung and Söderström, Automatica 13,
// 1977, 59-75, from memory).

const (
	// leastOutside is the share of the attitude's power, mean over the band, that must come
	// from outside. On drawn hops (80 axes of each kind, other seeds than the study's) 19 of
	// 20 in still air lie below 0.06 and the margins of a third there miss their intervals;
	// from 0.06 on they hold. The share of a minute or two of record is uncertain by
	// 0.03, hence the tenth.
	leastOutside = 0.10
	// The band is that of the loop, where the aircraft was measured.
	outsideFromRadS, outsideToRadS = 0.5, 5.0
	// leastOutsidePoints is how many frequencies the band must hold.
	leastOutsidePoints = 4
	// Between noiseFromRadS and noiseToRadS a light helicopter no longer turns: what the
	// sensor of attitude shows there is its noise, which is taken as white.
	noiseFromRadS, noiseToRadS = 15.0, 25.0
)

// outside is what a record says about v.
type outside struct {
	// share is that of the attitude's power that comes from outside, less what the noise of
	// its sensor and the errors of the measured aircraft may make of it.
	share float64
	// excess and most are those of a verdict, with v as instrument.
	excess, most float64
}

// outsideOf measures what moves the aircraft from outside; known is false where the record is
// too short for that or the aircraft was not measured in the band.
func outsideOf(ctx context.Context, r *record, p *predictor, y *fitted, h *aircraft) (o outside, known bool, err error) {
	if h == nil {
		return o, false, nil
	}
	for _, windowS := range []float64{verdictWindowS, verdictWindowS / 2} {
		window := int(math.Round(windowS / gridStepS))
		s, err := spectrum.Estimate(ctx, r.whitenedRuns(p), gridStepS, spectrum.Settings{Window: window, MaxRadS: noiseToRadS})
		if err == nil {
			o, known = outsideIn(s, p, y, h, r.fused)
			return o, known, nil
		}
		if ctx.Err() != nil {
			return o, false, ctx.Err()
		}
	}
	return o, false, nil
}

// whitenedRuns are the stretches of regulating: stick and attitude made white by A of the
// predictor, which their ratio does not feel, and the noise of the attitude's sensor as it is.
func (r *record) whitenedRuns(p *predictor) (runs [][][]float64) {
	stick, attitude := p.whitenedOf(r.highStick), p.whitenedOf(r.highAttitude)
	for _, s := range r.usable(len(p.own), len(p.own)) {
		runs = append(runs, [][]float64{stick[s[0]:s[1]], attitude[s[0]:s[1]], r.noise[s[0]:s[1]]})
	}
	return runs
}

// outsideIn works out v from the spectra of stick, attitude and noise. With
// attitude = (v + H noise)/(1+L) the cross spectrum of v and attitude is what v makes of the
// attitude, and -S(v, stick)/S(v, attitude) the pilot. fused tells that the quick part of the
// attitude, and with it the noise there, is the rate's.
func outsideIn(s *spectrum.Spectra, p *predictor, y *fitted, h *aircraft, fused bool) (o outside, known bool) {
	stick, attitude, across := s.Auto(0), s.Auto(1), s.Cross(0, 1)
	floor := sensorNoise(s)
	var share, off, points, sum, judged float64
	next := 0.0
	for k, w := range s.OmegaRadS {
		if w < max(outsideFromRadS, h.w[0]) || w > min(outsideToRadS, h.w[len(h.w)-1]) {
			continue
		}
		craft, sd := h.at(w)
		back := cmplx.Conj(craft)
		vAttitude := complex(attitude[k], 0) - back*across[k]
		vStick := cmplx.Conj(across[k]) - back*complex(stick[k], 0)
		a, _ := p.parts(w)
		noise := floor * hann(w, smoothS) * hann(w, smoothS) * real(a*cmplx.Conj(a))
		if fused {
			noise *= hann(w, fuseS) * hann(w, fuseS)
		}
		share += (real(vAttitude) - noise) / attitude[k]
		off += sd * cmplx.Abs(craft*across[k]) / attitude[k]
		points++
		if w < next {
			continue
		}
		next = w + s.BandRadS
		form := y.at(w)
		hand := stick[k] + real(form*cmplx.Conj(form))*attitude[k] + 2*real(form*across[k])
		power := attitude[k] - 2*real(back*across[k]) + real(craft*back)*stick[k]
		scatter := math.Sqrt(hand*power/(2*s.Effective)) / cmplx.Abs(vAttitude)
		d := cmplx.Abs(vStick/vAttitude+form) / math.Hypot(scatter, y.relativeSD(w)*cmplx.Abs(form))
		sum += d * d
		judged++
	}
	if points < leastOutsidePoints {
		return o, false
	}
	o.share = (share - off) / points
	o.excess = sum / (2 * judged)
	o.most = distuv.ChiSquared{K: 2 * judged}.Quantile(0.99) / (2 * judged)
	if math.IsNaN(o.excess) {
		o.excess = 0 // no v at all: the share says it
	}
	return o, !math.IsNaN(o.share)
}

// sensorNoise is the density of the attitude's noise.
func sensorNoise(s *spectrum.Spectra) float64 {
	noise := s.Auto(2)
	var sum, points float64
	for k, w := range s.OmegaRadS {
		if w < noiseFromRadS || w > noiseToRadS {
			continue
		}
		g := hann(w, smoothS)
		sum += noise[k] / (g * g)
		points++
	}
	return sum / points
}

// hann is what a weight of Hann's form of a full width leaves of a sine at w, its transform.
func hann(w, widthS float64) float64 {
	x := w * widthS / 2
	if d := x*x/(math.Pi*math.Pi) - 1; math.Abs(d) > 1e-6 && x > 0 {
		return -math.Sin(x) / x / d
	} else if x > 0 {
		return 0.5
	}
	return 1
}

// noiseOf is the attitude's sensor without motion, as far as it can be told: what the integral
// of the rate took off it or, without a rate, all of it.
func noiseOf(raw, used []float64, fused bool) []float64 {
	if !fused {
		return series.Filled(raw)
	}
	out := make([]float64, len(raw))
	for t := range out {
		out[t] = raw[t] - used[t]
	}
	return series.Filled(out)
}

// at is the aircraft at w, which must lie in its band, and its relative standard deviation.
func (a *aircraft) at(w float64) (h complex128, sd float64) {
	k := 1
	for k < len(a.w)-1 && a.w[k] < w {
		k++
	}
	f := (w - a.w[k-1]) / (a.w[k] - a.w[k-1])
	mix := func(x []float64) float64 { return x[k-1] + f*(x[k]-x[k-1]) }
	return cmplx.Rect(math.Exp(mix(a.lnGain)), mix(a.phase)), mix(a.sd)
}
