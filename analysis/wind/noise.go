package wind

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// floor is what of two gust components is no gust at the readings' frequencies: white
// noise of the anemometer and quicker gusts folded down. Index 0 is the first component
// with itself, 1 one with the other, 2 the second with itself.
type floor struct {
	// white is the variance of the noise per reading, se its standard error, step the
	// variance of the gusts' change from reading to reading.
	white, se, step [3]float64
}

// floorFromShare is the share of the highest frequency the readings resolve above which the
// floor is looked for: there gusts of every length fall alike.
const floorFromShare = 0.3

// findFloor splits the changes from reading to reading, x and y being the readings of two
// components with NaN where one is missing.
//
// Gusts fall with the square of frequency where they are shorter than their scale, so that
// their changes from reading to reading are white, folded or not; those of white noise have
// the density 4 sin^2(theta/2) times its variance, theta being the angle per reading. Both
// are fitted to the periodogram of the changes, weighted with the fitted density (Whittle
// 1953, Ark. Mat. 2, 423).
func findFloor(x, y []float64) floor {
	var shape []float64
	var power [3][]float64
	for _, run := range runs([][]float64{differences(x), differences(y)}) {
		n := smooth(len(run[0]))
		if n < 64 {
			continue
		}
		fft := fourier.NewFFT(n)
		a := append([]complex128{}, fft.Coefficients(nil, run[0][:n])...)
		b := fft.Coefficients(nil, run[1][:n])
		for k := int(floorFromShare*float64(n)/2) + 1; k < (n+1)/2; k++ {
			s := math.Sin(math.Pi * float64(k) / float64(n))
			shape = append(shape, 4*s*s)
			for i, p := range [3]float64{
				real(a[k])*real(a[k]) + imag(a[k])*imag(a[k]),
				real(a[k])*real(b[k]) + imag(a[k])*imag(b[k]),
				real(b[k])*real(b[k]) + imag(b[k])*imag(b[k]),
			} {
				power[i] = append(power[i], p/float64(n))
			}
		}
	}
	var f floor
	if len(shape) < 30 {
		return f
	}
	var density [2][]float64
	for _, i := range [2]int{0, 2} {
		f.step[i], f.white[i], f.se[i], density[i/2] = splitFloor(shape, power[i])
	}
	// The cross density scatters with the two together; how much is not needed.
	weight := make([]float64, len(shape))
	for k := range weight {
		weight[k] = 1 / (density[0][k] * density[1][k])
	}
	f.step[1], f.white[1], _ = lineFit(shape, power[1], weight)
	limit := math.Sqrt(f.white[0] * f.white[2])
	f.white[1] = math.Max(-limit, math.Min(limit, f.white[1]))
	return f
}

// splitFloor fits step + white*shape to power, neither negative.
func splitFloor(shape, power []float64) (step, white, se float64, density []float64) {
	density = make([]float64, len(shape))
	weight := make([]float64, len(shape))
	mean := 0.0
	for _, p := range power {
		mean += p / float64(len(power))
	}
	least := 1e-6*mean + 1e-30
	for i := range density {
		density[i] = mean + least
	}
	for range 12 {
		for i, d := range density {
			weight[i] = 1 / (d * d)
		}
		step, white, se = lineFit(shape, power, weight)
		switch {
		case white < 0:
			white, step = 0, proportion(nil, power, weight)
		case step < 0:
			step, white = 0, proportion(shape, power, weight)
		}
		for i, s := range shape {
			density[i] = math.Max(least, step+white*s)
		}
	}
	return step, white, se, density
}

// lineFit returns the weighted line a + b x through y and the standard error of b where
// weights are one over variances.
func lineFit(x, y, weight []float64) (a, b, seB float64) {
	var w, wx, wy, wxx, wxy float64
	for i, k := range weight {
		w += k
		wx += k * x[i]
		wy += k * y[i]
		wxx += k * x[i] * x[i]
		wxy += k * x[i] * y[i]
	}
	det := w*wxx - wx*wx
	b = (w*wxy - wx*wy) / det
	return (wy - b*wx) / w, b, math.Sqrt(w / det)
}

// proportion returns the weighted factor of y on x, on one if x is nil.
func proportion(x, y, weight []float64) float64 {
	var xy, xx float64
	for i, k := range weight {
		v := 1.0
		if x != nil {
			v = x[i]
		}
		xy += k * v * y[i]
		xx += k * v * v
	}
	return xy / xx
}

// differences returns the change from each value to the next.
func differences(x []float64) []float64 {
	out := make([]float64, max(0, len(x)-1))
	for i := range out {
		out[i] = x[i+1] - x[i]
	}
	return out
}

// even puts readings on the even grid of their own step, each in the nearest place, NaN
// where there is none.
func even(t, x []float64, stepS float64) []float64 {
	if len(t) == 0 {
		return nil
	}
	out := make([]float64, int(math.Round((t[len(t)-1]-t[0])/stepS))+1)
	for i := range out {
		out[i] = math.NaN()
	}
	for i, at := range t {
		out[int(math.Round((at-t[0])/stepS))] = x[i]
	}
	return out
}

// at returns the variance per reading that is no gust at the angle theta per reading, of
// that pair of components: noise, and what is folded down of the gusts.
func (f floor) at(pair int, theta float64) float64 {
	s := math.Sin(theta / 2)
	return f.white[pair] + f.step[pair]*(1/(4*s*s)-1/(theta*theta))
}

// noisier returns the products with as much noise again as there is in the gusts, and how
// uncertain its size is at the middle of the answers' frequencies, as a share.
func (a answers) noisier(sums []products, sheets []sheet) ([]products, float64) {
	const middleRadS = 2.0
	var p products
	places := [3]int{p.pair(headGust, headGust), p.pair(headGust, crossGust), p.pair(crossGust, crossGust)}
	scale := a.windS / a.g.stepS
	var out []products
	for k, sh := range sheets {
		more := products{append([][]float64{}, sums[k].re...), sums[k].im}
		for i, place := range places {
			re := append([]float64{}, more.re[place]...)
			for j, w := range sh.omega {
				// Undoing the anemometer's lag makes more of the noise, too.
				re[j] += a.floor.at(i, w*a.windS) * scale * (1 + w*w*a.lagS*a.lagS)
			}
			more.re[place] = re
		}
		out = append(out, more)
	}
	uncertain := 0.0
	for _, i := range [2]int{0, 2} {
		if size := a.floor.at(i, middleRadS*a.windS); size > 0 {
			uncertain = math.Max(uncertain, a.floor.se[i]/size)
		}
	}
	return out, uncertain
}
