package response

import (
	"context"
	"math"
	"math/cmplx"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// The correlation lag depends on how the stick was moved and on what the aircraft does at low
// frequency: under a slow bar the rate leads the stick there, and the lag is far below that of
// the bare head. The truth is the peak of the correlation that the exact model has with the
// stick as flown, from the histories without noise. One interval in
// twenty misses; by more than a fifth of its width again none should.
func TestLagAgainstExactModel(t *testing.T) {
	for _, c := range []struct {
		name string
		barS float64
		kind simulate.LegKind
	}{{"bare", 0, simulate.Sweep}, {"heavy bar", 1.2, simulate.Sweep}, {"heavy bar", 1.2, simulate.Doublet}} {
		s := simulate.DrawExcited(41, c.kind, 0)
		s.Head, s.Pilot = simulate.BareHead(), simulate.BarePilot()
		if c.barS > 0 {
			s.Head.BarTimeS, s.Head.BarToBlade, s.Head.StickToBlade = c.barS, 0.45, 0.6
			s.Pilot, _ = simulate.Settle(s.Head, simulate.BarPilot())
		}
		f := simulate.Fly(s)
		h := f.Hop()
		segs, _ := segment.Find(h)
		a := analyse(t, h, segs)
		for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			r := result(t, a, axis, Rate)
			want := exactLag(t, f, r)
			if r.CorrelationLagS == nil {
				t.Errorf("%s %s %s: no lag, exact %.3f s", c.name, c.kind, axis, want)
				continue
			}
			e := *r.CorrelationLagS
			t.Logf("%s, %s, %s: lag %.4f s (%.4f to %.4f), exact %.4f", c.name, c.kind, axis, e.Value, e.Low, e.High, want)
			if half := (e.High - e.Low) / 2; math.Abs(e.Value-want) > 1.2*half || half > 0.02 {
				t.Errorf("%s %s %s: lag %.4f s (%.4f to %.4f), exact %.4f", c.name, c.kind, axis, e.Value, e.Low, e.High, want)
			}
			d, want := r.DoubletLagS, exactDoubletLag(f, axis)
			t.Logf("%s, %s, %s: lag of a doublet %v, exact %.4f", c.name, c.kind, axis, d, want)
			expect(t, c.name+" "+string(c.kind)+" "+string(axis)+": lag of a doublet", d, want, 0.02)
		}
	}
}

// exactDoubletLag is the lag that the exact model has with the doublet for comparison.
func exactDoubletLag(f *simulate.Flight, axis flight.Axis) float64 {
	in, out := rotor.LonStick, rotor.PitchRate
	if axis == flight.RollAxis {
		in, out = rotor.LatStick, rotor.RollRate
	}
	var bins []lagBin
	const step = 2 * math.Pi / 20.48 // that of the spectra behind the lag
	for w := 1.5 * 2 * math.Pi / lagWindowS; w < 20; w += step {
		h := f.Truth.Model.Response(in, out, []float64{w})[0]
		bins = append(bins, lagBin{w: w, amp: doubletPower(w) * cmplx.Abs(h), phase: cmplx.Phase(h)})
	}
	lag, _, ok := lagPeak(bins)
	if !ok {
		return math.NaN()
	}
	return lag
}

// exactLag is the lag that the exact model has with the stick as flown.
func exactLag(t *testing.T, f *simulate.Flight, r Result) float64 {
	t.Helper()
	in, out := rotor.LonStick, rotor.PitchRate
	if r.Axis == flight.RollAxis {
		in, out = rotor.LatStick, rotor.RollRate
	}
	var runs [][][]float64
	stick := f.Stick(r.Axis)
	for _, span := range r.Spans {
		var x []float64
		for at := span.FromS; at < span.ToS; at += gridStepS {
			x = append(x, f.At(stick, at))
		}
		runs = append(runs, [][]float64{x})
	}
	sp, err := spectrum.Estimate(context.Background(), runs, gridStepS,
		spectrum.Settings{Window: lagWindowS / gridStepS, Overlap: 0.75, FFTLength: 256, MaxRadS: 20})
	if err != nil {
		t.Fatal(err)
	}
	n := len(sp.OmegaRadS)
	driven := &spectrum.Response{OmegaRadS: sp.OmegaRadS, H: f.Truth.Model.Response(in, out, sp.OmegaRadS), InputPower: sp.Auto(0),
		Coherence: make([]float64, n), Averages: make([]float64, n), BandRadS: make([]float64, n)}
	for k := range n {
		driven.Coherence[k], driven.Averages[k], driven.BandRadS[k] = 1, 10, sp.BandRadS
	}
	if lag := correlationLag(driven, plainWeight, 0); lag != nil {
		return lag.Value
	}
	return math.NaN()
}
