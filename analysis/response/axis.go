package response

import (
	"math"
	"math/cmplx"
	"slices"

	"github.com/sourcegraph/conc"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// measured is what one axis gave, before it is decided what of it may be shown.
type measured struct {
	ax      axisChannels
	results []Result
	leads   *flight.Estimate // by how many seconds the motion leads the stick
	// The predictors behind attitude and rate (of its integral); nil where there is none.
	attitude, rate *predictor
	apart          float64 // by how much predictors and spectra differ
	// The responses, and that to rate on its own bins for the correlation lag.
	toAttitude, toRate, lags *spectrum.Response
}

// axis measures the responses of one axis; it returns nil where there is none.
func (a *analyser) axis(j job) *measured {
	ax, g := j.ax, j.group()
	if len(g.runs) > 0 && !g.moves(g.stick, stillTravel) {
		a.stickStill(ax)
		return nil
	}
	g.dropIdle()
	att, rate, lags := a.measure(g)
	if att == nil && rate == nil {
		a.tooShort(ax, spansOf(g.runs))
		return nil
	}
	if !answers(att) && !answers(rate) {
		a.noResponse(ax, spansOf(g.runs))
		return nil
	}
	m := &measured{ax: ax}
	var lag, weighted, doublet *flight.Estimate
	if rate != nil {
		clockS := a.clockHalfWidthS(ax.stick, ax.rate)
		lag = correlationLag(lags, plainWeight, clockS)
		weighted = correlationLag(lags, likelihoodWeight, clockS)
		m.leads = leads(rate, lag)
	}
	if m.leads == nil {
		// No predictor from the past can describe a motion that comes before the stick.
		att, rate = m.refine(g, att, rate)
		if m.apart > mostApart {
			a.drawnOff(m, spansOf(g.runs))
		}
		if lag != nil && m.rate != nil {
			clockS := a.clockHalfWidthS(ax.stick, ax.rate)
			// As the stick was flown, whatever of it went with the other inputs.
			lags := *lags
			lags.InputPower = g.spectrumFor(lagWindowS, a.settings.WindowsS).Auto(g.stick)
			lag, weighted = m.drivenLag(&lags, plainWeight, lag, clockS), m.drivenLag(&lags, likelihoodWeight, weighted, clockS)
			if c := carried(rate, unwrapped(rate)); len(c.lnOmega) > 0 && c.lnOmega[len(c.lnOmega)-1] >= math.Log(doubletToRadS) {
				d := asDoublet(&lags)
				doublet = m.drivenLag(d, plainWeight, correlationLag(d, plainWeight, clockS), clockS)
			}
		}
	}
	if att != nil {
		r := a.result(ax, Attitude, att, g)
		r.ClockHalfWidthS = a.clockHalfWidthS(ax.stick, ax.attitude)
		a.handling(&r, att, m.attitude)
		m.results = append(m.results, r)
	}
	if rate != nil {
		r := a.result(ax, Rate, rate, g)
		r.ClockHalfWidthS = a.clockHalfWidthS(ax.stick, ax.rate)
		a.handling(&r, rate, m.rate)
		r.CorrelationLagS, r.WeightedCorrelationLagS, r.DoubletLagS = lag, weighted, doublet
		m.results = append(m.results, r)
	}
	m.lagAtW180()
	if m.leads == nil {
		a.closed(m, g)
	}
	for i := range m.results {
		m.results[i].Apart = m.apart
	}
	m.toAttitude, m.toRate, m.lags = att, rate, lags
	return m
}

// drivenLag is the lag by both ways of measuring, in weights of their errors. That by the spectra
// scatters less, but its window is short against the memory of a slow bar, and the pilot's answers
// to gusts are in it: what it differs by from that by the predictor, beyond what the two
// variances allow (Hausman 1978, Econometrica 46(6), 1251-1271), is charged to it. Part of the
// difference is charged to the predictor too, because its memory is limited like the window,
// only less: on simulated heads it was off by up to 0.4 of the difference. All of it is where
// the two responses differ too much.
func (m *measured) drivenLag(lags *spectrum.Response, weight func(gain, coherence float64) float64, bySpectra *flight.Estimate,
	clockS float64) *flight.Estimate {
	e := m.rate.drivenLag(lags, func(w float64) complex128 { return 1 / integral(w) }, weight, 0)
	if e == nil {
		return nil
	}
	value, square := e.Value, squareOf(e)
	if bySpectra != nil {
		d := e.Value - bySpectra.Value
		own := squareOf(bySpectra)
		own -= min(own, clockS*clockS/1.96/1.96)
		excess := max(0, d*d-math.Abs(square-own))
		own += excess
		charged := excess / 4
		if m.apart > mostApart {
			charged, own = d*d, own+d*d
		}
		square += charged / 1.96 / 1.96
		share := square / (square + own)
		value = share*bySpectra.Value + (1-share)*e.Value
		// Both come from one record: their errors go together by about a half.
		square = share*share*own + (1-share)*(1-share)*square + share*(1-share)*math.Sqrt(own*square)
	}
	half := math.Hypot(1.96*math.Sqrt(square), clockS)
	return &flight.Estimate{Value: value, Low: value - half, High: value + half}
}

// squareOf is the variance of an estimate.
func squareOf(e *flight.Estimate) float64 {
	sd := (e.High - e.Low) / 2 / 1.96
	return sd * sd
}

// lagAtW180 states the lag of both responses where attitude lags by 180 deg.
func (m *measured) lagAtW180() {
	if w := m.results[0].W180RadS; w != nil {
		for i := range m.results {
			m.results[i].AddLag("w180", w.Value)
		}
	}
}

// models fits a model to each axis, with the motion of the other axis held where that is
// measured.
func (a *analyser) models(all []*measured) {
	each := make([]analyser, len(all))
	var wait conc.WaitGroup
	for i, m := range all {
		each[i] = *a
		each[i].out = Analysis{}
		if m.leads == nil && m.apart < modelApart {
			other := partner(m, all)
			wait.Go(func() { each[i].axisModel(m, other) })
		}
	}
	wait.Wait()
	for i := range each {
		a.out.Findings = append(a.out.Findings, each[i].out.Findings...)
	}
}

// axisModel fits a model to the rate, or to the attitude where no rate is logged, and gives it
// to every result of the axis: it is one aircraft.
func (a *analyser) axisModel(m, other *measured) {
	last := &m.results[len(m.results)-1]
	s := m.toAttitude
	if m.toRate != nil {
		s = m.toRate
	}
	a.check(last, a.model(last, m.alone(s, other), last.ClockHalfWidthS), m.lags, last.ClockHalfWidthS)
	for i := range m.results {
		r := &m.results[i]
		r.Model, r.EffectiveDelayS, r.TransportDelayS = last.Model, last.EffectiveDelayS, last.TransportDelayS
		r.DiscFollowingS, r.BarFollowingS = last.DiscFollowingS, last.BarFollowingS
	}
}

// partner returns the other one of roll and pitch, if it was measured against both sticks.
func partner(m *measured, all []*measured) *measured {
	for _, o := range all {
		if o != m && o.ax.axis != flight.YawAxis && m.ax.axis != flight.YawAxis && o.leads == nil && o.apart < modelApart {
			return o
		}
	}
	return nil
}

// alone returns the response as it would be with the motion of the other axis held:
// H11 - H12 H21/H22. A swashplate out of phase mixes the axes, and under a bar each feels
// what the other's bar does; held, each is that of its own disc, body and bar.
func (m *measured) alone(s *spectrum.Response, other *measured) *spectrum.Response {
	if other == nil {
		return s
	}
	p, q := m.rate, other.rate
	if p == nil || q == nil {
		p, q = m.attitude, other.attitude
	}
	if p == nil || q == nil || p.inputs < 2 || q.inputs < 2 {
		return s
	}
	out := *s
	out.H = make([]complex128, len(s.H))
	for k, w := range s.OmegaRadS {
		out.H[k] = s.H[k] * (1 - p.at(w, 1)*q.at(w, 1)/(p.at(w, 0)*q.at(w, 0)))
	}
	return &out
}

// refine replaces the responses from the spectra by those of the predictors where there
// are any.
func (m *measured) refine(g group, att, rate *spectrum.Response) (refinedAtt, refinedRate *spectrum.Response) {
	var outs []int
	if att != nil {
		outs = append(outs, g.attitude)
	}
	if rate != nil {
		outs = append(outs, g.integral[g.rate])
	}
	found := fitPredictors(g.runs, outs, g.inputs())
	if att != nil {
		if m.attitude = found[0]; m.attitude != nil {
			att, m.apart = m.attitude.replaceH(att, func(float64) complex128 { return 1 })
		}
	}
	if rate != nil {
		if m.rate = found[len(found)-1]; m.rate != nil {
			var apart float64
			rate, apart = m.rate.replaceH(rate, func(w float64) complex128 { return 1 / integral(w) })
			m.apart = max(m.apart, apart)
		}
	}
	return att, rate
}

// stillTravel is the least standard deviation of a stick, as a fraction of full travel,
// that can excite anything; of wind, in m/s, it is far below any reading.
const stillTravel = 0.002

// isStick reports whether c is the other stick, which is never left out.
func (j job) isStick(c *flight.Channel) bool {
	return c.Quantity == flight.LatStick || c.Quantity == flight.LonStick
}

// dropIdle leaves out pedal and collective where the motion of the axis does not answer them:
// they would only cost the response some of its certainty.
func (g *group) dropIdle() {
	keep := g.others[:0:0]
	for _, k := range g.others {
		q := g.channels[k].Quantity
		if q != flight.Pedal && q != flight.Collective || g.answersTo(k) {
			keep = append(keep, k)
		}
	}
	g.others = keep
}

// answersTo reports whether the motion answers input k beside the stick.
func (g *group) answersTo(k int) bool {
	for _, s := range g.spectra {
		for _, out := range []int{g.attitude, g.rate} {
			if s != nil && out >= 0 && answers(s.Solve(k, out, g.stick)) {
				return true
			}
		}
	}
	return false
}

// answers reports whether the output has anything to do with the stick: whether, where
// the stick has most of its power, the coherence is above what unrelated channels reach
// by chance in one case out of twenty.
func answers(r *spectrum.Response) bool {
	if r == nil {
		return false
	}
	var power, related float64
	for k, w := range r.OmegaRadS {
		p := r.InputPower[k] * w // the grid is even in log frequency
		power += p
		if r.Coherence[k] > spectrum.CriticalCoherence(r.Averages[k], 0.05) {
			related += p
		}
	}
	return related > power/2
}

// wanted returns the intervals to average for the axis: around the test inputs, or the
// whole flight if there are none.
func (a *analyser) wanted(axis flight.Axis) []flight.Span {
	axes := []flight.Axis{axis}
	if axis != flight.YawAxis {
		axes = []flight.Axis{flight.RollAxis, flight.PitchAxis}
	}
	if s := tests(a.segs, a.air, axis); len(s) == 0 {
		return a.air
	}
	return tests(a.segs, a.air, axes...)
}

func spansOf(runs []run) []flight.Span {
	var spans []flight.Span
	for _, r := range runs {
		spans = append(spans, r.span)
	}
	return spans
}

// measure estimates the responses to attitude and to rate, merged over the window
// lengths, on the grid; and, from one middle window, the response to rate on its own
// bins for the correlation lag. Each is nil where it cannot be had.
func (a *analyser) measure(g group) (att, rate, lags *spectrum.Response) {
	var atts, rates []*spectrum.Response
	for i, windowS := range a.settings.WindowsS {
		s := g.spectra[i]
		if s == nil {
			continue
		}
		if g.rate >= 0 && (lags == nil || windowS >= lagWindowS) {
			lags = s.Solve(g.stick, g.rate, g.others...)
		}
		on := s.At(a.grid)
		least := leastBins * 2 * math.Pi / windowS
		if g.attitude >= 0 {
			atts = append(atts, above(least, on.Solve(g.stick, g.attitude, g.others...)))
		}
		if g.rate >= 0 {
			rates = append(rates, above(least, on.Solve(g.stick, g.rate, g.others...)))
		}
	}
	if len(atts) > 0 {
		att = spectrum.Merge(atts...)
	}
	if len(rates) > 0 {
		rate = spectrum.Merge(rates...)
	}
	return att, rate, lags
}

// leastBins is the lowest frequency a window is used for, in periods per window: below
// that the taken-off trend and the leakage of what is slower than the window are part of
// the answer.
const leastBins = 3

// above marks the points of r below the frequency given as not to be used.
func above(leastRadS float64, r *spectrum.Response) *spectrum.Response {
	r.FromRadS = leastRadS
	return r
}

// mostError is the relative error from which on a point says nothing worth plotting: a
// fifth, 1.7 dB and 11 deg.
const mostError = 0.2

// result puts a response into the form of the card.
func (a *analyser) result(ax axisChannels, out Output, r *spectrum.Response, g group) Result {
	res := Result{Axis: ax.axis, Input: ax.axis.Stick(), Output: out, Spans: spansOf(g.runs)}
	res.RotorSpeedRadS = a.rotorSpeedRadS(res.Spans)
	phase := unwrapped(r)
	for k, h := range r.H {
		eps := r.SD[k]
		if !(eps < mostError) || math.IsNaN(real(h)) {
			continue
		}
		res.FrequencyRadS = append(res.FrequencyRadS, r.OmegaRadS[k])
		res.H = append(res.H, h)
		res.GainDB = append(res.GainDB, gainDB(h))
		res.PhaseDeg = append(res.PhaseDeg, phase[k]*degPerRad)
		res.Coherence = append(res.Coherence, r.Coherence[k])
		res.GainSDDB = append(res.GainSDDB, eps*20/math.Ln10)
		res.PhaseSDDeg = append(res.PhaseSDDeg, eps*degPerRad)
	}
	return res
}

// rotorSpeedRadS is the median of the logged rotor speed in the spans, or else that of the
// settings.
func (a *analyser) rotorSpeedRadS(spans []flight.Span) float64 {
	c := filled(a.hop.Channel(flight.RotorSpeed))
	if c == nil {
		return a.settings.RotorSpeedRadS
	}
	var all []float64
	for _, s := range spans {
		for i := c.Index(s.FromS); i < c.Index(s.ToS); i++ {
			if v := c.Value[i]; finite(v) && v > 0 {
				all = append(all, v)
			}
		}
	}
	if len(all) == 0 {
		return a.settings.RotorSpeedRadS
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// inputs returns the sticks, that of the axis first.
func (g group) inputs() []int { return append([]int{g.stick}, g.others...) }

// integral is the response of the trapezoid rule at w.
func integral(w float64) complex128 {
	z := cmplx.Exp(complex(0, -w*gridStepS))
	return complex(gridStepS/2, 0) * (1 + z) / (1 - z)
}
