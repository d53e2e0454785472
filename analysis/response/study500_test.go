//go:build study

package response

import (
	"context"
	"math"
	"math/cmplx"
	"runtime"
	"sync"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// manyHops is the number of hops of the large study: doublets, steps and sweeps in turn, dead
// times of 20 to 250 ms, with bar and without, the pilot in the loop, air from still to so
// rough that the coherence falls to 0.6.
const manyHops = 500

// flown is one hop of the study with what is known of it.
type flownHop struct {
	kind simulate.LegKind
	f    *simulate.Flight
	a    Analysis
	lags []float64 // exact correlation lag of each response to rate, in their order
}

func flyMany(t *testing.T, firstSeed uint64, n int) []flownHop {
	kinds := []simulate.LegKind{simulate.Doublet, simulate.Steps, simulate.Sweep}
	out := make([]flownHop, n)
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				s := simulate.DrawExcited(firstSeed+uint64(i), kinds[i%3], 20)
				s.Air.Gusts = 8 * float64(i%10) / 9
				if i%10 >= 7 { // weak inputs in rough air
					for k := range s.Legs {
						s.Legs[k].Amplitude, s.Legs[k].AmplitudeEnd = 0.5*s.Legs[k].Amplitude, 0.5*s.Legs[k].AmplitudeEnd
					}
				}
				s.Sensors.NoWind = i%2 == 1
				f := simulate.Fly(s)
				h := f.Hop()
				segs, _ := segment.Find(h)
				a, err := Analyse(context.Background(), h, segs, Settings{Seed: uint64(i)}, nil)
				if err != nil {
					t.Error(err)
				}
				// The histories are large, and only the truth is needed.
				out[i] = flownHop{kind: kinds[i%3], f: &simulate.Flight{Scenario: s, Truth: f.Truth}, a: a}
				for _, r := range a.Responses {
					if r.Output == Rate && r.Axis != flight.YawAxis {
						out[i].lags = append(out[i].lags, exactLag(t, f, r))
					}
				}
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
	return out
}

// TestStudyManyHops gives bias, scatter and coverage of every number over drawn hops.
func TestStudyManyHops(t *testing.T) {
	names := []string{"phase bandwidth, share", "w180, share", "gain bandwidth, share", "phase delay, s", "dead time, s",
		"effective delay, s", "disc following, share", "bar following, share", "phase lag at 1 Hz, deg", "phasing error, deg",
		"correlation lag, s"}
	tables := map[string][]*tally{}
	groups := []string{"all", string(simulate.Doublet), string(simulate.Steps), string(simulate.Sweep), "bar", "no bar", "rough", "calm"}
	for _, g := range groups {
		for _, n := range names {
			tables[g] = append(tables[g], &tally{name: n})
		}
	}
	invented := 0
	var coherence []float64
	for i, one := range flyMany(t, 70000, manyHops) {
		in := []string{"all", string(one.kind), "no bar", "calm"}
		if one.f.Scenario.Head.HasBar() {
			in[2] = "bar"
		}
		if i%10 >= 5 {
			in[3] = "rough"
		}
		for _, g := range in {
			got := addHop(tables[g], one)
			if g == "all" {
				invented += got
			}
		}
		for _, r := range one.a.Responses {
			if r.Output == Attitude && r.Axis != flight.YawAxis {
				k := nearestFrequency(r.FrequencyRadS, 4)
				coherence = append(coherence, r.Coherence[k])
			}
		}
	}
	t.Logf("%d responses of attitude; coherence at 4 rad/s from %.2f (one in twenty below) to %.3f; %d numbers given that there are not",
		len(coherence), quantile(sorted(coherence), 0.05), quantile(sorted(coherence), 0.95), invented)
	for _, g := range groups {
		t.Logf("%s:", g)
		for _, y := range tables[g] {
			t.Logf("  %-24s n %3.0f missing %3d bias %+.5f sd %.5f coverage %.1f %%", y.name, y.n, y.missing, y.bias(),
				math.Sqrt(y.sum2/y.n-y.bias()*y.bias()), y.coverage())
		}
	}
}

func addHop(ys []*tally, one flownHop) (invented int) {
	head := one.f.Scenario.Head
	if e := one.a.PhasingErrorRad; e != nil {
		d := e.Times(degPerRad)
		ys[9].add(&d, one.f.Truth.PhasingErrorRad*degPerRad)
	} else {
		ys[9].missing++
	}
	for _, r := range one.a.Responses {
		in, out, want := rotor.LonStick, rotor.PitchRate, one.f.Truth.PitchBandwidth
		switch r.Axis {
		case flight.RollAxis:
			in, out, want = rotor.LatStick, rotor.RollRate, one.f.Truth.RollBandwidth
		case flight.YawAxis:
			continue
		}
		if r.Output == Attitude {
			invented += addHandling(ys[:4], r, want)
			continue
		}
		ys[10].add(r.CorrelationLagS, one.lags[0])
		one.lags = one.lags[1:]
		ys[4].add(r.TransportDelayS, head.DelayS)
		ys[5].add(r.EffectiveDelayS, head.DelayS+head.DiscTimeS())
		ys[6].add(shareOf(r.DiscFollowingS, head.DiscTimeS()), 1)
		if head.HasBar() {
			ys[7].add(shareOf(r.BarFollowingS, head.BarTimeS), 1)
		} else if r.BarFollowingS != nil {
			invented++
		}
		for _, l := range r.Lag {
			if l.At == "1 Hz" {
				h := one.f.Truth.Model.Response(in, out, []float64{l.FrequencyRadS})[0]
				truth := l.PhaseDeg.Value + math.Remainder(cmplx.Phase(h)*degPerRad-l.PhaseDeg.Value, 360)
				ys[8].add(&l.PhaseDeg, truth)
			}
		}
	}
	return invented
}

func shareOf(e *flight.Estimate, truth float64) *flight.Estimate {
	if e == nil {
		return nil
	}
	s := e.Times(1 / truth)
	return &s
}
