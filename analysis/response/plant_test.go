package response

import (
	"math"
	"math/rand/v2"

	"hopcard/flight"
)

// plant is a rate response K e^(-tau s)/(T s + 1) in both axes, with coupling, a pilot who
// may hold the attitude, gusts and two loggers. Everything is stepped at 1 kHz; the answers
// it must give are known in closed form.
type plant struct {
	gain, tau, lag float64
	pilotGain      float64 // stick per rad of attitude, against it
	pilotDelayS    float64
	sweep          float64 // amplitude as a fraction of travel
	gust           float64 // rate noise density, rad/s^1.5
	noise          float64 // of the rate sensor, rad/s
	cross          float64 // roll rate per pitch rate answer
	durationS      float64
	stickShiftS    float64 // clock error of the stick log
	motionless     bool
	seed           uint64
}

func defaultPlant() plant {
	return plant{gain: 2, tau: 0.08, lag: 0.25, pilotGain: 0.5, pilotDelayS: 0.3, sweep: 0.08, gust: 0.002, noise: 0.002,
		durationS: 150, seed: 5}
}

// fly returns the hop and its segments. Pitch is swept in the first half, roll in the
// second.
func (p plant) fly() (*flight.Hop, []flight.Segment) {
	const dt = 0.001
	n := int(p.durationS / dt)
	rng := rand.New(rand.NewPCG(p.seed, 8))
	var stick, att, rate [2][]float64 // roll, pitch
	for i := range 2 {
		stick[i], att[i], rate[i] = make([]float64, n), make([]float64, n), make([]float64, n)
	}
	half := p.durationS / 2
	var q, own [2]float64
	for k := range n {
		t := float64(k) * dt
		for i := range 2 {
			u := 0.0
			local := t - half*float64(1-i)
			if local > 5 && local < half-8 {
				u = p.sweep * math.Sin(sweepAngle(local-5, half-13))
			}
			if d := k - int(p.pilotDelayS/dt); d >= 0 {
				u -= p.pilotGain * att[i][d]
			}
			stick[i][k] = u
			in := 0.0
			if d := k - int(math.Round(p.tau/dt)); d >= 0 {
				in = stick[i][d]
			}
			own[i] += dt / p.lag * (p.gain*in - own[i])
			q[i] += -dt/p.lag*q[i] + p.gust*math.Sqrt(dt)/p.lag*rng.NormFloat64()
		}
		for i := range 2 {
			rate[i][k] = own[i] + q[i] + p.cross*own[1-i]
			if p.motionless {
				rate[i][k] = 0
			}
			if k+1 < n {
				att[i][k+1] = att[i][k] + dt*rate[i][k]
			}
		}
	}
	return p.log(stick, att, rate, rng), []flight.Segment{
		{Kind: flight.Sweep, Axis: flight.PitchAxis, Span: flight.Span{FromS: 5, ToS: half - 8}},
		{Kind: flight.Hover, Span: flight.Span{FromS: 0, ToS: p.durationS}},
		{Kind: flight.Sweep, Axis: flight.RollAxis, Span: flight.Span{FromS: half + 5, ToS: p.durationS - 8}},
	}
}

// sweepAngle is the angle of a sweep from 0.5 to 20 rad/s, growing as exp(t).
func sweepAngle(t, length float64) float64 {
	r := math.Log(40) / length
	return 0.5 / r * (math.Exp(r*t) - 1)
}

// log samples motion at 100 Hz and stick at 50 Hz, on two loggers with one clock.
func (p plant) log(stick, att, rate [2][]float64, rng *rand.Rand) *flight.Hop {
	h := &flight.Hop{Name: "plant", Sources: []flight.Source{
		{File: "motion.csv", Clock: flight.Clock{AlignedBy: flight.AlignUTC}},
		{File: "stick.csv", Clock: flight.Clock{AlignedBy: flight.AlignUTC}},
	}}
	add := func(q flight.Quantity, source, every int, shift float64, noise float64, x []float64, stamps []float64) []float64 {
		c := flight.Channel{Quantity: q, Source: source, Sure: 1, TimeS: stamps}
		for k := 3; k < len(x); k += every {
			if stamps == nil {
				c.TimeS = append(c.TimeS, float64(k)*0.001+shift)
			}
			c.Value = append(c.Value, x[k]+noise*rng.NormFloat64())
		}
		h.Channels = append(h.Channels, c)
		return c.TimeS
	}
	var motion, sticks []float64
	for i, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		motion = add(axis.Attitude(), 0, 10, 0, 0.0003, att[i], motion)
		add(axis.Rate(), 0, 10, 0, p.noise, rate[i], motion)
		sticks = add(axis.Stick(), 1, 20, p.stickShiftS, 0.0005, stick[i], sticks)
	}
	return h
}
