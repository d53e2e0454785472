//go:build study

package response

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

// boundHop is a hop whose pitch rate is the stick, even in density up to bandHz, later by delayS,
// with even noise that reaches beyond, so that the coherence is the same in all of the band.
func boundHop(seed uint64, seconds, bandHz, delayS, coherence float64) (*flight.Hop, []flight.Segment) {
	const rawS, noiseHz = 0.04, 8.0
	rng := rand.New(rand.NewPCG(seed, 19))
	x, y := shifted(rng, int(seconds/rawS), rawS, bandHz, delayS)
	_, e := shifted(rng, int(seconds/rawS), rawS, noiseHz, 0)
	share := math.Sqrt((1/coherence - 1) * noiseHz / bandHz)
	stamps := make([]float64, len(x))
	for k := range x {
		stamps[k] = rawS * float64(k)
		x[k] *= 0.01
		y[k] = 0.02 * (y[k] + share*e[k])
	}
	h := &flight.Hop{Name: "bound", Sources: []flight.Source{{File: "all.csv", Clock: flight.Clock{AlignedBy: flight.AlignSingle}}}}
	for q, v := range map[flight.Quantity][]float64{flight.LonStick: x, flight.PitchRate: y} {
		h.Channels = append(h.Channels, flight.Channel{Quantity: q, Sure: 1, TimeS: stamps, Value: v})
	}
	return h, []flight.Segment{{Kind: flight.Hover, Span: flight.Span{FromS: 0, ToS: seconds}}}
}

// TestStudyLagBound sets the scatter of the correlation lag, through the whole analysis, against
// the Cramer-Rao bound of a delay with a flat band B and coherence C over T seconds:
// variance >= 3/(8 pi^2 T B^3 C/(1-C)) (Knapp and Carter 1976, eq. 41).
func TestStudyLagBound(t *testing.T) {
	const runs, seconds, bandHz, delayS = 60, 120.0, 2.0, 0.137
	for _, c := range []float64{0.6, 0.8, 0.9, 0.97} {
		bound := math.Sqrt(3 / (8 * math.Pi * math.Pi * seconds * bandHz * bandHz * bandHz * c / (1 - c)))
		y, w := &tally{name: "plain"}, &tally{name: "weighted"}
		for i := range runs {
			h, segs := boundHop(uint64(1000*c)+uint64(10000*i), seconds, bandHz, delayS, c)
			a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range a.Responses {
				y.add(r.CorrelationLagS, delayS)
				w.add(r.WeightedCorrelationLagS, delayS)
			}
		}
		for _, y := range []*tally{y, w} {
			sd := math.Sqrt(y.sum2/y.n - y.bias()*y.bias())
			t.Logf("coherence %.2f, %s: n %.0f missing %d bias %+.2f ms, scatter %.2f ms, bound %.2f ms, ratio %.2f, coverage %.1f %%", c, y.name, y.n,
				y.missing, 1000*y.bias(), 1000*sd, 1000*bound, sd/bound, y.coverage())
		}
	}
}
