package tui

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestRoundStep(t *testing.T) {
	for _, c := range []struct{ least, want float64 }{
		{0.9, 1}, {1, 1}, {1.1, 2}, {2, 2}, {3, 5}, {5.1, 10}, {0.03, 0.05}, {700, 1000}, {0, 1}, {math.NaN(), 1},
	} {
		if got := roundStep(c.least); math.Abs(got-c.want) > 1e-12*c.want {
			t.Errorf("roundStep(%g) = %g, want %g", c.least, got, c.want)
		}
	}
}

func TestTicks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-1e4, 1e4).Draw(t, "lo")
		hi := lo + math.Pow(10, rapid.Float64Range(-3, 5).Draw(t, "log length"))
		most := rapid.IntRange(2, 20).Draw(t, "most")
		at, step := ticks(lo, hi, most)
		if len(at) > most+1 {
			t.Fatalf("%d ticks, at most %d wished", len(at), most+1)
		}
		for _, v := range at {
			if v < lo-step*1e-6 || v > hi+step*1e-6 {
				t.Fatalf("tick %g outside [%g, %g]", v, lo, hi)
			}
			if k := v / step; math.Abs(k-math.Round(k)) > 1e-6 {
				t.Fatalf("tick %g is no multiple of %g", v, step)
			}
		}
	})
}

func TestTexts(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{stepText(0.30000000000000004, 0.1), "0.3"}, {stepText(-0.0001, 0.1), "0.0"}, {stepText(120, 20), "120"},
		{number(0.0841), "0.084"}, {number(84.04), "84.0"}, {number(-3.14159), "-3.14"}, {number(1234.5), "1234"},
		{number(math.NaN()), "?"}, {number(0), "0"}, {number(math.Inf(1)), "no limit"},
		{value(nil, "ms"), "not known"}, {estimate(around(84, 3), "ms"), "84.0 ms (81.0 to 87.0)"},
		{shortName("lateral stick"), "lat stick"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestDecadeTicks(t *testing.T) {
	got := decadeTicks(0.5, 20)
	want := []float64{0.5, 1, 2, 5, 10, 20}
	if len(got) != len(want) {
		t.Fatalf("got %v, want %v", got, want)
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-9 {
			t.Errorf("tick %d = %g, want %g", i, got[i], want[i])
		}
	}
	if decadeTicks(-1, 5) != nil || decadeTicks(1, math.Inf(1)) != nil {
		t.Error("no ticks without a proper range")
	}
}
