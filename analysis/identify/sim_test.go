package identify

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/analysis/rotor"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// paper is an invented machine on paper, with or without a bar.
func paper(bar bool) flight.Configuration {
	c := flight.Configuration{
		Name: "bare head", RotorSpeedRPM: 506, MassKg: 240, HubHeightM: 1.15, RollInertiaKgM2: 68, PitchInertKgM2: 135,
		RotorRadiusM: 3.1, BladeChordM: 0.17, LiftSlope: 5.7, FlapInertiaKg: 23.8, AdvanceDeg: 90, CyclicThrowDeg: 8,
	}
	if bar {
		c.Name = "light bar"
		c.Bar = &flight.Bar{WeightKg: 0.45, WeightAtM: 0.8, InertiaKgM2: 0.16, PaddleChordM: 0.12, PaddleFromM: 0.55, PaddleToM: 0.75,
			BarToBlade: 0.5, StickToBlade: 0.6, StickToPaddle: 1}
	}
	return c
}

// aircraft is a machine on paper and as it is.
type aircraft struct {
	paper flight.Configuration
	truth rotor.Head
}

func (a aircraft) surroundings() rotor.Surroundings { return rotor.Surroundings{} }

// drawAircraft draws a machine that is off its dimensions by up to a fifth.
func drawAircraft(seed uint64, bar bool) aircraft {
	rng := rand.New(rand.NewPCG(seed, 17))
	about := func(v, share float64) float64 { return v * (1 + share*(2*rng.Float64()-1)) }
	c := paper(bar)
	h, _, err := rotor.FromConfiguration(c, rotor.Surroundings{})
	if err != nil {
		panic(err)
	}
	h.RollInertiaKgM2, h.PitchInertiaKgM2 = about(h.RollInertiaKgM2, 0.2), about(h.PitchInertiaKgM2, 0.2)
	h.LockNumber, h.ThrowRad = about(h.LockNumber, 0.2), about(h.ThrowRad, 0.15)
	h.SpeedTilt, h.DelayS = about(0.3, 0.2), 0.02+0.1*rng.Float64()
	h.AdvanceRad += (rng.Float64() - 0.5) * 0.2
	if bar {
		h.BarTimeS, h.BarToBlade = about(h.BarTimeS, 0.3), about(h.BarToBlade, 0.15)
	}
	return aircraft{c, h}
}

// fly flies one hop with sweeps in both axes. On other days mass and rotor speed differ by up
// to 3 and 1 %.
func (a aircraft) fly(seed uint64, gusty, otherDay bool) *debrief.Debrief {
	rng := rand.New(rand.NewPCG(seed, 18))
	h := a.truth
	if otherDay {
		h.MassKg *= 1 + 0.03*(2*rng.Float64()-1)
		h.RotorSpeedRadS *= 1 + 0.01*(2*rng.Float64()-1)
	}
	pilot, size := simulate.BarPilot(), 0.09
	if !h.HasBar() {
		pilot, size = simulate.BarePilot(), 0.04
	}
	if p, ok := simulate.Settle(h, pilot); ok {
		pilot = p
	}
	s := simulate.Scenario{Name: "hop", Seed: seed, Head: h, Pilot: pilot, Trim: simulate.UsualTrim(), Sensors: simulate.UsualSensors(), HeadingRad: 1}
	s.Air = simulate.Air{Mean: simulate.Constant(0.8), DirectionFrom: simulate.Constant(1.9), Gusts: 1}
	legs := simulate.SweepBoth(size)
	if gusty {
		s.Air = simulate.Air{Mean: simulate.Constant(5), DirectionFrom: simulate.Constant(1), Gusts: 10, HeightFt: 10}
		legs = append([]simulate.Leg{{Kind: simulate.Hover, LengthS: 110}}, legs...)
	}
	s.Legs = simulate.Whole(false, legs...)
	return debriefed(s, a.paper.Name)
}

func debriefed(s simulate.Scenario, configuration string) *debrief.Debrief {
	air := &flight.Aircraft{}
	air.Limits, air.WindClass = air.Limits.OrDefault(), air.WindClass.OrDefault()
	h := simulate.Fly(s).Hop()
	h.Configuration = configuration
	d, err := debrief.Run(context.Background(), h, air, nil)
	if err != nil {
		panic(err)
	}
	return d
}

// change is the next one to try: half as much bar weight again, or more hub height where
// there is no bar.
func (a aircraft) change() flight.Configuration {
	set := []string{"hub_height_m=1.35", "rotor_speed_rpm=480"}
	if a.paper.Bar != nil {
		set = []string{"bar.weight_kg=0.7", "bar.bar_to_blade=0.55"}
	}
	to, _, err := Change(a.paper, set)
	if err != nil {
		panic(err)
	}
	return to
}

// changedTruth is the machine as it is, changed in the ratios of the dimensions.
func (a aircraft) changedTruth(t *testing.T, r *Result, to flight.Configuration) []float64 {
	t.Helper()
	h, err := r.head(a.truth, to)
	if err != nil {
		t.Fatal(err)
	}
	p, err := rotor.PredictHead(h)
	if err != nil {
		t.Fatal(err)
	}
	var list []float64
	for _, n := range p.Numbers() {
		list = append(list, n.Value)
	}
	return list
}

func (r *Result) of(key string) Parameter {
	for _, p := range r.Parameters {
		if p.Key == key {
			return p
		}
	}
	return Parameter{Dimensions: math.NaN()}
}
