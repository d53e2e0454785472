package segment

import (
	"testing"

	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// A rate sensor twenty times as noisy as a usual one never falls quiet on the ground. The
// control check with the rotor stopped must not become flight with test inputs: by the logged
// rotor speed, and without it by the shaking of the airframe.
func TestNoisyRatesAreNotFlight(t *testing.T) {
	for _, noRotorSpeed := range []bool{false, true} {
		s := simulate.DrawExcited(7, simulate.Sweep, 0)
		s.Sensors.GyroNoiseRadS *= 20
		s.Sensors.AttitudeNoiseRad *= 20
		s.Sensors.NoRotorSpeed = noRotorSpeed
		f := simulate.Fly(s)
		segs, _ := Find(f.Hop())
		// The rotor is at half its speed from here to there.
		turning := flight.Span{FromS: f.Truth.Turning.FromS + 4, ToS: f.Truth.Turning.ToS - 3}
		sweeps := 0
		for _, g := range segs {
			if !onGround(g.Kind) && (g.Span.FromS < turning.FromS || g.Span.ToS > turning.ToS) {
				t.Errorf("no rotor speed %v: %s %s from %.1f to %.1f s, the rotor turns from %.1f to %.1f", noRotorSpeed,
					g.Kind, g.Axis, g.Span.FromS, g.Span.ToS, turning.FromS, turning.ToS)
			}
			if g.Kind == flight.Sweep {
				sweeps++
			}
		}
		if sweeps != 2 {
			t.Errorf("no rotor speed %v: %d sweeps, 2 were flown", noRotorSpeed, sweeps)
		}
	}
}
