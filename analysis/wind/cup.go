package wind

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// slowestCupM returns the largest distance constant, no more than slowCupM, that the gusts
// themselves allow an anemometer of unknown make: a slow one bends their spectrum down.
// x and y are the readings of two components on their even grid, NaN where one is missing.
//
// Between the gusts' scale and the readings' rate turbulence falls with frequency to the
// power of -5/3 or more steeply (Kolmogorov 1941; the Dryden form with -2), and what is
// steeper than that is put down to the anemometer: that errs to a slow one. The periodogram
// of the changes between readings, in bands, is fitted with that law behind a first-order
// lag, folded, and white noise; the largest lag that is not 1.92 in Whittle's likelihood
// worse than the best is the upper end of the 95 % interval (Wilks 1938, Ann. Math. Stat. 9,
// 60).
func slowestCupM(x, y []float64, stepS, meanMS float64) float64 {
	const steps, worse = 20, 1.92
	bands := [2][]changeBand{changeBands(x, stepS), changeBands(y, stepS)}
	if meanMS <= 0 || len(bands[0]) < 10 || len(bands[1]) < 10 {
		return slowCupM
	}
	var loss [steps + 1]float64
	best := math.Inf(1)
	for k := range loss {
		lagS := slowCupM / meanMS * float64(k) / steps
		for _, b := range bands {
			loss[k] += lagLoss(b, lagS, stepS)
		}
		best = math.Min(best, loss[k])
	}
	for k := steps - 1; k >= 0; k-- {
		if loss[k] <= best+worse {
			return slowCupM * float64(k+1) / steps
		}
	}
	return slowCupM
}

// changeBand is the mean of n frequencies of a periodogram of changes between readings.
type changeBand struct {
	omegaRadS, power, n float64
	folded              []foldedLaw
}

// foldedLaw is the law at a frequency that readings fold onto the band's, and the square of
// that frequency.
type foldedLaw struct{ law, square float64 }

// changeBands averages the periodogram of the longest run of changes of x in bands of a
// tenth, from slowestLawRadS up.
func changeBands(x []float64, stepS float64) []changeBand {
	const slowestLawRadS, folds = 1.0, 4
	var run []float64
	for _, r := range runs([][]float64{differences(x)}) {
		if len(r[0]) > len(run) {
			run = r[0]
		}
	}
	n := smooth(len(run))
	if n < 256 {
		return nil
	}
	var out []changeBand
	width := 2 * math.Pi / (float64(n) * stepS)
	coef := fourier.NewFFT(n).Coefficients(nil, run[:n])
	for k := int(slowestLawRadS/width) + 1; k < n/2; {
		var b changeBand
		for end := 1.1 * float64(k); k < n/2 && (b.n < 4 || float64(k) < end); k++ {
			b.omegaRadS += float64(k) * width
			b.power += (real(coef[k])*real(coef[k]) + imag(coef[k])*imag(coef[k])) / float64(n)
			b.n++
		}
		b.omegaRadS /= b.n
		b.power /= b.n
		for m := -folds; m <= folds; m++ {
			w := math.Abs(b.omegaRadS + 2*math.Pi*float64(m)/stepS)
			b.folded = append(b.folded, foldedLaw{math.Pow(w, -5.0/3), w * w})
		}
		out = append(out, b)
	}
	return out
}

// lagLoss returns the least of Whittle's likelihood of the bands behind a lag.
func lagLoss(bands []changeBand, lagS, stepS float64) float64 {
	const rounds = 6
	law, noise := make([]float64, len(bands)), make([]float64, len(bands))
	power, weight, density := make([]float64, len(bands)), make([]float64, len(bands)), make([]float64, len(bands))
	for i, b := range bands {
		s := math.Sin(b.omegaRadS * stepS / 2)
		noise[i], power[i], density[i] = 4*s*s, b.power, b.power
		for _, f := range b.folded {
			law[i] += f.law / (1 + f.square*lagS*lagS)
		}
		law[i] *= noise[i]
	}
	ratio, scaled := make([]float64, len(bands)), make([]float64, len(bands))
	for range rounds {
		// power = a law + b noise, as a line of power/law on noise/law.
		for i := range bands {
			ratio[i], scaled[i] = noise[i]/law[i], power[i]/law[i]
			weight[i] = bands[i].n * law[i] * law[i] / (density[i] * density[i])
		}
		a, b, _ := lineFit(ratio, scaled, weight)
		if b < 0 {
			a, b = proportion(nil, scaled, weight), 0
		} else if a < 0 {
			a, b = 0, proportion(ratio, scaled, weight)
		}
		for i := range density {
			density[i] = math.Max(1e-12, a*law[i]+b*noise[i])
		}
	}
	sum := 0.0
	for i, b := range bands {
		sum += b.n * (math.Log(density[i]) + b.power/density[i])
	}
	return sum
}
