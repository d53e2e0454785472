package rotor

import (
	"fmt"
	"math"
	"strings"

	"hopcard/flight"
)

// Surroundings are what a configuration does not say.
type Surroundings struct {
	// DensityKgM3 of the air; 0 stands for 1.225 (ISO 2533 at sea level).
	DensityKgM3 float64
	// ControlDelayS is the dead time between stick and swashplate, best taken from a hop.
	ControlDelayS float64
	// DragPerS is the body's drag per speed and mass, positive; 0 stands for 0.03.
	DragPerS float64
}

// Values assumed where a configuration leaves a number out.
const (
	seaLevelDensityKgM3 = 1.225
	usualLiftSlope      = 5.7 // per rad, thin aerofoil less its losses
	usualDragPerS       = 0.03
	usualBlades         = 2
)

// Assumptions that a fit to a hop puts numbers in the place of.
const (
	AssumedNoDelay  = "no dead time between stick and swashplate"
	AssumedFlapBack = "flap-back %.2g per advance ratio"
)

// MissingError names the numbers that a prediction needs and a configuration does not give.
type MissingError struct {
	Configuration string
	Keys          []string // as in aircraft.toml
}

func (e *MissingError) Error() string {
	return fmt.Sprintf("configuration %q: the rotor model needs %s", e.Configuration, strings.Join(e.Keys, ", "))
}

// FromConfiguration turns the dimensions of a configuration into the plain parameters of
// its rotor head. Assumptions says in words what was assumed where a number is not given,
// to be shown beside every prediction. The error is a *MissingError or wraps
// ErrNotPhysical.
func FromConfiguration(c flight.Configuration, s Surroundings) (h Head, assumptions []string, err error) {
	if missing := missingKeys(c); len(missing) > 0 {
		return Head{}, nil, &MissingError{c.Name, missing}
	}
	b := builder{c: c}
	density := b.or(s.DensityKgM3, seaLevelDensityKgM3, "air density %.4g kg/m3")
	slope := b.or(c.LiftSlope, usualLiftSlope, "lift slope of the blades %.3g per rad")
	drag := b.or(s.DragPerS, usualDragPerS, "drag of the body %.2g per second")
	b.h = Head{
		Name: c.Name, RadiusM: c.RotorRadiusM, RotorSpeedRadS: c.RotorSpeedRPM * 2 * math.Pi / 60,
		LockNumber: LockNumber(density, slope, c.BladeChordM, c.RotorRadiusM, c.FlapInertiaKg),
		MassKg:     c.MassKg, HubHeightM: c.HubHeightM, RollInertiaKgM2: c.RollInertiaKgM2,
		PitchInertiaKgM2: c.PitchInertKgM2, HingeOffset: c.HingeOffset, FlapInertiaKgM2: c.FlapInertiaKg,
		Delta3Rad: c.Delta3Deg * math.Pi / 180, ThrowRad: c.CyclicThrowDeg * math.Pi / 180,
		XuPerS: -drag, YvPerS: -drag, StickToBlade: 1, DelayS: s.ControlDelayS,
	}
	if c.HingeOffset != 0 {
		b.h.Blades = usualBlades
		b.assume("%d blades", usualBlades)
	}
	b.h.AdvanceRad = c.AdvanceDeg * math.Pi / 180
	if c.AdvanceDeg == 0 {
		b.h.AdvanceRad = b.h.LagRad()
		b.assume("advance angle %.3g deg, equal to the lag of the blades", b.h.AdvanceRad*180/math.Pi)
	}
	if s.ControlDelayS == 0 {
		b.assume(AssumedNoDelay)
	}
	if c.Bar != nil {
		b.bar(*c.Bar, density, slope)
	}
	b.assume(AssumedFlapBack, DefaultSpeedTilt)
	b.assume("hover, small angles, uniform inflow, rigid blades")
	return b.h, b.assumptions, b.h.Check()
}

type builder struct {
	c           flight.Configuration
	h           Head
	assumptions []string
}

func (b *builder) assume(format string, args ...any) {
	b.assumptions = append(b.assumptions, fmt.Sprintf(format, args...))
}

func (b *builder) or(value, usual float64, what string) float64 {
	if value != 0 {
		return value
	}
	b.assume(what, usual)
	return usual
}

// bar fills in the stabiliser bar. A following time measured on the bench goes before the
// one from dimensions.
func (b *builder) bar(bar flight.Bar, density, slope float64) {
	b.h.BarToBlade = bar.BarToBlade
	b.h.StickToBlade, b.h.StickToPaddle = bar.StickToBlade, bar.StickToPaddle
	b.h.BarTimeS = bar.FollowingTimeS
	if b.h.BarTimeS == 0 {
		inertia := BarInertiaKgM2(bar.InertiaKgM2, bar.WeightKg, bar.WeightAtM)
		b.h.BarTimeS = BarTimeS(density, slope, bar.PaddleChordM, bar.PaddleFromM, bar.PaddleToM,
			inertia, b.h.RotorSpeedRadS)
		b.assume("lift slope of the paddles %.3g per rad, as of the blades", slope)
		if bar.InertiaKgM2 == 0 {
			b.assume("a rod without inertia")
		}
	}
}

func missingKeys(c flight.Configuration) []string {
	var keys []string
	need := func(key string, value float64) {
		if value == 0 {
			keys = append(keys, key)
		}
	}
	need("rotor_speed_rpm", c.RotorSpeedRPM)
	need("rotor_radius_m", c.RotorRadiusM)
	need("blade_chord_m", c.BladeChordM)
	need("flap_inertia_kg_m2", c.FlapInertiaKg)
	need("mass_kg", c.MassKg)
	need("hub_height_m", c.HubHeightM)
	need("roll_inertia_kg_m2", c.RollInertiaKgM2)
	need("pitch_inertia_kg_m2", c.PitchInertKgM2)
	need("cyclic_throw_deg", c.CyclicThrowDeg)
	if b := c.Bar; b != nil {
		need("bar.bar_to_blade", b.BarToBlade)
		if b.StickToBlade == 0 && b.StickToPaddle == 0 {
			keys = append(keys, "bar.stick_to_blade or bar.stick_to_paddle")
		}
		if b.FollowingTimeS == 0 {
			need("bar.weight_kg", b.WeightKg)
			need("bar.weight_at_m", b.WeightAtM)
			need("bar.paddle_chord_m", b.PaddleChordM)
			need("bar.paddle_to_m", b.PaddleToM)
		}
	}
	return keys
}
