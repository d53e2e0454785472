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

// TestSlowestCup: first-order gusts behind a lag, with noise. The limit lies above the true
// distance constant and well below the usual slow cup's where the anemometer is quick.
func TestSlowestCup(t *testing.T) {
	const dt, fine, mean = 0.25, 10, 5.0
	for _, c := range []struct{ cupM, most float64 }{{0, 2}, {1, 2.6}, {2, 4}, {4, 4}} {
		for seed := range uint64(6) {
			rng := rand.New(rand.NewPCG(seed, 4))
			read := func() []float64 {
				u := firstOrder(rng, 2400*fine, dt/fine, 8)
				x := make([]float64, 2400)
				v := u[0]
				for i, g := range u {
					if c.cupM > 0 {
						g = v + (1-math.Exp(-dt/fine*mean/c.cupM))*(g-v)
					}
					v = g
					if i%fine == 0 {
						x[i/fine] = v + 0.03*rng.NormFloat64()
					}
				}
				return x
			}
			got := slowestCupM(read(), read(), dt, mean)
			if got < c.cupM || got > c.most {
				t.Errorf("distance constant %g m, seed %d: at most %.1f m, want no less than the truth and no more than %g m", c.cupM, seed, got, c.most)
			}
		}
	}
	if got := slowestCupM(make([]float64, 100), make([]float64, 100), dt, mean); got != slowCupM {
		t.Errorf("%.1f m from a record too short to tell, want %.1f m", got, slowCupM)
	}
}
