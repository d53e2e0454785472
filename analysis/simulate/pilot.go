package simulate

import (
	"math"
	"math/cmplx"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// PerAxis holds one number for each axis.
type PerAxis struct{ Pitch, Roll float64 }

// Of returns the number of the axis.
func (p PerAxis) Of(a flight.Axis) float64 {
	if a == flight.RollAxis {
		return p.Roll
	}
	return p.Pitch
}

// Pilot says how the pilot flies. The zero value never touches the stick.
type Pilot struct {
	GainPerRad    PerAxis // Kp: stick, fraction of travel, per rad of attitude error
	LeadS         PerAxis // T
	IntegralS     PerAxis // Ti; 0 for none
	SpeedRadPerMS PerAxis // commanded attitude per drift speed
	PlaceRadPerM  PerAxis // commanded attitude per drift
	DelayS        float64 // from eye to hand
	LagS          float64 // neuromuscular
	Remnant       float64 // rms of what is neither, fraction of travel
	CommandRad    float64 // greatest commanded attitude
}

// BarePilot is a practised pilot on a bare head: he has to lead the attitude himself.
func BarePilot() Pilot {
	return Pilot{
		GainPerRad: PerAxis{0.78, 0.68}, LeadS: PerAxis{0.7, 0.5}, IntegralS: PerAxis{9, 9},
		SpeedRadPerMS: PerAxis{0.04, 0.026}, PlaceRadPerM: PerAxis{0.008, 0.006},
		DelayS: 0.28, LagS: 0.1, Remnant: 0.008, CommandRad: 0.0873,
	}
}

// BarPilot is the same pilot with a stabiliser bar: more stick, hardly any lead.
func BarPilot() Pilot {
	return Pilot{
		GainPerRad: PerAxis{1.3, 1.7}, LeadS: PerAxis{0.07, 0.02}, IntegralS: PerAxis{10, 7},
		SpeedRadPerMS: PerAxis{0.03, 0.04}, PlaceRadPerM: PerAxis{0.006, 0.008},
		DelayS: 0.28, LagS: 0.1, Remnant: 0.012, CommandRad: 0.0873,
	}
}

// Response returns the pilot's stick per attitude error at s: Kp (1 + T s + 1/(Ti s)) F(s).
func (p Pilot) Response(a flight.Axis, s complex128) complex128 {
	return p.hand(a, s) * (p.slow(a, s) + complex(p.LeadS.Of(a), 0)*s)
}

func (p Pilot) hand(a flight.Axis, s complex128) complex128 {
	return complex(p.GainPerRad.Of(a), 0) * cmplx.Exp(-s*complex(p.DelayS, 0)) / (1 + s*complex(p.LagS, 0))
}

func (p Pilot) slow(a flight.Axis, s complex128) complex128 {
	if ti := p.IntegralS.Of(a); ti > 0 {
		return 1 + 1/(complex(ti, 0)*s)
	}
	return 1
}

// Stick returns the stick per unit of aircraft states x (from rotor.Model.At), all loops
// closed: what the pilot does about attitude, rate, drift speed and drift, with his gain
// multiplied by factor. The command limit is left out.
func (p Pilot) Stick(a flight.Axis, s complex128, x []complex128, factor float64) complex128 {
	attitude, rate, speed, sign := x[rotor.Pitch], x[rotor.PitchRate], x[rotor.SpeedForward], complex(1, 0)
	if a == flight.RollAxis {
		attitude, rate, speed, sign = x[rotor.Roll], x[rotor.RollRate], x[rotor.SpeedRight], -1
	}
	command := sign * speed * (complex(p.SpeedRadPerMS.Of(a), 0) + complex(p.PlaceRadPerM.Of(a), 0)/s)
	return complex(factor, 0) * p.hand(a, s) *
		(p.slow(a, s)*(command-attitude) - complex(p.LeadS.Of(a), 0)*rate)
}

// hand is the pilot at work in one axis.
type hand struct {
	axis     flight.Axis
	pilot    Pilot
	integral float64 // of the attitude error
	place    float64 // drift
	stick    float64 // from trim, after the lag
	remnant  float64
	past     []float64 // ring of what the eye saw, one per step
	head     int

	arm, finger lag // of the stick as a whole, of a test input
	noise       lag // of the remnant
}

// lag is a first-order lag at a fixed step; it keeps its last factor, since it is asked for
// the same one again and again.
type lag struct{ timeS, share float64 }

// step returns the share of the way to its target that the lag goes in a step.
func (l *lag) step(timeS, stepS float64) float64 {
	if timeS <= 0 {
		return 1
	}
	if timeS != l.timeS {
		l.timeS, l.share = timeS, 1-math.Exp(-stepS/timeS)
	}
	return l.share
}

func newHand(a flight.Axis, p Pilot, stepS float64) *hand {
	return &hand{axis: a, pilot: p, past: make([]float64, int(math.Ceil(p.DelayS/stepS))+2)}
}

// see takes attitude, rate and drift speed (already signed so that a positive speed asks
// for positive attitude) and remembers what the pilot would do about them.
func (h *hand) see(attitude, rate, speed, stepS float64) {
	p, a := h.pilot, h.axis
	h.place += speed * stepS
	command := p.SpeedRadPerMS.Of(a)*speed + p.PlaceRadPerM.Of(a)*h.place
	if p.CommandRad > 0 {
		command = min(max(command, -p.CommandRad), p.CommandRad)
	}
	err := command - attitude
	wish := err - p.LeadS.Of(a)*rate
	if ti := p.IntegralS.Of(a); ti > 0 {
		h.integral += err * stepS
		wish += h.integral / ti
	}
	h.past[h.head] = p.GainPerRad.Of(a) * wish
	h.head = (h.head + 1) % len(h.past)
}

// wish returns what was seen a reaction delay ago.
func (h *hand) wish(stepS float64) float64 {
	back := h.pilot.DelayS / stepS
	k := int(back)
	f := back - float64(k)
	n := len(h.past)
	i := (h.head - 1 - k + 2*n) % n
	j := (i - 1 + n) % n
	return h.past[i]*(1-f) + h.past[j]*f
}

// move lets the hand follow a target through a lag.
func (h *hand) move(target, lagS, stepS float64) {
	h.stick += (target - h.stick) * h.arm.step(lagS, stepS)
}

// forget clears what was seen, so that a pilot who comes back does not act on the past.
func (h *hand) forget() {
	for i := range h.past {
		h.past[i] = 0
	}
}
