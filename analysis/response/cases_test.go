package response

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

// tonesHop is a hop whose pitch stick is a sum of tones and whose attitude and rate are the
// answers of g to them, with a little noise.
func tonesHop(g func(s complex128) complex128, seed uint64) (*flight.Hop, []flight.Segment) {
	const stepS, seconds, tones = 0.05, 150, 200
	rng := rand.New(rand.NewPCG(seed, 23))
	n := int(seconds / stepS)
	stamps, stick, att, rate := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for k := range stamps {
		stamps[k] = stepS * float64(k)
	}
	for i := range tones {
		w := 0.2 * math.Pow(100, (float64(i)+rng.Float64())/tones)
		start := 2 * math.Pi * rng.Float64()
		a, h := 0.005, g(complex(0, w))
		for k, t := range stamps {
			stick[k] += a * math.Cos(w*t+start)
			att[k] += a * cmplx.Abs(h) * math.Cos(w*t+start+cmplx.Phase(h))
			rate[k] -= a * cmplx.Abs(h) * w * math.Sin(w*t+start+cmplx.Phase(h))
		}
	}
	hop := &flight.Hop{Name: "tones", Sources: []flight.Source{{File: "all.csv", Clock: flight.Clock{AlignedBy: flight.AlignSingle}}}}
	for _, c := range []struct {
		q     flight.Quantity
		v     []float64
		noise float64
	}{{flight.LonStick, stick, 0}, {flight.Pitch, att, 1e-4}, {flight.PitchRate, rate, 3e-4}} {
		for k := range c.v {
			c.v[k] += c.noise * rng.NormFloat64()
		}
		hop.Channels = append(hop.Channels, flight.Channel{Quantity: c.q, Sure: 1, TimeS: stamps, Value: c.v})
	}
	return hop, []flight.Segment{{Kind: flight.Hover, Span: flight.Span{FromS: 0, ToS: seconds}}}
}

// The cases of ADS-33E's numbers with closed forms (see TestHandlingOfExactResponses), through
// the whole analysis: to 3 %, phase delay to 5 ms. What does not exist is not given and a
// finding says so, and the caution of figure 5 is raised where the gain bandwidth is below
// that of the phase or indeterminate, and nowhere else.
func TestHandlingThroughTheAnalysis(t *testing.T) {
	delay := func(tau float64, s complex128) complex128 { return cmplx.Exp(-complex(tau, 0) * s) }
	none := math.NaN()
	for _, c := range []struct {
		name                           string
		g                              func(s complex128) complex128
		phase, w180, gain, phaseDelayS float64
		caution                        bool
	}{
		{"rate type, slow", func(s complex128) complex128 { return delay(0.08, s) / (s * (0.25*s + 1)) },
			2.60400, 6.71526, 4.41544, 0.058447, false},
		{"rate type, long delay", func(s complex128) complex128 { return delay(0.15, s) / (s * (0.15*s + 1)) },
			2.68419, 5.73556, 3.38176, 0.104106, false},
		{"limited by gain", func(s complex128) complex128 { return (s/2 + 1) * delay(0.15, s) / (s * (s/6 + 1)) },
			7.91102, 12.40914, 4.45814, none, true}, // twice w180 is beyond what is measured
		{"attitude type, well damped, long delay", func(s complex128) complex128 { return 9 * delay(0.3, s) / (s*s + 4.2*s + 9) },
			2.85448, 3.96128, none, 0.230051, true},
		{"attitude type, poorly damped", func(s complex128) complex128 { return 9 * delay(0.1, s) / (s*s + 1.8*s + 9) },
			3.45353, 5.04447, 3.90658, 0.080843, false},
		{"attitude type, well damped", func(s complex128) complex128 { return 9 * delay(0.1, s) / (s*s + 4.2*s + 9) },
			3.97756, 6.67585, 4.58460, 0.076040, false},
		{"textbook helicopter, unstable", func(s complex128) complex128 {
			return delay(0.1, s) * (6.3*s + 0.028) / (s*s*s + 0.42*s*s - 0.006*s + 0.098)
		}, none, 1.96026, 1.37658, 0.073488, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			h, segs := tonesHop(c.g, 7)
			a := analyse(t, h, segs)
			r := result(t, a, flight.PitchAxis, Attitude)
			missing := false
			for _, v := range []struct {
				what string
				got  *flight.Estimate
				want float64
				tol  float64
			}{
				{"phase bandwidth", r.BandwidthPhaseRadS, c.phase, 0.03 * c.phase}, {"w180", r.W180RadS, c.w180, 0.03 * c.w180},
				{"gain bandwidth", r.BandwidthGainRadS, c.gain, 0.03 * c.gain}, {"phase delay", r.PhaseDelayS, c.phaseDelayS, 0.005},
			} {
				if math.IsNaN(v.want) {
					missing = true
					if v.got != nil {
						t.Errorf("%s = %.4g, there is none", v.what, v.got.Value)
					}
					continue
				}
				if v.got == nil || math.Abs(v.got.Value-v.want) > v.tol {
					t.Errorf("%s = %v, want %.4g", v.what, v.got, v.want)
				}
			}
			if got := hasFinding(a, flight.CodeNotMeasurable, flight.Note); got != missing {
				t.Errorf("not measurable said: %v, want %v; %v", got, missing, a.Findings)
			}
			if got := hasFinding(a, flight.CodeGainLimited, flight.Caution); got != c.caution {
				t.Errorf("caution: %v, want %v; %v", got, c.caution, a.Findings)
			}
		})
	}
}
