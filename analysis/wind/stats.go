package wind

import (
	"math"

	"hopcard/flight"
)

// slowestMeanS is the longest step with which a 3 s mean can still be formed from at
// least two readings.
const slowestMeanS = 1.5

// surroundings is what statistics needs besides the wind itself.
type surroundings struct {
	set Settings
	// heading returns the aircraft's heading at a stamp, NaN if unknown, for ascending
	// stamps; heights the heights logged in a span. They are nil if unknown.
	heading func() func(float64) float64
	heights func(flight.Span) []float64
}

// statistics sums up the wind of s, without its turbulence.
func statistics(th thinned, span flight.Span, around surroundings) *Phase {
	nan := math.NaN()
	s := th.all
	p := &Phase{Span: span, Readings: len(s.t), EffectiveReadings: nan,
		DirectionArcRad: nan, DirectionFromRad: nan, DirectionToRad: nan, Beaufort: -1}
	if len(s.t) == 0 {
		return p
	}
	m := effective(s.t, s.speed, s.stepS)
	p.MeanMS = m.meanEstimate()
	p.Beaufort = Beaufort(m.mean)
	p.EffectiveReadings = m.effectiveN()
	// Readings further apart are noted means: how they scatter is not how it gusts.
	if m.n > 1 && s.stepS <= gustS {
		p.SDMS = m.sdEstimate()
		p.TurbulenceIntensity = ratio(p.SDMS, p.MeanMS)
	}
	p.gusts(s)
	p.directions(s)
	if around.heading != nil && s.dir != nil {
		p.againstNose(th, around.heading())
	}
	p.Class = classOf(p, around.set.Class, s)
	return p
}

// addTurbulence fits the Dryden form to the gusts of p.
func (p *Phase) addTurbulence(th thinned, around surroundings) {
	p.Turbulence = turbulence(th, around.set.DistanceConstantM)
	if p.Turbulence == nil {
		return
	}
	p.LengthM = p.Turbulence.AlongLengthM
	if around.heights != nil {
		p.Turbulence.expect(around.heights(p.Span), p.MeanMS.Value)
	}
}

// gusts fills gust, lull and what follows from them.
func (p *Phase) gusts(s series) {
	low, high := math.NaN(), math.NaN()
	switch {
	case s.gust != nil || s.lull != nil:
		if s.gust != nil {
			_, high = extremes(within(s.gust, s.t))
		}
		if s.lull != nil {
			low, _ = extremes(within(s.lull, s.t))
		}
	case s.stepS <= slowestMeanS:
		low, high = runningExtremes(s.t, s.speed, s.stepS, s.gapS)
	case s.stepS <= gustS:
		low, high = extremes(s.speed)
	}
	if !math.IsNaN(high) {
		p.Gust3sMS = flight.Plain(high)
		if p.MeanMS.Value > 0 {
			p.GustFactor = flight.Plain(high / p.MeanMS.Value)
		}
	}
	if !math.IsNaN(low) {
		p.Lull3sMS = flight.Plain(low)
	}
	if p.Gust3sMS != nil && p.Lull3sMS != nil {
		p.SpreadMS = flight.Plain(high - low)
	}
}

// some returns values of x, about most of them, spread evenly over it, without NaN.
func some(x []float64, most int) []float64 {
	var out []float64
	for i := 0; i < len(x); i += 1 + len(x)/most {
		if !math.IsNaN(x[i]) {
			out = append(out, x[i])
		}
	}
	return out
}

// within returns the values of c from the first to the last of the stamps t.
func within(c *flight.Channel, t []float64) []float64 {
	var v []float64
	for i := c.Index(t[0]); i < c.Len() && c.TimeS[i] <= t[len(t)-1]; i++ {
		if !math.IsNaN(c.Value[i]) {
			v = append(v, c.Value[i])
		}
	}
	return v
}

// directions fills the statistics of direction. The interval of the mean direction is
// that of the mean sine of the deviations (Fisher 1993, Statistical Analysis of Circular
// Data, 4.4.4), with as many independent readings as their correlation leaves.
func (p *Phase) directions(s series) {
	d := sumUp(s.dir, s.sin, s.cos)
	if d.N == 0 {
		return
	}
	p.DirectionArcRad, p.DirectionFromRad, p.DirectionToRad = d.ArcRad(), d.FromRad, d.ToRad
	p.DirectionRule = DirectionRuleUS(p.MeanMS.Value, d.ArcRad())
	t, sine := s.deviations(d)
	m := effective(t, sine, s.stepS)
	p.DirectionRad = flight.Plain(d.MeanRad)
	if x := studentT(m.dof) * math.Sqrt(m.varMean) / d.R; !math.IsNaN(m.varMean) && x < 1 {
		half := math.Asin(x)
		p.DirectionRad.Low, p.DirectionRad.High = d.MeanRad-half, d.MeanRad+half
	}
	if d.N > 1 && !(d.ArcRad() > 1e-9) {
		return // the same each time, as noted by hand: the spread is below what was told apart
	}
	p.DirectionSDRad = flight.Plain(d.SDRad)
	p.DirectionSDYamartinoRad = flight.Plain(d.YamartinoRad)
	if e := m.sdEstimate(); e.HasInterval() && e.Value > 0 && !math.IsInf(d.SDRad, 0) {
		for _, sd := range []*flight.Estimate{p.DirectionSDRad, p.DirectionSDYamartinoRad} {
			sd.Low, sd.High = sd.Value*e.Low/e.Value, sd.Value*e.High/e.Value
		}
	}
}

// deviations returns the sine of the deviations from the mean direction, and the stamps,
// of the readings that have one.
func (s series) deviations(d Directions) (t, sine []float64) {
	sin, cos := math.Sincos(d.MeanRad)
	sine = make([]float64, 0, d.N)
	if t = s.t; d.N < len(s.t) {
		t = make([]float64, 0, d.N)
	}
	for i := range s.dir {
		x := s.sin[i]*cos - s.cos[i]*sin
		if math.IsNaN(x) {
			continue
		}
		if d.N < len(s.t) {
			t = append(t, s.t[i])
		}
		sine = append(sine, x)
	}
	return t, sine
}

// againstNose fills mean head wind and wind from the right.
func (p *Phase) againstNose(th thinned, heading func(float64) float64) {
	var t, head, cross []float64
	for i, at := range th.cells.t {
		h, c := th.against(i, heading(at))
		if math.IsNaN(h) {
			continue
		}
		t, head, cross = append(t, at), append(head, h), append(cross, c)
	}
	// Half of the readings without a heading is not the same interval any more.
	if 2*len(t) < len(th.cells.t) {
		return
	}
	p.HeadMS = effective(t, head, th.cells.stepS).meanEstimate()
	p.CrossMS = effective(t, cross, th.cells.stepS).meanEstimate()
}

// classOf classes the air of p. Where the spread is not known the least it can have been
// decides.
func classOf(p *Phase, class flight.WindClass, s series) Class {
	class = class.OrDefault()
	switch {
	case atLeast(leastSpread(p, s), class.GustySpreadMS):
		return Gusty
	case p.MeanMS.Value < class.CalmMeanMS:
		return Calm
	}
	return Steady
}

// leastSpread returns the spread or, where it is not known, what it was at least: the
// difference of the extremes that were written down.
func leastSpread(p *Phase, s series) float64 {
	if p.SpreadMS != nil {
		return p.SpreadMS.Value
	}
	low, high := extremes(s.speed)
	if p.Gust3sMS != nil {
		high = math.Max(high, p.Gust3sMS.Value)
	}
	if p.Lull3sMS != nil {
		low = math.Min(low, p.Lull3sMS.Value)
	}
	if s.stepS <= slowestMeanS {
		return 0 // single readings are no gusts; the record has no 3 s without a gap
	}
	return high - low
}
