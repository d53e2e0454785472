package response

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// handling are the numbers ADS-33E-PRF (2000), 3.3.2.1 and figure 5, takes from the
// response of attitude to stick (from memory, checked against closed forms). NaN where
// the response does not define one.
type handling struct {
	w180, phaseBandwidth, gainBandwidth, bandwidth, phaseDelayS float64
	// top is where the phase is highest: what the phase bandwidth shrinks to before it
	// ceases to exist.
	top float64
}

// sixDB is 6 dB as a ratio of amplitudes, taken literally.
const sixDB = 1.9952623149688795

// handlingOf reads the numbers off smoothed log gain and phase.
//
// The search starts where the phase is highest: below the hover oscillation of an
// unstable aircraft the phase falls again, and crossings there are none of the kind
// meant. From there upward, the phase bandwidth is where the phase falls through -135
// deg, w180 where it falls through -180 deg. The gain bandwidth is the highest frequency
// below w180 at which the gain is 6 dB above that at w180. Phase delay is the fall of the
// phase from w180 to twice w180, over twice w180.
func handlingOf(c curve, lnGain, phase []float64) handling {
	nan := math.NaN()
	h := handling{nan, nan, nan, nan, nan, nan}
	if len(phase) < 2 {
		return h
	}
	top := 0
	for k, p := range phase {
		if p > phase[top] {
			top = k
		}
	}
	h.top = math.Exp(c.lnOmega[top])
	if w, ok := c.fallsThrough(phase, -0.75*math.Pi, top); ok {
		h.phaseBandwidth = math.Exp(w)
	}
	ln180, ok := c.fallsThrough(phase, -math.Pi, top)
	if ok {
		h.w180 = math.Exp(ln180)
		h.gainBandwidth = gainBandwidth(c, lnGain, ln180)
		if p, ok := c.interpolate(phase, ln180+math.Ln2); ok {
			h.phaseDelayS = (-math.Pi - p) / (2 * h.w180)
		}
	}
	// Of a rate response type the lesser of the two; where the gain never stands 6 dB
	// above, the phase bandwidth alone, as for an attitude response type.
	switch {
	case h.gainBandwidth < h.phaseBandwidth:
		h.bandwidth = h.gainBandwidth
	case h.gainBandwidth >= h.phaseBandwidth || !climbs(c, lnGain):
		h.bandwidth = h.phaseBandwidth
	}
	return h
}

// mostFlat is the slope of log gain over log frequency up to which the gain counts as level.
const mostFlat = 0.15

// climbs reports whether the gain still rises towards frequencies lower than were measured:
// it may then stand 6 dB above somewhere below, and the gain bandwidth be there.
func climbs(c curve, lnGain []float64) bool {
	up, ok := c.interpolate(lnGain, c.lnOmega[0]+math.Ln2)
	return !ok || lnGain[0]-up > mostFlat*math.Ln2
}

func gainBandwidth(c curve, lnGain []float64, ln180 float64) float64 {
	at, ok := c.interpolate(lnGain, ln180)
	if !ok {
		return math.NaN()
	}
	level := at + math.Log(sixDB)
	k := 0
	for k < len(c.lnOmega) && c.lnOmega[k] < ln180 {
		k++
	}
	// As fallsThrough, but from above.
	best, sum, most := -1, 0.0, math.Inf(-1)
	for k--; k > 0; k-- {
		sum += (level - lnGain[k]) / (c.sd[k] * c.sd[k])
		if lnGain[k-1] >= level && lnGain[k] < level && sum > most {
			best, most = k, sum
		}
		if best >= 0 && lnGain[k-1] > level+dipErrors*c.sd[k-1] {
			break
		}
	}
	if best < 0 {
		return math.NaN()
	}
	f := (lnGain[best-1] - level) / (lnGain[best-1] - lnGain[best])
	return math.Exp(c.lnOmega[best-1] + f*(c.lnOmega[best]-c.lnOmega[best-1]))
}

// handling fills in the phase lags and, for attitude, bandwidth and phase delay.
func (a *analyser) handling(r *Result, s *spectrum.Response, p *predictor) {
	c := carried(s, unwrapped(s))
	if len(c.phase) < 2 {
		a.lowCoherence(r)
		return
	}
	smooth := newSmoother(c)
	smoothed := smooth.apply(nil, c.phase)
	for _, at := range []struct {
		name string
		hz   float64
	}{{"0.5 Hz", 0.5}, {"1 Hz", 1}, {"2 Hz", 2}} {
		w := 2 * math.Pi * at.hz
		if phase, ok := c.interpolate(smoothed, math.Log(w)); ok {
			sd, _ := c.interpolate(c.sd, math.Log(w))
			r.addLag(at.name, w, phase*degPerRad, sd*degPerRad)
		}
	}
	if r.Output != Attitude {
		return
	}
	value := handlingOf(c, smooth.apply(nil, c.lnGain), smoothed)
	d := newDraws(c, p, a.settings, r.ClockHalfWidthS)
	samples := make([]handling, 0, a.settings.Draws)
	var gain, phase []float64
	for range a.settings.Draws {
		g, p := d.next()
		gain, phase = smooth.apply(gain, g), smooth.apply(phase, p)
		samples = append(samples, handlingOf(c, gain, phase))
	}
	for _, f := range []struct {
		dst **flight.Estimate
		of  func(handling) float64
	}{
		{&r.BandwidthGainRadS, func(s handling) float64 { return s.gainBandwidth }},
		{&r.PhaseDelayS, func(s handling) float64 { return s.phaseDelayS }},
	} {
		*f.dst = interval(value, samples, f.of)
	}
	// Where a sample's phase does not reach -180 deg, it may do so above what the coherence
	// carries: a number that ends there is no number.
	beyond := func(handling) float64 { return math.Inf(1) }
	r.W180RadS = intervalWith(value, samples, func(s handling) float64 { return s.w180 }, beyond)
	top := func(s handling) float64 { return s.top }
	r.BandwidthPhaseRadS = intervalWith(value, samples, func(s handling) float64 { return s.phaseBandwidth }, top)
	r.BandwidthRadS = intervalWith(value, samples, func(s handling) float64 { return s.bandwidth }, top)
	if r.BandwidthRadS != nil && r.PhaseDelayS != nil {
		r.BandwidthDelayCorrelation = together(samples)
	}
	if r.Axis == flight.YawAxis {
		return // held by heading, not by attitude: the numbers are not asked for
	}
	a.notMeasurable(r, c, smoothed)
	a.pilotCaution(r, value)
}

// together is the correlation of bandwidth and phase delay over the samples that have both.
func together(samples []handling) float64 {
	var bandwidths, delays []float64
	for _, s := range samples {
		if !math.IsNaN(s.bandwidth) && !math.IsNaN(s.phaseDelayS) {
			bandwidths, delays = append(bandwidths, s.bandwidth), append(delays, s.phaseDelayS)
		}
	}
	c := stat.Correlation(bandwidths, delays, nil)
	if math.IsNaN(c) {
		return 0
	}
	return c
}

// interval returns the estimate with the middle 95 % of the samples, or nil if it is not
// defined, or not in at least nine of ten samples: then the data do not decide whether
// there is such a number at all.
func interval(value handling, samples []handling, of func(handling) float64) *flight.Estimate {
	return intervalWith(value, samples, of, func(handling) float64 { return math.NaN() })
}

// intervalWith is interval with what stands for the number in samples that have none.
func intervalWith(value handling, samples []handling, of, instead func(handling) float64) *flight.Estimate {
	v := of(value)
	if math.IsNaN(v) {
		return nil
	}
	var all []float64
	undefined := 0
	for _, s := range samples {
		x := of(s)
		if math.IsNaN(x) {
			undefined++
			x = instead(s)
		}
		if !math.IsNaN(x) {
			all = append(all, x)
		}
	}
	if 10*undefined > len(samples) || len(all) == 0 {
		return nil
	}
	slices.Sort(all)
	e := flight.Estimate{Value: v, Low: min(v, quantile(all, 0.025)), High: max(v, quantile(all, 0.975))}
	if math.IsInf(e.High, 0) {
		return nil
	}
	return &e
}

// quantile interpolates in sorted values (Hyndman and Fan 1996, type 7).
func quantile(sorted []float64, p float64) float64 {
	x := p * float64(len(sorted)-1)
	k := int(x)
	if k >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	return sorted[k] + (x-float64(k))*(sorted[k+1]-sorted[k])
}
