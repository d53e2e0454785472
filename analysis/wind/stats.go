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
func statistics(s series, span flight.Span, around surroundings) *Phase {
	nan := math.NaN()
	p := &Phase{Span: span, Readings: len(s.t), EffectiveReadings: nan,
		DirectionArcRad: nan, DirectionFromRad: nan, DirectionToRad: nan, Beaufort: -1}
	if len(s.t) == 0 {
		return p
	}
	m := effective(s.t, s.speed, s.stepS)
	p.MeanMS = m.meanEstimate()
	p.Beaufort = Beaufort(m.mean)
	p.EffectiveReadings = m.effectiveN()
	if m.n > 1 {
		p.SDMS = m.sdEstimate()
		p.TurbulenceIntensity = ratio(p.SDMS, p.MeanMS)
	}
	p.gusts(s)
	p.directions(s)
	if around.heading != nil && s.dir != nil {
		p.againstNose(s, around.heading())
	}
	p.Class = classOf(p, around.set.Class, s)
	return p
}

// addTurbulence fits the Dryden form to the gusts of p.
func (p *Phase) addTurbulence(s series, around surroundings) {
	p.Turbulence = turbulence(s, around.set.DistanceConstantM)
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
		_, means := runningMean(s.t, s.speed, s.stepS, s.gapS)
		low, high = extremes(means)
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
	d := SumUpDirections(s.dir)
	if d.N == 0 {
		return
	}
	p.DirectionArcRad, p.DirectionFromRad, p.DirectionToRad = d.ArcRad(), d.FromRad, d.ToRad
	p.DirectionRule = DirectionRuleUS(p.MeanMS.Value, d.ArcRad())
	t := make([]float64, 0, d.N)
	sine := make([]float64, 0, d.N)
	for i, dir := range s.dir {
		if !math.IsNaN(dir) {
			t = append(t, s.t[i])
			sine = append(sine, math.Sin(dir-d.MeanRad))
		}
	}
	m := effective(t, sine, s.stepS)
	p.DirectionRad = flight.Plain(d.MeanRad)
	if x := studentT(m.dof) * math.Sqrt(m.varMean) / d.R; !math.IsNaN(m.varMean) && x < 1 {
		half := math.Asin(x)
		p.DirectionRad.Low, p.DirectionRad.High = d.MeanRad-half, d.MeanRad+half
	}
	p.DirectionSDRad = flight.Plain(d.SDRad)
	p.DirectionSDYamartinoRad = flight.Plain(d.YamartinoRad)
	if e := m.sdEstimate(); e.HasInterval() && e.Value > 0 && !math.IsInf(d.SDRad, 0) {
		for _, sd := range []*flight.Estimate{p.DirectionSDRad, p.DirectionSDYamartinoRad} {
			sd.Low, sd.High = sd.Value*e.Low/e.Value, sd.Value*e.High/e.Value
		}
	}
}

// againstNose fills mean head wind and wind from the right.
func (p *Phase) againstNose(s series, heading func(float64) float64) {
	var t, head, cross []float64
	for i, at := range s.t {
		h, c := Components(s.speed[i], s.dir[i], heading(at))
		if s.speed[i] == 0 {
			h, c = 0, 0
		}
		if math.IsNaN(h) {
			continue
		}
		t, head, cross = append(t, at), append(head, h), append(cross, c)
	}
	// Half of the readings without a heading is not the same interval any more.
	if 2*len(t) < len(s.t) {
		return
	}
	p.HeadMS = effective(t, head, s.stepS).meanEstimate()
	p.CrossMS = effective(t, cross, s.stepS).meanEstimate()
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
