//go:build study

package response

import (
	"context"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// manyHops is the number of hops of the large study: doublets, steps and sweeps in turn, with bar
// and without, the pilot in the loop.
const manyHops = 500

// drawStudy draws one of its hops. Dead times are 20 to 250 ms for every machine that can be flown
// with them, inputs a third of the usual size or all of it, gusts up to those of 8 m/s at
// 20 ft, their wind logged in half of the hops, and sensors as good as usual or up to sixty times
// as noisy: the coherence at 4 rad/s is 0.6 to 0.99 in nine hops of ten.
func drawStudy(seed uint64, kind simulate.LegKind, bar bool) simulate.Scenario {
	rng := rand.New(rand.NewPCG(seed, 977))
	s := simulate.DrawExcited(seed, kind, 20)
	for {
		h := simulate.DrawHead(rng, bar, 20)
		h.DelayS = 0.02 + 0.23*rng.Float64()
		p := simulate.BarePilot()
		if bar {
			p = simulate.BarPilot()
		}
		if q, ok := simulate.Settle(h, p); ok {
			s.Head, s.Pilot = h, q
			break
		}
	}
	size := (0.035 + 0.02*rng.Float64()) * (0.35 + 0.65*rng.Float64())
	if bar {
		size *= 2
	}
	for i := range s.Legs {
		if l := &s.Legs[i]; l.Kind == kind {
			resize(l, size)
		}
	}
	s.Air.Mean = simulate.Constant(0.5 + 6*rng.Float64())
	s.Air.Gusts = 8 * rng.Float64()
	noise := math.Pow(60, rng.Float64())
	s.Sensors.GyroNoiseRadS *= noise
	s.Sensors.AttitudeNoiseRad *= noise
	s.Sensors.NoWind = rng.IntN(2) == 0
	return s
}

// resize gives a test input the size, as DrawExcited would.
func resize(l *simulate.Leg, size float64) {
	if l.Axis == flight.RollAxis {
		size *= 0.7
	}
	if l.Kind == simulate.Doublet {
		size *= 1.4
	}
	l.Amplitude = math.Copysign(size, l.Amplitude)
	if l.AmplitudeEnd != 0 {
		l.AmplitudeEnd = 2 * size
	}
}

// flownHop is one hop of the study with what is known of it.
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
				s := drawStudy(firstSeed+uint64(i), kinds[i%3], i/3%2 == 0)
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

// coherenceBins are the strata of the coherence at 4 rad/s.
var coherenceBins = []struct {
	name     string
	from, to float64
}{{"coherence below 0.6", 0, 0.6}, {"coherence 0.6 to 0.8", 0.6, 0.8}, {"coherence 0.8 to 0.9", 0.8, 0.9},
	{"coherence 0.9 to 0.97", 0.9, 0.97}, {"coherence above 0.97", 0.97, 1.1}}

// coherenceOf is the coherence of stick and rate of the axis at 4 rad/s, 0 where it is lost; of
// no axis, the lesser of roll and pitch.
func coherenceOf(a Analysis, axis flight.Axis) float64 {
	if axis == "" {
		return min(coherenceOf(a, flight.RollAxis), coherenceOf(a, flight.PitchAxis))
	}
	for _, r := range a.Responses {
		if r.Axis == axis && r.Output == Rate && len(r.FrequencyRadS) > 0 {
			return r.Coherence[nearestFrequency(r.FrequencyRadS, 4)]
		}
	}
	return 0
}

func binOf(a Analysis, axis flight.Axis) string {
	c := coherenceOf(a, axis)
	for _, b := range coherenceBins {
		if c < b.to {
			return b.name
		}
	}
	panic("no bin")
}

// TestStudyManyHops gives bias, scatter and coverage of every number over drawn hops, by stratum.
func TestStudyManyHops(t *testing.T) {
	names := []string{"phase bandwidth, share", "w180, share", "gain bandwidth, share", "phase delay, s", "dead time, s",
		"effective delay, s", "disc following, share", "bar following, share", "phase lag at 1 Hz, deg", "phasing error, deg",
		"correlation lag, s", "coupling by a step"}
	groups := []string{"all", "bare", "bar", string(simulate.Doublet), string(simulate.Steps), string(simulate.Sweep)}
	for _, b := range coherenceBins {
		groups = append(groups, b.name)
	}
	tables := map[string][]*tally{}
	for _, g := range groups {
		for _, n := range names {
			tables[g] = append(tables[g], &tally{name: n})
		}
	}
	var coherence []float64
	invented, models, wrong := 0, 0, 0
	for _, one := range flyMany(t, 90000, manyHops) {
		head := "bare"
		if one.f.Scenario.Head.HasBar() {
			head = "bar"
		}
		in := []string{"all", head, string(one.kind)}
		invented += addHop(func(axis flight.Axis) [][]*tally {
			var ys [][]*tally
			for _, g := range append(in, binOf(one.a, axis)) {
				ys = append(ys, tables[g])
			}
			return ys
		}, one)
		for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			coherence = append(coherence, coherenceOf(one.a, axis))
		}
		for _, r := range one.a.Responses {
			if r.Output == Rate && r.Model != nil {
				models++
			}
		}
		for _, f := range one.a.Findings {
			if f.Code == flight.CodeModelDisagrees {
				wrong++
			}
		}
	}
	c := sorted(coherence)
	t.Logf("%d axes; coherence at 4 rad/s %.2f, %.2f, %.3f in one of twenty, half and nineteen of twenty; %d numbers given that there are not; "+
		"%d of %d models called wrong", len(c), quantile(c, 0.05), quantile(c, 0.5), quantile(c, 0.95), invented, wrong, models)
	for _, g := range groups {
		t.Logf("%s:", g)
		for _, y := range tables[g] {
			t.Logf("  %-24s n %3.0f missing %3d bias %+.5f sd %.5f coverage %.1f %%", y.name, y.n, y.missing, y.bias(),
				math.Sqrt(y.sum2/y.n-y.bias()*y.bias()), y.coverage())
		}
	}
}

// addHop tallies the numbers of one hop in the tables of its strata, which go by axis too.
func addHop(tables func(axis flight.Axis) [][]*tally, one flownHop) (invented int) {
	for _, table := range tables("") {
		phasing := table[9]
		if e := one.a.PhasingErrorRad; e != nil {
			d := e.Times(degPerRad)
			phasing.add(&d, one.f.Truth.PhasingErrorRad*degPerRad)
		} else {
			phasing.missing++
		}
	}
	lags := one.lags
	for _, r := range one.a.Responses {
		if r.Axis == flight.YawAxis {
			continue
		}
		lag := math.NaN()
		if r.Output == Rate {
			lag, lags = lags[0], lags[1:]
		}
		for k, table := range tables(r.Axis) {
			got := addResponse(table, one.f, r, lag)
			if k == 0 {
				invented += got
			}
		}
	}
	return invented
}

func addResponse(ys []*tally, f *simulate.Flight, r Result, lag float64) (invented int) {
	head := f.Scenario.Head
	in, on, off, rate, want := rotor.LonStick, rotor.Pitch, rotor.Roll, rotor.PitchRate, f.Truth.PitchBandwidth
	if r.Axis == flight.RollAxis {
		in, on, off, rate, want = rotor.LatStick, rotor.Roll, rotor.Pitch, rotor.RollRate, f.Truth.RollBandwidth
	}
	if r.Output == Attitude {
		return addHandling(ys[:4], r, want)
	}
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
			h := f.Truth.Model.Response(in, rate, []float64{l.FrequencyRadS})[0]
			truth := l.PhaseDeg.Value + math.Remainder(cmplx.Phase(h)*degPerRad-l.PhaseDeg.Value, 360)
			ys[8].add(&l.PhaseDeg, truth)
		}
	}
	ys[10].add(r.CorrelationLagS, lag)
	if r.StepCoupling == nil {
		ys[11].missing++
	} else {
		ys[11].add(r.StepCoupling, exactStepCoupling(f.Truth.Model, in, on, off))
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
