package rotor_test

import (
	"math"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// The roots of the closed loop with its exact delay say the same as its frequency response:
// just below the most gain the quick swing dies away, just above it grows, at the frequency
// given; just below the least gain the hover oscillation grows, just above it dies away.
func TestRoomAgainstTheRootsOfTheLoop(t *testing.T) {
	checked := 0
	for _, h := range []rotor.Head{simulate.BareHead(), simulate.BarHead("bar", 0.6), simulate.BarHead("slow bar", 1.5)} {
		p, err := rotor.PredictHead(h)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			axis := p.Roll
			if a == flight.PitchAxis {
				axis = p.Pitch
			}
			if len(axis.Pilots) != 3 {
				t.Fatalf("%d pilots", len(axis.Pilots))
			}
			for _, room := range axis.Pilots {
				modes := func(gain float64) []complex128 {
					pilot := simulate.Pilot{DelayS: room.DelayS}
					pilot.GainPerRad.Roll, pilot.GainPerRad.Pitch = gain, 0
					if a == flight.PitchAxis {
						pilot.GainPerRad.Roll, pilot.GainPerRad.Pitch = 0, gain
					}
					return simulate.LoopModes(p.Model, pilot, a, 1)
				}
				growing := func(gain float64) (n int) {
					for _, s := range modes(gain) {
						if real(s) > 0 && imag(s) > 0.05 {
							n++
						}
					}
					return n
				}
				growth := func(gain, nearRadS float64) float64 {
					best, off := math.NaN(), 0.15
					for _, s := range modes(gain) {
						if d := math.Abs(math.Log(imag(s) / nearRadS)); d < off {
							best, off = real(s), d
						}
					}
					return best
				}
				low, high := growth(0.98*room.MostGainPerRad, room.AtRadS), growth(1.02*room.MostGainPerRad, room.AtRadS)
				if !(low < 0 && high > 0) {
					t.Errorf("%s %s, %g s: growth %g and %g about the gain %g at %g rad/s", h.Name, a, room.DelayS, low, high, room.MostGainPerRad, room.AtRadS)
				}
				if least := room.LeastGainPerRad; least > 0 && least < room.MostGainPerRad/1.1 {
					if before, after := growing(0.95*least), growing(1.05*least); before != after+1 {
						t.Errorf("%s %s, %g s: %d and %d growing swings about the least gain %g", h.Name, a, room.DelayS, before, after, least)
					}
					checked++
				}
				if grows := axis.Hover.DampingRatio() < 0; grows != (room.LeastGainPerRad != 0) {
					t.Errorf("%s %s: least gain %g", h.Name, a, room.LeastGainPerRad)
				}
			}
		}
	}
	if checked == 0 {
		t.Error("no least gain was checked")
	}
}

// Common practice: a bar lets a slower pilot push harder before the loop grows.
func TestBarLeavesMoreRoom(t *testing.T) {
	bare, err := rotor.PredictHead(simulate.BareHead())
	if err != nil {
		t.Fatal(err)
	}
	bar, err := rotor.PredictHead(simulate.BarHead("bar", 0.6))
	if err != nil {
		t.Fatal(err)
	}
	for k, r := range bare.Roll.Pilots {
		b := bar.Roll.Pilots[k]
		if !(b.MostGainPerRad > r.MostGainPerRad) {
			t.Errorf("%g s: %g with the bar, %g without", r.DelayS, b.MostGainPerRad, r.MostGainPerRad)
		}
		if k > 0 && !(r.MostGainPerRad < bare.Roll.Pilots[k-1].MostGainPerRad) {
			t.Errorf("a slower pilot may push harder: %+v", bare.Roll.Pilots)
		}
	}
}
