//go:build study

package wind

import (
	"context"
	"math"
	"os"
	"strconv"
	"testing"

	"hopcard/flight"
)

// studyHops is the number of hops flown, from STUDY_HOPS.
func studyHops(n int) int {
	if v, err := strconv.Atoi(os.Getenv("STUDY_HOPS")); err == nil {
		return v
	}
	return n
}

// gainTally gathers one axis and band of many hops.
type gainTally struct {
	n, given, covered, below, above, single, singleIn int
	ratio, z, width, singleRatio                      []float64
}

func (s *gainTally) add(g Gust, truth float64) {
	s.n++
	if p := g.PilotInLoopRadPerMS; p != nil {
		s.single++
		s.singleRatio = append(s.singleRatio, p.Value/truth)
		if p.Low <= truth && truth <= p.High {
			s.singleIn++
		}
	}
	e := g.RadPerMS
	if e == nil {
		return
	}
	s.given++
	s.ratio = append(s.ratio, e.Value/truth)
	s.z = append(s.z, (e.Value-truth)/g.SERadPerMS)
	s.width = append(s.width, (e.High-e.Low)/truth)
	switch {
	case truth < e.Low:
		s.below++
	case truth > e.High:
		s.above++
	default:
		s.covered++
	}
}

// TestStudyGain: answers with the stick held and the anemometer at the aircraft, by axis
// and band: bias, scatter against the standard error given, coverage. The single-input
// answer stands beside it.
func TestStudyGain(t *testing.T) {
	for _, bar := range []float64{0, 1.5} {
		for _, distance := range []float64{0, 0.01} {
			sums := map[flight.Axis]map[[2]float64]*gainTally{flight.RollAxis: {}, flight.PitchAxis: {}}
			for seed := range uint64(studyHops(60)) {
				f := gustyHopBar(seed+1, bar, 0, 0)
				r, err := Analyse(context.Background(), f.Hop(), f.Truth.Flight, Settings{DistanceConstantM: distance})
				if err != nil {
					t.Fatal(err)
				}
				for _, g := range r.Gusts {
					if sums[g.Axis][g.BandRadS] == nil {
						sums[g.Axis][g.BandRadS] = &gainTally{}
					}
					sums[g.Axis][g.BandRadS].add(g, bandTruth(f, g.Axis, g.BandRadS))
				}
			}
			for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
				for _, band := range bandsRadS() {
					s := sums[axis][band]
					if s == nil {
						continue
					}
					mean, sd := meanSD(s.ratio)
					zMean, zSD := meanSD(s.z)
					width, _ := meanSD(s.width)
					single, _ := meanSD(s.singleRatio)
					t.Logf("bar %g s, cup %g m, %s %v: given %d of %d, ratio %.3f sd %.3f, z %.2f sd %.2f, width %.3f, covered %.3f (low end above %d, high end below %d); single input %.3f of the truth, covered %.2f of %d",
						bar, distance, axis, band, s.given, s.n, mean, sd, zMean, zSD, width, float64(s.covered)/math.Max(1, float64(s.given)), s.below, s.above,
						single, float64(s.singleIn)/math.Max(1, float64(s.single)), s.single)
				}
			}
		}
	}
}
