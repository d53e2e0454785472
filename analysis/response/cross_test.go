package response

import (
	"math"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// Roll answers pitch's own motion by the share cross, whatever the frequency: the gain of
// roll to longitudinal stick over that of pitch is that share.
func TestCoupling(t *testing.T) {
	p := defaultPlant()
	p.pilotGain = 0.2
	for _, share := range []float64{0, 0.15, 0.3} {
		p.cross = share
		h, segs := p.fly()
		r := result(t, analyse(t, h, segs), flight.PitchAxis, Attitude)
		if r.Coupling == nil || math.Abs(r.Coupling.Value-share) > 0.03 || r.Coupling.Low > share+0.005 || r.Coupling.High < share-0.005 {
			t.Errorf("coupling %v, want %.2f", r.Coupling, share)
		}
	}
}

// The simulated rotor head with its swashplate turned, with and without a bar: the error must
// come back to 2 deg of azimuth with its sign, from sweeps flown by a pilot in light air.
func TestPhasingError(t *testing.T) {
	for seed := uint64(31); seed < 35; seed++ {
		s := simulate.DrawExcited(seed, simulate.Sweep, 20)
		want := s.Head.PhasingErrorRad() * degPerRad
		h := simulate.Fly(s).Hop()
		segs, _ := segment.Find(h)
		a := analyse(t, h, segs)
		if a.PhasingErrorRad == nil {
			t.Errorf("%s, %.2f deg: none; findings %v", s.Head.Name, want, a.Findings)
			continue
		}
		e := a.PhasingErrorRad.Times(degPerRad)
		t.Logf("%s: phasing error %.2f deg (%.2f to %.2f), truth %.2f", s.Head.Name, e.Value, e.Low, e.High, want)
		if math.Abs(e.Value-want) > 2 {
			t.Errorf("%s: phasing error %.2f deg (%.2f to %.2f), want %.2f", s.Head.Name, e.Value, e.Low, e.High, want)
		}
	}
}
