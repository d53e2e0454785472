package stability

import (
	"math"
	"testing"

	"hopcard/flight"
)

func TestModesOfStillStickMustBeConfirmed(t *testing.T) {
	mode := func(omega, zeta float64) Mode {
		return Mode{FrequencyRadS: &flight.Estimate{Value: omega, Low: 0.95 * omega, High: 1.05 * omega},
			DampingRatio: &flight.Estimate{Value: zeta, Low: zeta - 0.05, High: zeta + 0.05}}
	}
	for _, c := range []struct {
		name     string
		known    []Mode
		windSDMS float64
		want     int // of the one mode of 4 rad/s, damping 0.3
	}{
		{"seen in the whole flight", []Mode{mode(0.5, -0.1), mode(4.2, 0.28)}, 2, 1},
		{"another frequency", []Mode{mode(2, 0.3)}, 0.1, 0},
		{"another damping", []Mode{mode(4, -0.1)}, 0.1, 0},
		{"alone in calm air", nil, 0.2, 1},
		{"alone in gusts", nil, 1.5, 0},
		{"alone, wind not logged", nil, math.NaN(), 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			tr := &trace{axis: flight.RollAxis}
			got := tr.confirmed([]Mode{mode(4, 0.3)}, c.known, c.windSDMS)
			if len(got) != c.want || len(tr.findings) != 1-c.want {
				t.Errorf("%d modes and %d findings, want %d modes", len(got), len(tr.findings), c.want)
			}
		})
	}
}
