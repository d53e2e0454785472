package response

import (
	"math"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// A step that gives 10 deg of roll at 4 s and 3 deg of pitch at most is coupled by 0.30.
func TestOverStep(t *testing.T) {
	if got := overStep([]float64{0, 4, 12, 10}, []float64{0, 1, -3, -2}); math.Abs(got-0.3) > 1e-12 {
		t.Errorf("coupling %g, want 0.30", got)
	}
}

// Roll answers a share of pitch's own motion, so off-axis over on-axis is that share at any
// time.
func TestStepCouplingOfPlant(t *testing.T) {
	p := defaultPlant()
	p.pilotGain, p.cross = 0.2, 0.3
	h, segs := p.fly()
	r := result(t, analyse(t, h, segs), flight.PitchAxis, Attitude)
	expect(t, "coupling by a step", r.StepCoupling, 0.3, 0.05)
}

// exactStepCoupling is that of the rotor model, stepped by a tenth of a millisecond.
func exactStepCoupling(m *rotor.Model, in rotor.Input, on, off rotor.State) float64 {
	const dt = 1e-4
	x, dx := make([]float64, m.Order()), make([]float64, m.Order())
	var u [4]float64
	var onAxis, offAxis []float64
	for k := 0; float64(k)*dt <= stepS; k++ {
		onAxis, offAxis = append(onAxis, x[on]), append(offAxis, x[off])
		if float64(k)*dt >= m.DelayS {
			u[in] = 1
		}
		m.Derivative(dx, x, &u)
		for i := range x {
			x[i] += dt * dx[i]
		}
	}
	return overStep(onAxis, offAxis)
}

// Machines with the swashplate out of phase, with a bar and without: the coupling that a step
// would show, read off sweeps, is that of the model.
func TestStepCouplingOfHeads(t *testing.T) {
	for seed := uint64(31); seed < 33; seed++ {
		s := simulate.DrawExcited(seed, simulate.Sweep, 20)
		f := simulate.Fly(s)
		h := f.Hop()
		segs, _ := segment.Find(h)
		a := analyse(t, h, segs)
		for _, c := range []struct {
			axis    flight.Axis
			in      rotor.Input
			on, off rotor.State
		}{{flight.RollAxis, rotor.LatStick, rotor.Roll, rotor.Pitch}, {flight.PitchAxis, rotor.LonStick, rotor.Pitch, rotor.Roll}} {
			want := exactStepCoupling(f.Truth.Model, c.in, c.on, c.off)
			e := result(t, a, c.axis, Attitude).StepCoupling
			t.Logf("%s %s: %v, exact %.3f", s.Head.Name, c.axis, e, want)
			expect(t, "coupling of "+string(c.axis)+" by a step", e, want, 0.2)
		}
	}
}
