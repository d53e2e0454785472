package segment

import (
	"math"
	"testing"

	"hopcard/flight"
)

// middle flies from 15 to 75 s with 8 quiet seconds from 40 s on, at the given pitch.
func middle(quietPitchRad float64) func(t float64) float64 {
	const ground, trim = 1.1 * degree, 2.1 * degree
	return func(t float64) float64 {
		switch {
		case t < 15 || t > 75:
			return ground
		case t >= 40 && t < 48:
			return quietPitchRad
		}
		// A hover flown by hand, still at both ends of the quiet seconds.
		sway := math.Sin(math.Pi*(t-15)/60) * math.Sin(2*math.Pi*(t-40)/4)
		return trim + 1.5*degree*sway
	}
}

func TestQuietSecondsInTheAirAreNoLanding(t *testing.T) {
	for _, c := range []struct {
		name          string
		quietPitchRad float64
		collective    func(t float64) float64
		flights       int
	}{
		{"hands still at trim", 2.1 * degree, nil, 1},
		{"touched down", 1.1 * degree, nil, 2},
		{"at trim, collective up", 2.1 * degree, up(false), 1},
		{"on a slope, collective down", 2.1 * degree, up(true), 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			of := map[flight.Quantity]func(float64) float64{
				flight.Pitch: middle(c.quietPitchRad), flight.Roll: func(float64) float64 { return -0.01 },
			}
			if c.collective != nil {
				of[flight.Collective] = c.collective
			}
			segs, _ := Find(bench(50, 90, groundNoise, of))
			if got := Flights(segs); len(got) != c.flights {
				t.Errorf("flights %v, want %d", got, c.flights)
			}
		})
	}
}

// up is a collective raised from 15 to 75 s, and lowered from 40 to 48 s if touching.
func up(touching bool) func(t float64) float64 {
	return func(t float64) float64 {
		if t < 15 || t > 75 || touching && t >= 40 && t < 48 {
			return 0.03
		}
		return 0.55
	}
}
