package wind

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestFloor: readings of first-order gusts with white noise of known variance, correlated
// between the components. The noise is found within its standard error as often as a
// normal one would be.
func TestFloor(t *testing.T) {
	const dt, sd, scale, trials = 0.25, 1.0, 8.0, 60
	var z, mean [3]float64
	for seed := range uint64(trials) {
		rng := rand.New(rand.NewPCG(seed, 3))
		x, y := firstOrder(rng, 2400, dt, scale), firstOrder(rng, 2400, dt, scale)
		for i := range x {
			common := 0.1 * rng.NormFloat64()
			x[i] = sd*x[i] + common
			y[i] = sd*y[i] + common + 0.15*rng.NormFloat64()
		}
		x[700], x[701] = math.NaN(), math.NaN()
		f := findFloor(x, y)
		for i, want := range [3]float64{0.01, 0.01, 0.0325} {
			mean[i] += f.white[i] / trials
			if i != 1 {
				z[i] += math.Pow((f.white[i]-want)/f.se[i], 2) / trials
			}
		}
		// The variance of the change of first-order gusts is 2 sd^2 (1 - exp(-dt/scale)).
		if want := 2 * sd * sd * (1 - math.Exp(-dt/scale)); math.Abs(f.step[0]/want-1) > 0.35 {
			t.Errorf("seed %d: step %.3f, want %.3f", seed, f.step[0], want)
		}
	}
	for i, want := range [3]float64{0.01, 0.01, 0.0325} {
		closeTo(t, "mean noise", mean[i], want, 0.0012)
		if i != 1 && (z[i] < 0.6 || z[i] > 1.6) {
			t.Errorf("component %d: errors are %.2f of the standard errors given, in the square", i, z[i])
		}
	}
}

func TestBackTo(t *testing.T) {
	// A share of 20 % of the power is noise: the answer is divided by 1.2, by 1.4 with as
	// much again.
	closeTo(t, "answer", backTo(3/1.2, 3/1.4), 3, 1e-12)
}
