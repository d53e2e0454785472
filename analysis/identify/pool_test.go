package identify

import (
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

// Two hops 2 apart with standard deviations of 1: s = 2, q = (1 + 2)/2 = 1.5, variance 0.5, t with
// two degrees of freedom 4.302653 (Fisher and Yates, table III).
func TestPoolOfTwo(t *testing.T) {
	mean, half, sd := pool([]spread{{0, 1}, {2, 1}})
	for what, c := range map[string][2]float64{
		"mean": {mean, 1}, "half width": {half, 4.302653 * math.Sqrt(1.5*0.5)}, "spread from hop to hop": {sd, 1},
	} {
		if math.Abs(c[0]-c[1]) > 1e-6 {
			t.Errorf("%s %g, want %g", what, c[0], c[1])
		}
	}
	mean, half, sd = pool([]spread{{3, 0.5}})
	if mean != 3 || math.Abs(half-0.5*normal95) > 1e-12 || !math.IsNaN(sd) {
		t.Errorf("one hop: %g, %g, %g", mean, half, sd)
	}
}

// Over sets of hops drawn from normal numbers the interval covers the truth as often as the
// comment of pool says.
func TestPoolCovers(t *testing.T) {
	for _, c := range []struct {
		hops   int
		differ float64 // from hop to hop, in units of the own error
		least  float64
	}{{2, 0, 0.98}, {2, 1, 0.98}, {2, 2, 0.95}, {2, 4, 0.88}, {3, 0, 0.98}, {3, 1, 0.97}, {3, 2, 0.945}, {4, 2, 0.945}, {3, 4, 0.945}, {5, 4, 0.945}} {
		rng := rand.New(rand.NewPCG(uint64(c.hops), 3))
		inside := 0
		const runs = 2000
		for range runs {
			var list []spread
			for range c.hops {
				list = append(list, spread{math.Hypot(1, c.differ) * rng.NormFloat64(), 1})
			}
			if mean, half, _ := pool(list); math.Abs(mean) <= half {
				inside++
			}
		}
		share := float64(inside) / runs
		t.Logf("%d hops that differ by %g: %.3f", c.hops, c.differ, share)
		if share < c.least {
			t.Errorf("%d hops that differ by %g: covered %.3f, want %.2f", c.hops, c.differ, share, c.least)
		}
	}
}

func TestSpreadOf(t *testing.T) {
	s := spreadOf(flight.Estimate{Value: 2, Low: 1, High: 4}, true)
	if math.Abs(s.y-math.Ln2) > 1e-12 || math.Abs(s.sd-math.Ln2/normal95) > 1e-12 {
		t.Errorf("%+v", s)
	}
}
