package loop

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// trueLoop is the loop of the simulation cut at the stick, with the other axis closed.
func trueLoop(t testing.TB, f *simulate.Flight, a flight.Axis) open {
	t.Helper()
	var l open
	turn := 0.0
	for w := fitFromRadS; w < fitToRadS; w *= 1.01 {
		v, err := simulate.LoopAt(f.Truth.Model, f.Scenario.Pilot, a, 1, complex(0, w))
		if err != nil {
			t.Fatal(err)
		}
		turn += wrapped(cmplx.Phase(v) - turn)
		l.w, l.lnGain, l.phase = append(l.w, w), append(l.lnGain, math.Log(cmplx.Abs(v))), append(l.phase, turn)
	}
	return l
}

// drawHop draws a hop that measures aircraft and pilot: a sweep in each axis, doublets, and
// two hovers, by pilots of all delays and gains that can hold the machine.
func drawHop(seed uint64, hoverS float64, rough bool) simulate.Scenario {
	rng := rand.New(rand.NewPCG(seed, 91))
	bar := rng.IntN(2) == 0
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	var head rotor.Head
	var pilot simulate.Pilot
	for ok := false; !ok; {
		head = simulate.DrawHead(rng, bar, 0)
		pilot = simulate.BarePilot()
		if bar {
			pilot = simulate.BarPilot()
		}
		g := between(0.6, 1.3)
		pilot.GainPerRad = simulate.PerAxis{Pitch: g * pilot.GainPerRad.Pitch, Roll: g * between(0.8, 1.2) * pilot.GainPerRad.Roll}
		pilot.DelayS = between(0.18, 0.36)
		drift := between(0.5, 1.3)
		pilot.SpeedRadPerMS = simulate.PerAxis{Pitch: drift * pilot.SpeedRadPerMS.Pitch, Roll: drift * pilot.SpeedRadPerMS.Roll}
		pilot, ok = simulate.Settle(head, pilot)
	}
	size := 0.04
	if bar {
		size = 0.08
	}
	wind, least := between(2, 5), 0.8
	if rough {
		wind, least = wind+2, 1.3
	}
	legs := []simulate.Leg{{Kind: simulate.Hover, LengthS: hoverS / 2}}
	legs = append(legs, simulate.SweepBoth(size)...)
	legs = append(legs, simulate.Doublets(flight.PitchAxis, 2, 1.4*size)...)
	legs = append(legs, simulate.Doublets(flight.RollAxis, 2, size)...)
	legs = append(legs, simulate.Leg{Kind: simulate.Hover, LengthS: hoverS / 2})
	return simulate.Scenario{
		Name: "pilot", StepS: 0.004, Seed: seed, Head: head, Pilot: pilot, Trim: simulate.UsualTrim(), Sensors: simulate.UsualSensors(),
		HeadingRad: between(0, 6), Legs: simulate.Whole(false, legs...),
		Air: simulate.Air{Mean: simulate.Constant(wind), DirectionFrom: simulate.Constant(between(0, 6)), Gusts: wind * between(least, 2*least)},
	}
}
