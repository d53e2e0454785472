//go:build study

package segment

import (
	"fmt"
	"math"
	"sort"
	"testing"

	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// TestStudySweepEnds measures, by head and air, how far off the ends of sweeps are: those
// of hops that only sweep, and those amid inputs of every kind.
func TestStudySweepEnds(t *testing.T) {
	began, ended := map[string][]float64{}, map[string][]float64{}
	flown, found, wrong := 0, 0, 0
	look := func(s simulate.Scenario) {
		bare := !s.Head.HasBar()
		air := "still"
		switch {
		case s.Air.Gusts > 2.5:
			air = "gusty"
		case s.Air.Gusts > 0:
			air = "light"
		}
		key := fmt.Sprintf("bar  %s", air)
		if bare {
			key = fmt.Sprintf("bare %s", air)
		}
		f := simulate.Fly(s)
		for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			for _, v := range f.Attitude(a) {
				if !(math.Abs(v) < 0.8) {
					return
				}
			}
		}
		segs, _ := Find(f.Hop())
		used := map[int]bool{}
		for _, l := range f.Truth.Legs {
			if l.Leg.Kind != simulate.Sweep {
				continue
			}
			flown++
			for i, g := range segs {
				if g.Kind == flight.Sweep && g.Axis == l.Leg.Axis && g.Span.Overlaps(l.Span) {
					used[i] = true
					found++
					began[key] = append(began[key], g.Span.FromS-l.Span.FromS)
					ended[key] = append(ended[key], g.Span.ToS-l.Span.ToS)
					if testing.Verbose() && math.Abs(g.Span.FromS-l.Span.FromS) > 3 {
						fmt.Printf("%s seed %d %s %s %.1f off %.1f rates %g %g\n", s.Name, s.Seed, key, l.Leg.Axis, l.Span.FromS, g.Span.FromS-l.Span.FromS, s.Sensors.AttitudeHz, s.Sensors.StickHz)
					}
				}
			}
		}
		for i, g := range segs {
			if g.Kind == flight.Sweep && !used[i] {
				wrong++
			}
		}
	}
	for seed := uint64(1001); seed <= 1030; seed++ {
		look(simulate.DrawExcited(seed, simulate.Sweep, 15))
	}
	for seed := uint64(2001); seed <= 2060; seed++ {
		s := simulate.DrawMixed(seed, seed%4 == 0)
		for _, l := range s.Legs {
			if l.Kind == simulate.Sweep {
				look(s)
				break
			}
		}
	}
	var keys []string
	for k := range began {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		began["all"] = append(began["all"], began[k]...)
		ended["all"] = append(ended["all"], ended[k]...)
	}
	for _, k := range append(keys, "all") {
		b, e := sizes(began[k]), sizes(ended[k])
		fmt.Printf("%-10s n %3d start off median %.2f 90%% %.2f worst %.2f s; end median %.2f 90%% %.2f worst %.2f s\n", k, len(b),
			b[len(b)/2], b[len(b)*9/10], b[len(b)-1], e[len(e)/2], e[len(e)*9/10], e[len(e)-1])
	}
	fmt.Printf("sweeps flown %d found %d false %d\n", flown, found, wrong)
}

func sizes(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Abs(v)
	}
	sort.Float64s(out)
	return out
}
