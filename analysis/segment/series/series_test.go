package series

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

func channel(rateHz, lengthS float64, f func(t float64) float64) *flight.Channel {
	c := &flight.Channel{}
	for i := 0; i < int(rateHz*lengthS); i++ {
		t := float64(i) / rateHz
		c.TimeS, c.Value = append(c.TimeS, t), append(c.Value, f(t))
	}
	return c
}

// TestEvenResponse: a local mean under a Hann weight of width w passes a tone of frequency
// f by sin(pi f w)/(pi f w (1 - (f w)^2)), the transform of the Hann window.
func TestEvenResponse(t *testing.T) {
	for _, c := range []struct{ rateHz, widthS, f float64 }{
		{200, 0.08, 1}, {200, 0.08, 4}, {200, 0.08, 10}, {1000, 0.4, 1}, {200, 0.4, 2},
	} {
		in := channel(c.rateHz, 20, func(t float64) float64 { return math.Sin(2 * math.Pi * c.f * t) })
		g := Grid{FromS: 5, StepS: 0.0371, N: 200}
		want := math.Sin(math.Pi*c.f*c.widthS) / (math.Pi * c.f * c.widthS * (1 - c.f*c.f*c.widthS*c.widthS))
		for i, v := range Even(in, g, c.widthS) {
			if d := math.Abs(v - want*math.Sin(2*math.Pi*c.f*g.TimeS(i))); d > 0.03 {
				t.Fatalf("%+v at %.2f s: off by %.3f", c, g.TimeS(i), d)
			}
		}
	}
}

func TestEvenInterpolatesSlowLogsAndLeavesGaps(t *testing.T) {
	c := channel(10, 10, func(t float64) float64 { return 3*t - 1 })
	c.TimeS, c.Value = append(c.TimeS[:40], c.TimeS[60:]...), append(c.Value[:40], c.Value[60:]...)
	g := Grid{FromS: -1, StepS: 0.04, N: 300}
	for i, v := range Even(c, g, 0.08) {
		at := g.TimeS(i)
		switch {
		case at < -0.001 || at > 9.901 || at > 3.901 && at < 5.999:
			if v == v {
				t.Errorf("%.2f s: %g, want a gap", at, v)
			}
		case at > 0.001 && at < 3.899 || at > 6.001 && at < 9.899:
			if math.Abs(v-(3*at-1)) > 1e-9 {
				t.Errorf("%.2f s: %g, want %g", at, v, 3*at-1)
			}
		}
	}
	filled := Filled([]float64{math.NaN(), 1, math.NaN(), math.NaN(), 4, math.NaN()})
	if !slices.Equal(filled, []float64{1, 1, 2, 3, 4, 4}) {
		t.Errorf("filled %v", filled)
	}
}

func TestPercentileEqualsSorting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-5, 5), 1, 60).Draw(t, "x")
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		s := slices.Clone(x)
		slices.Sort(s)
		f := p * float64(len(s)-1)
		i := int(f)
		j := min(i+1, len(s)-1)
		want := s[i] + (f-float64(i))*(s[j]-s[i])
		if got := Percentile(x, p); math.Abs(got-want) > 1e-12 {
			t.Fatalf("%g, want %g", got, want)
		}
	})
	if v := Percentile([]float64{math.NaN()}, 0.5); v == v {
		t.Errorf("percentile of nothing is %g, want NaN", v)
	}
}

func TestSpreadOfNormalNumbers(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	x := make([]float64, 20000)
	for i := range x {
		x[i] = 2 * rng.NormFloat64()
	}
	x[0] = 1e9
	if s := Spread(x); math.Abs(s-2) > 0.06 {
		t.Errorf("spread %g, want 2", s)
	}
}

// TestBandPass: half the amplitude at the corners (twice 1/sqrt 2), no phase shift, and
// 1/(1+(w/c)^4) in all per section (Butterworth), exact but for the bilinear map.
func TestBandPass(t *testing.T) {
	const stepS = 0.01
	x := make([]float64, 20000)
	for _, w := range []float64{0.5, 1, 3, 12, 24} {
		for i := range x {
			x[i] = math.Cos(w * (float64(i) - 10000) * stepS)
		}
		want := 1 / (1 + math.Pow(1/w, 4)) / (1 + math.Pow(w/12, 4))
		if got := BandPass(x, stepS, 1, 12)[10000]; math.Abs(got-want) > 0.01 {
			t.Errorf("%g rad/s passed by %.4f, want %.4f", w, got, want)
		}
	}
}
