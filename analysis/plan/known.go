package plan

import (
	"math"
	"math/cmplx"
	"slices"
	"sort"

	"hopcard/analysis/response"
	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// The grid on which the aircraft is known.
const (
	gridFromRadS = 0.3
	gridToRadS   = 20.0
	gridPoints   = 160
)

// Of what is not known from earlier hops. The floor and the excess are about the 90th
// percentiles over simulated hops of machines and pilots of many kinds (TestStudy).
const (
	usualFloorS = 0.0065
	usualExcess = 1.5
	// One hop's floor says that of the next no better than within floorScatter, and none is
	// below leastFloorS (same study).
	floorScatter = 1.5
	leastFloorS  = 0.003
	// assumedCoherence is that of a sweep in light air where nothing is known: between the 0.6 that
	// a usable one has at least (rule of thumb of Tischler and others 1987, NASA TM 89422; from
	// memory) and the 0.95 and more of most simulated ones. Own choice.
	assumedCoherence = 0.8
)

// known gathers what is known of an axis.
func (p *Plan) known(r Request, axis flight.Axis) *craft {
	if c := fromHops(axis, r.Same); c != nil {
		return c
	}
	if n, ok := p.head(0); ok {
		return fromModel(n, axis, p.limit().WindMeanMS)
	}
	return unknown()
}

// unknown is a craft of which nothing is known: the coherence in the usual sweep is
// assumed.
func unknown() *craft {
	c := &craft{basis: Assumed, w: logGrid(gridFromRadS, gridToRadS, gridPoints), floorS: usualFloorS, excess: 1}
	s := sweepShape{sweepFromRadS, sweepToRadS, sweepLengthS, blindSweep, sweepGrowth * blindSweep}
	u := sweepInput(1, s)
	for _, w := range c.w {
		at := min(max(w, s.fromRadS), s.toRadS) // outside the sweep as at its ends
		c.noise = append(c.noise, u.density(at)/s.lengthS*(1-assumedCoherence)/assumedCoherence)
	}
	return c
}

// Of the air and the sensors that the model meets.
const (
	// turbulenceShare is the standard deviation of the wind over its mean a few metres above
	// open grass: 0.2 (from memory, usual textbook value for flat open country).
	turbulenceShare = 0.2
	// gustLengthM is the length scale of longitudinal gusts at 10 ft by MIL-F-8785C, 3.7.3.4:
	// h/(0.177 + 0.000823 h)^1.2 with h in ft.
	gustLengthM = 23.0
	// rateNoiseRadS is the rms noise of a cheap gyro in flight, at rateNoiseHz, without what the
	// rotor shakes, which lies above the inputs. Own choice.
	rateNoiseRadS = 0.3 * math.Pi / 180
	rateNoiseHz   = 50.0
)

// fromModel takes the rotor model for the aircraft, in the most wind that the plan allows.
func fromModel(n *rotor.Prediction, axis flight.Axis, meanMS float64) *craft {
	c := &craft{basis: Model, w: logGrid(gridFromRadS, gridToRadS, gridPoints), floorS: usualFloorS, excess: usualExcess}
	stick, att, rate, wind := rotor.LonStick, rotor.Pitch, rotor.PitchRate, rotor.HeadWind
	if axis == flight.RollAxis {
		stick, att, rate, wind = rotor.LatStick, rotor.Roll, rotor.RollRate, rotor.WindFromRight
	}
	c.attitude = n.Model.Response(stick, att, c.w)
	g := n.Model.Response(stick, rate, c.w)
	gust := n.Model.Response(wind, rate, c.w)
	sensor := rateNoiseRadS * rateNoiseRadS / rateNoiseHz
	speed := max(meanMS, 1)
	sd := turbulenceShare * speed
	for k, w := range c.w {
		// Dryden, longitudinal (MIL-F-8785C, 3.7.2.2), two-sided in rad/s with its integral over
		// all w/(2 pi) equal to sd^2.
		x := w * gustLengthM / speed
		air := 2 * sd * sd * gustLengthM / speed / (1 + x*x)
		a, b := cmplx.Abs(gust[k]), cmplx.Abs(g[k])
		c.noise = append(c.noise, (a*a*air+sensor)/(b*b))
	}
	return c
}

// mostHops is how many earlier hops are looked at.
const mostHops = 3

// fromHops takes what earlier hops measured; nil if none did in this axis.
func fromHops(axis flight.Axis, hops []Earlier) *craft {
	c := &craft{basis: Measured, w: logGrid(gridFromRadS, gridToRadS, gridPoints), excess: usualExcess}
	var noises [][]float64
	var floors []float64
	for _, e := range hops {
		att, rate := result(e.Responses, axis, response.Attitude), result(e.Responses, axis, response.Rate)
		best := rate
		if best == nil {
			best = att
		}
		stick := e.Hop.Channel(axis.Stick())
		if best == nil || stick == nil || len(best.FrequencyRadS) < 2 {
			continue
		}
		noise := noiseOf(c.w, best, stick)
		if noise == nil {
			continue
		}
		if c.attitude == nil {
			c.attitude = attitudeOn(c.w, att, rate)
		}
		noises, c.hops = append(noises, noise), append(c.hops, e.Hop.Name)
		if lag := best.CorrelationLagS; lag != nil && lag.HasInterval() {
			one := craft{w: c.w, noise: noise}
			flown := flownInput(c.w, best.Spans, stick)
			scatter := 1.96 * usualExcess * one.delaySD([]input{flown})
			half := (lag.High - lag.Low) / 2
			floors = append(floors, math.Sqrt(max(0, half*half-scatter*scatter)))
		}
		if len(noises) == mostHops {
			break
		}
	}
	if len(noises) == 0 {
		return nil
	}
	for k := range c.w {
		sum := 0.0
		for _, n := range noises {
			sum += math.Log(n[k])
		}
		c.noise = append(c.noise, math.Exp(sum/float64(len(noises))))
	}
	c.floorS = usualFloorS
	if len(floors) > 0 {
		c.floorS = floorScatter * max(slices.Max(floors), leastFloorS)
	}
	return c
}

// result is the response of an axis to its own stick; nil if there is none.
func result(all []response.Result, axis flight.Axis, out response.Output) *response.Result {
	for i := range all {
		if r := &all[i]; r.Axis == axis && r.Input == axis.Stick() && r.Output == out {
			return r
		}
	}
	return nil
}

// attitudeOn is the measured response to attitude on the grid; ends are carried on.
func attitudeOn(grid []float64, att, rate *response.Result) []complex128 {
	r := att
	if r == nil {
		r = rate
	}
	out := make([]complex128, len(grid))
	for k, w := range grid {
		i := nearest(r.FrequencyRadS, w)
		h := r.H[i]
		if att == nil {
			h /= complex(0, w)
		}
		if cmplx.IsNaN(h) || cmplx.IsInf(h) || r.Coherence[i] < 0.3 || w > 1.2*r.FrequencyRadS[i] || w < r.FrequencyRadS[i]/1.2 {
			h = 0 // not known: left out
		}
		out[k] = h
	}
	return out
}

// nearest is the index of the frequency next to w.
func nearest(f []float64, w float64) int {
	k := sort.SearchFloat64s(f, w)
	if k == len(f) || k > 0 && w/f[k-1] < f[k]/w {
		k--
	}
	return k
}

// Coherences beyond these say less than they seem to: chance, and a record's own limits.
const (
	lowCoherence  = 0.03
	highCoherence = 0.99
)

// noiseOf is the noise as of craft, from the coherence and the stick as flown:
// N = |U|^2/T (1-c)/c.
func noiseOf(grid []float64, r *response.Result, stick *flight.Channel) []float64 {
	flown := flownInput(grid, r.Spans, stick)
	if flown.lengthS <= 0 {
		return nil
	}
	out := make([]float64, len(grid))
	for k, w := range grid {
		c := r.Coherence[nearest(r.FrequencyRadS, w)]
		if !(c > lowCoherence) {
			c = lowCoherence
		}
		c = min(c, highCoherence)
		out[k] = flown.density(w) / flown.lengthS * (1 - c) / c
		if !(out[k] > 0) {
			return nil
		}
	}
	return out
}

// flownInput is the stick as flown in spans, its |U|^2 averaged over the resolution about
// each grid point; the spans' means are taken off.
func flownInput(grid []float64, spans []flight.Span, stick *flight.Channel) input {
	const stepS, about = 0.05, 5
	length := 0.0
	density := make([]float64, len(grid))
	for _, s := range spans {
		var x []float64
		for t := s.FromS; t < s.ToS; t += stepS {
			i := stick.Index(t)
			if i >= stick.Len() {
				break
			}
			x = append(x, stick.Value[i])
		}
		x = lessMean(x)
		length += stepS * float64(len(x))
		for k, w := range grid {
			for j := range about {
				v := w + 2*math.Pi*resolutionHz*(float64(j)/(about-1)-0.5)/2
				density[k] += energyAt(x, v, stepS) / about
			}
		}
	}
	return input{1, func(w float64) float64 { return density[nearest(grid, w)] }, length}
}

func lessMean(x []float64) []float64 {
	var sum, n float64
	for _, v := range x {
		if v == v {
			sum, n = sum+v, n+1
		}
	}
	out := make([]float64, len(x))
	for i, v := range x {
		if v == v {
			out[i] = v - sum/n
		}
	}
	return out
}

// energyAt is |U(w)|^2 of a record, by the recurrence of Goertzel (1958).
func energyAt(x []float64, w, stepS float64) float64 {
	k := 2 * math.Cos(w*stepS)
	var a, b float64
	for _, v := range x {
		a, b = v+k*a-b, a
	}
	return (a*a + b*b - k*a*b) * stepS * stepS
}
