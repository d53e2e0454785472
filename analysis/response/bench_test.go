package response

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

// BenchmarkAnalyse is what a user waits for after the reading: ten minutes at 200 Hz, both
// axes, the whole flight without a recognised test input. On two cores (linux/amd64, AMD EPYC,
// Go 1.26) 60 rounds take 2.8 s of processor time, 45 ms each; before axes shared their grid and
// spectra, and models had derivatives of their own, the same machine took 85 ms.
// testdata/response/compare.sh sets it against SciPy.
func BenchmarkAnalyse(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	const n = 120000
	h := &flight.Hop{Sources: []flight.Source{{}}}
	stamps := make([]float64, n)
	for i := range stamps {
		stamps[i] = float64(i) * 0.005
	}
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		stick, rate, att := make([]float64, n), make([]float64, n), make([]float64, n)
		var s, q, th float64
		for i := range n {
			s += 0.005*(-2*s) + 0.02*rng.NormFloat64()
			q += 0.005 * (-3*q + 10*s - 0.5*th)
			th += 0.005 * q
			stick[i], rate[i], att[i] = s, q+0.01*rng.NormFloat64(), th+0.001*rng.NormFloat64()
		}
		for _, c := range []struct {
			q flight.Quantity
			v []float64
		}{{axis.Stick(), stick}, {axis.Rate(), rate}, {axis.Attitude(), att}} {
			h.Channels = append(h.Channels, flight.Channel{Quantity: c.q, TimeS: stamps, Value: c.v, Sure: 1})
		}
	}
	segs := []flight.Segment{{Kind: flight.Hover, Span: flight.Span{FromS: 0, ToS: math.Inf(1)}}}
	segs[0].Span.ToS = 600
	b.ResetTimer()
	for b.Loop() {
		a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
		if err != nil || len(a.Responses) != 4 {
			b.Fatal(err, len(a.Responses))
		}
	}
}
