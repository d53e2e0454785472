package simulate

import (
	"math"
	"math/rand/v2"

	"hopcard/flight"
)

// shape returns what the leg asks of the stick of its axis at tau seconds into it, on top
// of the pilot's own, and the lag of the hand that does it. Zero for legs without a test
// input.
func (l Leg) shape(tau float64, waves []wave) (stick, lagS float64) {
	const hand = 0.04
	switch l.Kind {
	case Doublet:
		if tau < l.LengthS/2 {
			return l.Amplitude, hand
		}
		return -l.Amplitude, hand
	case Steps:
		// 3-2-1-1: sign changes after 3, 5 and 6 units.
		switch u := tau / l.UnitS; {
		case u < 3, u >= 5 && u < 6:
			return l.Amplitude, hand
		case u < 7:
			return -l.Amplitude, hand
		}
	case Sweep:
		ratio := l.ToRadS / l.FromRadS
		phase := l.FromRadS * l.LengthS / math.Log(ratio) * (math.Pow(ratio, tau/l.LengthS) - 1)
		size := l.Amplitude + (l.AmplitudeEnd-l.Amplitude)*tau/l.LengthS
		return size * math.Sin(phase) * fade(tau, l.LengthS, 1), 0
	case Rap:
		return l.Amplitude, 0.02
	case StopPulse:
		return 1.4 * math.Copysign(1, l.Amplitude), 0.03
	case Shaking:
		sum := 0.0
		for _, w := range waves {
			sum += w.size * math.Sin(w.omega*tau+w.phase)
		}
		return sum * fade(tau, l.LengthS, 1), 0
	}
	return 0, hand
}

// fade rises from 0 to 1 over edge seconds and falls again at the end.
func fade(tau, length, edge float64) float64 {
	return smooth(tau/edge) * smooth((length-tau)/edge)
}

// smooth goes from 0 to 1 as x does, with level ends.
func smooth(x float64) float64 {
	x = min(max(x, 0), 1)
	return x * x * (3 - 2*x)
}

// smoothSlope is the derivative of smooth.
func smoothSlope(x float64) float64 {
	if x <= 0 || x >= 1 {
		return 0
	}
	return 6 * x * (1 - x)
}

type wave struct{ size, omega, phase float64 }

// shake returns sines spread over the band of a Shaking leg, of random phases and together
// of its rms.
func (l Leg) shake(rng *rand.Rand) []wave {
	const n = 32
	waves := make([]wave, n)
	ratio := l.ToRadS / l.FromRadS
	for i := range waves {
		x := (float64(i) + rng.Float64()) / n
		waves[i] = wave{l.Amplitude * math.Sqrt(2.0/n), l.FromRadS * math.Pow(ratio, x), 2 * math.Pi * rng.Float64()}
	}
	return waves
}

// check returns both sticks in a control check: each to both stops in turn.
func (l Leg) check(tau float64) (lon, lat float64) {
	each := l.LengthS / 5
	k := int(tau / each)
	x := tau/each - float64(k)
	full := 1.06 * smooth(x/0.35) * smooth((1-x)/0.35) // a push against the stop
	switch k {
	case 0:
		return full, 0
	case 1:
		return -full, 0
	case 2:
		return 0, full
	case 3:
		return 0, -full
	}
	return 0, 0
}

// knockTimes are when a Knocks leg taps, from its start: uneven, so that the pattern fits
// in one way only.
func (l Leg) knockTimes() []float64 {
	return []float64{0.2 * l.LengthS, 0.42 * l.LengthS, 0.72 * l.LengthS}
}

// tap is the shock of a sharp tap felt by a logger on a soft pad, per unit of its strength:
// a rise of 4 ms and a ringing decay.
func tap(tau float64) float64 {
	if tau < 0 || tau > 0.4 {
		return 0
	}
	return smooth(tau/0.004) * math.Exp(-tau/0.03) * math.Cos(2*math.Pi*13*tau)
}

// airborne is how far the leg lets the aircraft fly, 0 on the ground to 1, and its slope.
func (l Leg) airborne(tau float64) (share, slopePerS float64) {
	switch l.Kind {
	case Ground, ControlCheck, Knocks, SpinUp, SpinDown:
		return 0, 0
	case LiftOff:
		return smooth(tau / l.LengthS), smoothSlope(tau/l.LengthS) / l.LengthS
	case Landing:
		return 1 - smooth(tau/l.LengthS), -smoothSlope(tau/l.LengthS) / l.LengthS
	}
	return 1, 0
}

// moves reports whether the leg's own stick input is on this axis.
func (l Leg) moves(a flight.Axis) bool { return l.Axis == a }

// still reports whether the pilot leaves the stick of this axis alone.
func (l Leg) still(a flight.Axis) bool {
	return l.Kind == HandsStill && (l.Axis == "" || l.Axis == a)
}
