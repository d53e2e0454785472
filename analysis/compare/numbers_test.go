package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// Of hops alike in error the mean is the plain one, and its interval that of Student's t from
// the scatter: three numbers 1, 2, 3 with errors too small to count have a mean of 2 with a
// standard error of 1/sqrt(3) and t(2, 0.975) = 4.302653 (Fisher and Yates, table III).
func TestPoolOfHops(t *testing.T) {
	p, ok := Pool([]flight.Estimate{*est(1, 1e-4), *est(2, 1e-4), *est(3, 1e-4)}, false)
	if !ok || p.Hops != 3 {
		t.Fatalf("%+v, %t", p, ok)
	}
	closeTo(t, "mean", p.Mean.Value, 2, 1e-9)
	closeTo(t, "half width", p.Mean.High-p.Mean.Value, 4.302653/math.Sqrt(3), 1e-5)
	closeTo(t, "spread", p.SpreadSD, 1, 1e-6)
}

func TestPoolOfFew(t *testing.T) {
	one := *est(5, 2)
	if p, ok := Pool([]flight.Estimate{one, *flight.Plain(7)}, false); !ok || p.Mean != one || p.Hops != 1 || !math.IsNaN(p.SpreadSD) {
		t.Errorf("one hop with an interval: %+v, %t", p, ok)
	}
	if _, ok := Pool([]flight.Estimate{*flight.Plain(7)}, false); ok {
		t.Error("a number without interval was pooled")
	}
	if _, ok := Pool(nil, true); ok {
		t.Error("nothing was pooled")
	}
}

// The interval of the mean of three hops, which differ from hop to hop by twice their own
// error, holds the truth at least 95 times in 100. It is on the safe side (98.5 times for
// hops alike in error, always for hops unlike in 1500 drawings), because three hops hardly
// tell what differs between them, and hops that agree by accident are not believed.
func TestPoolCovers(t *testing.T) {
	for _, unlike := range []bool{false, true} {
		rng := rand.New(rand.NewPCG(5, 6))
		inside := 0
		const runs = 1500
		for range runs {
			var list []flight.Estimate
			for k := range 3 {
				sd := 0.1
				if unlike && k > 0 {
					sd = 0.4
				}
				y := 10 + 0.2*rng.NormFloat64() + sd*rng.NormFloat64()
				list = append(list, *est(y, 1.96*sd))
			}
			p, _ := Pool(list, false)
			if p.Mean.Low <= 10 && 10 <= p.Mean.High {
				inside++
			}
		}
		share := float64(inside) / runs
		t.Logf("unlike %t: coverage %.3f", unlike, share)
		if share < 0.95 {
			t.Errorf("unlike %t: coverage %.3f", unlike, share)
		}
	}
}

// A positive number in other units has its mean in those units, and the order of hops is of
// no matter.
func TestPoolScalesAndTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 6).Draw(t, "hops")
		k := rapid.Float64Range(0.01, 100).Draw(t, "scale")
		var list, turned, scaled []flight.Estimate
		for range n {
			y := rapid.Float64Range(0.5, 2).Draw(t, "y")
			e := flight.Estimate{Value: y, Low: y * 0.8, High: y * 1.3}
			list, scaled = append(list, e), append(scaled, e.Times(k))
			turned = append([]flight.Estimate{e}, turned...)
		}
		p, _ := Pool(list, true)
		q, _ := Pool(scaled, true)
		r, _ := Pool(turned, true)
		for _, c := range [][2]float64{{p.Mean.Value * k, q.Mean.Value}, {p.Mean.High * k, q.Mean.High}, {p.SpreadSD, q.SpreadSD},
			{p.Mean.Value, r.Mean.Value}, {p.Mean.Low, r.Mean.Low}} {
			if math.Abs(c[0]-c[1]) > 1e-6*(math.Abs(c[0])+1e-3) {
				t.Fatalf("%g and %g", c[0], c[1])
			}
		}
	})
}

func TestKeyNumbersAreTheRows(t *testing.T) {
	hops := []*debrief.Debrief{hop("a1", 0.1, -100), hop("a2", 0.12, -110)}
	numbers := KeyNumbers()
	if len(numbers) != len(measures()) {
		t.Fatalf("%d numbers", len(numbers))
	}
	for _, n := range numbers {
		got := n.Read(hops)
		if len(got) != len(hops) {
			t.Fatalf("%s: %d readings", n.Key, len(got))
		}
		for i, r := range got {
			if (r.Estimate == nil) != (r.Reason != "") {
				t.Errorf("%s of %s: %v, %q", n.Key, hops[i].Hop.Name, r.Estimate, r.Reason)
			}
		}
		switch n.Key {
		case "roll_phase_lag_1_hz":
			closeTo(t, "lag of the second hop", got[1].Estimate.Value, 110, 1e-9)
		case "roll_correlation_lag":
			closeTo(t, "correlation lag in ms", got[0].Estimate.Value, 100, 1e-9)
		case "roll_gust_peak":
			if got[0].Reason != "no wind measured" {
				t.Errorf("gust peak: %q", got[0].Reason)
			}
		}
	}
}
