package loop

import (
	"math"
	"math/rand/v2"

	"hopcard/analysis/response"
	"hopcard/flight"
)

// aircraft is the measured attitude per stick of one axis, on the stretch of frequencies
// without a hole that holds the pilot's.
type aircraft struct {
	w, lnGain, phase []float64
	// sd is one standard deviation of log gain and of phase.
	sd         []float64
	clockHalfS float64
	drawn      []open // with errors
}

const (
	// holeRatio is the step of frequency beyond which nothing is known between two points.
	holeRatio = 1.25
	// insideRadS is a frequency the stretch must reach round or come near to.
	insideRadS = 2.0
	// memoryRadS is how far apart in frequency errors of the measured response still hang
	// together: one period of the longest memory of its predictor, 4.8 s.
	memoryRadS  = 1.3
	leastPoints = 10
)

// aircraftOf finds the response of attitude in the axis; nil if there is none of use. timed is
// false where there is one from which no lag may be taken: the motion leads the stick, or
// hardly follows it.
func aircraftOf(axis flight.Axis, responses []response.Result) (a *aircraft, timed bool) {
	for i := range responses {
		r := &responses[i]
		if r.Axis == axis && r.Output == response.Attitude {
			if len(r.Lag) == 0 {
				return nil, false
			}
			return stretch(r), true
		}
	}
	return nil, true
}

func stretch(r *response.Result) *aircraft {
	from, to := 0, 0
	for k, start := 1, 0; k <= len(r.FrequencyRadS); k++ {
		if k < len(r.FrequencyRadS) && r.FrequencyRadS[k] <= holeRatio*r.FrequencyRadS[k-1] {
			continue
		}
		if span := [2]int{start, k}; closer(r.FrequencyRadS, span, [2]int{from, to}) {
			from, to = start, k
		}
		start = k
	}
	if to-from < leastPoints {
		return nil
	}
	a := &aircraft{clockHalfS: r.ClockHalfWidthS}
	for k := from; k < to; k++ {
		a.w = append(a.w, r.FrequencyRadS[k])
		a.lnGain = append(a.lnGain, math.Log(math.Hypot(real(r.H[k]), imag(r.H[k]))))
		a.phase = append(a.phase, r.PhaseDeg[k]/degPerRad)
		a.sd = append(a.sd, math.Hypot(r.GainSDDB[k]/dbPerNeper, r.PhaseSDDeg[k]/degPerRad)/math.Sqrt2)
	}
	a.draw(rand.New(rand.NewPCG(1, 70)))
	return a
}

// open is the aircraft alone.
func (a *aircraft) open() open { return open{a.w, a.lnGain, a.phase} }

// closer reports whether span a is nearer to insideRadS, or longer, than b.
func closer(w []float64, a, b [2]int) bool {
	if b[1] == b[0] {
		return a[1] > a[0]
	}
	away := func(s [2]int) float64 {
		return max(0, math.Log(w[s[0]]/insideRadS), math.Log(insideRadS/w[s[1]-1]))
	}
	if da, db := away(a), away(b); da != db {
		return da < db
	}
	return a[1]-a[0] > b[1]-b[0]
}

// draw draws the response with errors: neighbours hang together as far as the predictor's
// memory makes them.
func (a *aircraft) draw(rng *rand.Rand) {
	n := len(a.w)
	rho := make([]float64, n)
	for k := 1; k < n; k++ {
		rho[k] = math.Exp(-1.22 * (a.w[k] - a.w[k-1]) / memoryRadS)
	}
	for range draws {
		d := open{a.w, make([]float64, n), make([]float64, n)}
		var g, p float64
		for k, r := range rho {
			fresh := math.Sqrt(1 - r*r)
			g = r*g + fresh*rng.NormFloat64()
			p = r*p + fresh*rng.NormFloat64()
			d.lnGain[k], d.phase[k] = a.lnGain[k]+a.sd[k]*g, a.phase[k]+a.sd[k]*p
		}
		a.drawn = append(a.drawn, d)
	}
}
