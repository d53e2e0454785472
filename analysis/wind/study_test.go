//go:build study

package wind

import (
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

type tally struct {
	n, given, covered, singleGiven int
	ratio, single                  float64
}

func studyGusts(t *testing.T, trials int, bar bool, mastM, coherence, windHz float64) {
	sums := map[flight.Axis][]tally{flight.RollAxis: make([]tally, 4), flight.PitchAxis: make([]tally, 4)}
	for seed := range uint64(trials) {
		f := gustyHop(seed+1, bar, mastM, coherence)
		f.Scenario.Sensors.WindHz = windHz
		r := analyse(t, f.Hop(), f.Truth.Flight)
		if seed < 2 {
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
			t.Logf("bar %v mast %g m wind %g Hz: %s %v: given %d of %d, ratio %.3f, covered %d; pilot in loop %.3f of the truth (%d)",
				bar, mastM, windHz, axis, bandsRadS()[b], s.given, s.n, s.ratio/float64(s.given), s.covered, s.single/float64(s.singleGiven), s.singleGiven)
		}
	}
}

func TestStudySensitivity(t *testing.T) {
	studyGusts(t, 40, false, 0, 0, 4)
	studyGusts(t, 40, true, 0, 0, 4)
	studyGusts(t, 20, false, 0, 0, 20)
}

func TestStudyMast(t *testing.T) {
	studyGusts(t, 10, false, 30, 0.7, 4)
	studyGusts(t, 10, true, 30, 0.7, 4)
}

// TestStudyEvents: peak, time to peak and time to settle of the averaged answer by bar: how
// often they are given, their scatter over hops, and how often the interval holds the mean
// of all hops.
func TestStudyEvents(t *testing.T) {
	for _, barS := range []float64{0, 0.7, 1.5, 3} {
		for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			given := map[string][]*flight.Estimate{}
			names := []string{"peak deg", "to peak s", "settle s"}
			var lasts []float64
			hops := studyHops(20)
			for seed := range uint64(hops) {
				f := gustyHopBar(seed+1, barS, 0, 0)
				for _, e := range analyse(t, f.Hop(), f.Truth.Flight).Events {
					if e.Axis != axis || e.PeakRadPerMS == nil {
						continue
					}
					lasts = append(lasts, e.SettleAfterS)
					size := e.PeakRadPerMS.Times(math.Copysign(1/degree, e.PeakRadPerMS.Value))
					for i, v := range []*flight.Estimate{&size, e.TimeToPeakS, e.SettleS} {
						if v != nil && v.HasInterval() {
							given[names[i]] = append(given[names[i]], v)
						}
					}
				}
			}
			last, _ := meanSD(lasts)
			t.Logf("bar %g s, %s: settles after %.1f s on average", barS, axis, last)
			for _, name := range names {
				var values []float64
				for _, e := range given[name] {
					values = append(values, e.Value)
				}
				mean, sd := meanSD(values)
				in := 0
				for _, e := range given[name] {
					if e.Low <= mean && mean <= e.High {
						in++
					}
				}
				t.Logf("bar %g s, %s, %s: given in %d of %d, %.3f, sd %.3f, covered %d", barS, axis, name, len(values), hops, mean, sd, in)
			}
		}
	}
}

// TestStudyPhases: how often and where a change of the air is found.
func TestStudyPhases(t *testing.T) {
	for _, c := range []struct{ before, beforeSD, after, afterSD float64 }{
		{2, 0.4, 5, 1}, {3, 0.6, 4, 0.6}, {4, 0.5, 6, 0.5}, {5, 0.6, 5, 1.2},
		{3, 0.4, 3, 0.8}, {5, 1.2, 5, 0.6}, {4, 0.4, 4, 1.2},
	} {
		found, more, off := 0, 0, 0.0
		for seed := range uint64(60) {
			ts := steps(2400, 0.25)
			u := firstOrder(rand.New(rand.NewPCG(seed, 8)), len(ts), 0.25, 5)
			v := make([]float64, len(ts))
			for i := range v {
				v[i] = math.Abs(c.before + c.beforeSD*u[i])
				if ts[i] >= 250 {
					v[i] = math.Abs(c.after + c.afterSD*u[i])
				}
			}
			r := analyse(t, windHop(ts, v, nil), flight.Span{})
			if len(r.Phases) == 2 {
				found++
				off += math.Abs(r.Phases[1].Span.FromS - 250)
			} else if len(r.Phases) > 2 {
				more++
			}
		}
		t.Logf("%+v: found in %d of 60, off by %.1f s, more than two phases in %d", c, found, off/float64(found), more)
	}
}

// TestStudyStill: how often 200 records of air that does not change are cut, for Dryden
// gusts along the wind, with the anemometer's noise, and for gusts that come in bursts, the
// spread wandering by a third over minutes, which is no change.
func TestStudyStill(t *testing.T) {
	for _, c := range []struct{ lengthS, scaleS, noise float64 }{
		{600, 3, 0.05}, {600, 5, 0.05}, {600, 12, 0.05}, {600, 30, 0.05}, {240, 5, 0.05}, {1200, 12, 0.05}, {600, 12, 0.3},
	} {
		cut, parts := 0, 0
		for seed := range uint64(200) {
			rng := rand.New(rand.NewPCG(seed, 9))
			ts := steps(int(c.lengthS*4), 0.25)
			v := firstOrder(rng, len(ts), 0.25, c.scaleS)
			for i := range v {
				v[i] = 6 + v[i] + c.noise*rng.NormFloat64()
			}
			r := analyse(t, windHop(ts, v, nil), flight.Span{})
			parts += len(r.Phases)
			if len(r.Phases) > 1 {
				cut++
			}
		}
		t.Logf("%+v: cut %d of 200, %d parts", c, cut, parts)
	}
}
