package response

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/lapack/lapack64"

	"hopcard/analysis/spectrum"
)

// predictor is a linear one-step predictor of an output from its own past and from the
// present and past of the sticks,
//
//	y[t] = sum a_j y[t-j] + sum_i sum b_ij u_i[t-j] + c + e[t],
//
// of an order high enough that e is white. The response of the aircraft is B/A. What the
// cross spectra cannot do, this can: the past of the output takes care of how each stretch
// of record begins and ends, so slow motion does not leak into the answer; and with a
// white e the answer is right in the closed loop of pilot and aircraft too, where the
// ratio of cross to auto spectrum is drawn towards minus one over the pilot (Ljung, System
// Identification, 2nd ed. 1999, sections 7.3 and 13.4; Wellstead 1978).
type predictor struct {
	order  int
	inputs int
	theta  []float64 // a_1..a_n, then b_0..b_n of each input, then c
	rows   float64
	sigma2 float64 // variance of e
	// factor is U of the normal equations, U'U; the covariance of theta is sigma2 inv(U'U).
	factor blas64.Triangular
	// half is the predictor of half the order from the same rows, to judge the memory by.
	half *predictor
}

// predictorOrders are the orders tried, in grid steps, highest first: memories of 4.8 s down
// to 1 s.
func predictorOrders() []int { return []int{60, 45, 30, 20, 12} }

// rowsPerParameter is how many rows of record an order needs per parameter.
const rowsPerParameter = 5

// leadSteps is how many grid steps of the sticks' future the predictor sees. The grid's
// values are those of a band-limited signal: a delay that is no whole number of steps
// spreads over the steps to both sides of it. No pilot answers a motion that fast.
const leadSteps = 1

// fitPredictors fits a predictor of the highest order that the runs carry to each output;
// nil where they are too short for the lowest. The order is not chosen by an information
// criterion: that weighs the whole band alike, and at the low end, where little of the power
// of e lies, a short memory bends the answer by more than a long one makes it scatter.
func fitPredictors(runs []run, outs, inputs []int) []*predictor {
	found := make([]*predictor, len(outs))
	for _, n := range predictorOrders() {
		var rows int
		for _, r := range runs {
			rows += max(0, len(r.values[inputs[0]])-n)
		}
		if rows < rowsPerParameter*(n+len(inputs)*(n+1)) {
			continue
		}
		missing := false
		g := newLagProducts(runs, outs, inputs, n)
		for i := range outs {
			if found[i] == nil {
				if found[i] = g.solve(i, n); found[i] != nil {
					found[i].half = g.solve(i, n/2)
				}
			}
			missing = missing || found[i] == nil
		}
		if !missing {
			break
		}
	}
	return found
}

// lagProducts holds, for every pair of channels that belong together and lags up to top, the
// sum of their lagged products over the rows that have all lags. Outputs come first, then
// the inputs; two outputs never belong together. Neighbouring lags differ by one term
// at each end of a run, so the whole table costs hardly more than its first row.
type lagProducts struct {
	outs, channels, top int
	rows                float64
	table               []float64 // [(channel*(top+1)+lag)] squared
	sums                []float64
}

func (g *lagProducts) size() int { return g.channels * (g.top + 1) }

func newLagProducts(runs []run, outs, inputs []int, top int) *lagProducts {
	g := &lagProducts{outs: len(outs), channels: len(outs) + len(inputs), top: top}
	n := g.size()
	g.table, g.sums = make([]float64, n*n), make([]float64, n)
	x := make([][]float64, g.channels)
	for _, r := range runs {
		if len(r.values[inputs[0]]) <= leadSteps+top {
			continue
		}
		for i, c := range append(append([]int{}, outs...), inputs...) {
			// The inputs are moved back against the outputs.
			lead := leadSteps
			if i < len(outs) {
				lead = 0
			}
			v := r.values[c]
			x[i] = v[lead : len(v)-leadSteps+lead]
		}
		g.add(x)
	}
	return g
}

func (g *lagProducts) add(x [][]float64) {
	length, top := len(x[0]), g.top
	g.rows += float64(length - top)
	for a := range x {
		for b := range x {
			if a != b && a < g.outs && b < g.outs {
				continue
			}
			// First row and column: lag 0 of one against all of the other.
			for j := 0; j <= top; j++ {
				if j > 0 || a <= b {
					g.fill(x, a, b, j, floats.Dot(x[a][top:], x[b][top-j:length-j]))
				}
			}
		}
		for j := 0; j <= top; j++ {
			g.sums[a*(top+1)+j] += floats.Sum(x[a][top-j : length-j])
		}
	}
}

// fill adds the product s of channel a at lag 0 and b at lag j, and those down its
// diagonal, lags (i, j+i).
func (g *lagProducts) fill(x [][]float64, a, b, j int, s float64) {
	length, top, n := len(x[0]), g.top, g.size()
	for i := 0; i+j <= top; i++ {
		p, q := a*(top+1)+i, b*(top+1)+i+j
		g.table[p*n+q] += s
		if j > 0 || a != b {
			g.table[q*n+p] += s
		}
		// One step further back: the last row leaves, one before the first comes in.
		if i+j < top {
			s += x[a][top-1-i]*x[b][top-1-i-j] - x[a][length-1-i]*x[b][length-1-i-j]
		}
	}
}

// solve solves the normal equations of one output; nil if they are singular. The order may be
// less than the table's.
func (g *lagProducts) solve(out, order int) *predictor {
	var index []int
	for j := 1; j <= order; j++ {
		index = append(index, out*(g.top+1)+j)
	}
	for c := g.outs; c < g.channels; c++ {
		for j := 0; j <= order; j++ {
			index = append(index, c*(g.top+1)+j)
		}
	}
	p := &predictor{order: order, inputs: g.channels - g.outs, rows: g.rows}
	size, zero := g.size(), out*(g.top+1)
	// The constant is taken out by centring the products.
	centred := func(i, j int) float64 { return g.table[i*size+j] - g.sums[i]*g.sums[j]/g.rows }
	k := len(index)
	normal := blas64.Symmetric{Uplo: blas.Upper, N: k, Stride: k, Data: make([]float64, k*k)}
	right := make([]float64, k)
	for i, a := range index {
		for j := i; j < k; j++ {
			normal.Data[i*k+j] = centred(a, index[j])
		}
		// A trace of ridge: what it hides lies 100 dB below the channel's own power.
		normal.Data[i*k+i] *= 1 + 1e-10
		right[i] = centred(a, zero)
	}
	factor, ok := lapack64.Potrf(normal)
	if !ok {
		return nil
	}
	p.factor = factor
	p.theta = append([]float64{}, right...)
	lapack64.Potrs(factor, blas64.General{Rows: k, Cols: 1, Stride: 1, Data: p.theta})
	p.sigma2 = (centred(zero, zero) - floats.Dot(p.theta, right)) / (g.rows - float64(k) - 1)
	if !(p.sigma2 > 0) {
		return nil
	}
	return p
}

// powers returns z^-j at w, j = 0 to the order.
func (p *predictor) powers(w float64) []complex128 {
	powers := make([]complex128, p.order+1)
	powers[0] = 1
	step := cmplx.Exp(complex(0, -w*gridStepS))
	for j := 1; j < len(powers); j++ {
		powers[j] = powers[j-1] * step
	}
	return powers
}

func (p *predictor) denominator(powers []complex128) complex128 {
	den := complex(1, 0)
	for j, a := range p.theta[:p.order] {
		den -= complex(a, 0) * powers[j+1]
	}
	return den
}

// first is the index of the first coefficient of an input.
func (p *predictor) first(input int) int { return p.order + input*(p.order+1) }

// numerator is that of one input. The sticks stand leadSteps early, which the response has
// to be turned back by.
func (p *predictor) numerator(powers []complex128, input int) complex128 {
	var num complex128
	for j, b := range p.theta[p.first(input):p.first(input+1)] {
		num += complex(b, 0) * powers[j]
	}
	return num
}

// at returns the response to an input at w.
func (p *predictor) at(w float64, input int) complex128 {
	powers := p.powers(w)
	early := cmplx.Exp(complex(0, w*gridStepS*leadSteps))
	return p.numerator(powers, input) / p.denominator(powers) * early
}

// whitened returns, for each frequency, what turns independent errors of unit variance into
// those of log gain and of phase there, to first order: two columns for each w, of a matrix
// with a row for each parameter. With J the derivatives of ln H by theta it is
// sigma inv(U') J'.
func (p *predictor) whitened(ws []float64, input int) blas64.General {
	k, n := len(p.theta), 2*len(ws)
	m := blas64.General{Rows: k, Cols: n, Stride: n, Data: make([]float64, k*n)}
	for c, w := range ws {
		powers := p.powers(w)
		num, den := p.numerator(powers, input), p.denominator(powers)
		set := func(i int, d complex128) { m.Data[i*n+2*c], m.Data[i*n+2*c+1] = real(d), imag(d) }
		for j := range p.order {
			set(j, powers[j+1]/den)
		}
		for j := range p.order + 1 {
			set(p.first(input)+j, powers[j]/num)
		}
	}
	blas64.Trsm(blas.Left, blas.Trans, math.Sqrt(p.sigma2), p.factor, m)
	return m
}

// sds returns the standard deviation of the response to an input at each frequency, relative
// to its magnitude, to first order in the errors of the parameters.
func (p *predictor) sds(ws []float64, input int) []float64 {
	return p.sdsOf(p.whitened(ws, input))
}

// sdsOf are the standard deviations that belong to the columns of whitened.
func (p *predictor) sdsOf(m blas64.General) []float64 {
	out := make([]float64, m.Cols/2)
	for i := range m.Rows {
		for c := range out {
			re, im := m.Data[i*m.Stride+2*c], m.Data[i*m.Stride+2*c+1]
			out[c] += (re*re + im*im) / 2
		}
	}
	for c := range out {
		out[c] = math.Sqrt(out[c])
	}
	return out
}

// errorEvery is how many grid points share one evaluation of the errors: the errors of the
// response vary much more slowly with frequency than the grid is fine.
const errorEvery = 4

// mostApart is how far the predictor and the spectra may differ, relative and rms, where the
// coherence is high. In the loop of pilot and aircraft both may be drawn off when gusts do
// most of the moving, the spectra more; then neither error formula holds. On 60 drawn hops in
// strong gusts without logged wind (TestStudyApart) the phase is off by 0.9 to 1.1 stated
// standard deviations below this limit, and by 0.8 to 1.0 above it with the difference
// charged.
const mostApart = 0.3

// replaceH returns r with the predictor's response, times factor, and errors in place of its
// own; the coherence stays that of the spectra, and so do the points of which they know
// nothing. apart is by how much the two differ where the coherence is high; beyond
// mostApart that difference is charged to every point.
func (p *predictor) replaceH(r *spectrum.Response, factor func(w float64) complex128) (replaced *spectrum.Response, apart float64) {
	out := *r
	n := len(r.H)
	out.H, out.SD, out.BandRadS = make([]complex128, n), make([]float64, n), make([]float64, n)
	var at []float64
	for k, w := range r.OmegaRadS {
		out.H[k] = p.at(w, 0) * factor(w)
		out.BandRadS[k] = 2 * math.Pi / (float64(p.order) * gridStepS)
		if k%errorEvery == 0 || k == n-1 {
			at = append(at, w)
		}
	}
	sds := p.sds(at, 0)
	for i, short := range p.shortness(at, sds, 0) {
		out.SD[min(i*errorEvery, n-1)] = math.Sqrt(sds[i]*sds[i] + short)
	}
	for k := range out.SD {
		if lo := k - k%errorEvery; k != lo && k != n-1 {
			hi := min(lo+errorEvery, n-1)
			f := float64(k-lo) / float64(hi-lo)
			out.SD[k] = math.Exp((1-f)*math.Log(out.SD[lo]) + f*math.Log(out.SD[hi]))
		}
	}
	apart = disagreement(r, &out)
	p.charge(r, &out, apart > mostApart)
	return &out, apart
}

// shortness is the square of the relative error, per component, that the limited memory makes,
// at the frequencies at, where the errors of the response to the input are sds; each is averaged with its neighbours. With
// half the memory the answer may scatter around that with all of it by the difference of the two
// variances (Hausman 1978, Econometrica 46(6), 1251-1271); what it differs by beyond twice that
// says that memory is missing. A noisy sensor makes it so: the less the last readings are worth,
// the further back the best prediction has to look.
func (p *predictor) shortness(at, sds []float64, input int) []float64 {
	out := make([]float64, len(at))
	if p.half == nil {
		return out
	}
	half := p.half.sds(at, input)
	excess := make([]float64, len(at))
	for i, w := range at {
		d := min(1, cmplx.Abs(p.half.at(w, input)/p.at(w, input)-1))
		excess[i] = d*d/2 - 2*max(0, sds[i]*sds[i]-half[i]*half[i])
	}
	for i := range out {
		lo, hi := max(0, i-1), min(len(at)-1, i+1)
		out[i] = max(0, floats.Sum(excess[lo:hi+1])/float64(hi-lo+1))
	}
	return out
}

// chargeReach is how many points to either side a difference is averaged over.
const chargeReach = 4

// charge adds to the errors of the predictor's response, out, what it differs from that of
// the spectra beyond their own error: everywhere, or only where its memory is shorter than
// a period, because there the order bends the answer by more than its scatter shows.
// Points of which the spectra know nothing are not used.
func (p *predictor) charge(r, out *spectrum.Response, everywhere bool) {
	memoryS := float64(p.order) * gridStepS
	excess := make([]float64, len(r.H))
	for k := range excess {
		d := min(1, cmplx.Abs(out.H[k]/r.H[k]-1))
		excess[k] = max(0, d*d/2-r.SD[k]*r.SD[k])
	}
	for k, w := range r.OmegaRadS {
		switch {
		case math.IsInf(r.SD[k], 1):
			out.SD[k] = r.SD[k]
		case everywhere:
			lo, hi := max(0, k-chargeReach), min(len(excess)-1, k+chargeReach)
			out.SD[k] = math.Sqrt(out.SD[k]*out.SD[k] + floats.Sum(excess[lo:hi+1])/float64(hi-lo+1))
		case w*memoryS < 2*math.Pi:
			out.SD[k] = math.Sqrt(out.SD[k]*out.SD[k] + excess[k])
		}
	}
}

// disagreement is the rms relative difference of two responses where the coherence of the
// first is above 0.8.
func disagreement(a, b *spectrum.Response) float64 {
	var n, sum float64
	for k, c := range a.Coherence {
		if c > 0.8 && a.SD[k] < mostError {
			d := cmplx.Abs(b.H[k]/a.H[k] - 1)
			n++
			sum += d * d
		}
	}
	if n == 0 {
		return 0
	}
	return math.Sqrt(sum / n)
}
