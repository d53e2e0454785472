//go:build study

package wind

import (
	"math"
	"math/cmplx"
	"testing"

	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// drawnTruth is bandTruth of a drawn hop.
func drawnTruth(f *simulate.Flight, axis flight.Axis, band [2]float64) float64 {
	mean := f.Scenario.Air.Mean[0].Value
	d := simulate.DrydenAt(f.Scenario.Air.HeightFt, f.Scenario.Air.Gusts)
	const n = 200
	var w []float64
	for i := range n {
		w = append(w, band[0]+(band[1]-band[0])*(float64(i)+0.5)/n)
	}
	var power, square float64
	for i, h := range f.Truth.GustToAttitude(axis, w) {
		p := d.AlongPSD(w[i], mean)
		if axis == flight.RollAxis {
			p = d.AcrossPSD(w[i], mean)
		}
		power += p
		square += p * cmplx.Abs(h) * cmplx.Abs(h)
	}
	return math.Sqrt(square / power)
}

// TestStudyPlace: answers with the stick held by place of the anemometer and by coherence,
// STUDY_SEED the first seed.
func TestStudyPlace(t *testing.T) {
	for _, c := range []struct {
		lengthS, mastM, coherence float64
	}{{300, 0, 0}, {300, 15, 1}, {300, 30, 1}, {300, 15, 0.8}, {300, 30, 0.8}, {300, 30, 0.95}, {300, 15, 0.98}} {
		var sums [4]gainTally
		known, off := 0, 0
		hops := studyHops(30)
		for i := range uint64(hops) {
			seed := 70001 + i
			f := simulate.Fly(simulate.DrawGusty(seed, seed%2 == 0, c.lengthS, c.mastM, c.coherence))
			r := analyse(t, f.Hop(), f.Truth.Flight)
			want := c.mastM / f.Scenario.Air.Mean[0].Value
			if len(r.Gusts) > 0 && !math.IsNaN(r.LeadS) {
				known++
				if math.Abs(r.LeadS-want) > 0.5 {
					off++
				}
			}
			for _, g := range r.Gusts {
				for b, band := range bandsRadS() {
					if band == g.BandRadS {
						truth := drawnTruth(f, g.Axis, band)
						sums[b].add(g, truth)
					}
				}
			}
		}
		t.Logf("%g s, mast %g m, coherence %g: lead told in %d of %d, off by more than 0.5 s in %d", c.lengthS, c.mastM, c.coherence, known, hops, off)
		for b, s := range sums {
			mean, sd := meanSD(s.ratio)
			width, _ := meanSD(s.width)
			t.Logf("  %v: given %d of %d, ratio %.3f sd %.3f, width %.3f, covered %.3f (low end above %d, high end below %d)",
				bandsRadS()[b], s.given, s.n, mean, sd, width, float64(s.covered)/math.Max(1, float64(s.given)), s.below, s.above)
		}
	}
}
