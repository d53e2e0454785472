package loop

import (
	"math/cmplx"
)

// form is the pilot as a few numbers, stick per attitude with the sign turned round,
//
//	Y(s) = (Gain + Lead s + Drift/s + Place/s^2) exp(-Delay s).
//
// Gain, lead and delay are McRuer's (McRuer and Krendel, AGARDograph 188, 1974, from
// memory), the delay from eye to hand with the hand's own lag in it. An aircraft that is
// held at an attitude drifts with a speed that is its integral, and to a place that is the
// integral of that: drift and place are what the pilot does about them, as far as stick and
// attitude show it, and about what his trim leaves.
type form struct {
	gain, lead, drift, place, delay float64
}

const formParameters = 5

func (f form) at(w float64) complex128 {
	s := complex(0, w)
	return (complex(f.gain, 0) + complex(f.lead, 0)*s + complex(f.drift, 0)/s + complex(f.place, 0)/(s*s)) *
		cmplx.Exp(-s*complex(f.delay, 0))
}

// slopes are the derivatives of the form at w by its parameters.
func (f form) slopes(w float64) [formParameters]complex128 {
	s := complex(0, w)
	e := cmplx.Exp(-s * complex(f.delay, 0))
	return [formParameters]complex128{e, e * s, e / s, e / (s * s), -s * f.at(w)}
}

func (f form) vector() [formParameters]float64 {
	return [formParameters]float64{f.gain, f.lead, f.drift, f.place, f.delay}
}

func formOf(v [formParameters]float64) form { return form{v[0], v[1], v[2], v[3], v[4]} }
