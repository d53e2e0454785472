package loop

import (
	"context"
	"math"
	"math/cmplx"
	"testing"

	"hopcard/analysis/response"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// TestDriftLoops flies pilots who leave drift alone, who hold speed and place as usual, and
// who hold them hard. The loop that is measured is the whole one, cut at the stick, with what
// the pilot does about drift in it; against that of attitude alone the hard one's phase
// margin is off by many degrees.
func TestDriftLoops(t *testing.T) {
	for _, c := range []struct {
		name  string
		drift float64
	}{{"none", 0}, {"usual", 1}, {"hard", 1.8}} {
		t.Run(c.name, func(t *testing.T) {
			s := drawHop(108, 160, true)
			p := &s.Pilot
			p.CommandRad = 0 // with a limit there is no one loop to hold this against
			p.SpeedRadPerMS = simulate.PerAxis{Pitch: 0.04 * c.drift, Roll: 0.026 * c.drift}
			p.PlaceRadPerM = simulate.PerAxis{Pitch: 0.008 * c.drift, Roll: 0.006 * c.drift}
			f := simulate.Fly(s)
			h := f.Hop()
			segs, _ := segment.Find(h)
			r, err := Analyse(context.Background(), h, segs, exactResponses(f), nil)
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Margins) != 2 {
				t.Fatal(r.Findings)
			}
			for _, m := range r.Margins {
				whole := margins(trueLoop(t, f, m.Axis))
				alone := margins(attitudeLoop(t, f, m.Axis))
				if m.PhaseMarginDeg == nil || m.GainMarginDB == nil {
					t.Fatalf("%s: %v", m.Axis, r.Findings)
				}
				phase := m.PhaseMarginDeg
				t.Logf("%s: phase margin %.1f (%.1f to %.1f), whole loop %.1f, attitude alone %.1f", m.Axis, phase.Value,
					phase.Low, phase.High, whole.phase*degPerRad, alone.phase*degPerRad)
				near(t, "phase margin, deg", phase.Value, whole.phase*degPerRad, 5)
				near(t, "gain margin, dB", m.GainMarginDB.Value, whole.gain*dbPerNeper, 1.5)
				if phase.Low > whole.phase*degPerRad || whole.phase*degPerRad > phase.High {
					t.Errorf("%s: the interval does not hold the truth", m.Axis)
				}
				if off := math.Abs(alone.phase-whole.phase) * degPerRad; c.drift == 1.8 && math.Abs(phase.Value-alone.phase*degPerRad) < off/2 {
					t.Errorf("%s: what is measured is the loop of attitude alone", m.Axis)
				}
			}
		})
	}
}

// exactResponses are those of the aircraft as they are, with next to no error.
func exactResponses(f *simulate.Flight) []response.Result {
	var out []response.Result
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		r := response.Result{Axis: axis, Output: response.Attitude, Lag: []response.LagAt{{At: "1 Hz"}}}
		for w := 0.4; w < 10; w *= 1.03 {
			h := f.Truth.StickToAttitude(axis, []float64{w})[0]
			phase := cmplx.Phase(h)
			if n := len(r.PhaseDeg); n > 0 {
				last := r.PhaseDeg[n-1] / degPerRad
				phase = last + wrapped(phase-last)
			}
			r.FrequencyRadS, r.H, r.PhaseDeg = append(r.FrequencyRadS, w), append(r.H, h), append(r.PhaseDeg, phase*degPerRad)
			r.GainSDDB, r.PhaseSDDeg = append(r.GainSDDB, 0.01), append(r.PhaseSDDeg, 0.07)
		}
		out = append(out, r)
	}
	return out
}

// attitudeLoop is the part of the loop that goes through attitude and its rate.
func attitudeLoop(t *testing.T, f *simulate.Flight, a flight.Axis) open {
	t.Helper()
	return sampled(func(s complex128) complex128 {
		v, err := simulate.AttitudeLoopAt(f.Truth.Model, f.Scenario.Pilot, a, s)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}, fitFromRadS, fitToRadS, 400)
}

// TestAttitudeIsAllOfIt: for the pilot who leaves drift alone the two loops are one.
func TestAttitudeIsAllOfIt(t *testing.T) {
	s := drawHop(108, 60, false)
	s.Pilot.SpeedRadPerMS, s.Pilot.PlaceRadPerM = simulate.PerAxis{}, simulate.PerAxis{}
	f := &simulate.Flight{Scenario: s}
	f.Truth.Model = simulate.Fly(simulate.Scenario{Head: s.Head, Legs: []simulate.Leg{{Kind: simulate.Ground, LengthS: 0.1}}}).Truth.Model
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		for _, w := range []float64{0.7, 1.5, 4} {
			whole, err := simulate.LoopAt(f.Truth.Model, s.Pilot, a, 1, complex(0, w))
			if err != nil {
				t.Fatal(err)
			}
			alone, err := simulate.AttitudeLoopAt(f.Truth.Model, s.Pilot, a, complex(0, w))
			if err != nil {
				t.Fatal(err)
			}
			if cmplx.Abs(whole/alone-1) > 1e-6 {
				t.Errorf("%s at %.1f rad/s: %.4f and %.4f", a, w, whole, alone)
			}
		}
	}
}
