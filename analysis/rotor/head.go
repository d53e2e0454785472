package rotor

import (
	"errors"
	"fmt"
	"math"

	"hopcard/flight"
)

// ErrNotPhysical is wrapped by errors about numbers that no rotor head can have.
var ErrNotPhysical = errors.New("rotor: not a physical rotor head")

// Head holds the plain parameters of a rotor head and the machine under it. Angles are
// radians. A head without a bar has BarTimeS and BarToBlade zero.
type Head struct {
	Name             string
	RadiusM          float64
	RotorSpeedRadS   float64
	LockNumber       float64
	MassKg           float64
	HubHeightM       float64 // hub above the centre of gravity
	RollInertiaKgM2  float64
	PitchInertiaKgM2 float64

	// HingeOffset is the flap hinge offset over the radius; 0 for a teetering head.
	HingeOffset float64
	// FlapInertiaKgM2 of one blade and Blades are needed for the hub moment of a head
	// with hinge offset only.
	FlapInertiaKgM2 float64
	Blades          int
	Delta3Rad       float64 // flap up takes pitch off: positive
	AdvanceRad      float64 // swashplate input ahead of the blade
	ThrowRad        float64 // blade pitch at full stick, with StickToBlade 1

	// SpeedTilt is the disc tilt per advance ratio, k_u Omega R; 0 stands for 0.3.
	SpeedTilt float64
	XuPerS    float64 // drag of the body per speed and mass, negative
	YvPerS    float64

	BarTimeS      float64 // following time of the bar
	BarToBlade    float64 // kb: blade pitch per bar tilt
	StickToPaddle float64 // kp: paddle pitch per swashplate tilt
	StickToBlade  float64 // ks: blade pitch per swashplate tilt

	DelayS float64 // dead time between stick and swashplate
}

// DefaultSpeedTilt is disc tilt per advance ratio: with it a 3 m rotor at 55 rad/s flaps
// back 1.04 deg per 10 m/s, where Seddon and Newman, Basic Helicopter Aerodynamics, 8.3.1,
// give about 1 deg.
const DefaultSpeedTilt = 0.3

// HasBar reports whether the head has a stabiliser bar.
func (h Head) HasBar() bool { return h.BarTimeS > 0 && h.BarToBlade != 0 }

// LockNumber is rho a c R^4 / I_b (Lock 1927): air density in kg/m3, lift slope per rad,
// chord and radius in m, flap inertia of one blade in kg m2.
func LockNumber(densityKgM3, liftSlope, chordM, radiusM, flapInertiaKgM2 float64) float64 {
	return densityKgM3 * liftSlope * chordM * math.Pow(radiusM, 4) / flapInertiaKgM2
}

// FlapFrequencySquared is nu^2, per revolution, of a uniform blade with a flap hinge at
// the fraction offset of the radius (Johnson, Helicopter Theory, 1980, 5-1, from memory):
// 1 + 3e/(2(1-e)).
func FlapFrequencySquared(offset float64) float64 { return 1 + 3*offset/(2*(1-offset)) }

// EffectiveFlapFrequencySquared adds the pitch-flap coupling: nu^2 + (gamma/8) tan(delta3).
func EffectiveFlapFrequencySquared(offset, lockNumber, delta3Rad float64) float64 {
	return FlapFrequencySquared(offset) + lockNumber/8*math.Tan(delta3Rad)
}

// LagAndGain is the answer of flapping to once-per-revolution blade pitch: lag in rad of
// azimuth and flap per pitch. A teetering head with delta3 has 90 deg less delta3 and
// cos(delta3). Johnson, Helicopter Theory, 1980, 5-3 (from memory).
func LagAndGain(offset, lockNumber, delta3Rad float64) (lagRad, gain float64) {
	damping := lockNumber / 8
	spring := EffectiveFlapFrequencySquared(offset, lockNumber, delta3Rad) - 1
	return math.Atan2(damping, spring), damping / math.Hypot(damping, spring)
}

// DiscTimeS is the following time of the tip-path plane, 16/(gamma Omega), in s
// (Bramwell 1976; Padfield, Helicopter Flight Dynamics; from memory).
func DiscTimeS(lockNumber, rotorSpeedRadS float64) float64 {
	return 16 / (lockNumber * rotorSpeedRadS)
}

// BarTimeS is the following time of a bar with two paddles of the given chord between
// radii fromM and toM; inertia is that of the whole bar, tip weights included, about its
// teeter axis.
//
// The paddles damp the bar's flapping by n Omega per unit inertia, n = rho a c
// (r2^4 - r1^4)/(4 I_bar), and a disc so damped follows in 2/(n Omega). With one Lock
// number for the bar, n = gamma/8, it is 16/(gamma Omega), as for blades.
func BarTimeS(densityKgM3, liftSlope, chordM, fromM, toM, inertiaKgM2, rotorSpeedRadS float64) float64 {
	n := densityKgM3 * liftSlope * chordM * (math.Pow(toM, 4) - math.Pow(fromM, 4)) / (4 * inertiaKgM2)
	return 2 / (n * rotorSpeedRadS)
}

// BarInertiaKgM2 is the teeter inertia of a rod (with its paddles) and two tip weights.
func BarInertiaKgM2(rodKgM2, weightKg, atM float64) float64 { return rodKgM2 + 2*weightKg*atM*atM }

// LagRad is the angle of azimuth by which the blades answer behind their pitch.
func (h Head) LagRad() float64 {
	lag, _ := LagAndGain(h.HingeOffset, h.LockNumber, h.Delta3Rad)
	return lag
}

// PhasingErrorRad is the advance angle of the swashplate less the lag of the blades: what
// turns a roll input partly into pitch. In this model a positive error turns the answer from
// aft tilt towards right tilt, counter-clockwise seen from above, whichever way the rotor
// turns: the swashplate turned clockwise by as much, seen from above, takes it out.
func (h Head) PhasingErrorRad() float64 { return h.AdvanceRad - h.LagRad() }

// DiscTimeS is the following time of the disc of this head.
func (h Head) DiscTimeS() float64 { return DiscTimeS(h.LockNumber, h.RotorSpeedRadS) }

// SpeedTiltRadPerMS is k_u: disc tilt away from the air speed, rad per m/s.
func (h Head) SpeedTiltRadPerMS() float64 {
	tilt := h.SpeedTilt
	if tilt == 0 {
		tilt = DefaultSpeedTilt
	}
	return tilt / (h.RotorSpeedRadS * h.RadiusM)
}

// stiffnessNm is the moment about the centre of gravity per disc tilt: thrust times hub
// height and, with hinge offset, the hub moment (b/2) I_b Omega^2 (nu^2 - 1) (Johnson,
// Helicopter Theory, 1980, 5-13, from memory).
func (h Head) stiffnessNm() float64 {
	hub := float64(h.Blades) / 2 * h.FlapInertiaKgM2 * h.RotorSpeedRadS * h.RotorSpeedRadS *
		(FlapFrequencySquared(h.HingeOffset) - 1)
	return h.MassKg*flight.StandardGravity*h.HubHeightM + hub
}

// PitchStiffnessPerS2 is pitch acceleration per disc tilt, m g h/Iyy for a teetering head.
func (h Head) PitchStiffnessPerS2() float64 { return h.stiffnessNm() / h.PitchInertiaKgM2 }

// RollStiffnessPerS2 is roll acceleration per disc tilt.
func (h Head) RollStiffnessPerS2() float64 { return h.stiffnessNm() / h.RollInertiaKgM2 }

// Check returns an error wrapping ErrNotPhysical that names the first impossible number.
func (h Head) Check() error {
	positive := []struct {
		name  string
		value float64
	}{
		{"rotor radius", h.RadiusM}, {"rotor speed", h.RotorSpeedRadS}, {"Lock number", h.LockNumber},
		{"mass", h.MassKg}, {"hub height", h.HubHeightM}, {"roll inertia", h.RollInertiaKgM2},
		{"pitch inertia", h.PitchInertiaKgM2}, {"cyclic throw", h.ThrowRad},
	}
	for _, f := range positive {
		if !(f.value > 0) || math.IsInf(f.value, 0) {
			return fmt.Errorf("%w: %s is %g, must be above zero", ErrNotPhysical, f.name, f.value)
		}
	}
	switch {
	case !(h.HingeOffset >= 0 && h.HingeOffset < 0.5):
		return fmt.Errorf("%w: hinge offset is %g of the radius, must be 0 to 0.5", ErrNotPhysical, h.HingeOffset)
	case !(math.Abs(h.Delta3Rad) < math.Pi/2):
		return fmt.Errorf("%w: delta3 is %.4g deg, must be within 90", ErrNotPhysical, h.Delta3Rad*180/math.Pi)
	case !(h.DelayS >= 0):
		return fmt.Errorf("%w: control delay is %g s, must not be negative", ErrNotPhysical, h.DelayS)
	case !(h.BarTimeS >= 0):
		return fmt.Errorf("%w: following time of the bar is %g s, must not be negative", ErrNotPhysical, h.BarTimeS)
	case h.BarToBlade != 0 && h.BarTimeS == 0:
		return fmt.Errorf("%w: the bar moves the blades but has no following time", ErrNotPhysical)
	}
	for _, v := range []float64{h.XuPerS, h.YvPerS, h.AdvanceRad, h.BarToBlade, h.StickToPaddle, h.StickToBlade, h.SpeedTilt} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%w: a parameter is %g", ErrNotPhysical, v)
		}
	}
	return nil
}

// LagThroughBarRad is the azimuth by which the disc answers behind the pitch of the bar's
// paddles: the bar, teetering and without spring, lags 90 deg, the blades add their own.
func (h Head) LagThroughBarRad() float64 { return math.Pi/2 + h.LagRad() }
