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
// of an order high enough that e is white. The pilot is Y = B/A, with his sign turned
// round. With a white e this is right in the closed loop of pilot and aircraft, whatever
// moves the aircraft: the past of the attitude knows nothing of an e to come, since the
// pilot's own delay lies between. The ratio of cross to auto spectrum is drawn towards minus one over the
// aircraft instead (Ljung, System Identification, 2nd ed. 1999, sections 7.3 and 13.4;
// Wellstead, Automatica 14, 1978, 89-97).
type predictor struct {
	order  int
	theta  []float64 // a_1..a_n, b_1..b_n
	rows   float64
	sigma2 float64 // variance of e
	// factor is U of the normal equations, U'U; the covariance of theta is sigma2 inv(U'U).
	factor blas64.Triangular
}

// predictorOrders are the orders tried, in grid steps, highest first: memories of 4 s down to
// 1.6 s. The order is the highest that the record carries and not chosen by an information
// criterion: that weighs the whole band alike, and at the low end, where little of the power
// of e lies, a short memory bends the answer by more than a long one makes it scatter.
func predictorOrders() []int { return []int{50, 35, 20} }

// rowsPerParameter is how many rows of record an order needs per parameter.
const rowsPerParameter = 4

// fitPredictor fits a predictor of the highest order that the record carries; nil where it
// is too short for the lowest.
func fitPredictor(r *record) *predictor {
	for _, n := range predictorOrders() {
		if p := fitOrder(r, n); p != nil {
			return p
		}
	}
	return nil
}

func fitOrder(r *record, order int) *predictor {
	stretches := r.usable(order, r.stick, r.attitude)
	rows := 0
	for _, s := range stretches {
		rows += s[1] - s[0]
	}
	k := 2 * order
	if rows < rowsPerParameter*(k+1) {
		return nil
	}
	// One row of m for each regressor, the output last; the constant is taken out by
	// centring them.
	m := blas64.General{Rows: k + 1, Cols: rows, Stride: rows, Data: make([]float64, rows*(k+1))}
	at := 0
	for _, s := range stretches {
		n := s[1] - s[0]
		put := func(row int, v []float64, lag int) { copy(m.Data[row*rows+at:row*rows+at+n], v[s[0]-lag:]) }
		for j := 1; j <= order; j++ {
			put(j-1, r.stick, j)
			put(order+j-1, r.attitude, j)
		}
		put(k, r.stick, 0)
		at += n
	}
	for i := range k + 1 {
		row := m.Data[i*rows : (i+1)*rows]
		floats.AddConst(-floats.Sum(row)/float64(rows), row)
	}
	floats.Scale(-1, m.Data[order*rows:k*rows])
	all := blas64.Symmetric{Uplo: blas.Upper, N: k + 1, Stride: k + 1, Data: make([]float64, (k+1)*(k+1))}
	blas64.Syrk(blas.NoTrans, 1, m, 0, all)
	return solve(order, float64(rows), all)
}

// solve solves the normal equations, whose last column is the output; nil if they are
// singular.
func solve(order int, rows float64, all blas64.Symmetric) *predictor {
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
	p := &predictor{order: order, rows: rows, factor: factor, theta: append([]float64{}, right...)}
	lapack64.Potrs(factor, blas64.General{Rows: k, Cols: 1, Stride: 1, Data: p.theta})
	p.sigma2 = (all.Data[k*all.Stride+k] - floats.Dot(p.theta, right)) / (rows - float64(k) - 1)
	if !(p.sigma2 > 0) {
		return nil
	}
	return p
}

// back is a delay of j grid steps at w.
func back(w float64, j int) complex128 { return cmplx.Exp(complex(0, -w*gridStepS*float64(j))) }

// parts returns A and B at w.
func (p *predictor) parts(w float64) (a, b complex128) {
	a = 1
	for j := 1; j <= p.order; j++ {
		z := back(w, j)
		a -= complex(p.theta[j-1], 0) * z
		b += complex(p.theta[p.order+j-1], 0) * z
	}
	return a, b
}

// errors returns what turns independent errors of unit variance, one for each row, into the
// errors of A and of B at each w: real and imaginary part in columns 2k and 2k+1. With
// J the derivatives by theta it is sigma inv(U') J'.
func (p *predictor) errors(ws []float64) (a, b blas64.General) {
	k, n := len(p.theta), 2*len(ws)
	fill := func(first int, sign float64) blas64.General {
		m := blas64.General{Rows: k, Cols: n, Stride: n, Data: make([]float64, k*n)}
		for c, w := range ws {
			for j := 1; j <= p.order; j++ {
				z := back(w, j)
				m.Data[(first+j-1)*n+2*c], m.Data[(first+j-1)*n+2*c+1] = sign*real(z), sign*imag(z)
			}
		}
		blas64.Trsm(blas.Left, blas.Trans, math.Sqrt(p.sigma2), p.factor, m)
		return m
	}
	return fill(0, -1), fill(p.order, 1)
}
