//go:build study

package compare

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/analysis/debrief"
	"hopcard/analysis/rotor"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

var pairs = flag.Int("pairs", 200, "pairs of configurations in each study")

// dayHop flies one hop of a machine with a bar. From hop to hop pilot and air differ, and
// mass and rotor speed by up to the shares given; the configuration does not.
func dayHop(seed uint64, barS float64, gusty bool, massShare, speedShare float64) simulate.Scenario {
	rng := rand.New(rand.NewPCG(seed, 77))
	about := func(v, share float64) float64 { return v * (1 + share*(2*rng.Float64()-1)) }
	h := simulate.BarHead("bar", barS)
	h.MassKg, h.RotorSpeedRadS = about(h.MassKg, massShare), about(h.RotorSpeedRadS, speedShare)
	pilot := simulate.BarPilot()
	pilot.GainPerRad.Pitch, pilot.GainPerRad.Roll = about(pilot.GainPerRad.Pitch, 0.1), about(pilot.GainPerRad.Roll, 0.1)
	s := simulate.Scenario{
		Name: fmt.Sprintf("hop-%d", seed), Seed: seed, Head: h, Pilot: pilot, Trim: simulate.UsualTrim(),
		Sensors: simulate.UsualSensors(), HeadingRad: 6.28 * rng.Float64(),
	}
	hover := func(lengthS float64) simulate.Leg { return simulate.Leg{Kind: simulate.Hover, LengthS: lengthS} }
	if gusty {
		s.Air = simulate.Air{Mean: simulate.Constant(about(5, 0.2)), DirectionFrom: simulate.Constant(6.28 * rng.Float64()),
			Gusts: about(10, 0.15), HeightFt: 10}
		legs := []simulate.Leg{hover(60)}
		legs = append(legs, simulate.Doublets(flight.PitchAxis, 2, 0.13)...)
		legs = append(legs, simulate.Doublets(flight.RollAxis, 2, 0.09)...)
		legs = append(legs, hover(50))
		s.Legs = simulate.Whole(false, append(legs, simulate.SweepBoth(0.09)...)...)
		return s
	}
	s.Air = simulate.Air{Mean: simulate.Constant(about(0.8, 0.3)), DirectionFrom: simulate.Constant(1.9), Gusts: 1}
	legs := simulate.SweepBoth(0.09)
	legs = append(legs, simulate.Doublets(flight.PitchAxis, 2, 0.13)...)
	legs = append(legs, simulate.Doublets(flight.RollAxis, 2, 0.09)...)
	s.Legs = simulate.Whole(false, append(legs, hover(30))...)
	return s
}

func debriefed(t *testing.T, s simulate.Scenario) *debrief.Debrief {
	if _, err := rotor.NewModel(s.Head); err != nil {
		t.Fatal(err)
	}
	h := simulate.Fly(s).Hop()
	a := &flight.Aircraft{}
	a.Limits, a.WindClass = a.Limits.OrDefault(), a.WindClass.OrDefault()
	d, err := debrief.Run(context.Background(), h, a, nil)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// threeHops are two gusty hops and a calm one of one configuration on different days.
func threeHops(t *testing.T, name string, seed uint64, barS float64) Side {
	s := Side{Name: name}
	for k := range 3 {
		s.Hops = append(s.Hops, debriefed(t, dayHop(seed+uint64(k), barS, k < 2, 0.03, 0.01)))
	}
	return s
}

// compareAll runs n comparisons on all processors.
func compareAll(n int, sides func(k int) (a, b Side)) []*Result {
	out := make([]*Result, n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range max(1, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for k := range next {
				a, b := sides(k)
				out[k] = must(Compare(context.Background(), a, b))
			}
		})
	}
	for k := range n {
		next <- k
	}
	close(next)
	wg.Wait()
	return out
}

func must(r *Result, err error) *Result {
	if err != nil {
		panic(err)
	}
	return r
}

// tally counts the results with a real row, and the real rows by key.
func tally(t *testing.T, what string, results []*Result) (with int) {
	count, live := map[string]int{}, map[string]int{}
	below, least := map[string]int{}, map[string]float64{}
	var order []string
	rows := 0
	for _, r := range results {
		any := false
		for _, row := range r.Rows {
			key := row.Key + " " + string(row.Class)
			if row.Verdict == Withheld {
				continue
			}
			rows++
			if live[key] == 0 {
				order, least[key] = append(order, key), 1
			}
			least[key] = min(least[key], row.Chance)
			live[key]++
			if row.Chance < 0.05 {
				below[key]++
			}
			if row.Verdict == Real || row.Verdict == TwoHops {
				any = true
				count[key]++
			}
		}
		if any {
			with++
		}
	}
	t.Logf("%s: %d of %d with a real row; %.1f rows compared", what, with, len(results), float64(rows)/float64(len(results)))
	for _, key := range order {
		t.Logf("  %-45s compared %3d, chance below 0.05 %3d, least %.2g, real %3d", key, live[key], below[key], least[key], count[key])
	}
	return with
}

// most is how many of n pairs of equal configurations may have a real row: at a rate of 5 %
// as many in 97.5 % of studies (binomial; 16 of 200).
func most(n int) int {
	k, b := 0, distuv.Binomial{N: float64(n), P: Level}
	for b.CDF(float64(k)) < 0.975 {
		k++
	}
	return k
}

// Equal configurations on different days, two gusty hops and a calm one a side.
func TestStudyFalseAlarms(t *testing.T) {
	results := compareAll(*pairs, func(k int) (a, b Side) {
		return threeHops(t, "A", uint64(10000+20*k), 0.6), threeHops(t, "B", uint64(10010+20*k), 0.6)
	})
	if with := tally(t, "two gusty and one calm hop a side", results); with > most(*pairs) {
		t.Errorf("false alarm in %d of %d, want at most %d", with, *pairs, most(*pairs))
	}
}

// One hop a side of the very same machine in the same kind of air: nothing but chance
// differs.
func TestStudyFalseAlarmsOfSingleHops(t *testing.T) {
	for _, gusty := range []bool{true, false} {
		results := compareAll(*pairs, func(k int) (a, b Side) {
			one := func(name string, seed int) Side {
				return Side{name, []*debrief.Debrief{debriefed(t, dayHop(uint64(seed), 0.6, gusty, 0, 0))}}
			}
			return one("A", 50000+20*k), one("B", 50010+20*k)
		})
		if with := tally(t, fmt.Sprintf("one hop a side, gusty %t", gusty), results); with > most(*pairs) {
			t.Errorf("gusty %t: false alarm in %d of %d, want at most %d", gusty, with, *pairs, most(*pairs))
		}
	}
}

// A bar that follows a fifth slower, two gusty hops and a calm one a side.
func TestStudyPower(t *testing.T) {
	for _, ratio := range []float64{1.2, 1.5} {
		results := compareAll(*pairs, func(k int) (a, b Side) {
			return threeHops(t, "A", uint64(90000+20*k), 0.6), threeHops(t, "B", uint64(90010+20*k), 0.6*ratio)
		})
		tally(t, fmt.Sprintf("following time times %g", ratio), results)
	}
}
