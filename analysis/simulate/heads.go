package simulate

import (
	"math"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

const deg = math.Pi / 180

// BareHead is a light teetering helicopter without a bar, invented.
func BareHead() rotor.Head {
	return rotor.Head{
		Name: "bare head", RadiusM: 3.1, RotorSpeedRadS: 53, LockNumber: 4.6, MassKg: 240, HubHeightM: 1.15,
		RollInertiaKgM2: 68, PitchInertiaKgM2: 135, AdvanceRad: math.Pi / 2, ThrowRad: 8 * deg,
		XuPerS: -0.03, YvPerS: -0.03, StickToPaddle: 1, StickToBlade: 1, DelayS: 0.05,
	}
}

// BarHead is the same machine with a stabiliser bar of the given following time.
func BarHead(name string, followingTimeS float64) rotor.Head {
	h := BareHead()
	h.Name, h.BarTimeS, h.BarToBlade, h.StickToBlade = name, followingTimeS, 0.5, 0.6
	return h
}

// GroundRun returns the legs before lift-off; withKnocks puts taps before the control
// check.
func GroundRun(withKnocks bool) []Leg {
	legs := []Leg{{Kind: Ground, LengthS: 6}}
	if withKnocks {
		legs = append(legs, Leg{Kind: Knocks, LengthS: 4})
	}
	return append(legs,
		Leg{Kind: ControlCheck, LengthS: 9}, Leg{Kind: Ground, LengthS: 2},
		Leg{Kind: SpinUp, LengthS: 12}, Leg{Kind: Ground, LengthS: 3})
}

// Down returns the legs after landing.
func Down(withKnocks bool) []Leg {
	legs := []Leg{
		{Kind: Landing, LengthS: 6}, {Kind: Ground, LengthS: 3},
		{Kind: SpinDown, LengthS: 8},
	}
	if withKnocks {
		legs = append(legs, Leg{Kind: Knocks, LengthS: 4})
	}
	return append(legs, Leg{Kind: Ground, LengthS: 6})
}

// Whole puts lift-off and a settling hover before the legs, and ground runs round them.
func Whole(withKnocks bool, legs ...Leg) []Leg {
	all := append(GroundRun(withKnocks), Leg{Kind: LiftOff, LengthS: 5}, Leg{Kind: Hover, LengthS: 12})
	all = append(all, legs...)
	return append(all, Down(withKnocks)...)
}

// SweepBoth is a frequency sweep in each axis with hovers between. size is the stick's
// amplitude at the start; a machine with a bar needs about twice that of a bare one (0.04).
func SweepBoth(size float64) []Leg {
	sweep := func(a flight.Axis, k float64) Leg {
		return Leg{Kind: Sweep, Axis: a, LengthS: 45, Amplitude: k * size, AmplitudeEnd: 2.2 * k * size,
			FromRadS: 0.3, ToRadS: 12}
	}
	return []Leg{sweep(flight.PitchAxis, 1), {Kind: Hover, LengthS: 8}, sweep(flight.RollAxis, 0.7), {Kind: Hover, LengthS: 8}}
}

// Doublets is n doublets in the axis with hovers after each.
func Doublets(a flight.Axis, n int, amplitude float64) []Leg {
	var legs []Leg
	for k := range n {
		amp := amplitude
		if k%2 == 1 {
			amp = -amp
		}
		legs = append(legs, Leg{Kind: Doublet, Axis: a, LengthS: 1.6, Amplitude: amp}, Leg{Kind: Hover, LengthS: 6})
	}
	return legs
}
