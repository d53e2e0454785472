package identify

import (
	"math"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/rotor"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

const (
	// leastCoherence is the least coherence of a point that is fitted to (Tischler and others
	// 1987, NASA TM 89422, use 0.6 as a rule of thumb).
	leastCoherence = 0.6
	// mostSD is the largest error of a point, in its logarithm, that the errors are small for.
	mostSD = 0.3
	// modelFloor is the least error a point is given: the model is of first order in the disc
	// and of small angles, and no better than that.
	modelFloor = 0.01
	// every how many points one is taken; the errors of its neighbours are nearly its own.
	every = 4
	// fewestPoints of a response that is worth fitting to.
	fewestPoints = 6
	normal95     = 1.959963984540054
)

// dataOf takes from a hop what a head can be fitted to, and the half width of the clocks'
// 95 % interval that is part of every time in it.
func dataOf(d *debrief.Debrief) (data rotor.Data, clockHalfWidthS float64) {
	for _, a := range axes() {
		r := answerOf(d, a.axis)
		if r == nil {
			continue
		}
		if m, ok := measuredOf(r, a); ok {
			data.Responses = append(data.Responses, m)
			clockHalfWidthS = math.Max(clockHalfWidthS, r.ClockHalfWidthS)
		}
	}
	for _, a := range axes() {
		data.Bands = append(data.Bands, bandsOf(d, a)...)
	}
	if e := d.PhasingErrorRad; e != nil && e.HasInterval() && e.High > e.Low {
		data.PhasingRad = &rotor.Scalar{Value: e.Value, SD: (e.High - e.Low) / 2 / normal95}
	}
	return data, clockHalfWidthS
}

// axis is an axis with its places in the rotor model.
type axis struct {
	axis           flight.Axis
	stick, wind    rotor.Input
	attitude, rate rotor.State
	gust           wind.Component
}

func axes() []axis {
	return []axis{
		{flight.RollAxis, rotor.LatStick, rotor.WindFromRight, rotor.Roll, rotor.RollRate, wind.CrossGust},
		{flight.PitchAxis, rotor.LonStick, rotor.HeadWind, rotor.Pitch, rotor.PitchRate, wind.HeadGust},
	}
}

// answerOf is the answer of an axis to its stick, as attitude or else as rate: the two tell
// the same, and are never both fitted to.
func answerOf(d *debrief.Debrief, a flight.Axis) *response.Result {
	var found *response.Result
	for i := range d.Responses {
		r := &d.Responses[i]
		if r.Axis != a || r.Input != a.Stick() || len(r.H) == 0 {
			continue
		}
		if r.Output == response.Attitude {
			return r
		}
		found = r
	}
	return found
}

// measuredOf takes the points of a response that carry, with errors that count how many of
// them are independent.
func measuredOf(r *response.Result, a axis) (rotor.Measured, bool) {
	m := rotor.Measured{Input: a.stick, Output: a.attitude}
	if r.Output == response.Rate {
		m.Output = a.rate
	}
	shared := sharedRadS(r.Spans)
	for k := 0; k < len(r.H); k += every {
		sd := math.Max(r.GainSDDB[k]*math.Ln10/20, r.PhaseSDDeg[k]*math.Pi/180)
		if !(r.Coherence[k] >= leastCoherence) || !(sd < mostSD) || r.H[k] == 0 {
			continue
		}
		lo, hi := max(0, k-every), min(len(r.H)-1, k+every)
		spacing := (r.FrequencyRadS[hi] - r.FrequencyRadS[lo]) / float64(hi-lo) * every
		share := math.Min(1, spacing/shared)
		m.OmegaRadS = append(m.OmegaRadS, r.FrequencyRadS[k])
		m.H = append(m.H, r.H[k])
		m.SD = append(m.SD, math.Hypot(sd, modelFloor)/math.Sqrt(share))
	}
	return m, len(m.H) >= fewestPoints
}

// sharedRadS is the width over which neighbouring points of a response share their errors:
// one over the memory of the predictor that it comes from (package response), which is
// 4.8 s where there is record enough and less where there is not.
func sharedRadS(spans []flight.Span) float64 {
	const stepS, perParameter, inputs = 0.08, 5, 2
	total := 0.0
	for _, s := range spans {
		total += s.LengthS()
	}
	order := 12.0
	for _, n := range []float64{60, 45, 30, 20} {
		if total/stepS >= perParameter*(n+inputs*(n+1)) {
			order = n
			break
		}
	}
	return 2 * math.Pi / (order * stepS)
}

// bandsOf are the answers of an axis to gusts with the stick held.
func bandsOf(d *debrief.Debrief, a axis) []rotor.MeasuredBand {
	var list []rotor.MeasuredBand
	if d.Wind.OnBoard {
		return nil
	}
	for i := range d.Wind.Gusts {
		g := &d.Wind.Gusts[i]
		e := g.RadPerMS
		if g.Axis != a.axis || g.Input != a.gust || e == nil || !(e.Value > 0) || !(e.High > e.Value) {
			continue
		}
		sd := math.Log(e.High/e.Value) / normal95
		if e.Low > 0 {
			sd = math.Log(e.High/e.Low) / 2 / normal95
		}
		if sd < 2*mostSD {
			list = append(list, rotor.MeasuredBand{Input: a.wind, Output: a.attitude, BandRadS: g.BandRadS, Gain: e.Value, SD: math.Hypot(sd, 3*modelFloor)})
		}
	}
	return list
}
