package stability

import (
	"context"
	"math"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// tenMinutes is a made-up hop of 10 minutes at 200 Hz with all channels this package
// looks at: ground, a hover flown by hand with a growing oscillation, ground.
func tenMinutes() *flight.Hop {
	const rateHz, lengthS = 200.0, 600.0
	n := int(rateHz * lengthS)
	ts := make([]float64, n)
	for i := range ts {
		ts[i] = float64(i) / rateHz
	}
	h := &flight.Hop{Sources: []flight.Source{{RateHz: rateHz, Clock: flight.Clock{AlignedBy: flight.AlignSingle}}}}
	add := func(q flight.Quantity, f func(t float64) float64) {
		v := make([]float64, n)
		for i, t := range ts {
			v[i] = f(t) + 1e-4*math.Sin(431*t)*math.Cos(1777*t*t)
		}
		h.Channels = append(h.Channels, flight.Channel{Quantity: q, TimeS: ts, Value: v, Sure: 1, Sign: 1, Scale: 1})
	}
	air := func(t float64) float64 {
		if t > 30 && t < 570 {
			return 1
		}
		return 0
	}
	att := func(t float64) float64 {
		a := 0.01*math.Sin(1.1*t) + 0.006*math.Sin(2.3*t+1)
		if t > 300 && t < 310 {
			a += 0.003 * math.Exp(0.4*(t-300)) * math.Sin(4*t)
		}
		return a * air(t)
	}
	hand := func(t float64) float64 { // the pilot's hand, still for 8 s twice
		if t > 200 && t < 208 || t > 400 && t < 408 {
			return 0
		}
		return 0.01 * math.Sin(1.7*t) * air(t)
	}
	add(flight.Roll, att)
	add(flight.Pitch, func(t float64) float64 { return att(t+7) * air(t) })
	add(flight.RollRate, func(t float64) float64 { return (att(t+0.001) - att(t-0.001)) / 0.002 })
	add(flight.PitchRate, func(t float64) float64 { return (att(t+7.001) - att(t+6.999)) / 0.002 * air(t) })
	add(flight.LatStick, func(t float64) float64 { return -0.6*att(t-0.3) + hand(t) })
	add(flight.LonStick, func(t float64) float64 { return (-0.6*att(t+6.7) + hand(t+2)) * air(t) })
	add(flight.AccelZ, func(t float64) float64 { return -9.8 + 0.4*air(t)*math.Sin(100*t) })
	return h
}

// BenchmarkTenMinutes: finding segments and stability of a made-up 10-minute hop at 200 Hz,
// and stability of it and of one flown by a simulated pilot in gusts with the wind logged. On
// two shared cores of an AMD EPYC with a dozen other jobs running 78, 537 and 217 ms: 1 to
// 6.9 to 2.8, of which the first takes 22 ms when they are quiet. Nine tenths of the second
// and third are models with known inputs.
func BenchmarkTenMinutes(b *testing.B) {
	made := tenMinutes()
	b.Run("segments", func(b *testing.B) {
		for b.Loop() {
			segment.Find(made)
		}
	})
	gusty := simulate.DrawGusty(1, false, 540, 15, 0.7)
	gusty.Sensors.AttitudeHz, gusty.Sensors.StickHz = 200, 200
	for _, c := range []struct {
		name string
		hop  *flight.Hop
	}{{"made up", made}, {"gusty", simulate.Fly(gusty).Hop()}} {
		segs, _ := segment.Find(c.hop)
		b.Run("stability "+c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Analyse(context.Background(), c.hop, segs, flight.Limits{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
