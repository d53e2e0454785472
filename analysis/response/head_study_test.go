//go:build study

package response

import (
	"context"
	"math"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// headHops is the number of hops flown for each kind of test input.
const headHops = 40

// TestStudyRotorHeads flies drawn machines, with and without a bar, each with one kind of
// test input, light gusts and a pilot, and compares with the exact numbers of the head.
func TestStudyRotorHeads(t *testing.T) {
	for _, kind := range []simulate.LegKind{simulate.Sweep, simulate.Steps, simulate.Doublet} {
		ys := []*tally{{name: "phase bandwidth, share"}, {name: "w180, share"}, {name: "gain bandwidth, share"},
			{name: "phase delay, s"}, {name: "dead time, s"}, {name: "phasing error, deg"}}
		invented := 0
		for i := range headHops {
			s := simulate.DrawExcited(uint64(5000+i), kind, 10)
			f := simulate.Fly(s)
			h := f.Hop()
			segs, _ := segment.Find(h)
			a, err := Analyse(context.Background(), h, segs, Settings{Seed: uint64(i)}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if a.PhasingErrorRad != nil {
				e := a.PhasingErrorRad.Times(degPerRad)
				ys[5].add(&e, f.Truth.PhasingErrorRad*degPerRad)
			} else {
				ys[5].missing++
			}
			for _, r := range a.Responses {
				want := f.Truth.PitchBandwidth
				switch r.Axis {
				case flight.RollAxis:
					want = f.Truth.RollBandwidth
				case flight.YawAxis:
					continue
				}
				if r.Output != Attitude {
					ys[4].add(r.TransportDelayS, s.Head.DelayS)
					continue
				}
				invented += addHandling(ys, r, want)
			}
		}
		t.Logf("%s, %d numbers given that there are not:", kind, invented)
		for _, y := range ys {
			t.Logf("  %-22s n %3.0f missing %3d bias %+.5f sd %.5f coverage %.1f %% off by over 8 %%: %d", y.name, y.n,
				y.missing, y.bias(), math.Sqrt(y.sum2/y.n-y.bias()*y.bias()), y.coverage(), y.far)
		}
	}
}

// addHandling tallies the numbers of one attitude response and returns how many of them do
// not exist in truth.
func addHandling(ys []*tally, r Result, want rotor.Bandwidth) (invented int) {
	for i, v := range []struct {
		e     *flight.Estimate
		want  float64
		share bool
	}{
		{r.BandwidthPhaseRadS, want.BandwidthPhaseRadS, true}, {r.W180RadS, want.W180RadS, true},
		{r.BandwidthGainRadS, want.BandwidthGainRadS, true}, {r.PhaseDelayS, want.PhaseDelayS, false},
	} {
		switch {
		case math.IsNaN(v.want) || v.want == 0:
			if v.e != nil {
				invented++
			}
		case v.e != nil && v.share:
			e := v.e.Times(1 / v.want)
			ys[i].add(&e, 1)
			if math.Abs(e.Value-1) > 0.08 {
				ys[i].far++
			}
		default:
			ys[i].add(v.e, v.want)
		}
	}
	return invented
}
