package stability

import (
	"context"
	"math"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/flight"
)

// TestFaultsAreNoGrowth: what a sensor or a logger does wrong must not be called an
// oscillation of the aircraft.
func TestFaultsAreNoGrowth(t *testing.T) {
	for name, spoil := range map[string]func(c *flight.Channel){
		"one sample wild":  func(c *flight.Channel) { c.Value[2000] = 3 },
		"three wild":       func(c *flight.Channel) { c.Value[2000], c.Value[2001], c.Value[2002] = 3, 3, 3 },
		"drops to zero":    func(c *flight.Channel) { fillWith(c, 2000, 2010, 0) },
		"stuck for 2 s":    func(c *flight.Channel) { fillWith(c, 2000, 2100, c.Value[2000]) },
		"jumps and stays":  func(c *flight.Channel) { shift(c, 2000, 0.2) },
		"missing for 1 s":  func(c *flight.Channel) { fillWith(c, 2000, 2050, math.NaN()) },
		"turns over at pi": func(c *flight.Channel) { shift(c, 2000, 2*math.Pi) },
	} {
		h := flown(zero, func(s float64) float64 { return 0.02 * math.Sin(1.3*s) })
		spoil(&h.Channels[0])
		segs, _ := segment.Find(h)
		r, err := Analyse(context.Background(), h, segs, flight.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		for _, u := range r.Unstable {
			if u.FrequencyRadS != nil {
				t.Errorf("%s: %s %v %s", name, u.Kind, u.Span, u.Reason)
			}
		}
	}
}

func fillWith(c *flight.Channel, from, to int, v float64) {
	for i := from; i < to; i++ {
		c.Value[i] = v
	}
}

func shift(c *flight.Channel, from int, by float64) {
	for i := from; i < c.Len(); i++ {
		c.Value[i] += by
	}
}
