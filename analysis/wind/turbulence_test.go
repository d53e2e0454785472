package wind

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestLowAltitude has values worked out by hand from the formula in feet (REFERENCES:
// MIL-F-8785C 3.7.3.4).
func TestLowAltitude(t *testing.T) {
	kt, ft := knot(), 0.3048
	for _, c := range []struct{ hFt, windKt, lengthFt, sdKt float64 }{
		{20, 15, 143.589, 2.89371}, {10, 10, 75.639, 1.96298}, {50, 20, 310.788, 3.67729}, {3, 10, 75.639, 1.96298},
	} {
		d := LowAltitude(c.hFt*ft, c.windKt*kt)
		closeTo(t, "length", d.LengthM/ft, c.lengthFt, 1e-3)
		closeTo(t, "sd", d.SDMS/kt, c.sdKt, 1e-5)
	}
}

// TestFormsHoldTheirVariance: the one-sided densities integrate to the variance
// (testdata/wind/reference.py finds the same with SciPy).
func TestFormsHoldTheirVariance(t *testing.T) {
	d := Dryden{SDMS: 1.5, LengthM: 30}
	for name, form := range map[string]func(Dryden, float64, float64) float64{"along": Dryden.Along, "across": Dryden.Across} {
		sum := 0.0
		const n = 200000
		for i := range n { // f = tan(a), which brings infinity to a = pi/2
			a := (float64(i) + 0.5) * math.Pi / 2 / n
			sum += form(d, math.Tan(a), 4) / (math.Cos(a) * math.Cos(a)) * math.Pi / 2 / n
		}
		closeTo(t, name, sum, 2.25, 1e-5)
	}
}

// secondOrder makes unit noise with the Dryden spectrum across the wind: the bilinear
// transform of (1+sqrt(3) tau s)/(1+tau s)^2 at a step far below tau, thinned after.
func secondOrder(rng *rand.Rand, n int, dt, tau float64) []float64 {
	const sub = 10
	h := dt / sub
	a := math.Exp(-h / tau)
	x := make([]float64, n)
	var y1, y2 float64
	for i := -int(20 * tau / dt); i < n; i++ {
		for range sub {
			y2 = a*y2 + (1-a)*y1
			y1 = a*y1 + (1-a)*rng.NormFloat64()
		}
		if i >= 0 {
			x[i] = (math.Sqrt(3)*y1 + (1-math.Sqrt(3))*y2) * math.Sqrt(tau/h)
		}
	}
	return x
}

// gustySeries makes n readings of a wind of meanMS with Dryden gusts of sd 1 m/s both ways.
func gustySeries(seed uint64, n int, dt, meanMS, lengthM, noiseMS float64) series {
	rng := rand.New(rand.NewPCG(seed, 5))
	u := firstOrder(rng, n, dt, lengthM/meanMS)
	v := secondOrder(rng, n, dt, lengthM/meanMS)
	s := series{t: steps(n, dt), speed: make([]float64, n), dir: make([]float64, n)}
	for i := range u {
		a, b := meanMS+u[i]+noiseMS*rng.NormFloat64(), v[i]+noiseMS*rng.NormFloat64()
		s.speed[i], s.dir[i] = math.Hypot(a, b), wrap2Pi(1+math.Atan2(b, a))
	}
	return s.finish(true)
}

// scatterLimit is the least relative scatter with which any unbiased estimator can tell
// length and standard deviation of first-order gusts from a record of passed length scales:
// the information that a record of length T holds on the rate 1/tau is T tau/2 (Cramer and
// Rao; Kutoyants 2004, Statistical Inference for Ergodic Diffusion Processes, 2.2, from
// memory), while sd^2/tau is as good as known from the gusts' quick part, so that the
// standard deviation scatters half as much.
func scatterLimit(passed float64) (length, sd float64) {
	return math.Sqrt(2 / passed), math.Sqrt(2/passed) / 2
}

// TestDrydenFit: ten minutes of generated gusts. One record scatters as its number of
// length scales allows: 13 % in length and 6.5 % in standard deviation at best (scatterLimit
// of 120), so that no more than 56 of 100 can come within 10 % and 5 %. The fit must come
// near that limit, the mean of many within 10 % and 5 %, and the intervals must cover.
func TestDrydenFit(t *testing.T) {
	const trials = 120
	const length, mean = 25.0, 5.0
	var sd, l, sdV, lV float64
	var logL, logSD []float64
	var in, inSD, inL, inV, inLV int
	for seed := range uint64(trials) {
		tb := turbulence(gustySeries(seed, 2400, 0.25, mean, length, 0.05).thin(), 0)
		if tb == nil || tb.AlongSDMS == nil || tb.AcrossSDMS == nil {
			t.Fatalf("seed %d: no fit", seed)
		}
		logL, logSD = append(logL, math.Log(tb.AlongLengthM.Value)), append(logSD, math.Log(tb.AlongSDMS.Value))
		sd += tb.AlongSDMS.Value / trials
		l += tb.AlongLengthM.Value / trials
		sdV += tb.AcrossSDMS.Value / trials
		lV += tb.AcrossLengthM.Value / trials
		for _, c := range []struct {
			n         *int
			low, high float64
			want      float64
		}{{&inSD, tb.AlongSDMS.Low, tb.AlongSDMS.High, 1}, {&inL, tb.AlongLengthM.Low, tb.AlongLengthM.High, length},
			{&inV, tb.AcrossSDMS.Low, tb.AcrossSDMS.High, 1}, {&inLV, tb.AcrossLengthM.Low, tb.AcrossLengthM.High, length}} {
			if c.low <= c.want && c.want <= c.high {
				*c.n++
			}
		}
		if math.Abs(tb.AlongSDMS.Value-1) < 0.05 && math.Abs(tb.AlongLengthM.Value/length-1) < 0.1 {
			in++
		}
	}
	t.Logf("along: sd %.3f, length %.2f m, covered %d and %d of %d; single records within 5 %% and 10 %%: %d", sd, l, inSD, inL, trials, in)
	t.Logf("across: sd %.3f, length %.2f m, covered %d and %d", sdV, lV, inV, inLV)
	leastL, leastSD := scatterLimit(600 * mean / length)
	_, scatterL := meanSD(logL)
	_, scatterSD := meanSD(logSD)
	t.Logf("scatter of length %.3f, limit %.3f; of sd %.3f, limit %.3f", scatterL, leastL, scatterSD, leastSD)
	if scatterL > 1.4*leastL || scatterSD > 1.4*leastSD {
		t.Errorf("scatter of length %.3f and of sd %.3f, want near the limits %.3f and %.3f", scatterL, scatterSD, leastL, leastSD)
	}
	closeTo(t, "sd along", sd, 1, 0.05)
	closeTo(t, "length along", l, length, 0.1*length)
	closeTo(t, "sd across", sdV, 1, 0.05)
	closeTo(t, "length across", lV, length, 0.1*length)
	for _, n := range []int{inSD, inL, inV, inLV} {
		if n < trials*88/100 {
			t.Errorf("interval covers in %d of %d", n, trials)
		}
	}
}

func TestTurbulenceNeedsLength(t *testing.T) {
	s := gustySeries(1, 2400, 0.25, 5, 25, 0)
	if tb := turbulence(s.slice(0, 200).thin(), 0); tb != nil {
		t.Error("a fit from 50 s")
	}
	s.t = append([]float64{}, s.t...)
	for i := 300; i < len(s.t); i++ {
		s.t[i] += 10 * float64(i/150)
	}
	if tb := turbulence(s.thin(), 0); tb != nil && tb.AlongSDMS != nil && len(s.thin().longestRun().cells.t) > 450 {
		t.Error("fit reaches across gaps")
	}
	slow := gustySeries(1, 300, 2, 5, 25, 0)
	if turbulence(slow.thin(), 0) != nil {
		t.Error("a fit from readings 2 s apart")
	}
}

// TestDistanceConstant: a cup that follows with 3 m of wind smooths gusts; said so, the
// fit finds what was there.
func TestDistanceConstant(t *testing.T) {
	var with, without float64
	const trials, mean = 24, 5.0
	for seed := range uint64(trials) {
		s := gustySeries(seed, 2400, 0.25, mean, 15, 0)
		s.dir = nil
		rng := rand.New(rand.NewPCG(seed, 6))
		u := firstOrder(rng, 24000, 0.025, 15/mean)
		y, a := u[0], math.Exp(-0.025*mean/3)
		for i, v := range u {
			y = a*y + (1-a)*v
			if i%10 == 0 {
				s.speed[i/10] = mean + y
			}
		}
		with += turbulence(s.thin(), 3).AlongSDMS.Value / trials
		without += turbulence(s.thin(), 0).AlongSDMS.Value / trials
	}
	t.Logf("sd %.3f with the distance constant, %.3f without", with, without)
	closeTo(t, "sd with the distance constant", with, 1, 0.05)
	if without > with-0.03 {
		t.Errorf("without it sd %.3f, want clearly less than %.3f", without, with)
	}
}
