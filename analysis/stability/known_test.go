package stability

import (
	"context"
	"math"
	"strings"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// knownOf returns the mode of the axis found with the stick known, nil if there is none.
func knownOf(r Result, axis flight.Axis) *Mode {
	for i := range r.Modes {
		if m := &r.Modes[i]; m.Axis == axis && strings.Contains(m.Method, "known") {
			return m
		}
	}
	return nil
}

func analysed(t *testing.T, h *flight.Hop) Result {
	t.Helper()
	segs, _ := segment.Find(h)
	r, err := Analyse(context.Background(), h, segs, flight.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestModesWhileThePilotFlies: both axes of hops flown with and without a bar, doublets and
// sweeps, and with less logged; and a hop that rides out gusts only, which tells nothing.
func TestModesWhileThePilotFlies(t *testing.T) {
	with := func(s simulate.Scenario, edit func(*simulate.Sensors)) simulate.Scenario {
		edit(&s.Sensors)
		return s
	}
	for _, c := range []struct {
		name string
		fly  simulate.Scenario
		want int // modes at least
	}{
		{"doublets, seed 1", simulate.DrawExcited(1, simulate.Doublet, 0), 2},
		{"sweeps, seed 2", simulate.DrawExcited(2, simulate.Sweep, 0), 2},
		{"doublets, seed 4", simulate.DrawExcited(4, simulate.Doublet, 0), 2},
		{"without wind and rates", with(simulate.DrawExcited(2, simulate.Sweep, 0),
			func(s *simulate.Sensors) { s.NoWind, s.NoRates = true, true }), 2},
		{"only attitude at 20 Hz", with(simulate.DrawExcited(4, simulate.Sweep, 0),
			func(s *simulate.Sensors) { s.NoWind, s.NoRates, s.AttitudeHz = true, true, 20 }), 2},
		{"gusts alone, no wind logged", with(simulate.DrawGusty(4, false, 60, 0, 0),
			func(s *simulate.Sensors) { s.NoWind = true }), 0},
		{"gusts alone, mast beside", simulate.DrawGusty(4, false, 150, 0, 1), 2},
		{"gusts alone, mast 15 m off", simulate.DrawGusty(2, true, 150, 15, 0.7), 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := simulate.Fly(c.fly)
			r := analysed(t, f.Hop())
			n := 0
			for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
				if m := knownOf(r, axis); m != nil {
					n++
					checkMode(t, f, m)
				}
			}
			if n < c.want {
				t.Errorf("%d modes, want %d: %+v", n, c.want, r.Modes)
			}
		})
	}
}

// checkMode asks for a damping ratio within 0.06 of the truth and an interval that is no
// further off than half of itself.
func checkMode(t *testing.T, f *simulate.Flight, m *Mode) {
	t.Helper()
	const bar = 0.06
	best := math.Inf(1)
	for _, want := range f.Truth.Modes {
		if !want.Oscillates() || want.Axis != m.Axis {
			continue
		}
		if math.Abs(math.Log(want.NaturalRadS()/m.FrequencyRadS.Value)) > 0.25 {
			continue
		}
		best = min(best, math.Abs(m.DampingRatio.Value-want.DampingRatio()))
	}
	half := (m.DampingRatio.High - m.DampingRatio.Low) / 2
	if best > bar || best > 1.5*half {
		t.Errorf("%s: damping %v at %v is %.3f off the truth", m.Axis, *m.DampingRatio, *m.FrequencyRadS, best)
	}
	if m.Says == "" {
		t.Errorf("%s: nothing said", m.Axis)
	}
}

// TestModesSharedHops: what the truth of the shared hops says of the slow
// oscillation without a bar, and of the rocking with one.
func TestModesSharedHops(t *testing.T) {
	for _, c := range []struct{ name, says string }{
		{"h01", "slow hover oscillation"}, {"h08", "slow hover oscillation"}, {"h06", "rocking"},
	} {
		h, tr := loadHop(t, c.name)
		r := analysed(t, h)
		for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			m := knownOf(r, axis)
			if m == nil {
				t.Errorf("%s %s: no mode", c.name, axis)
				continue
			}
			off := math.Inf(1)
			var wn, zeta float64
			for _, w := range tr.Response.Modes {
				if w.Axis == string(axis) && w.Im != 0 && math.Abs(math.Log(w.Natural/m.FrequencyRadS.Value)) < off {
					off, wn, zeta = math.Abs(math.Log(w.Natural/m.FrequencyRadS.Value)), w.Natural, w.Damping
				}
			}
			t.Logf("%s %s: damping %.3f (%.3f to %.3f), truth %.3f, at %.3f, truth %.3f: %s", c.name, axis,
				m.DampingRatio.Value, m.DampingRatio.Low, m.DampingRatio.High, zeta, m.FrequencyRadS.Value, wn, m.Says)
			if math.Abs(m.DampingRatio.Value-zeta) > 0.06 || off > 0.2 || !strings.Contains(m.Says, c.says) {
				t.Errorf("%s %s: damping %v at %v, want %.3f at %.3f; says %s", c.name, axis, *m.DampingRatio, *m.FrequencyRadS, zeta, wn, m.Says)
			}
		}
	}
}

// TestKnownModesAskForTheStick: without one, or with one on another clock, there is none.
func TestKnownModesAskForTheStick(t *testing.T) {
	f := simulate.Fly(simulate.DrawExcited(2, simulate.Sweep, 0))
	for name, edit := range map[string]func(h *flight.Hop){
		"no stick": func(h *flight.Hop) {
			var kept []flight.Channel
			for _, c := range h.Channels {
				if c.Quantity != flight.LatStick && c.Quantity != flight.LonStick {
					kept = append(kept, c)
				}
			}
			h.Channels = kept
		},
		"another clock": func(h *flight.Hop) {
			h.Sources = append(h.Sources, flight.Source{File: "box", Clock: flight.Clock{AlignedBy: flight.AlignNone}})
			h.Channel(flight.LatStick).Source = len(h.Sources) - 1
			h.Channel(flight.LonStick).Source = len(h.Sources) - 1
		},
	} {
		h := f.Hop()
		edit(h)
		r := analysed(t, h)
		if len(r.Findings) == 0 {
			t.Errorf("%s: no finding", name)
		}
		for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			if m := knownOf(r, axis); m != nil {
				t.Errorf("%s: %+v", name, m)
			}
		}
	}
}
