package stability

import (
	"math"
	"testing"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// windHop has a heading turning at 0.01 rad/s and a wind of 4 m/s from north, 4 readings a
// second.
func windHop(column string) *flight.Hop {
	h := &flight.Hop{Sources: []flight.Source{
		{Clock: flight.Clock{AlignedBy: flight.AlignUTC}}, {Clock: flight.Clock{AlignedBy: flight.AlignUTC}}}}
	add := func(q flight.Quantity, source int, rateHz float64, f func(t float64) float64) {
		c := flight.Channel{Quantity: q, Source: source, Column: column, Sure: 1, Sign: 1, Scale: 1}
		for i := range int(60 * rateHz) {
			c.TimeS, c.Value = append(c.TimeS, float64(i)/rateHz), append(c.Value, f(float64(i)/rateHz))
		}
		h.Channels = append(h.Channels, c)
	}
	add(flight.Roll, 0, 20, zero)
	add(flight.Pitch, 0, 20, zero)
	add(flight.Heading, 0, 20, func(t float64) float64 { return 0.01 * t })
	add(flight.WindSpeed, 1, 4, func(t float64) float64 { return 4 + 0.1*t })
	add(flight.WindDirectionFrom, 1, 4, zero)
	return h
}

// TestGustAlongAxis: wind from north against a turning nose, between readings a straight line.
func TestGustAlongAxis(t *testing.T) {
	const tol = 0.005 // m/s: the heading is the reading next to the wind's
	grid := series.Over(flight.Span{FromS: 0, ToS: 59}, stepS)
	flown := flight.Span{FromS: 10, ToS: 50}
	h := windHop("w")
	for axis, want := range map[flight.Axis]func(s float64) float64{
		flight.PitchAxis: func(s float64) float64 { return (4 + 0.1*s) * math.Cos(0.01*s) },
		flight.RollAxis:  func(s float64) float64 { return -(4 + 0.1*s) * math.Sin(0.01*s) },
	} {
		got := gustOn(h, axis, grid, flown)
		if got == nil {
			t.Fatal("no wind")
		}
		for _, at := range []float64{12, 30.1, 45.33} {
			i := grid.Index(at)
			if s := grid.TimeS(i); math.Abs(got[i]-want(s)) > tol {
				t.Errorf("%s at %g s: %.4f, want %.4f", axis, s, got[i], want(s))
			}
		}
	}
}

// TestGustIsNotUsed where it cannot be trusted.
func TestGustIsNotUsed(t *testing.T) {
	grid := series.Over(flight.Span{FromS: 0, ToS: 59}, stepS)
	flown := flight.Span{FromS: 10, ToS: 50}
	for name, c := range map[string]struct {
		column string
		edit   func(h *flight.Hop)
	}{
		"an estimate made on board": {"wind_est", func(*flight.Hop) {}},
		"on a clock of its own":     {"w", func(h *flight.Hop) { h.Sources[1].Clock.AlignedBy = flight.AlignNone }},
		"no heading":                {"w", func(h *flight.Hop) { h.Channels = append(h.Channels[:2], h.Channels[3:]...) }},
		"silent for 5 s": {"w", func(h *flight.Hop) {
			for k := 3; k <= 4; k++ {
				c := &h.Channels[k]
				c.TimeS = append(append([]float64(nil), c.TimeS[:100]...), c.TimeS[120:]...)
				c.Value = append(append([]float64(nil), c.Value[:100]...), c.Value[120:]...)
			}
		}},
		"ends early": {"w", func(h *flight.Hop) {
			for k := 3; k <= 4; k++ {
				c := &h.Channels[k]
				c.TimeS, c.Value = c.TimeS[:150], c.Value[:150]
			}
		}},
	} {
		h := windHop(c.column)
		c.edit(h)
		if got := gustOn(h, flight.RollAxis, grid, flown); got != nil {
			t.Errorf("%s: used", name)
		}
	}
}
