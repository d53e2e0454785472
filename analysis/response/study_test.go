//go:build study

package response

import (
	"context"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"hopcard/flight"
)

// tally gathers the errors of one estimate over many hops.
type tally struct {
	name                 string
	n, inside, sum, sum2 float64
	missing, far         int
}

func (y *tally) add(e *flight.Estimate, want float64) {
	if e == nil {
		y.missing++
		return
	}
	y.n++
	d := e.Value - want
	y.sum += d
	y.sum2 += d * d
	if e.Low <= want && want <= e.High {
		y.inside++
	}
}

func (y *tally) bias() float64     { return y.sum / y.n }
func (y *tally) coverage() float64 { return 100 * y.inside / y.n }

// studyHops is the number of hops flown, two axes each.
const studyHops = 120

// TestStudyRateType flies seeded hops of a rate type with random gain, delay, following time,
// pilot and gusts, and asks for bias and for the share of intervals that hold the truth.
func TestStudyRateType(t *testing.T) {
	rng := rand.New(rand.NewPCG(77, 1))
	ys := []*tally{{name: "phase bandwidth, share"}, {name: "w180, share"}, {name: "gain bandwidth, share"}, {name: "phase delay, s"},
		{name: "phase lag at 1 Hz, deg"}, {name: "dead time, s"}, {name: "effective delay, s"}}
	for i := range studyHops {
		p := defaultPlant()
		p.seed = uint64(1000 + i)
		p.tau = 0.02 + 0.23*rng.Float64()
		p.lag = 0.1 + 0.3*rng.Float64()
		p.gain = 1.5 + rng.Float64()
		p.pilotGain = 0.3 + 0.4*rng.Float64()
		p.gust = 0.001 * math.Pow(6, rng.Float64())
		h, segs := p.fly()
		a, err := Analyse(context.Background(), h, segs, Settings{Seed: p.seed}, nil)
		if err != nil {
			t.Fatal(err)
		}
		exact := exactCurve(func(s complex128) complex128 { return p.attitude(s) }, 0.3, 60)
		want := handlingOf(exact, exact.lnGain, exact.phase)
		for _, r := range a.Responses {
			if r.Output == Attitude {
				share := func(e *flight.Estimate, w float64) (*flight.Estimate, float64) {
					if e == nil {
						return nil, 1
					}
					return &flight.Estimate{Value: e.Value / w, Low: e.Low / w, High: e.High / w}, 1
				}
				ys[0].add(share(r.BandwidthPhaseRadS, want.phaseBandwidth))
				ys[1].add(share(r.W180RadS, want.w180))
				ys[2].add(share(r.BandwidthGainRadS, want.gainBandwidth))
				ys[3].add(r.PhaseDelayS, want.phaseDelayS)
				continue
			}
			for _, l := range r.Lag {
				if w := l.FrequencyRadS; math.Abs(w-2*math.Pi) < 0.01 {
					ys[4].add(&l.PhaseDeg, -(w*p.tau+math.Atan(p.lag*w))*degPerRad)
				}
			}
			ys[5].add(r.TransportDelayS, p.tau)
			ys[6].add(r.EffectiveDelayS, p.tau)
		}
	}
	for _, y := range ys {
		t.Logf("%-22s n %3.0f missing %3d bias %+.5f sd %.5f coverage %.1f %%", y.name, y.n, y.missing, y.bias(),
			math.Sqrt(y.sum2/y.n-y.bias()*y.bias()), y.coverage())
	}
}

// attitude is the attitude response per stick in closed form.
func (p plant) attitude(s complex128) complex128 {
	return complex(p.gain, 0) * cmplx.Exp(-complex(p.tau, 0)*s) / (s * (complex(p.lag, 0)*s + 1))
}

func sorted(x []float64) []float64 {
	x = slices.Clone(x)
	slices.Sort(x)
	return x
}
