package response

import (
	"context"
	"math"
	"strings"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// fittedTwice fits the models of a drawn hop with the priors as they are and twice as wide.
func fittedTwice(t *testing.T, s simulate.Scenario) (usual, wide []*Result) {
	t.Helper()
	h := simulate.Fly(s).Hop()
	segs, _ := segment.Find(h)
	for _, wider := range []float64{1, 2} {
		a := &analyser{hop: h, segs: segs, settings: Settings{}.orDefault(), ctx: context.Background(), progress: func(float64, string) {}}
		a.settings.widerPriors = wider
		a.grid = logGrid(a.settings.MinRadS, a.settings.MaxRadS, a.settings.Points)
		a.air = settled(segs)
		if err := a.run(); err != nil {
			t.Fatal(err)
		}
		for i := range a.out.Responses {
			if r := &a.out.Responses[i]; r.Output == Rate && r.Axis != flight.YawAxis {
				if wider == 1 {
					usual = append(usual, r)
				} else {
					wide = append(wide, r)
				}
			}
		}
	}
	return usual, wide
}

// The delays must be the data's, not the prior's: with every prior twice as wide they move by
// less than half of their own half width, rms over drawn machines with a bar, and none by
// more than all of it.
func TestPriorsHardlyMoveTheDelays(t *testing.T) {
	var n, square float64
	for seed := uint64(200); seed < 206; seed++ {
		s := simulate.DrawExcited(seed, []simulate.LegKind{simulate.Sweep, simulate.Doublet}[seed%2], 10)
		if !s.Head.HasBar() {
			continue // only forms with a bar have priors
		}
		usual, wide := fittedTwice(t, s)
		for i, u := range usual {
			for what, pair := range map[string][2]*flight.Estimate{
				"effective delay": {u.EffectiveDelayS, wide[i].EffectiveDelayS}, "dead time": {u.TransportDelayS, wide[i].TransportDelayS},
			} {
				if pair[0] == nil || pair[1] == nil {
					continue
				}
				half := (pair[0].High - pair[0].Low) / 2
				moved := (pair[1].Value - pair[0].Value) / half
				n, square = n+1, square+moved*moved
				if math.Abs(moved) > 1 {
					t.Errorf("seed %d %s: the %s moves by %.2f of its half width, %.1f ms, with wider priors", seed, u.Axis, what, moved, 1000*half)
				}
			}
		}
	}
	t.Logf("moved by %.2f of the half width rms, %.0f numbers", math.Sqrt(square/n), n)
	if n < 10 || math.Sqrt(square/n) > 0.5 {
		t.Errorf("wider priors move the delays by %.2f of their half width rms (%.0f numbers)", math.Sqrt(square/n), n)
	}
}

// A head that is known to have no bar gets no model with one, whatever the data look like.
func TestNoBar(t *testing.T) {
	h := simulate.Fly(simulate.DrawExcited(200, simulate.Sweep, 10)).Hop() // it has a bar
	segs, _ := segment.Find(h)
	barred := func(s Settings) (n int) {
		a, err := Analyse(context.Background(), h, segs, s, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range a.Responses {
			if r.BarFollowingS != nil || r.Model != nil && strings.Contains(r.Model.Form, "bar") {
				n++
			}
		}
		return n
	}
	if n := barred(Settings{}); n == 0 {
		t.Error("no model with a bar for a head that has one")
	}
	if n := barred(Settings{NoBar: true}); n != 0 {
		t.Errorf("%d responses with a bar in their model, none may have one", n)
	}
}

// A disc that would follow within a third of a second is no disc: three standard deviations of
// what rotors are like end at 270 ms at 55 rad/s.
func TestDiscOff(t *testing.T) {
	bare := forms(priors{})[1]
	for _, c := range []struct {
		followS, speedRadS float64
		off                bool
	}{{0.06, 55, false}, {0.2, 55, false}, {0.35, 55, true}, {0.008, 55, true}, {0.35, 20, false}, {0.4, 0, true}} {
		m := &fitted{form: bare, p: []float64{0, 0.05, math.Log(c.followS), 3, 0, 0}}
		if got := (priors{rotorSpeedRadS: c.speedRadS}).discOff(m) > mostDiscOff; got != c.off {
			t.Errorf("following time %g s at %g rad/s: off %v, want %v", c.followS, c.speedRadS, got, c.off)
		}
	}
}
