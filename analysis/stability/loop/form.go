package loop

import (
	"math/cmplx"
)

// form is the pilot as a few numbers, stick per attitude with the sign turned round,
//
//	Y(s) = (Gain + Lead s + Drift/s + Place/s^2) exp(-Delay s)/(1 + handS s).
//
// Gain, lead, delay and the lag of the hand are McRuer's (McRuer and Krendel, AGARDograph
// 188, 1974, from memory). An aircraft that is
// held at an attitude drifts with a speed that is its integral, and to a place that is the
// integral of that: drift and place are what the pilot does about them, as far as stick and
// attitude show it, and about what his trim leaves.
type form struct {
	gain, lead, drift, place, delay float64
	// bend is what Y departs from the form by, per rad/s: log gain and phase. It is zero but in
	// samples of a pilot's errors.
	bend complex128
}

const formParameters = 5

func (f form) at(w float64) complex128 {
	s := complex(0, w)
	return (complex(f.gain, 0) + complex(f.lead, 0)*s + complex(f.drift, 0)/s + complex(f.place, 0)/(s*s)) *
		cmplx.Exp(-s*complex(f.delay, 0)+f.bend*complex(w, 0)) / (1 + s*handS)
}

// bendPerRadS is the standard deviation of a pilot's departure from the form: at 3 rad/s half a
// decibel and 3 deg. It is what a hand quicker or slower than handS by 0.05 s makes of it.
const bendPerRadS = 0.02

// handS is the lag of a hand and arm on a stick: about 0.1 s where it has to be quick (McRuer
// and Krendel 1974, from memory). A hop does not tell it from the delay; what the two add
// up to, the effective delay, it does.
const handS = 0.1

// slopes are the derivatives of the form at w by its parameters.
func (f form) slopes(w float64) [formParameters]complex128 {
	s := complex(0, w)
	e := cmplx.Exp(-s*complex(f.delay, 0)) / (1 + s*handS)
	return [formParameters]complex128{e, e * s, e / s, e / (s * s), -s * f.at(w)}
}

func (f form) vector() [formParameters]float64 {
	return [formParameters]float64{f.gain, f.lead, f.drift, f.place, f.delay}
}

func formOf(v [formParameters]float64) form {
	return form{gain: v[0], lead: v[1], drift: v[2], place: v[3], delay: v[4]}
}
