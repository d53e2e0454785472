package report

import (
	"math"
	"testing"

	"hopcard/flight"
)

func TestWithInterval(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		e    *flight.Estimate
		k    float64
		unit string
		want string
	}{
		{nil, 1, "s", "not measured"},
		{est(nan, 0, 1), 1, "s", "not measured"},
		{est(inf, 0, 1), 1, "s", "not measured"},
		{est(0.1182, 0.1121, 0.1243), 1e3, "ms", "118.2 ms (112.1 to 124.3)"},
		{est(0.118234, 0.0981, 0.1383), 1e3, "ms", "118 ms (98 to 138)"},
		{est(3.14159, 3.1409, 3.1423), 1, "rad/s", "3.14159 rad/s (3.14090 to 3.14230)"},
		{est(1234, 900, 1568), 1, "m", "1230 m (900 to 1570)"},
		{est(-0.2, -0.26, -0.14), 1, "", "-0.200 (-0.260 to -0.140)"},
		{est(0.0001, -0.2, 0.2), 1, "", "0.00 (-0.20 to 0.20)"},
		{est(-0.0001, -0.2, 0.2), 1, "", "0.00 (-0.20 to 0.20)"},
		{est(4.1, 3.3, inf), 1, "rad/s", "4.10 rad/s (above 3.30)"},
		{est(4.1, -inf, 5.3), 1, "rad/s", "4.1 rad/s (below 5.3)"},
		{est(4.1, -inf, inf), 1, "rad/s", "4.10 rad/s, no interval"},
		{flight.Plain(0.2149), 1, "", "0.215, no interval"},
		{flight.Plain(0), 1, "s", "0 s, no interval"},
		{est(5, 5, 5), 1, "s", "5.000 s (5.000 to 5.000)"},
		{est(1, 2, 3), -1, "s", "-1.00 s (-3.00 to -2.00)"},
	} {
		if got := withInterval(c.e, c.k, c.unit); got != c.want {
			t.Errorf("withInterval(%v, %g, %q) = %q, want %q", c.e, c.k, c.unit, got, c.want)
		}
	}
}

func TestDecimals(t *testing.T) {
	for half, want := range map[float64]int{
		0: 3, 1: 1, 0.6: 2, 0.06: 3, 0.0996: 2, 9.94: 1, 9.96: 0, 24: 0, 240: -1, 1e300: -299, 1e-20: 9,
	} {
		if got := decimals(half); got != want {
			t.Errorf("decimals(%g) = %d, want %d", half, got, want)
		}
	}
}
