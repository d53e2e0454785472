package response

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/analysis/spectrum"
)

// shifted makes a band-limited signal as a sum of many tones and the same delayed by delayS,
// each sampled every stepS.
func shifted(rng *rand.Rand, n int, stepS, bandHz, delayS float64) (x, y []float64) {
	const tones = 200
	x, y = make([]float64, n), make([]float64, n)
	for range tones {
		w := 2 * math.Pi * bandHz * rng.Float64()
		a, b := rng.NormFloat64(), rng.NormFloat64()
		for k := range n {
			s, c := math.Sincos(w * float64(k) * stepS)
			x[k] += a*s + b*c
			s, c = math.Sincos(w * (float64(k)*stepS - delayS))
			y[k] += a*s + b*c
		}
	}
	return x, y
}

func respond(t *testing.T, stepS float64, window int, x, y []float64) *spectrum.Response {
	t.Helper()
	s, err := spectrum.Estimate(context.Background(), [][][]float64{{x, y}}, stepS, spectrum.Settings{Window: window, Overlap: 0.75})
	if err != nil {
		t.Fatal(err)
	}
	return s.Solve(0, 1)
}

// Knapp and Carter 1976: without noise a shift of 7.3 samples is found as 7.3 samples
// whatever the weighting, to a twentieth of a sample.
func TestLagOfPureShift(t *testing.T) {
	const stepS = 0.02
	rng := rand.New(rand.NewPCG(3, 3))
	x, y := shifted(rng, 6000, stepS, 8, 7.3*stepS)
	r := respond(t, stepS, 512, x, y)
	for name, w := range map[string]func(gain, coherence float64) float64{"plain": plainWeight, "likelihood": likelihoodWeight} {
		lag := correlationLag(r, w, 0)
		if lag == nil || math.Abs(lag.Value/stepS-7.3) > 0.05 {
			t.Errorf("%s: %v, want 7.30 samples of %g s", name, lag, stepS)
		}
	}
}

// The Cramer-Rao bound of a delay (Knapp and Carter 1976, eq. 41; Carter 1987): with a flat
// band of 2 Hz, coherence 0.5 and 60 s the lag cannot scatter by less than 8.897 ms. Over
// many records of true lag 137 ms the weighted lag must be within 1.3 times that, without
// bias, and its intervals must hold the truth.
func TestLagScatterAgainstBound(t *testing.T) {
	const stepS, seconds, runs, truth = 0.1, 60, 120, 0.137
	var sum, square, inside, said float64
	for i := range runs {
		rng := rand.New(rand.NewPCG(uint64(i), 17))
		x, y := shifted(rng, seconds/stepS, stepS, 2, truth)
		_, e := shifted(rng, seconds/stepS, stepS, 2, 0)
		for k := range y {
			y[k] += e[k] // as strong as the answer, in the same band: coherence 0.5
		}
		r := respond(t, stepS, 64, x, y)
		lag := correlationLag(r, plainWeight, 0)
		if lag == nil {
			t.Fatal("no lag")
		}
		d := lag.Value - truth
		sum += d / runs
		said += (lag.High - lag.Low) / 2 / 1.96 / runs
		square += d * d / runs
		if lag.Low <= truth && truth <= lag.High {
			inside += 100.0 / runs
		}
	}
	sd := math.Sqrt(square - sum*sum)
	t.Logf("bias %.2f ms, scatter %.2f ms, said %.2f ms, inside %.0f %%", 1000*sum, 1000*sd, 1000*said, inside)
	if sd > 1.3*0.008897 || sd < 0.8*0.008897 {
		t.Errorf("scatter %.2f ms, bound 8.90 ms", 1000*sd)
	}
	if math.Abs(sum) > 3*sd/math.Sqrt(runs) {
		t.Errorf("bias %.2f ms", 1000*sum)
	}
	// 95 % less three times the scatter of so many records.
	if inside < 95-300*math.Sqrt(0.95*0.05/runs) {
		t.Errorf("intervals hold the truth in %.0f %% of records", inside)
	}
}

// Textbook: white input through a delay of 0.2 s and a lag of 0.5 s. The correlation is
// exp(-(t-0.2)/0.5) beyond 0.2 s: seen through a finite band its peak comes after the
// delay. With the input low-passed to 1 Hz it comes much later: the correlation lag is not
// the delay.
func TestLagIsNotDelay(t *testing.T) {
	const stepS = 0.02
	peak := func(cornerHz float64) float64 {
		rng := rand.New(rand.NewPCG(5, 5))
		n := 20000
		x, y := make([]float64, n), make([]float64, n)
		pole, input := math.Exp(-stepS/0.5), math.Exp(-2*math.Pi*cornerHz*stepS)
		for k := 1; k < n; k++ {
			x[k] = input*x[k-1] + (1-input)*rng.NormFloat64()
			u := 0.0
			if k >= 10 {
				u = x[k-10]
			}
			y[k] = pole*y[k-1] + (1-pole)*u
		}
		return correlationLag(respond(t, stepS, 512, x, y), plainWeight, 0).Value
	}
	white, slow := peak(1e3), peak(1)
	if white < 0.2-stepS || white > 0.2+2*stepS {
		t.Errorf("white input: peak at %.3f s, want 0.20", white)
	}
	if slow < white+0.05 {
		t.Errorf("input below 1 Hz: peak at %.3f s, not after %.3f s", slow, white)
	}
}
