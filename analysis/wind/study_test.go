//go:build study

package wind

import (
	"testing"

	"hopcard/flight"
)

type tally struct {
	n, given, covered, singleGiven int
	ratio, single                  float64
}

func studyGusts(t *testing.T, trials int, bar bool, mastM, coherence float64) {
	sums := map[flight.Axis][]tally{flight.RollAxis: make([]tally, 4), flight.PitchAxis: make([]tally, 4)}
	for seed := range uint64(trials) {
		f := gustyHop(seed+1, bar, mastM, coherence)
		r := analyse(t, f.Hop(), f.Truth.Flight)
		if seed < 6 {
			t.Logf("lead %.2f s, class %s, %d phases", r.LeadS, r.Whole.Class, len(r.Phases))
		}
		for _, g := range r.Gusts {
			for b, band := range bandsRadS() {
				if band != g.BandRadS {
					continue
				}
				s := &sums[g.Axis][b]
				s.n++
				truth := bandTruth(f, g.Axis, band)
				if g.PilotInLoopRadPerMS != nil {
					s.singleGiven++
					s.single += g.PilotInLoopRadPerMS.Value / truth
				}
				if g.RadPerMS == nil {
					continue
				}
				s.given++
				s.ratio += g.RadPerMS.Value / truth
				if g.RadPerMS.Low <= truth && truth <= g.RadPerMS.High {
					s.covered++
				}
			}
		}
	}
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		for b, s := range sums[axis] {
			t.Logf("bar %v mast %g m: %s %v: given %d of %d, ratio %.3f, covered %d; pilot in loop %.3f of the truth (%d)",
				bar, mastM, axis, bandsRadS()[b], s.given, s.n, s.ratio/float64(s.given), s.covered, s.single/float64(s.singleGiven), s.singleGiven)
		}
	}
}

func TestStudySensitivity(t *testing.T) {
	studyGusts(t, 30, false, 0, 0)
	studyGusts(t, 30, true, 0, 0)
}

func TestStudyMast(t *testing.T) {
	studyGusts(t, 10, false, 30, 0.7)
	studyGusts(t, 10, true, 30, 0.7)
}
