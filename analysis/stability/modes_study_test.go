//go:build study

package stability

import (
	"context"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// modeTally counts modes found with the stick known.
type modeTally struct {
	axes, found, within, covered, omegaCovered, wrong int
	worst                                             float64
	off                                               []float64
}

// nearestMode is the truth's oscillation of the axis nearest in frequency.
func nearestMode(modes []rotor.Mode, axis flight.Axis, wn float64) (best rotor.Mode, ok bool) {
	for _, m := range modes {
		if m.Axis != axis || !m.Oscillates() || m.DampingRatio() > 0.7 {
			continue
		}
		if !ok || math.Abs(math.Log(m.NaturalRadS()/wn)) < math.Abs(math.Log(best.NaturalRadS()/wn)) {
			best, ok = m, true
		}
	}
	return best, ok
}

func (n *modeTally) count(f *simulate.Flight, r Result) {
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		n.axes++
		for _, m := range r.Modes {
			if m.Axis != axis || !strings.Contains(m.Method, "known") {
				continue
			}
			want, ok := nearestMode(f.Truth.Modes, axis, m.FrequencyRadS.Value)
			// With a phasing error the modes of a head with a bar belong to both axes.
			if wn := m.FrequencyRadS.Value; f.Truth.PhasingErrorRad != 0 && f.Scenario.Head.HasBar() && (!ok || math.Abs(want.NaturalRadS()-wn) > 0.15*wn) {
				want, ok = nearestMode(f.Truth.Modes, across(axis), wn)
			}
			z, w := m.DampingRatio, m.FrequencyRadS
			if !ok {
				n.wrong++
				fmt.Printf("no such mode in %s: %+v\n", f.Scenario.Name, *z)
				continue
			}
			n.found++
			off := z.Value - want.DampingRatio()
			n.off = append(n.off, off)
			n.worst = max(n.worst, math.Abs(off))
			if math.Abs(off) <= 0.06 {
				n.within++
			}
			in := z.Low <= want.DampingRatio() && want.DampingRatio() <= z.High
			if in {
				n.covered++
			}
			if w.Low <= want.NaturalRadS() && want.NaturalRadS() <= w.High {
				n.omegaCovered++
			}
			if os.Getenv("ALL") != "" || !in && testing.Verbose() {
				fmt.Printf("%s %s %d %s: %.3f %.3f..%.3f want %.3f; wn %.3f %.3f..%.3f want %.3f %s\n", f.Scenario.Name, f.Scenario.Head.Name, f.Scenario.Seed, axis,
					z.Value, z.Low, z.High, want.DampingRatio(), w.Value, w.Low, w.High, want.NaturalRadS(), m.Method)
			}
		}
	}
}

func (n *modeTally) print(name string) {
	ratio := func(a, b int) float64 { return float64(a) / float64(b) }
	mean := 0.0
	for _, v := range n.off {
		mean += v / float64(len(n.off))
	}
	fmt.Printf("%-22s axes %d found %d within 0.06 %.3f worst %.3f mean off %+.4f median off %.4f covered %.3f frequency %.3f none such %d\n",
		name, n.axes, n.found, ratio(n.within, n.found), n.worst, mean, medianSize(n.off), ratio(n.covered, n.found), ratio(n.omegaCovered, n.found), n.wrong)
}

// TestStudyModes measures damping with the pilot at work, over drawn machines of every kind.
func TestStudyModes(t *testing.T) {
	hops := 20
	if os.Getenv("HOPS") != "" {
		fmt.Sscan(os.Getenv("HOPS"), &hops)
	}
	first := uint64(1)
	if os.Getenv("SEED") != "" {
		fmt.Sscan(os.Getenv("SEED"), &first)
	}
	draws := []struct {
		name string
		draw func(seed uint64) simulate.Scenario
	}{
		{"quiet", simulate.DrawQuiet},
		{"planted", simulate.DrawPlanted},
		{"mixed", func(s uint64) simulate.Scenario { return simulate.DrawMixed(s, false) }},
		{"mixed planted", func(s uint64) simulate.Scenario { return simulate.DrawMixed(s, true) }},
		{"doublets", func(s uint64) simulate.Scenario { return simulate.DrawExcited(s, simulate.Doublet, 15) }},
		{"sweeps", func(s uint64) simulate.Scenario { return simulate.DrawExcited(s, simulate.Sweep, 15) }},
		{"gusty bare, no mast", func(s uint64) simulate.Scenario {
			sc := simulate.DrawGusty(s, false, 150, 0, 0)
			sc.Sensors.NoWind = true
			return sc
		}},
		{"gusty bare, mast here", func(s uint64) simulate.Scenario { return simulate.DrawGusty(s, false, 150, 0, 1) }},
		{"gusty bare, mast off", func(s uint64) simulate.Scenario { return simulate.DrawGusty(s, false, 150, 15, 0.7) }},
		{"gusty bare, 8 min", func(s uint64) simulate.Scenario { return simulate.DrawGusty(s, false, 480, 20, 0.6) }},
		{"gusty bar", func(s uint64) simulate.Scenario { return simulate.DrawGusty(s, true, 150, 20, 0.6) }},
	}
	var all modeTally
	for _, d := range draws {
		if want := os.Getenv("KIND"); want != "" && !strings.Contains(d.name, want) {
			continue
		}
		var n modeTally
		for seed := first; seed < first+uint64(hops); seed++ {
			f := simulate.Fly(d.draw(seed))
			if !sane(f) {
				continue
			}
			h := f.Hop()
			segs, _ := segment.Find(h)
			r, err := Analyse(context.Background(), h, segs, flight.DefaultLimits())
			if err != nil {
				t.Fatal(err)
			}
			n.count(f, r)
		}
		n.print(d.name)
		all.axes, all.found, all.within, all.covered = all.axes+n.axes, all.found+n.found, all.within+n.within, all.covered+n.covered
		all.omegaCovered, all.wrong, all.worst, all.off = all.omegaCovered+n.omegaCovered, all.wrong+n.wrong, max(all.worst, n.worst), append(all.off, n.off...)
	}
	all.print("all")
}

// TestStudyDampingAlong asks the damping along the flight, once a second well inside the
// planted growths, for that of the loop that grew.
func TestStudyDampingAlong(t *testing.T) {
	hops := 40
	if os.Getenv("HOPS") != "" {
		fmt.Sscan(os.Getenv("HOPS"), &hops)
	}
	n, in := 0, 0
	var off []float64
	for seed := uint64(1); seed <= uint64(hops); seed++ {
		f := simulate.Fly(simulate.DrawPlanted(seed))
		if !sane(f) {
			continue
		}
		h := f.Hop()
		segs, _ := segment.Find(h)
		r, err := Analyse(context.Background(), h, segs, flight.DefaultLimits())
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range f.Truth.Growing {
			if !plain(g) {
				continue
			}
			want := -g.GrowthPerS / math.Hypot(g.GrowthPerS, g.FrequencyRadS)
			window := 3 * math.Pi / g.FrequencyRadS // half of the six swings
			for _, p := range r.Damping {
				if p.Axis != g.Axis || p.TimeS < g.Span.FromS+window || p.TimeS > g.Span.ToS-window {
					continue
				}
				n++
				off = append(off, p.Ratio.Value-want)
				if p.Ratio.Low <= want && want <= p.Ratio.High {
					in++
				}
			}
		}
	}
	fmt.Printf("damping along the flight: %d points, median off %.3f, intervals hold %.3f\n", n, medianSize(off), float64(in)/float64(n))
	if share := float64(in) / float64(n); share < 0.9 {
		t.Errorf("intervals hold the truth in %.3f of the seconds", share)
	}
}
