package response

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"

	"hopcard/flight"
)

// stepS is how long after a step of the stick the attitudes are compared.
const stepS = 4

// stepCoupling is the measure of coupling of ADS-33E-PRF (2000), 3.3.9.2 (from memory): the
// greatest off-axis attitude within 4 s of a step of the stick over the on-axis attitude at 4 s,
// the other stick held. No step has to be flown: the predictors of both attitudes, own and
// other, are given one. own has the stick as its first input, other as its second.
// Where the off-axis answer is lost in its error the interval begins at zero. Nil where the
// on-axis attitude at 4 s is not beyond its own error.
func stepCoupling(own, other *predictor, s Settings) *flight.Estimate {
	on, off := own.step(own.theta, 0), other.step(other.theta, 1)
	value := overStep(on, off)
	rng := rand.New(rand.NewPCG(s.Seed, 34))
	var n, sum, square, ends float64
	onDraws, offDraws := own.drawTheta(rng, stepDraws), other.drawTheta(rng, stepDraws)
	for i := range stepDraws {
		d := own.step(onDraws[i], 0)
		e := overStep(d, other.step(offDraws[i], 1)) - value
		sum += e
		square += e * e
		z := d[len(d)-1] - on[len(on)-1]
		ends += z * z
		n++
	}
	if !(math.Abs(on[len(on)-1]) > 1.96*math.Sqrt(ends/n)) || math.IsNaN(square) || math.IsInf(square, 0) {
		return nil
	}
	// The drift after a step is slow, and a memory shorter than the step bends it: by how much
	// shows in what half the memory makes of it.
	var short float64
	if own.half != nil && other.half != nil {
		short = value - overStep(own.half.step(own.half.theta, 0), other.half.step(other.half.theta, 1))
	}
	half := 1.96 * math.Sqrt(square/n+short*short)
	// A peak stands out of noise by some of the noise: by how much the samples tell (Efron and
	// Tibshirani 1993, An Introduction to the Bootstrap, chapter 10). How well they do is not
	// known better than that, so it stays in the interval.
	value = max(0, value-sum/n)
	return &flight.Estimate{Value: value, Low: max(0, value-half), High: value + half}
}

// stepDraws is the number of samples behind the interval of the step's coupling.
const stepDraws = 100

// overStep is the peak of off over the end of on, both without sign.
func overStep(on, off []float64) float64 {
	var peak float64
	for _, v := range off {
		peak = max(peak, math.Abs(v))
	}
	return peak / math.Abs(on[len(on)-1])
}

// step is the answer to a unit step of an input by the parameters theta, over stepS from the
// step on.
func (p *predictor) step(theta []float64, input int) []float64 {
	n := int(math.Round(stepS/gridStepS)) + 1
	y := make([]float64, leadSteps+n) // the first are before the step, which is seen early
	b := theta[p.first(input):p.first(input+1)]
	var pushed float64
	for t := range y {
		if t < len(b) {
			pushed += b[t]
		}
		v := pushed
		for j := 1; j <= min(t, p.order); j++ {
			v += theta[j-1] * y[t-j]
		}
		y[t] = v
	}
	return y[leadSteps:]
}

// drawTheta returns samples of the parameters as their errors scatter.
func (p *predictor) drawTheta(rng *rand.Rand, samples int) [][]float64 {
	k := len(p.theta)
	z := blas64.General{Rows: k, Cols: samples, Stride: samples, Data: make([]float64, k*samples)}
	for i := range z.Data {
		z.Data[i] = rng.NormFloat64()
	}
	blas64.Trsm(blas.Left, blas.NoTrans, math.Sqrt(p.sigma2), p.factor, z)
	out := make([][]float64, samples)
	for s := range out {
		out[s] = make([]float64, k)
		for i := range k {
			out[s][i] = p.theta[i] + z.Data[i*samples+s]
		}
	}
	return out
}
