package simulate

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"time"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// The functions of this file draw scenarios for statistical studies: same seed, same
// scenario. Machines, delays, pilots and air vary; the pilot can always hold the machine
// with some damping.

const (
	streamDraw = 40
	// leastDamping of every mode of pilot and aircraft that oscillates faster than 1 rad/s.
	leastDamping = 0.12
)

// DrawHead draws a light teetering machine with dead times of 20 to 120 ms, with a bar to
// 250 ms, and a swashplate up to phasingDeg out of phase.
func DrawHead(rng *rand.Rand, bar bool, phasingDeg float64) rotor.Head {
	h := BareHead()
	about := func(v, share float64) float64 { return v * (1 + share*(2*rng.Float64()-1)) }
	h.RadiusM, h.RotorSpeedRadS, h.LockNumber = about(h.RadiusM, 0.1), about(h.RotorSpeedRadS, 0.1), about(4.8, 0.2)
	h.MassKg, h.HubHeightM = about(h.MassKg, 0.15), about(h.HubHeightM, 0.1)
	h.RollInertiaKgM2, h.PitchInertiaKgM2 = about(h.RollInertiaKgM2, 0.2), about(h.PitchInertiaKgM2, 0.2)
	h.AdvanceRad += phasingDeg * deg * (2*rng.Float64() - 1)
	h.DelayS = 0.02 + 0.1*rng.Float64()
	if bar {
		h.Name = "bar"
		h.BarTimeS, h.BarToBlade, h.StickToBlade = 0.3+0.9*rng.Float64(), 0.35+0.25*rng.Float64(), 0.6
		h.DelayS = 0.02 + 0.23*rng.Float64()
	}
	return h
}

// Settle lowers the pilot's gains until he holds the machine with leastDamping, and reports
// whether he can.
func Settle(h rotor.Head, p Pilot) (Pilot, bool) {
	m, err := rotor.NewModel(h)
	if err != nil {
		panic("simulate: " + err.Error())
	}
	for times := 1.0; times > 0.25; times *= 0.93 {
		q := p
		q.GainPerRad = PerAxis{p.GainPerRad.Pitch * times, p.GainPerRad.Roll * times}
		if steady(LoopModes(m, q, flight.PitchAxis, 1)) {
			return q, true
		}
	}
	return p, false
}

func steady(modes []complex128) bool {
	for _, s := range modes {
		if real(s) > -0.03 || imag(s) > 1 && -real(s)/cmplx.Abs(s) < leastDamping {
			return false
		}
	}
	return true
}

// drawFlyable draws a head and a pilot who can fly it.
func drawFlyable(rng *rand.Rand, bar bool, phasingDeg float64) (rotor.Head, Pilot) {
	for {
		h := DrawHead(rng, bar, phasingDeg)
		p := BarePilot()
		if bar {
			p = BarPilot()
		}
		if p, ok := Settle(h, p); ok {
			return h, p
		}
	}
}

// drawn is what all drawn scenarios share.
func drawn(name string, seed uint64, rng *rand.Rand, bar bool, phasingDeg float64) Scenario {
	h, p := drawFlyable(rng, bar, phasingDeg)
	return Scenario{
		Name: name, Seed: seed, Head: h, Pilot: p, Trim: UsualTrim(), Sensors: UsualSensors(),
		HeadingRad: 2 * math.Pi * rng.Float64(),
		StartedAt:  time.Date(2031, 6, 1, 8, 0, 0, 0, time.UTC).AddDate(0, 0, int(seed%300)),
	}
}

// size is the stick amplitude of a drawn test input, larger where the stick does less.
func size(rng *rand.Rand, bar bool) float64 {
	s := 0.035 + 0.02*rng.Float64()
	if bar {
		s *= 2
	}
	return s
}

// DrawExcited draws a hop in light air that excites both axes by test inputs of one kind:
// Doublet, Steps, Sweep, Rap or Shaking. phasingDeg is the greatest phasing error.
func DrawExcited(seed uint64, kind LegKind, phasingDeg float64) Scenario {
	rng := stream(seed, streamDraw)
	bar := rng.IntN(2) == 0
	s := drawn("excited "+string(kind), seed, rng, bar, phasingDeg)
	s.Air = Air{Mean: Constant(0.5 + 2*rng.Float64()), DirectionFrom: Constant(2 * math.Pi * rng.Float64()), Gusts: 3 * rng.Float64()}
	amp := size(rng, bar)
	var legs []Leg
	for _, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
		k := amp
		if axis == flight.RollAxis {
			k *= 0.7
		}
		legs = append(legs, inputs(axis, kind, k)...)
	}
	s.Legs = Whole(false, legs...)
	return s
}

// inputs is about 50 s of one kind of test input in one axis.
func inputs(axis flight.Axis, kind LegKind, amp float64) []Leg {
	hover := Leg{Kind: Hover, LengthS: 6}
	switch kind {
	case Doublet:
		return Doublets(axis, 6, 1.4*amp)
	case Steps:
		var legs []Leg
		for k := range 4 {
			a := amp
			if k%2 == 1 {
				a = -amp
			}
			legs = append(legs, Leg{Kind: Steps, Axis: axis, LengthS: 3.5, UnitS: 0.5, Amplitude: a}, hover)
		}
		return legs
	case Rap:
		var legs []Leg
		for range 8 {
			legs = append(legs, Leg{Kind: Rap, Axis: axis, LengthS: 0.12, Amplitude: 4 * amp}, hover)
		}
		return legs
	case Shaking:
		return []Leg{{Kind: Shaking, Axis: axis, LengthS: 50, Amplitude: 0.7 * amp, FromRadS: 0.4, ToRadS: 12}, hover}
	case Sweep:
		return []Leg{{Kind: Sweep, Axis: axis, LengthS: 45, Amplitude: amp, AmplitudeEnd: 2 * amp, FromRadS: 0.3, ToRadS: 12}, hover}
	}
	panic("simulate: no test input of kind " + string(kind))
}

// DrawGusty draws a hop of the given length that only rides out gusts, the pilot at work.
// The anemometer stands mastM upwind and shares coherence of the gusts' energy; 0 and 0 put
// it at the aircraft.
func DrawGusty(seed uint64, bar bool, lengthS, mastM, coherence float64) Scenario {
	rng := stream(seed, streamDraw)
	s := drawn("gusty", seed, rng, bar, 0)
	s.Air = Air{
		Mean: Constant(3.5 + 3*rng.Float64()), DirectionFrom: Constant(2 * math.Pi * rng.Float64()),
		Gusts: 5 + 5*rng.Float64(), HeightFt: 10, MastM: mastM, Coherence: coherence,
	}
	s.Legs = Whole(false, Leg{Kind: Hover, LengthS: lengthS})
	return s
}

// DrawQuiet draws a hop in which nothing grows: test inputs of every kind, gusts, hands
// still for a moment, a throw of the stick that dies away.
func DrawQuiet(seed uint64) Scenario {
	rng := stream(seed, streamDraw)
	bar := rng.IntN(2) == 0
	s := drawn("quiet", seed, rng, bar, 0)
	s.Air = drawAir(rng)
	s.Legs = Whole(false, fillers(rng, bar, 5)...)
	return s
}

func drawAir(rng *rand.Rand) Air {
	mean := 0.5 + 4.5*rng.Float64()
	return Air{Mean: Constant(mean), DirectionFrom: Constant(2 * math.Pi * rng.Float64()), Gusts: mean * (0.5 + 1.2*rng.Float64())}
}

// fillers are n pieces of ordinary flying with hovers after each.
func fillers(rng *rand.Rand, bar bool, n int) []Leg {
	var legs []Leg
	for range n {
		axis := pick(rng, flight.PitchAxis, flight.RollAxis)
		amp := size(rng, bar)
		if axis == flight.RollAxis {
			amp *= 0.7
		}
		switch rng.IntN(6) {
		case 0:
			legs = append(legs, Leg{Kind: Sweep, Axis: axis, LengthS: 30, Amplitude: amp, AmplitudeEnd: 2 * amp, FromRadS: 0.4, ToRadS: 12})
		case 1:
			legs = append(legs, Leg{Kind: Steps, Axis: axis, LengthS: 3.5, UnitS: 0.5, Amplitude: amp})
		case 2:
			legs = append(legs, Leg{Kind: HandsStill, LengthS: 4 + 2*rng.Float64()})
		case 3:
			legs = append(legs, Leg{Kind: Rap, Axis: axis, LengthS: 0.12, Amplitude: 3 * amp})
		default:
			legs = append(legs, Doublets(axis, 2, 1.4*amp)...)
		}
		legs = append(legs, Leg{Kind: Hover, LengthS: 10 + 8*rng.Float64()})
	}
	return legs
}

// DrawPlanted draws a hop with one to three growing oscillations among ordinary flying:
// the pilot's gain raised in one axis until he lets go, or, with a bar, sometimes the
// airframe by itself with the stick still. The truth of the flight lists them.
func DrawPlanted(seed uint64) Scenario {
	rng := stream(seed, streamDraw)
	bar := rng.IntN(2) == 0
	s := drawn("planted", seed, rng, bar, 0)
	s.Air = drawAir(rng)
	m, err := rotor.NewModel(s.Head)
	if err != nil {
		panic("simulate: " + err.Error())
	}
	var legs []Leg
	for range 1 + rng.IntN(3) {
		legs = append(legs, fillers(rng, bar, 1)...)
		axis := pick(rng, flight.PitchAxis, flight.RollAxis)
		rate := 0.18 + 0.3*rng.Float64()
		limit := (8 + 5*rng.Float64()) * deg
		if bar && rng.IntN(3) == 0 {
			legs = append(legs, Leg{Kind: HandsStill, Axis: axis, LengthS: 7, Destabilise: destabilise(m, axis, rate)})
		} else {
			legs = append(legs, Leg{Kind: Growing, Axis: axis, LengthS: 25, GainFactor: gainFor(m, s.Pilot, axis, rate), LimitRad: limit})
		}
		legs = append(legs, Leg{Kind: Hover, LengthS: 20})
	}
	s.Legs = Whole(false, append(legs, fillers(rng, bar, 1)...)...)
	return s
}

// gainFor is the least factor on the pilot's gain that makes the loop grow at the rate.
func gainFor(m *rotor.Model, p Pilot, a flight.Axis, ratePerS float64) float64 {
	for f := 1.1; f < 12; f += 0.05 {
		if g, _ := fastestGrowth(m, p, a, f); g >= ratePerS {
			return f
		}
	}
	return 12
}

// destabilise is the least damping to take from the axis that makes the airframe grow at the
// rate.
func destabilise(m *rotor.Model, a flight.Axis, ratePerS float64) float64 {
	for d := 0.0; d < 12; d += 0.05 {
		for _, mode := range destabilised(m, Leg{Axis: a, Destabilise: d}).Modes() {
			if s := mode.Eigenvalue; imag(s) > 1 && real(s) >= ratePerS {
				return d
			}
		}
	}
	return 12
}
