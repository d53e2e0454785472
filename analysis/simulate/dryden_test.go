package simulate

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat/distuv"
)

func TestDrydenScales(t *testing.T) {
	const knot = 1852.0 / 3600
	// MIL-F-8785C 3.7.3.4, worked from its formulas with the height in feet.
	for _, c := range []struct{ heightFt, windKt, lengthFt, sigmaKt float64 }{
		{20, 15, 143.589, 2.89371}, {10, 10, 75.639, 1.96298}, {50, 20, 310.788, 3.67729},
		{3, 10, 75.639, 1.96298}, // below 10 ft: as at 10
	} {
		d := DrydenAt(c.heightFt, c.windKt*knot)
		if math.Abs(d.LengthM/footM-c.lengthFt) > 1e-3 || math.Abs(d.SigmaMS/knot-c.sigmaKt) > 1e-5 {
			t.Errorf("%g ft, %g kt: length %.4f ft, sigma %.6f kt; want %g and %g",
				c.heightFt, c.windKt, d.LengthM/footM, d.SigmaMS/knot, c.lengthFt, c.sigmaKt)
		}
	}
}

func TestDrydenSpectraIntegrateToTheVariance(t *testing.T) {
	d := Dryden{SigmaMS: 1.3, LengthM: 23}
	for name, psd := range map[string]func(w, v float64) float64{"along": d.AlongPSD, "across": d.AcrossPSD} {
		sum := 0.0
		// x = atan(tau w) makes the range finite.
		const n = 200000
		tau := d.LengthM / 4
		for k := range n {
			x := (float64(k) + 0.5) / n * math.Pi / 2
			w := math.Tan(x) / tau
			sum += psd(w, 4) * (1 + math.Pow(math.Tan(x), 2)) / tau * math.Pi / 2 / n
		}
		if math.Abs(sum-1.69) > 1e-6 {
			t.Errorf("%s: integral %.8f, want 1.69", name, sum)
		}
	}
}

// The spectrum of generated gusts agrees with the closed form: in bands, the mean of the
// periodogram over its expectation is chi-square distributed; 1 band in 20 may lie outside
// the 95 % interval, and none outside the 99.99 % one.
func TestGeneratedGustsHaveTheDrydenSpectrum(t *testing.T) {
	const (
		step = 0.02
		n    = 1 << 15
		mean = 5.0
		runs = 24
	)
	d := DrydenAt(20, 8)
	fft := fourier.NewFFT(n)
	bands, outside := 0, 0
	for component := range 2 {
		power := make([]float64, n/2+1)
		for run := range runs {
			g := newGusts(d, step, stream(uint64(run+1), streamGust))
			y := make([]float64, n)
			for k := range y {
				a, b := g.next(mean)
				y[k] = a
				if component == 1 {
					y[k] = b
				}
			}
			m := 0.0
			for k := range y { // Hann window against leakage from the steep spectrum
				w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(k)/n)
				y[k] *= w
				m += w * w
			}
			for k, c := range fft.Coefficients(nil, y) {
				power[k] += (real(c)*real(c) + imag(c)*imag(c)) * 2 * step / (2 * math.Pi) / m / runs
			}
		}
		psd := d.AlongPSD
		if component == 1 {
			psd = d.AcrossPSD
		}
		for from := 20; from*3/2 < 2000; from = from * 3 / 2 {
			ratio, count := 0.0, 0
			for k := from; k < from*3/2; k++ {
				w := 2 * math.Pi * float64(k) / (n * step)
				ratio += power[k] / psd(w, mean)
				count++
			}
			ratio /= float64(count)
			// Hann makes neighbouring bins dependent: about half as many are free.
			free := 2 * float64(runs*count) * 18 / 35
			chi := distuv.ChiSquared{K: free}
			bands++
			if ratio < chi.Quantile(0.025)/free || ratio > chi.Quantile(0.975)/free {
				outside++
			}
			if ratio < chi.Quantile(5e-5)/free || ratio > chi.Quantile(1-5e-5)/free {
				t.Errorf("component %d, bins %d on: %.4f of the closed form", component, from, ratio)
			}
		}
	}
	if outside > bands/6 {
		t.Errorf("%d of %d bands outside their 95 %% interval", outside, bands)
	}
}

// The steady covariance of the across filter reproduces itself over one step of any length.
func TestLagCovarianceIsConsistent(t *testing.T) {
	for _, r := range []float64{1e-4, 0.0199, 0.0201, 0.3, 2} {
		q11, q12, q22 := lagCovariance(r)
		f := math.Exp(-r)
		// P = F P F' + Q with P11 1/2, P12 1/4, P22 1/4, F = f [[1, 0], [r, 1]].
		p11 := f*f*0.5 + q11
		p12 := f*f*(0.25+r*0.5) + q12
		p22 := f*f*(0.25+2*r*0.25+r*r*0.5) + q22
		for k, d := range []float64{p11 - 0.5, p12 - 0.25, p22 - 0.25} {
			if math.Abs(d) > 2e-7*r {
				t.Errorf("r %g, element %d off by %g", r, k, d)
			}
		}
	}
}

// The mast leads the aircraft by distance over wind, and shares the stated part of its
// energy.
func TestMastUpwind(t *testing.T) {
	s := scenario(Leg{Kind: Hover, LengthS: 900})
	s.StepS = 0.02
	s.Air = Air{Mean: Constant(5), DirectionFrom: Constant(0), Gusts: 6, MastM: 30, Coherence: 0.6}
	f := Fly(s)
	lag := int(math.Round(30 / 5 / f.StepS))
	correlation := func(shift int) float64 {
		var xy, xx, yy float64
		for k := shift; k < f.Len(); k++ {
			x, y := f.MastNorth[k-shift]+5, f.WindNorth[k]+5
			xy, xx, yy = xy+x*y, xx+x*x, yy+y*y
		}
		return xy / math.Sqrt(xx*yy)
	}
	if c := correlation(lag); math.Abs(c-math.Sqrt(0.6)) > 0.12 {
		t.Errorf("correlation at the lead %.3f, want about %.3f", c, math.Sqrt(0.6))
	}
	for _, off := range []int{-100, 100} {
		if correlation(lag+off) > correlation(lag) {
			t.Errorf("correlation is higher %+d steps from the lead", off)
		}
	}
}

func TestWindComponents(t *testing.T) {
	for _, c := range []struct{ from, heading, head, right float64 }{
		{0, 0, 5, 0}, {90, 0, 0, 5}, {270, 0, 0, -5}, {180, 0, -5, 0}, {310, 270, 5 * math.Cos(40*deg), 5 * math.Sin(40*deg)},
	} {
		s := scenario()
		s.StepS = defaultStepS
		s.Air = Air{Mean: Constant(5), DirectionFrom: Constant(c.from * deg)}
		head, right := newAtmosphere(s).against(1, c.heading*deg)
		if math.Abs(head-c.head) > 1e-9 || math.Abs(right-c.right) > 1e-9 {
			t.Errorf("from %g heading %g: head %g right %g, want %g %g", c.from, c.heading, head, right, c.head, c.right)
		}
	}
	north, east := newAtmosphere(Scenario{StepS: 0.01, Air: Air{Mean: Constant(5), DirectionFrom: Constant(90 * deg)}}).mast(1)
	if math.Abs(north) > 1e-9 || math.Abs(east+5) > 1e-9 {
		t.Errorf("wind from the east flows %g north, %g east, want -5 east", north, east)
	}
}
