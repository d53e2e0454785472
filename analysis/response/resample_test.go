package response

import (
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

// signal is band-limited well inside the band reported.
func signal(t float64) float64 {
	return math.Sin(2*t) + 0.7*math.Cos(9*t+1) + 0.4*math.Sin(18*t) + 3
}

func channelOf(stamps []float64, f func(float64) float64) *flight.Channel {
	c := &flight.Channel{TimeS: stamps}
	for _, t := range stamps {
		c.Value = append(c.Value, f(t))
	}
	return c
}

// stampsEvery makes stamps with a share of jitter.
func stampsEvery(step, jitter, to float64) []float64 {
	rng := rand.New(rand.NewPCG(9, 9))
	var out []float64
	for t := 0.013; t < to; t += step {
		out = append(out, t+step*jitter*(rng.Float64()-0.5))
	}
	return out
}

// Whatever the rate and the jitter of the stamps, the grid holds the signal at the grid's
// own times: no delay, no loss of gain at 18 rad/s.
func TestResampleAddsNoDelay(t *testing.T) {
	for _, c := range []struct {
		name                string
		step, jitter, limit float64
	}{
		{"200 Hz", 0.005, 0, 0.004}, {"100 Hz", 0.01, 0, 0.004}, {"50 Hz", 0.02, 0, 0.004},
		{"33 Hz", 0.03, 0, 0.004}, {"100 Hz with jitter", 0.01, 0.3, 0.02}, {"50 Hz with jitter", 0.02, 0.3, 0.04},
	} {
		ch := channelOf(stampsEvery(c.step, c.jitter, 30), signal)
		runs := resample([]*flight.Channel{ch}, []flight.Span{{FromS: 0, ToS: 30}})
		if len(runs) != 1 {
			t.Fatalf("%s: %d runs, want 1", c.name, len(runs))
		}
		var worst float64
		for k, v := range runs[0].values[0] {
			worst = max(worst, math.Abs(v-signal(runs[0].span.FromS+float64(k)*gridStepS)))
		}
		if worst > c.limit {
			t.Errorf("%s: off by up to %.4f, allowed %.4f", c.name, worst, c.limit)
		}
	}
}

// A gap in one channel interrupts all, and nothing is read from within the kernel's reach
// of it; a single lost sample does not.
func TestResampleStopsAtGaps(t *testing.T) {
	var stamps []float64
	for _, s := range stampsEvery(0.01, 0, 30) {
		if s > 10 && s < 11 || s > 20 && s < 20.012 {
			continue
		}
		stamps = append(stamps, s)
	}
	a, b := channelOf(stamps, signal), channelOf(stampsEvery(0.02, 0, 25), signal)
	b.Value[100], b.Value[200] = math.NaN(), math.Inf(1)
	runs := resample([]*flight.Channel{a, b}, []flight.Span{{FromS: 0, ToS: 30}})
	if len(runs) != 2 {
		t.Fatalf("%d runs, want 2", len(runs))
	}
	if runs[0].span.ToS > 10-kernelHalf || runs[1].span.FromS < 11+kernelHalf-0.02 || runs[1].span.ToS > 25-kernelHalf {
		t.Errorf("runs %v and %v reach into a gap", runs[0].span, runs[1].span)
	}
	for _, r := range runs {
		for k := range r.values[0] {
			want := signal(r.span.FromS + float64(k)*gridStepS)
			if math.Abs(r.values[0][k]-want) > 0.05 || math.Abs(r.values[1][k]-want) > 0.05 {
				t.Fatalf("at %.2f s: %g and %g, want %g", r.span.FromS+float64(k)*gridStepS, r.values[0][k], r.values[1][k], want)
			}
		}
	}
}

func TestSpanArithmetic(t *testing.T) {
	a := []flight.Span{{FromS: 0, ToS: 10}, {FromS: 20, ToS: 30}}
	if got := intersect(a, []flight.Span{{FromS: 5, ToS: 25}}); len(got) != 2 || got[0] != (flight.Span{FromS: 5, ToS: 10}) || got[1] != (flight.Span{FromS: 20, ToS: 25}) {
		t.Errorf("intersect: %v", got)
	}
	if got := flight.Without(a, []flight.Span{{FromS: 4, ToS: 6}, {FromS: 20, ToS: 22}}); len(got) != 3 || got[2] != (flight.Span{FromS: 22, ToS: 30}) {
		t.Errorf("without: %v", got)
	}
	if got := union([]flight.Span{{FromS: 5, ToS: 7}, {FromS: 0, ToS: 5}, {FromS: 9, ToS: 10}}); len(got) != 2 || got[0] != (flight.Span{FromS: 0, ToS: 7}) {
		t.Errorf("union: %v", got)
	}
}
