//go:build study

package response

import (
	"context"
	"math"
	"math/cmplx"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// phaseErrors are the phase errors of a response in deg, over its stated standard deviation
// too, where the coherence is above 0.8 and the frequency below toRadS.
func phaseErrors(f *simulate.Flight, r Result, toRadS float64) (deg, sds []float64) {
	in, out := rotor.LonStick, rotor.Pitch
	if r.Axis == flight.RollAxis {
		in, out = rotor.LatStick, rotor.Roll
	}
	want := f.Truth.Model.Response(in, out, r.FrequencyRadS)
	for k, w := range r.FrequencyRadS {
		if w < toRadS && r.Coherence[k] > 0.8 {
			d := cmplx.Phase(r.H[k]/want[k]) * degPerRad
			deg, sds = append(deg, d), append(sds, d/r.PhaseSDDeg[k])
		}
	}
	return deg, sds
}

func rms(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v * v
	}
	return math.Sqrt(s / float64(len(x)))
}

// TestStudyApart sorts hops in gusts by how far predictor and spectra are apart, and says how
// far the phase is off in each bin, in deg and in stated standard deviations: with half the
// hops excited and half only held in gusts, the wind logged in none.
func TestStudyApart(t *testing.T) {
	edges := []float64{0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.45, math.Inf(1)}
	deg, sds, n := make([][]float64, len(edges)), make([][]float64, len(edges)), make([]int, len(edges))
	for seed := uint64(60000); seed < 60060; seed++ {
		s := simulate.DrawGusty(seed, seed%4 < 2, 150, 0, 0)
		if seed%2 == 0 {
			air := s.Air
			s = simulate.DrawExcited(seed, []simulate.LegKind{simulate.Sweep, simulate.Doublet}[seed/2%2], 10)
			s.Air = air
		}
		s.Sensors.NoWind = true
		f := simulate.Fly(s)
		h := f.Hop()
		segs, _ := segment.Find(h)
		a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range a.Responses {
			if r.Output != Attitude || r.Axis == flight.YawAxis {
				continue
			}
			b := 0
			for r.Apart >= edges[b+1] {
				b++
			}
			d, q := phaseErrors(f, r, 12)
			deg[b], sds[b] = append(deg[b], d...), append(sds[b], q...)
			n[b]++
		}
	}
	for b := range len(edges) - 1 {
		t.Logf("apart by %.2f to %.2f: %d responses, %d points, phase off by %.1f deg rms, %.1f standard deviations", edges[b], edges[b+1],
			n[b], len(deg[b]), rms(deg[b]), rms(sds[b]))
	}
}

// TestStudyGustTable sets sticks and logged gusts as inputs at once against one stick alone, in
// strong gusts with the pilot in the loop.
func TestStudyGustTable(t *testing.T) {
	edges := []float64{0.5, 1, 1.5, 2, 3}
	several, one := make([][]float64, len(edges)), make([][]float64, len(edges))
	for seed := uint64(61000); seed < 61024; seed++ {
		s := simulate.DrawExcited(seed, []simulate.LegKind{simulate.Sweep, simulate.Doublet, simulate.Steps}[seed%3], 0)
		s.Air = simulate.DrawGusty(seed, false, 180, 0, 0).Air
		f := simulate.Fly(s)
		h := f.Hop()
		segs, _ := segment.Find(h)
		a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range a.Responses {
			if r.Output != Attitude || r.Axis == flight.YawAxis {
				continue
			}
			in, out := rotor.LonStick, rotor.Pitch
			if r.Axis == flight.RollAxis {
				in, out = rotor.LatStick, rotor.Roll
			}
			want := f.Truth.Model.Response(in, out, r.FrequencyRadS)
			single := oneInput(t, h, r)
			for k, w := range r.FrequencyRadS {
				if r.Coherence[k] < 0.8 || w >= 3 || w < edges[0] {
					continue
				}
				b := 0
				for w >= edges[b+1] {
					b++
				}
				for _, at := range []int{b, len(edges) - 1} { // the last holds all
					several[at] = append(several[at], cmplx.Phase(r.H[k]/want[k])*degPerRad)
					one[at] = append(one[at], cmplx.Phase(single[k]/want[k])*degPerRad)
				}
			}
		}
	}
	for b := range edges {
		from, to := edges[0], edges[len(edges)-1]
		if b < len(edges)-1 {
			from, to = edges[b], edges[b+1]
		}
		t.Logf("%.1f to %.1f rad/s: %4d points, phase off by %5.2f deg rms with sticks and gusts, %5.2f with one stick, ratio %.1f",
			from, to, len(several[b]), rms(several[b]), rms(one[b]), rms(one[b])/rms(several[b]))
	}
}
