package rotor

import (
	"math"

	"hopcard/flight"
)

// Dimension is one dimension of a configuration that a builder can change.
type Dimension struct {
	Key string // as in aircraft.toml
	of  func(*flight.Configuration) *float64
}

// Of returns the dimension's place in c, nil if c has no bar and the dimension is one of
// it.
func (d Dimension) Of(c *flight.Configuration) *float64 { return d.of(c) }

// Dimensions lists every dimension that the model knows, in the order of aircraft.toml.
func Dimensions() []Dimension {
	own := func(key string, f func(*flight.Configuration) *float64) Dimension { return Dimension{key, f} }
	bar := func(key string, f func(*flight.Bar) *float64) Dimension {
		return Dimension{"bar." + key, func(c *flight.Configuration) *float64 {
			if c.Bar == nil {
				return nil
			}
			return f(c.Bar)
		}}
	}
	type C = flight.Configuration
	type B = flight.Bar
	return []Dimension{
		own("rotor_speed_rpm", func(c *C) *float64 { return &c.RotorSpeedRPM }),
		own("mass_kg", func(c *C) *float64 { return &c.MassKg }),
		own("hub_height_m", func(c *C) *float64 { return &c.HubHeightM }),
		own("roll_inertia_kg_m2", func(c *C) *float64 { return &c.RollInertiaKgM2 }),
		own("pitch_inertia_kg_m2", func(c *C) *float64 { return &c.PitchInertKgM2 }),
		own("rotor_radius_m", func(c *C) *float64 { return &c.RotorRadiusM }),
		own("blade_chord_m", func(c *C) *float64 { return &c.BladeChordM }),
		own("lift_slope_per_rad", func(c *C) *float64 { return &c.LiftSlope }),
		own("flap_inertia_kg_m2", func(c *C) *float64 { return &c.FlapInertiaKg }),
		own("hinge_offset", func(c *C) *float64 { return &c.HingeOffset }),
		own("delta3_deg", func(c *C) *float64 { return &c.Delta3Deg }),
		own("advance_angle_deg", func(c *C) *float64 { return &c.AdvanceDeg }),
		own("cyclic_throw_deg", func(c *C) *float64 { return &c.CyclicThrowDeg }),
		bar("weight_kg", func(b *B) *float64 { return &b.WeightKg }),
		bar("weight_at_m", func(b *B) *float64 { return &b.WeightAtM }),
		bar("inertia_kg_m2", func(b *B) *float64 { return &b.InertiaKgM2 }),
		bar("paddle_chord_m", func(b *B) *float64 { return &b.PaddleChordM }),
		bar("paddle_from_m", func(b *B) *float64 { return &b.PaddleFromM }),
		bar("paddle_to_m", func(b *B) *float64 { return &b.PaddleToM }),
		bar("bar_to_blade", func(b *B) *float64 { return &b.BarToBlade }),
		bar("stick_to_blade", func(b *B) *float64 { return &b.StickToBlade }),
		bar("stick_to_paddle", func(b *B) *float64 { return &b.StickToPaddle }),
		bar("following_time_s", func(b *B) *float64 { return &b.FollowingTimeS }),
	}
}

// Sensitivity is how one number of a prediction moves with one dimension.
type Sensitivity struct {
	Key    string // of the dimension
	Number Number // as predicted
	// PerStep is the change of the number, in its unit, for one Step of the dimension.
	PerStep float64
	// Step is one percent of the dimension, or one degree of the hinge and advance angles.
	Step float64
}

// Sensitivities returns how every number of a configuration's prediction moves with every
// dimension it has, by central differences over one step. Numbers that do not exist (NaN) on
// either side are left out. A dimension that is not given (zero) is left out too, except
// delta3, which zero is a value of. The error is that of Predict.
func Sensitivities(c flight.Configuration, s Surroundings) ([]Sensitivity, error) {
	base, err := Predict(c, s)
	if err != nil {
		return nil, err
	}
	numbers := base.Numbers()
	var list []Sensitivity
	for _, d := range Dimensions() {
		v := d.Of(&c)
		if v == nil || *v == 0 && d.Key != "delta3_deg" {
			continue
		}
		step := stepOf(d.Key, *v)
		low, errLow := shifted(c, s, d, -step/2)
		high, errHigh := shifted(c, s, d, step/2)
		if errLow != nil || errHigh != nil {
			continue // at the edge of what is physical
		}
		for k, n := range numbers {
			change := high[k].Value - low[k].Value
			if !math.IsNaN(change) && !math.IsNaN(n.Value) {
				list = append(list, Sensitivity{d.Key, n, change, step})
			}
		}
	}
	return list, nil
}

func stepOf(key string, value float64) float64 {
	switch key {
	case "delta3_deg", "advance_angle_deg":
		return 1
	}
	return 0.01 * math.Abs(value)
}

// shifted predicts c with one dimension moved by delta; c's bar is copied first. An advance
// angle that is not given stays where it was assumed to be, so that turning the hinge shows
// as a phasing error.
func shifted(c flight.Configuration, s Surroundings, d Dimension, delta float64) ([]Number, error) {
	if c.AdvanceDeg == 0 {
		h, _, err := FromConfiguration(c, s)
		if err != nil {
			return nil, err
		}
		c.AdvanceDeg = h.AdvanceRad * 180 / math.Pi
	}
	if c.Bar != nil {
		bar := *c.Bar
		c.Bar = &bar
	}
	*d.Of(&c) += delta
	p, err := Predict(c, s)
	if err != nil {
		return nil, err
	}
	return p.Numbers(), nil
}
