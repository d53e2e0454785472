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

// TestStudyInputs counts on 100 simulated hops how many test inputs are found, how many
// are called what they are not, and how far off the edges are.
func TestStudyInputs(t *testing.T) {
	flown, found, wrong := map[simulate.LegKind]int{}, map[simulate.LegKind]int{}, map[flight.SegmentKind]int{}
	var off, up, down, began, ended []float64
	hops := 0
	for seed := uint64(1); hops < 100; seed++ {
		f := simulate.Fly(simulate.DrawMixed(seed, seed%2 == 0))
		worst := 0.0
		for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			for _, v := range f.Attitude(a) {
				worst = max(worst, math.Abs(v))
			}
		}
		if !(worst < 0.8) {
			continue
		}
		hops++
		segs, _ := Find(f.Hop())
		span, ok := Flight(segs)
		if !ok {
			t.Fatal("no flight", seed)
		}
		up, down = append(up, math.Abs(span.FromS-f.Truth.Flight.FromS)), append(down, math.Abs(span.ToS-f.Truth.Flight.ToS))
		used := map[int]bool{}
		for _, l := range f.Truth.Legs {
			kind := flight.SegmentKind(l.Leg.Kind)
			if !IsInput(kind) && kind != flight.HandsStill {
				continue
			}
			flown[l.Leg.Kind]++
			hit := false
			for i, s := range segs {
				if s.Kind != kind || s.Axis != l.Leg.Axis && s.Axis != "" || !s.Span.Overlaps(l.Span) {
					continue
				}
				used[i] = true
				if kind == flight.Sweep {
					if late := s.Span.FromS - l.Span.FromS; math.Abs(late) > 3 && testing.Verbose() {
						fmt.Printf("sweep seed %d bar %v gusts %.1f %s from %.2f found %.1f late rates %g %g %v\n", seed, f.Scenario.Head.HasBar(),
							f.Scenario.Air.Gusts, s.Axis, l.Span.FromS, late, f.Scenario.Sensors.AttitudeHz, f.Scenario.Sensors.StickHz, f.Scenario.Sensors.NoRates)
					}
					began, ended = append(began, s.Span.FromS-l.Span.FromS), append(ended, s.Span.ToS-l.Span.ToS)
				} else {
					off = append(off, math.Abs(s.Span.FromS-l.Span.FromS), math.Abs(s.Span.ToS-l.Span.ToS))
				}
				hit = true
			}
			if hit {
				found[l.Leg.Kind]++
			} else if testing.Verbose() {
				fmt.Printf("missed seed %d %s %s %.2f %.2f amp %.3f stick %g\n", seed, l.Leg.Kind, l.Leg.Axis, l.Span.FromS, l.Span.ToS, l.Leg.Amplitude, f.Scenario.Sensors.StickHz)
			}
		}
		for i, s := range segs {
			if (IsInput(s.Kind) || s.Kind == flight.HandsStill) && !used[i] {
				wrong[s.Kind]++
				if testing.Verbose() {
					fmt.Printf("false seed %d %s %s %.2f %.2f\n", seed, s.Kind, s.Axis, s.Span.FromS, s.Span.ToS)
				}
			}
		}
	}
	sort.Float64s(off)
	sort.Float64s(began)
	sort.Float64s(ended)
	sort.Float64s(up)
	sort.Float64s(down)
	for _, kind := range []simulate.LegKind{simulate.Doublet, simulate.Steps, simulate.Sweep, simulate.Rap, simulate.HandsStill} {
		if found[kind]*100 < 95*flown[kind] {
			t.Errorf("%s: %d of %d found", kind, found[kind], flown[kind])
		}
	}
	if up[len(up)-1] > 2 || down[len(down)-1] > 2 {
		t.Error("a lift-off or landing is off by more than 2 s")
	}
	at := func(x []float64, p int) float64 { return x[(len(x)-1)*p/100] }
	fmt.Printf("sweeps start 5, 50, 95 %% late by %.1f %.1f %.1f s, end by %.1f %.1f %.1f s\n",
		at(began, 5), at(began, 50), at(began, 95), at(ended, 5), at(ended, 50), at(ended, 95))
	fmt.Println("flown", flown, "found", found, "wrong", wrong)
	fmt.Printf("edges median %.2f 95%% %.2f s; lift-off median %.2f worst %.2f s, landing %.2f worst %.2f s\n", off[len(off)/2], off[len(off)*95/100],
		up[len(up)/2], up[len(up)-1], down[len(down)/2], down[len(down)-1])
}
