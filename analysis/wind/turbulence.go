package wind

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/flight"
)

// Turbulence is the Dryden form fitted to the gusts of one phase along and across its
// mean direction. Estimates are nil where the record cannot give them.
type Turbulence struct {
	AlongSDMS, AlongLengthM   *flight.Estimate
	AcrossSDMS, AcrossLengthM *flight.Estimate
	// Spectrum is that of the component along the wind, in bands.
	Spectrum []SpectrumPoint
	// Expected is what MIL-F-8785C gives for the height flown, taking the mean for the
	// wind at 20 ft; zero if no height was logged. HeightM is the median height.
	Expected Dryden
	HeightM  float64
}

// expect fills what MIL-F-8785C gives for the median of the heights h.
func (tb *Turbulence) expect(h []float64, meanMS float64) {
	if len(h) == 0 {
		return
	}
	h = append([]float64{}, h...)
	sort.Float64s(h)
	tb.HeightM = h[len(h)/2]
	tb.Expected = LowAltitude(tb.HeightM, meanMS)
}

// SpectrumPoint is the density of the gusts in one band with its interval, one-sided in
// (m/s)^2/Hz, and the fitted form there.
type SpectrumPoint struct {
	FrequencyHz float64
	Density     flight.Estimate
	Fit         float64
}

const (
	// Above highestFitHz a cheap cup or vane and the logger's resolution say more than
	// the air does.
	highestFitHz = 0.5
	// The fit wants this many length scales of wind to pass.
	fewestLengths = 10
	prewhiten     = 0.95
)

// component is one gust component on an even grid, less its straight line.
type component struct {
	x     []float64
	stepS float64
	group int     // readings averaged into one
	rawS  float64 // step of these
}

// turbulence fits the Dryden form to the longest run of s without a gap. It is nil if
// that is too short. distanceM is the distance constant of the anemometer, 0 if unknown.
func turbulence(th thinned, distanceM float64) *Turbulence {
	th = th.longestRun()
	run := th.cells
	n := len(run.t)
	if n < 64 || run.t[n-1]-run.t[0] < 60 || run.stepS > slowestMeanS {
		return nil
	}
	along, across := th.alongAcross()
	mean, _ := meanSD(along)
	if !(mean > 0.5) {
		return nil // turbulence is not carried past by a wind that light
	}
	tb := &Turbulence{}
	c := newComponent(th, along)
	u := fit(c, mean, distanceM, Dryden.Along)
	tb.AlongSDMS, tb.AlongLengthM = u.sd, u.length
	tb.Spectrum = u.bands()
	if across != nil {
		v := fit(newComponent(th, across), mean, distanceM, Dryden.Across)
		tb.AcrossSDMS, tb.AcrossLengthM = v.sd, v.length
	}
	return tb
}

// longestRun returns the longest part of s without a gap.
func (th thinned) longestRun() thinned {
	s := th.cells
	from, best := 0, [2]int{}
	for i := 1; i <= len(s.t); i++ {
		if i < len(s.t) && s.t[i]-s.t[i-1] <= s.gapS {
			continue
		}
		if i-from > best[1]-best[0] {
			best = [2]int{from, i}
		}
		from = i
	}
	return th.part(best[0], best[1])
}

// alongAcross returns the components along the mean direction, towards which the wind
// blows, and to the right of it; without direction speed alone, which is the component
// along the wind as long as gusts are small beside the mean.
func (th thinned) alongAcross() (along, across []float64) {
	speed := th.cells.speed
	if th.fromNorth == nil {
		return speed, nil
	}
	var n, e float64
	for i, v := range th.fromNorth {
		if !math.IsNaN(v) {
			n += v
			e += th.fromEast[i]
		}
	}
	sin, cos := math.Sincos(math.Atan2(e, n))
	along, across = make([]float64, len(speed)), make([]float64, len(speed))
	lastAlong, lastAcross := 1.0, 0.0
	for i, v := range th.fromNorth {
		if math.IsNaN(v) { // from where it came last
			along[i], across[i] = speed[i]*lastAlong, speed[i]*lastAcross
			continue
		}
		a, b := v*cos+th.fromEast[i]*sin, th.fromEast[i]*cos-v*sin
		along[i], across[i] = a, b
		if size := math.Hypot(a, b); size > 0 {
			lastAlong, lastAcross = a/size, b/size
		}
	}
	return along, across
}

// newComponent puts x on an even grid of about 4 Hz or its own rate, if lower.
func newComponent(th thinned, x []float64) component {
	s := th.cells
	g := max(1, int(0.25/s.stepS+1e-6))
	n := len(x) / g
	per := int(math.Round(s.stepS / th.all.stepS))
	c := component{stepS: s.stepS * float64(g), group: g * per, rawS: th.all.stepS}
	n = smooth(n)
	c.x = make([]float64, n)
	for i := range c.x {
		for _, v := range x[i*g : (i+1)*g] {
			c.x[i] += v / float64(g)
		}
	}
	detrend(c.x)
	return c
}

// smooth returns the largest product of 2, 3 and 5 up to n, a length the FFT likes.
func smooth(n int) int {
	for ; n > 1; n-- {
		m := n
		for _, p := range [3]int{2, 3, 5} {
			for m%p == 0 {
				m /= p
			}
		}
		if m == 1 {
			break
		}
	}
	return n
}

// detrend takes the least-squares straight line off x.
func detrend(x []float64) {
	n := float64(len(x))
	mid := (n - 1) / 2
	var sum, slope float64
	for i, v := range x {
		sum += v
		slope += v * (float64(i) - mid)
	}
	slope /= n * (n*n - 1) / 12
	for i := range x {
		x[i] -= sum/n + slope*(float64(i)-mid)
	}
}

// fitted is a Dryden form fitted to a periodogram.
type fitted struct {
	sd, length *flight.Estimate
	f, power   []float64 // frequencies in Hz and periodogram, prewhitening undone
	model      []float64
}

// fit fits standard deviation, length and a floor of white noise to the periodogram of c
// by Whittle's likelihood, sum of log S + I/S over the frequencies (Whittle 1953, Ark.
// Mat. 2, 423), from two cycles per record to highestFitHz. The periodogram is that of
// x[i] - 0.95 x[i-1], which keeps the steep spectrum from leaking; the form is folded
// about the Nyquist frequency and multiplied by what averaging and the anemometer leave.
func fit(c component, meanMS, distanceM float64, form func(Dryden, float64, float64) float64) fitted {
	f, power, filter := periodogram(c)
	out := fitted{f: f, power: make([]float64, len(f))}
	for i := range f {
		out.power[i] = power[i] / filter[i]
	}
	if len(f) < 8 {
		return out
	}
	fold := aliases(f, c, meanMS, distanceM)
	// Of the steps of the fit most leave the length alone, which alone is costly.
	unit, unitAt := make([]float64, len(f)), math.NaN()
	density := func(dst, p []float64) {
		if p[1] != unitAt {
			unitAt = p[1]
			d := Dryden{SDMS: 1, LengthM: math.Exp(p[1])}
			for i := range unit {
				unit[i] = 0
				for _, a := range fold[i] {
					unit[i] += a.pass * form(d, a.hz, meanMS)
				}
			}
		}
		variance, noise := math.Exp(2*p[0]), math.Exp(2*p[2])
		for i := range dst {
			dst[i] = filter[i] * (variance*unit[i] + noise)
		}
	}
	_, sd := meanSD(c.x)
	start := []float64{math.Log(sd), math.Log(5 * meanMS), math.Log(0.05 * sd)}
	p, cov, ok := whittle(power, density, start, math.Log(1e-4*sd))
	lengthM := math.Exp(p[1])
	passed := float64(len(c.x)) * c.stepS * meanMS / lengthM
	if !ok || passed < fewestLengths {
		return out
	}
	// Fewer length scales, fatter tails than the normal's.
	t := studentT(math.Max(2, passed/4))
	out.sd = logEstimate(p[0], t*math.Sqrt(cov.At(0, 0)))
	out.length = logEstimate(p[1], t*math.Sqrt(cov.At(1, 1)))
	out.model = make([]float64, len(f))
	density(out.model, p)
	for i := range f {
		out.model[i] /= filter[i]
	}
	return out
}

func logEstimate(logValue, half float64) *flight.Estimate {
	return &flight.Estimate{Value: math.Exp(logValue), Low: math.Exp(logValue - half), High: math.Exp(logValue + half)}
}

// periodogram returns the one-sided periodogram of the prewhitened component and the
// power gain of the prewhitening.
func periodogram(c component) (f, power, filter []float64) {
	n := len(c.x)
	y := make([]float64, n)
	// Around the ends as the Fourier series sees them the record is not one piece:
	// the first value keeps its own mean.
	y[0] = (1 - prewhiten) * c.x[0]
	for i := 1; i < n; i++ {
		y[i] = c.x[i] - prewhiten*c.x[i-1]
	}
	coef := fourier.NewFFT(n).Coefficients(nil, y)
	top := math.Min(highestFitHz, 0.4/c.stepS)
	for k := 2; k < len(coef); k++ {
		hz := float64(k) / (float64(n) * c.stepS)
		if hz > top {
			break
		}
		re, im := real(coef[k]), imag(coef[k])
		f = append(f, hz)
		power = append(power, 2*c.stepS/float64(n)*(re*re+im*im))
		filter = append(filter, 1+prewhiten*prewhiten-2*prewhiten*math.Cos(2*math.Pi*hz*c.stepS))
	}
	return f, power, filter
}

// alias is a frequency that shows at another one, and what of its power passes the
// anemometer and the mean of a group.
type alias struct{ hz, pass float64 }

// aliases returns, for each f, the frequencies that readings every stepS fold onto it.
func aliases(f []float64, c component, meanMS, distanceM float64) [][]alias {
	const each = 3
	out := make([][]alias, len(f))
	for i := range f {
		for m := -each; m <= each; m++ {
			a := alias{math.Abs(f[i] + float64(m)/c.stepS), 1}
			x := math.Pi * a.hz * c.rawS
			if s := float64(c.group) * math.Sin(x); c.group > 1 && math.Abs(s) > 1e-9 {
				r := math.Sin(float64(c.group)*x) / s
				a.pass = r * r
			}
			x = 2 * math.Pi * a.hz * distanceM / meanMS
			a.pass /= 1 + x*x
			out[i] = append(out[i], a)
		}
	}
	return out
}

// whittle minimises sum of log S + I/S over the parameters by Fisher scoring with halved
// steps. The last parameter is not let below floor. cov is the inverse of the
// information.
func whittle(power []float64, density func(dst, p []float64), start []float64, floor float64) (p []float64, cov *mat.SymDense, ok bool) {
	n := len(start)
	p = append([]float64{}, start...)
	model := make([]float64, len(power))
	loss := func(p []float64) float64 {
		density(model, p)
		sum := 0.0
		for i, v := range power {
			sum += math.Log(model[i]) + v/model[i]
		}
		return sum
	}
	best := loss(p)
	cov = mat.NewSymDense(n, nil)
	for range 60 {
		info, score := information(power, density, p)
		var chol mat.Cholesky
		if !chol.Factorize(info) {
			return p, cov, false
		}
		_ = chol.InverseTo(cov) // ill-conditioned only where noise cannot be told, harmless
		var step mat.VecDense
		_ = chol.SolveVecTo(&step, score)
		// What a step can still gain, in units of the logarithm of the likelihood, is far
		// below what tells two parameters apart.
		if mat.Dot(score, &step) < 1e-9 {
			return p, cov, true
		}
		moved := false
		for k := 1.0; k > 1e-4; k /= 2 {
			next := make([]float64, n)
			for i := range next {
				next[i] = p[i] + math.Max(-1, math.Min(1, k*step.AtVec(i)))
			}
			next[n-1] = math.Max(next[n-1], floor)
			if l := loss(next); l < best-1e-10 {
				best, p, moved = l, next, true
				break
			}
		}
		if !moved {
			return p, cov, true
		}
	}
	return p, cov, true
}

// information returns Fisher's information of Whittle's likelihood and its score. A
// little is added for the last parameter, the noise, which may be of no consequence.
func information(power []float64, density func(dst, p []float64), p []float64) (*mat.SymDense, *mat.VecDense) {
	const h = 1e-4
	n := len(p)
	info, score := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	model := make([]float64, len(power))
	density(model, p)
	slope := make([][]float64, n)
	q := append([]float64{}, p...)
	down := make([]float64, len(power))
	for j := range slope {
		up := make([]float64, len(power))
		q[j] = p[j] + h
		density(up, q)
		q[j] = p[j] - h
		density(down, q)
		q[j] = p[j]
		for i := range up {
			up[i] = (up[i] - down[i]) / (2 * h * model[i])
		}
		slope[j] = up
	}
	for j := range slope {
		sum := 0.0
		for i, v := range power {
			sum += slope[j][i] * (v/model[i] - 1)
		}
		score.SetVec(j, sum)
		for k := j; k < n; k++ {
			info.SetSym(j, k, floats.Dot(slope[j], slope[k]))
		}
	}
	info.SetSym(n-1, n-1, info.At(n-1, n-1)+0.1)
	return info, score
}

// bands averages the periodogram over bands of a third of an octave or four frequencies,
// whichever is more, with the interval of chi-square.
func (v fitted) bands() []SpectrumPoint {
	var out []SpectrumPoint
	for i := 0; i < len(v.f); {
		j := i
		for j < len(v.f) && (j-i < 4 || v.f[j] < v.f[i]*math.Cbrt(2)) {
			j++
		}
		n := float64(j - i)
		var p SpectrumPoint
		for k := i; k < j; k++ {
			p.FrequencyHz += v.f[k] / n
			p.Density.Value += v.power[k] / n
			if v.model != nil {
				p.Fit += v.model[k] / n
			}
		}
		chi := distuv.ChiSquared{K: 2 * n}
		p.Density.Low = p.Density.Value * 2 * n / chi.Quantile(0.975)
		p.Density.High = p.Density.Value * 2 * n / chi.Quantile(0.025)
		if v.model == nil {
			p.Fit = math.NaN()
		}
		out = append(out, p)
		i = j
	}
	return out
}
