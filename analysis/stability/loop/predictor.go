package loop

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// predictor is a linear one-step predictor of the stick u from its own past and from the
// past of the attitude y,
//
//	u[t] = sum a_j u[t-j] - sum b_j y[t-j] + c + e[t],
//
// with room enough that e is white. The pilot is Y = B/A, with his sign turned round. With a
// white e this is right in the closed loop of pilot and aircraft, whatever moves the
// aircraft: the past of the attitude knows nothing of an e to come, since the pilot's own
// delay lies between. The ratio of cross to auto spectrum is drawn towards minus one over
// the aircraft instead (Ljung, System Identification, 2nd ed. 1999, sections 7.3 and 13.4;
// Wellstead, Automatica 14, 1978, 89-97).
type predictor struct {
	own    []bin
	seen   []bin
	theta  []float64 // a of each bin of the stick, b of each of the attitude and of its integrals
	rows   float64
	sigma2 float64 // variance of e
	// factor is U of the normal equations, U'U; the covariance of theta is sigma2 inv(U'U).
	factor blas64.Triangular
}

// bin is a stretch of lags, in grid steps, that share one coefficient, with their weights, which
// add up to one.
type bin struct {
	first  int
	weight []float64
}

func (b bin) last() int { return b.first + len(b.weight) - 1 }

// hats are bins that rise from one knot to the next and fall to the one after, so that
// their coefficients are the corners of straight lines; the first stands at its knot and falls.
func hats(knots []int) []bin {
	var out []bin
	for i := range len(knots) - 1 {
		low := knots[max(i-1, 0)]
		b, sum := bin{first: low + 1}, 0.0
		if i == 0 {
			b.first = low
		}
		for l := b.first; l < knots[i+1]; l++ {
			w := 1 - float64(l-knots[i])/float64(knots[i+1]-knots[i])
			if l < knots[i] {
				w = float64(l-low) / float64(knots[i]-low)
			}
			b.weight = append(b.weight, w)
			sum += w
		}
		floats.Scale(1/sum, b.weight)
		out = append(out, b)
	}
	return out
}

// seenBins are the lags of the attitude: single ones over the pilot's delay and the hand's own
// motion, and wider and wider ones after them, 3.7 s in all.
func seenBins() []bin {
	var knots []int
	for lag := 1; lag <= singleLags; lag++ {
		knots = append(knots, lag)
	}
	return hats(append(knots, 16, 18, 21, 25, 30, 37, 46))
}

const singleLags = 14

// ownBins are the lags of the stick itself, which make e white. A short memory does: the noise
// is that of a hand. With a long one the two memories would have to be right for each other.
func ownBins() []bin {
	var knots []int
	for lag := 1; lag <= ownLags+1; lag++ {
		knots = append(knots, lag)
	}
	return hats(knots)
}

const ownLags = 15

// What the pilot does about drift rests on all that the attitude has been: drift is its
// integral, a place the integral of that. The two integrals, integralLag steps ago, stand for
// all that lies further back than the bins.
const (
	integrals   = 2
	integralLag = 30
)

// rowsPerParameter is how many rows of record the predictor needs per parameter.
const rowsPerParameter = 10

// fitPredictor fits a predictor to the rows. long is false where the record is too short; where
// it is long enough, p may still be nil: a stick that stands still has nothing to predict.
func fitPredictor(r *record) (p *predictor, long bool) {
	p = &predictor{own: ownBins(), seen: seenBins()}
	k := len(p.own) + len(p.seen) + integrals
	stretches := r.usable(p.own[len(p.own)-1].last(), p.seen[len(p.seen)-1].last())
	rows := 0
	for _, s := range stretches {
		rows += s[1] - s[0]
	}
	if rows < rowsPerParameter*(k+1) {
		return nil, false
	}
	p.rows = float64(rows)
	m := p.regressors(r, stretches, rows)
	all := blas64.Symmetric{Uplo: blas.Upper, N: k + 1, Stride: k + 1, Data: make([]float64, (k+1)*(k+1))}
	blas64.Syrk(blas.NoTrans, 1, m, 0, all)
	return p.solve(all), true
}

// regressors returns one row for each regressor, the output last; the constant is taken out
// by centring them.
func (p *predictor) regressors(r *record, stretches [][2]int, rows int) blas64.General {
	n := len(p.own)
	k := n + len(p.seen) + integrals
	m := blas64.General{Rows: k + 1, Cols: rows, Stride: rows, Data: make([]float64, rows*(k+1))}
	at := 0
	for _, s := range stretches {
		put := func(row int, x []float64, sign float64, b bin) {
			dst := m.Data[row*rows+at : row*rows+at+s[1]-s[0]]
			for i, w := range b.weight {
				lag := b.first + i
				floats.AddScaled(dst, sign*w, x[s[0]-lag:s[1]-lag])
			}
		}
		for i, b := range p.own {
			put(i, r.highStick, 1, b)
		}
		for i, b := range p.seen {
			put(n+i, r.highAttitude, -1, b)
		}
		for i, x := range r.integrals {
			put(n+len(p.seen)+i, x, -1, bin{integralLag, []float64{1}})
		}
		put(k, r.highStick, 1, bin{0, []float64{1}})
		at += s[1] - s[0]
	}
	for i := range k + 1 {
		row := m.Data[i*rows : (i+1)*rows]
		floats.AddConst(-floats.Sum(row)/p.rows, row)
	}
	return m
}

// solve solves the normal equations, whose last column is the output; nil if they are
// singular.
func (p *predictor) solve(all blas64.Symmetric) *predictor {
	k := all.N - 1
	normal := blas64.Symmetric{Uplo: blas.Upper, N: k, Stride: k, Data: make([]float64, k*k)}
	right := make([]float64, k)
	for i := range k {
		copy(normal.Data[i*k+i:(i+1)*k], all.Data[i*all.Stride+i:i*all.Stride+k])
		// A trace of ridge: what it hides lies 100 dB below the channel's own power.
		normal.Data[i*k+i] *= 1 + 1e-10
		right[i] = all.Data[i*all.Stride+k]
	}
	factor, ok := lapack64.Potrf(normal)
	if !ok {
		return nil
	}
	p.factor, p.theta = factor, append([]float64{}, right...)
	lapack64.Potrs(factor, blas64.General{Rows: k, Cols: 1, Stride: 1, Data: p.theta})
	p.sigma2 = (all.Data[k*all.Stride+k] - floats.Dot(p.theta, right)) / (p.rows - float64(k) - 1)
	if !(p.sigma2 > 0) {
		return nil
	}
	return p
}

// at is the mean of the bin's delays at w.
func (b bin) at(w float64) complex128 {
	var sum complex128
	for i, v := range b.weight {
		sum += complex(v, 0) * cmplx.Exp(complex(0, -w*gridStepS*float64(b.first+i)))
	}
	return sum
}

// integralAt is what integral i at its lag makes of a unit of attitude at w.
func integralAt(i int, w float64) complex128 {
	one := complex(gridStepS, 0) / (1 - cmplx.Exp(complex(0, -w*gridStepS)))
	late := cmplx.Exp(complex(0, -w*gridStepS*integralLag))
	if i == 0 {
		return one * late
	}
	return one * one * late
}

// responses returns what the regressors of the attitude make of a unit of it at w.
func (p *predictor) responses(w float64) []complex128 {
	var out []complex128
	for _, b := range p.seen {
		out = append(out, b.at(w))
	}
	for i := range integrals {
		out = append(out, integralAt(i, w))
	}
	return out
}

// parts returns A and B at w.
func (p *predictor) parts(w float64) (a, b complex128) {
	a = 1
	for i, bin := range p.own {
		a -= complex(p.theta[i], 0) * bin.at(w)
	}
	for i, z := range p.responses(w) {
		b += complex(p.theta[len(p.own)+i], 0) * z
	}
	return a, b
}

// errors returns what turns independent errors of unit variance, one for each row, into the
// errors of A and of B at each w: real and imaginary part in columns 2k and 2k+1. With
// J the derivatives by theta it is sigma inv(U') J'.
func (p *predictor) errors(ws []float64) (a, b blas64.General) {
	k, n := len(p.theta), 2*len(ws)
	empty := func() blas64.General {
		return blas64.General{Rows: k, Cols: n, Stride: n, Data: make([]float64, k*n)}
	}
	a, b = empty(), empty()
	for c, w := range ws {
		set := func(m blas64.General, row int, z complex128) {
			m.Data[row*n+2*c], m.Data[row*n+2*c+1] = real(z), imag(z)
		}
		for i, bin := range p.own {
			set(a, i, -bin.at(w))
		}
		for i, z := range p.responses(w) {
			set(b, len(p.own)+i, z)
		}
	}
	for _, m := range []blas64.General{a, b} {
		blas64.Trsm(blas.Left, blas.Trans, math.Sqrt(p.sigma2), p.factor, m)
	}
	return a, b
}
