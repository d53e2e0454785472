package simulate

import (
	"math"
	"math/rand/v2"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// Streams of random numbers, one for each cause, so that a change in one leaves the others.
const (
	streamGust = iota + 1
	streamOtherGust
	streamRemnant
	streamYaw
	streamInput
	streamSensor
	streamKnock
)

// stream mixes the two numbers before use, so that neighbouring seeds have nothing in
// common (finaliser of Steele, Lea and Flood, OOPSLA 2014).
func stream(seed uint64, n uint64) *rand.Rand {
	mix := func(z uint64) uint64 {
		z += 0x9e3779b97f4a7c15
		z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return z ^ z>>31
	}
	return rand.New(rand.NewPCG(mix(seed), mix(mix(n)+seed)))
}

const defaultStepS = 0.002

// groundPerS is how fast the ground brings a machine light on its skids to rest.
const groundPerS = 4

// Fly flies the scenario. It panics if the rotor head is not physical or a leg has no
// length: scenarios are written by programmers.
func Fly(s Scenario) *Flight {
	if s.StepS == 0 {
		s.StepS = defaultStepS
	}
	if s.HoverHeightM == 0 {
		s.HoverHeightM = 1.5
	}
	model, err := rotor.NewModel(s.Head)
	if err != nil {
		panic("simulate: " + err.Error())
	}
	c := newCraft(s, model)
	c.run()
	c.f.Truth.complete(c.f, model)
	return c.f
}

// craft is the simulation under way.
type craft struct {
	f     *Flight
	s     Scenario
	stepS float64
	model *rotor.Model
	exact map[float64]*stepper // by Destabilise and axis, see stepper
	air   *atmosphere

	x        []float64 // state of the model
	dx, mid  []float64
	now      [4]float64 // model inputs at this step
	hands    [2]*hand   // pitch, roll
	test     [2]float64 // test input after the hand's lag
	ahead    [2]float64 // sticks at the end of the step under way
	windTrim [2]float64
	heading  float64
	turn     float64 // yaw rate
	azimuth  float64
	spin     float64 // rotor speed, share of full
	yaw      []wave
	remnant  *rand.Rand
	waves    []wave
	taps     []tapAt
}

type tapAt struct{ timeS, strengthG float64 }

func newCraft(s Scenario, m *rotor.Model) *craft {
	n := m.Order()
	c := &craft{
		f: &Flight{Scenario: s, StepS: s.StepS}, s: s, stepS: s.StepS, model: m,
		exact: map[float64]*stepper{}, air: newAtmosphere(s), x: make([]float64, n),
		dx: make([]float64, n), mid: make([]float64, n), heading: s.HeadingRad,
		remnant: stream(s.Seed, streamRemnant),
	}
	c.hands[0] = newHand(flight.PitchAxis, s.Pilot, s.StepS)
	c.hands[1] = newHand(flight.RollAxis, s.Pilot, s.StepS)
	rng := stream(s.Seed, streamYaw)
	for range 6 {
		c.yaw = append(c.yaw, wave{0.006, 0.15 * math.Pow(12, rng.Float64()), 2 * math.Pi * rng.Float64()})
	}
	total := 0.0
	for _, l := range s.Legs {
		if !(l.LengthS > 0) {
			panic("simulate: a leg has no length")
		}
		total += l.LengthS + 1
	}
	c.f.reserve(int(total/s.StepS) + 2)
	return c
}

// run flies leg after leg; sample k of the hop is written before step k is taken.
func (c *craft) run() {
	input, knock := stream(c.s.Seed, streamInput), stream(c.s.Seed, streamKnock)
	for _, l := range c.s.Legs {
		c.waves = nil
		switch l.Kind {
		case Shaking:
			c.waves = l.shake(input)
		case Knocks:
			for _, at := range l.knockTimes() {
				c.taps = append(c.taps, tapAt{c.timeS() + at + 0.05*knock.Float64(), 2 + knock.Float64()})
			}
		case LiftOff:
			c.takeStock()
		}
		peak, passed := c.fly(l)
		if l.Kind == Growing {
			c.letGo(l, peak, passed)
		}
	}
}

func (c *craft) timeS() float64 { return float64(c.f.Len()) * c.stepS }

// takeStock clears the pilot's memory and lets him set the stick for the mean wind.
func (c *craft) takeStock() {
	for i := range c.hands {
		h := c.hands[i]
		h.forget()
		h.integral, h.place, h.stick = 0, 0, 0
	}
	for i := range c.x {
		c.x[i] = 0
	}
	c.windTrim[0], c.windTrim[1] = windTrim(c.s.Head, c.s.Air, c.timeS(), c.s.HeadingRad)
}

// windTrim returns the stick (aft, right) that holds the disc level in the mean wind: blade
// pitch -ku w aft and +ku c to the right.
func windTrim(h rotor.Head, a Air, tS, headingRad float64) (lon, lat float64) {
	mean, from := at(a.Mean, tS), at(a.DirectionFrom, tS)
	sin, cos := math.Sincos(from - headingRad)
	_, gain := rotor.LagAndGain(h.HingeOffset, h.LockNumber, h.Delta3Rad)
	ku := h.SpeedTiltRadPerMS() / gain
	aft, right := -ku*mean*cos, ku*mean*sin
	per := (h.StickToBlade + h.BarToBlade*h.StickToPaddle) * h.ThrowRad
	if per == 0 {
		return 0, 0
	}
	s, k := math.Sincos(h.PhasingErrorRad())
	return (aft*k + right*s) / per, (right*k - aft*s) / per
}

// fly flies one leg and returns the greatest attitude from trim in its axis, and whether
// a Growing leg ended because the limit was passed.
func (c *craft) fly(l Leg) (peak float64, passed bool) {
	from := c.f.Len()
	steps := int(math.Round(l.LengthS / c.stepS))
	for k := range steps {
		tau := float64(k) * c.stepS
		c.sample(l, tau)
		c.advance(l, tau)
		if l.Axis == flight.RollAxis {
			peak = max(peak, math.Abs(c.x[rotor.Roll]))
		} else {
			peak = max(peak, math.Abs(c.x[rotor.Pitch]))
		}
		if l.Kind == Growing && peak > l.LimitRad {
			passed = true
			break
		}
	}
	c.f.Truth.add(l, flight.Span{FromS: float64(from) * c.stepS, ToS: c.timeS()})
	return peak, passed
}

// letGo is what follows a growing oscillation.
func (c *craft) letGo(l Leg, peak float64, passed bool) {
	grew := c.f.Truth.last().Span
	length := l.LetGoS
	if length == 0 {
		length = 0.7
	}
	over, _ := c.fly(Leg{Kind: LetGo, Axis: l.Axis, LengthS: length})
	g := Growth{
		Axis: l.Axis, Span: grew, LetGoToS: c.timeS(), PeakRad: max(peak, over), Passed: passed,
		GainFactor: l.GainFactor, PilotCoupled: true,
	}
	g.GrowthPerS, g.FrequencyRadS = fastestGrowth(c.model, c.s.Pilot, l.Axis, l.GainFactor)
	c.f.Truth.Growing = append(c.f.Truth.Growing, g)
}

// advance moves hands and aircraft over one step.
func (c *craft) advance(l Leg, tau float64) {
	share, _ := l.airborne(tau)
	c.moveHands(l, tau, share)
	c.ahead[0], c.ahead[1] = c.sticks(l, tau+c.stepS, share)
	next := c.inputsAt(c.timeS()) // the end of the step: its start is written
	if share == 1 {
		c.stepperFor(l).step(c.x, &c.now, &next)
	} else {
		c.blend(share, &c.now, &next)
	}
	c.spinUp(l, tau)
	c.heading += c.turn * c.stepS
}

// blend steps the aircraft while it is light on its skids, by the midpoint rule: the share
// of the free motion, and the ground pulling the rest back to standing still.
func (c *craft) blend(share float64, from, to *[4]float64) {
	half := *from
	for j := range half {
		half[j] = (from[j] + to[j]) / 2
	}
	slope := func(x []float64, in *[4]float64) {
		c.model.Derivative(c.dx, x, in)
		for i := range c.dx {
			c.dx[i] = share*c.dx[i] - (1-share)*groundPerS*x[i]
		}
	}
	slope(c.x, from)
	for i := range c.x {
		c.mid[i] = c.x[i] + c.dx[i]*c.stepS/2
	}
	slope(c.mid, &half)
	for i := range c.x {
		c.x[i] += c.dx[i] * c.stepS
	}
}

// stepperFor returns the exact step of the model as the leg has it.
func (c *craft) stepperFor(l Leg) *stepper {
	key := l.Destabilise
	if l.Axis == flight.RollAxis {
		key = -key
	}
	if s, ok := c.exact[key]; ok {
		return s
	}
	s := newStepper(destabilised(c.model, l), c.stepS)
	c.exact[key] = s
	return s
}

// destabilised returns the model with the leg's damping error.
func destabilised(m *rotor.Model, l Leg) *rotor.Model {
	if l.Destabilise == 0 {
		return m
	}
	d := &rotor.Model{B: m.B, DelayS: m.DelayS}
	for _, row := range m.A {
		d.A = append(d.A, append([]float64(nil), row...))
	}
	i := rotor.PitchRate
	if l.Axis == flight.RollAxis {
		i = rotor.RollRate
	}
	d.A[i][i] += l.Destabilise
	return d
}

func (c *craft) spinUp(l Leg, tau float64) {
	switch l.Kind {
	case SpinUp:
		c.spin = smooth(tau / l.LengthS)
	case SpinDown:
		c.spin = 1 - smooth(tau/l.LengthS)
	}
	c.azimuth += c.spin * c.s.Head.RotorSpeedRadS * c.stepS
}

func (c *craft) yawRate(tS float64) float64 {
	sum := 0.0
	for _, w := range c.yaw {
		sum += w.size * math.Sin(w.omega*tS+w.phase)
	}
	return sum
}
