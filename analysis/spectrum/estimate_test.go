package spectrum

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func noise(seed uint64, n int) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	return x
}

func estimate(t testing.TB, stepS float64, s Settings, runs ...[][]float64) *Spectra {
	t.Helper()
	out, err := Estimate(context.Background(), runs, stepS, s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.9g, want %.9g (off by %.2g > %g)", what, got, want, math.Abs(got-want), tol)
	}
}

// Harris 1978 (Proc. IEEE 66(1), 51-83), table I: noise bandwidth 1.5 bins, coherent gain
// 0.5; mean square 0.375, scalloping loss 1.4236 dB and overlap correlations by algebra.
func TestHannAgainstHarris(t *testing.T) {
	const tol = 1e-12
	for _, n := range []int{256, 1024} {
		w := Hann(n)
		var sum, square float64
		var half complex128
		for k, v := range w {
			sum += v
			square += v * v
			half += complex(v, 0) * cmplx.Exp(complex(0, -math.Pi*float64(k)/float64(n)))
		}
		near(t, "noise bandwidth in bins", float64(n)*square/(sum*sum), 1.5, tol)
		near(t, "coherent gain", sum/float64(n), 0.5, tol)
		near(t, "mean square", square/float64(n), 0.375, tol)
		near(t, "scalloping loss in dB", -20*math.Log10(cmplx.Abs(half)/sum), 1.4236, 1e-3)
		near(t, "overlap correlation at 50 %", OverlapCorrelation(w, n/2), 1.0/6, 1e-6)
		near(t, "overlap correlation at 62.5 %", OverlapCorrelation(w, n*3/8), 0.38189, 1e-5)
		near(t, "overlap correlation at 75 %", OverlapCorrelation(w, n/4), 0.65915, 1e-5)
	}
}

// Welch 1967 (IEEE Trans. AU-15(2), 70-73), evaluated for the Hann window.
func TestEffectiveAverages(t *testing.T) {
	const n, tol = 1024, 1e-4
	for _, c := range []struct {
		step, k int
		want    float64
	}{
		{n / 2, 7, 6.6818}, {n / 2, 15, 14.2606}, {n / 2, 31, 29.4184},
		{n / 4, 13, 7.0300}, {n / 4, 29, 15.3372}, {n / 4, 61, 31.9612},
		{n, 9, 9}, {n / 2, 1, 1},
	} {
		near(t, "effective averages", EffectiveAverages(Hann(n), c.step, c.k), c.want, tol)
	}
}

// A sine on a bin, amplitude A: the peak is A^2/(3 df) and the density over two bins to
// either side holds the mean square A^2/2, whatever its phase.
func TestSineDensity(t *testing.T) {
	const amplitude, rate, n = 2.0, 64.0, 256 // df = 0.25 Hz
	x := make([]float64, 2048)
	for k := range x {
		x[k] = 3 + amplitude*math.Cos(2*math.Pi*5*float64(k)/rate+0.4)
	}
	s := estimate(t, 1/rate, Settings{Window: n, Detrend: Constant}, [][]float64{x})
	g := s.Auto(0)
	near(t, "peak", g[20], 5.333333333, 1e-9)
	var sum float64
	for k := 18; k <= 22; k++ {
		sum += g[k] * 0.25
	}
	near(t, "mean square", sum, amplitude*amplitude/2, 1e-9)
}

// White noise of unit variance at 100 Hz has a one-sided density of 2/fs; 2 Ke P/S is
// chi-square, so the mean over bins scatters by about 1/sqrt(Ke bins).
func TestWhiteNoiseLevel(t *testing.T) {
	s := estimate(t, 0.01, Settings{Window: 256}, [][]float64{noise(7, 60000)})
	var mean float64
	g := s.Auto(0)
	for _, v := range g[2 : len(g)-2] {
		mean += v / float64(len(g)-4)
	}
	near(t, "mean density", mean, 0.02, 3*0.02/math.Sqrt(s.Effective*float64(len(g)-4)/1.5))
}

// A pure delay of whole samples, noise-free: |H| = 1 and phase -omega tau. What differs is
// the edge of the window, which falls with its length.
func TestPureDelay(t *testing.T) {
	const stepS, delay = 0.02, 5
	x := noise(3, 40000)
	y := make([]float64, len(x))
	copy(y[delay:], x)
	s := estimate(t, stepS, Settings{Window: 2048}, [][]float64{x, y})
	r := s.Solve(0, 1)
	for k := 20; k < len(r.H)-20; k += 37 {
		want := cmplx.Exp(complex(0, -r.OmegaRadS[k]*delay*stepS))
		if d := cmplx.Abs(r.H[k] - want); d > 0.02 {
			t.Errorf("H at %.2f rad/s = %.4f, want %.4f", r.OmegaRadS[k], r.H[k], want)
		}
		if r.Coherence[k] < 0.999 {
			t.Errorf("coherence at %.2f rad/s = %.4f", r.OmegaRadS[k], r.Coherence[k])
		}
	}
}

func TestOneWindowIsRefused(t *testing.T) {
	x := noise(1, 383)
	for name, runs := range map[string][][][]float64{
		"one window": {{x, x}}, "none": {{x[:100], x[:100]}}, "no run": nil,
	} {
		_, err := Estimate(context.Background(), runs, 0.01, Settings{Window: 256})
		if !errors.Is(err, ErrOneWindow) {
			t.Errorf("%s: error %v, want ErrOneWindow", name, err)
		}
	}
	if _, err := Estimate(context.Background(), [][][]float64{{x, x}, {x, x}}, 0.01, Settings{Window: 256}); err != nil {
		t.Errorf("two runs of one window each: %v", err)
	}
}

// Runs are averaged, never joined: a step between two runs must leave no trace.
func TestRunsAreNotJoined(t *testing.T) {
	x := noise(5, 2048)
	moved := make([]float64, len(x))
	for k, v := range x {
		moved[k] = v + 1000
	}
	s := Settings{Window: 256, Detrend: Constant}
	a := estimate(t, 0.01, s, [][]float64{x}, [][]float64{x})
	b := estimate(t, 0.01, s, [][]float64{x}, [][]float64{moved})
	for k, v := range a.Auto(0) {
		near(t, "density", b.Auto(0)[k], v, 1e-8)
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	x := noise(1, 4096)
	if _, err := Estimate(ctx, [][][]float64{{x}}, 0.01, Settings{Window: 256}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want cancelled", err)
	}
}

// Whatever the data, coherence lies in [0, 1]; doubling or turning round the output does
// the same to H and leaves the coherence; a longer step divides all frequencies.
func TestInvariants(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		seed := rapid.Uint64().Draw(rt, "seed")
		factor := rapid.SampledFrom([]float64{-3, -1, 0.01, 2, 1e6}).Draw(rt, "factor")
		x, e := noise(seed, 1500), noise(seed+1, 1500)
		y := make([]float64, len(x))
		z := make([]float64, len(x))
		for k := range y {
			y[k] = 0.7*x[k] + e[k]
			z[k] = factor * y[k]
		}
		s, err := Estimate(context.Background(), [][][]float64{{x, y, z}}, 0.01, Settings{Window: 128})
		if err != nil {
			rt.Fatal(err)
		}
		a, b := s.Solve(0, 1), s.Solve(0, 2)
		for k := range a.H {
			if c := a.Coherence[k]; c < 0 || c > 1 {
				rt.Fatalf("coherence %g", c)
			}
			if cmplx.Abs(b.H[k]-complex(factor, 0)*a.H[k]) > 1e-9*cmplx.Abs(b.H[k]) ||
				math.Abs(a.Coherence[k]-b.Coherence[k]) > 1e-9 {
				rt.Fatalf("bin %d: scaled output gives %g %g, want %g times %g %g", k, b.H[k], b.Coherence[k], factor, a.H[k], a.Coherence[k])
			}
		}
		slow, err := Estimate(context.Background(), [][][]float64{{x, y, z}}, 0.02, Settings{Window: 128})
		if err != nil {
			rt.Fatal(err)
		}
		if math.Abs(slow.OmegaRadS[10]*2-s.OmegaRadS[10]) > 1e-12 {
			rt.Fatal("frequencies do not follow the sample time")
		}
	})
}

func BenchmarkEstimate(b *testing.B) {
	// Ten minutes on the grid of the response analysis, four channels.
	run := [][]float64{noise(1, 7500), noise(2, 7500), noise(3, 7500), noise(4, 7500)}
	for b.Loop() {
		if _, err := Estimate(context.Background(), [][][]float64{run}, 0.08,
			Settings{Window: 400, Overlap: 0.75, FFTLength: 2048, MaxRadS: 20}); err != nil {
			b.Fatal(err)
		}
	}
}

// 2 Ke P/S of white noise is chi-square with 2 Ke degrees of freedom (Welch 1967; Bendat and
// Piersol, Random Data, chapter 8): P scatters by 1/sqrt(Ke) of its mean, and lies below 0.608 and
// above 1.472 times that in one of twenty records each at Ke = 14.26 (28.52 degrees of freedom:
// quantiles 17.33 and 41.97 by SciPy 1.10.1).
func TestDensityScatter(t *testing.T) {
	const window, windows, records = 64, 15, 150
	var n, sum, square, low, high, ke float64
	for r := range records {
		s := estimate(t, 0.01, Settings{Window: window}, [][]float64{noise(uint64(900+r), window/2*(windows+1))})
		ke = s.Effective
		g := s.Auto(0)
		for k := 4; k < len(g)-4; k += 3 { // beyond what a Hann window shares
			p := g[k] / 0.02
			n, sum, square = n+1, sum+p, square+p*p
			if p < 0.60776 {
				low++
			}
			if p > 1.47166 {
				high++
			}
		}
	}
	mean := sum / n
	near(t, "effective averages", ke, 14.2606, 1e-2)
	near(t, "mean density", mean, 1, 4/math.Sqrt(ke*n))
	near(t, "scatter", math.Sqrt(square/n-mean*mean), 1/math.Sqrt(ke), 0.08/math.Sqrt(ke))
	near(t, "share below", low/n, 0.05, 4*math.Sqrt(0.05*0.95/n))
	near(t, "share above", high/n, 0.05, 4*math.Sqrt(0.05*0.95/n))
}
