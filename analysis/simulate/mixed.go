package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"

	"hopcard/flight"
)

// DrawMixed draws a hop of the usual machines, bare or with a bar, in calm to gusty air with
// loggers of any rate: doublets, steps, sweeps and raps and, with planted, one to three
// growing oscillations. Where DrawPlanted seeks a rate of growth, this takes whatever comes
// of raising the gain, down to next to nothing: the truth of the flight says which grew.
func DrawMixed(seed uint64, planted bool) Scenario {
	m := mixer{rng: rand.New(rand.NewPCG(seed, 77))}
	s := Scenario{Name: fmt.Sprint(seed), Seed: seed, Sensors: UsualSensors(), Trim: UsualTrim()}
	m.bare = m.rng.IntN(2) == 0
	m.size = 0.04
	if m.bare {
		s.Head, s.Pilot = BareHead(), BarePilot()
	} else {
		s.Head, s.Pilot = BarHead("bar", m.between(0.3, 0.7)), BarPilot()
		m.size = 0.09
	}
	if m.rng.IntN(3) > 0 {
		v := m.between(1, 5)
		s.Air = Air{Mean: Constant(v), DirectionFrom: Constant(m.between(0, 6)), Gusts: v * m.between(0.5, 1.2)}
	}
	rates := []float64{20, 50, 100, 200}
	s.Sensors.AttitudeHz = rates[m.rng.IntN(4)]
	s.Sensors.StickHz = rates[m.rng.IntN(4)]
	s.Sensors.NoRates = m.rng.IntN(4) == 0
	s.Sensors.NoRotorSpeed = m.rng.IntN(2) == 0
	n := 0
	if planted {
		n = 1 + m.rng.IntN(3)
	}
	for range 2 + m.rng.IntN(3) {
		m.input()
	}
	for range n {
		m.growth()
		m.hover()
		m.input()
	}
	s.Legs = Whole(false, m.legs...)
	return s
}

// mixer draws the legs of DrawMixed, one after the other from one stream.
type mixer struct {
	rng  *rand.Rand
	bare bool
	size float64 // of the inputs
	legs []Leg
}

func (m *mixer) between(lo, hi float64) float64 { return lo + (hi-lo)*m.rng.Float64() }

func (m *mixer) axis() flight.Axis {
	if m.rng.IntN(2) == 0 {
		return flight.RollAxis
	}
	return flight.PitchAxis
}

func (m *mixer) hover() { m.legs = append(m.legs, Leg{Kind: Hover, LengthS: m.between(6, 15)}) }

func (m *mixer) input() {
	switch m.rng.IntN(4) {
	case 0:
		m.legs = append(m.legs, Doublets(m.axis(), 1+m.rng.IntN(2), m.size*m.between(0.8, 2))...)
	case 1:
		unit := m.between(0.4, 0.7)
		m.legs = append(m.legs, Leg{Kind: Steps, Axis: m.axis(), UnitS: unit, LengthS: 7 * unit, Amplitude: m.size * m.between(0.8, 1.5)})
	case 2:
		m.legs = append(m.legs, Leg{Kind: Sweep, Axis: m.axis(), LengthS: m.between(30, 50),
			Amplitude: m.size, AmplitudeEnd: 2 * m.size, FromRadS: 0.3, ToRadS: 12})
	case 3:
		m.legs = append(m.legs, Leg{Kind: Rap, Axis: m.axis(), LengthS: 0.12, Amplitude: 3 * m.size})
	}
	m.hover()
}

func (m *mixer) growth() {
	if m.bare || m.rng.IntN(3) > 0 {
		m.legs = append(m.legs, Leg{Kind: Growing, Axis: m.axis(), LengthS: 20,
			GainFactor: m.between(2.2, 2.9), LimitRad: m.between(6, 15) * math.Pi / 180})
		return
	}
	m.legs = append(m.legs, Leg{Kind: HandsStill, Axis: m.axis(), LengthS: m.between(4, 7), Destabilise: m.between(2.6, 4)})
}
