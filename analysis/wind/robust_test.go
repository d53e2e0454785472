package wind

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

// TestBadDataNeverPanics: whatever a wind log holds, Analyse returns, and no estimate it
// gives is NaN.
func TestBadDataNeverPanics(t *testing.T) {
	odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 0, 1e300, 1e-300}
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(0, 400).Draw(rt, "n")
		step := rapid.SampledFrom([]float64{0.05, 0.25, 1, 2, 60}).Draw(rt, "step")
		value := func(what string, size float64) float64 {
			if rapid.IntRange(0, 30).Draw(rt, "odd") == 0 {
				return rapid.SampledFrom(odd).Draw(rt, what)
			}
			return rapid.Float64Range(0, size).Draw(rt, what)
		}
		ts, speed, dir := []float64{}, []float64{}, []float64{}
		at := rapid.Float64Range(-100, 100).Draw(rt, "start")
		for range n {
			ts = append(ts, at)
			speed = append(speed, value("speed", 12))
			dir = append(dir, value("direction", 7))
			at += step
			if rapid.IntRange(0, 60).Draw(rt, "gap") == 0 {
				at += rapid.Float64Range(0, 1e4).Draw(rt, "gap length")
			}
		}
		h := windHop(ts, speed, dir)
		if rapid.Bool().Draw(rt, "components") {
			h.Channels[0].Quantity, h.Channels[1].Quantity = flight.WindNorth, flight.WindEast
		}
		if rapid.Bool().Draw(rt, "aircraft") {
			stickHop(h, func(t float64) float64 { return math.Sin(t) }, func(t float64) float64 { return math.Cos(t) }, 90)
		}
		from := rapid.Float64Range(-50, 100).Draw(rt, "from")
		span := flight.Span{FromS: from, ToS: from + rapid.Float64Range(-10, 200).Draw(rt, "length")}
		r, err := Analyse(context.Background(), h, span, Settings{})
		if err != nil {
			rt.Fatal(err)
		}
		for _, p := range append(append([]Phase{}, r.Phases...), whole(r)...) {
			for _, e := range []*flight.Estimate{p.MeanMS, p.SDMS, p.Gust3sMS, p.Lull3sMS, p.SpreadMS, p.GustFactor,
				p.TurbulenceIntensity, p.DirectionRad, p.DirectionSDRad, p.HeadMS, p.CrossMS, p.LengthM} {
				if e != nil && math.IsNaN(e.Value) {
					rt.Fatalf("NaN in %+v", p)
				}
			}
		}
	})
}

func whole(r Result) []Phase {
	if r.Whole == nil {
		return nil
	}
	return []Phase{*r.Whole}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Analyse(ctx, &flight.Hop{}, flight.Span{}, Settings{}); err == nil {
		t.Error("no error from a cancelled context")
	}
}
