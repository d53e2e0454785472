package response

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

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
	order      int
	inputs     int
	theta      []float64 // a_1..a_n, then b_0..b_n of each input, then c
	rows       float64
	sigma2     float64       // variance of e
	covariance *mat.SymDense // of theta
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

// fitPredictor fits the predictor of the highest order that the runs carry; nil if they
// are too short for the lowest. The order is not chosen by an information criterion: that
// weighs the whole band alike, and at the low end, where little of the power of e lies, a
// short memory bends the answer by more than a long one makes it scatter.
func fitPredictor(runs []run, out int, inputs []int) *predictor {
	for _, n := range predictorOrders() {
		var rows int
		for _, r := range runs {
			rows += max(0, len(r.values[out])-n)
		}
		if rows < rowsPerParameter*(n+len(inputs)*(n+1)) {
			continue
		}
		if p := newLagProducts(runs, append([]int{out}, inputs...), n).solve(n); p != nil {
			return p
		}
	}
	return nil
}

// lagProducts holds, for every pair of channels and lags up to top, the sum of their
// lagged products over the rows that have all lags. Neighbouring lags differ by one term
// at each end of a run, so the whole table costs hardly more than its first row.
type lagProducts struct {
	channels, top int
	rows          float64
	table         []float64 // [(channel*(top+1)+lag)] squared
	sums          []float64
}

func (g *lagProducts) size() int { return g.channels * (g.top + 1) }

func newLagProducts(runs []run, channels []int, top int) *lagProducts {
	g := &lagProducts{channels: len(channels), top: top}
	n := g.size()
	g.table, g.sums = make([]float64, n*n), make([]float64, n)
	for _, r := range runs {
		x := make([][]float64, len(channels))
		for i, c := range channels {
			// The sticks are moved back against the output.
			lead := leadSteps
			if i == 0 {
				lead = 0
			}
			v := r.values[c]
			if len(v) > leadSteps {
				x[i] = v[lead : len(v)-leadSteps+lead]
			}
		}
		if len(x[0]) > top {
			g.add(x)
		}
	}
	return g
}

func (g *lagProducts) add(x [][]float64) {
	length, top := len(x[0]), g.top
	g.rows += float64(length - top)
	for a := range x {
		for b := range x {
			// First row and column: lag 0 of one against all of the other.
			for j := 0; j <= top; j++ {
				g.fill(x, a, b, j, floats.Dot(x[a][top:], x[b][top-j:length-j]))
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
		if j > 0 {
			g.table[q*n+p] += s
		}
		// One step further back: the last row leaves, one before the first comes in.
		if i+j < top {
			s += x[a][top-1-i]*x[b][top-1-i-j] - x[a][length-1-i]*x[b][length-1-i-j]
		}
	}
}

// solve solves the normal equations of order n; nil if they are singular.
func (g *lagProducts) solve(n int) *predictor {
	var index []int
	for j := 1; j <= n; j++ {
		index = append(index, j)
	}
	for c := 1; c < g.channels; c++ {
		for j := 0; j <= n; j++ {
			index = append(index, c*(g.top+1)+j)
		}
	}
	p := &predictor{order: n, inputs: g.channels - 1, rows: g.rows}
	size := g.size()
	// The constant is taken out by centring the products.
	centred := func(i, j int) float64 { return g.table[i*size+j] - g.sums[i]*g.sums[j]/g.rows }
	k := len(index)
	normal := mat.NewSymDense(k, nil)
	right := mat.NewVecDense(k, nil)
	for i, a := range index {
		for j := i; j < k; j++ {
			normal.SetSym(i, j, centred(a, index[j]))
		}
		// A trace of ridge: what it hides lies 100 dB below the channel's own power.
		normal.SetSym(i, i, normal.At(i, i)*(1+1e-10))
		right.SetVec(i, centred(a, 0))
	}
	var chol mat.Cholesky
	var theta mat.VecDense
	if !chol.Factorize(normal) || chol.SolveVecTo(&theta, right) != nil {
		return nil
	}
	p.theta = append([]float64{}, theta.RawVector().Data...)
	rest := centred(0, 0) - mat.Dot(&theta, right)
	p.sigma2 = rest / (g.rows - float64(k) - 1)
	p.covariance = &mat.SymDense{}
	if !(p.sigma2 > 0) || chol.InverseTo(p.covariance) != nil {
		return nil
	}
	p.covariance.ScaleSym(p.sigma2, p.covariance)
	return p
}

// powers returns z^-j at w, j = 0 to the order.
func (p *predictor) powers(w float64) []complex128 {
	powers := make([]complex128, p.order+1)
	for j := range powers {
		powers[j] = cmplx.Exp(complex(0, -w*gridStepS*float64(j)))
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

// sd returns the standard deviation of the response to an input at w, relative to its
// magnitude, to first order in the errors of the parameters.
func (p *predictor) sd(w float64, input int) float64 {
	powers := p.powers(w)
	num, den := p.numerator(powers, input), p.denominator(powers)
	k := len(p.theta)
	re, im := mat.NewVecDense(k, nil), mat.NewVecDense(k, nil)
	set := func(i int, d complex128) { re.SetVec(i, real(d)); im.SetVec(i, imag(d)) }
	for j := range p.order {
		set(j, powers[j+1]/den)
	}
	for j := range p.order + 1 {
		set(p.first(input)+j, powers[j]/num)
	}
	return math.Sqrt(max(0, mat.Inner(re, p.covariance, re)+mat.Inner(im, p.covariance, im)) / 2)
}

// errorEvery is how many grid points share one evaluation of the errors: the errors of the
// response vary much more slowly with frequency than the grid is fine.
const errorEvery = 4

// mostApart is how far the predictor and the spectra may differ, relative and rms, where the
// coherence is high. In the loop of pilot and aircraft both may be drawn off when gusts do
// most of the moving, the spectra more; then neither error formula holds. On simulated hops
// in strong gusts the phase of the predictor was within 6 deg below this, and 20 deg and
// more off beyond half as much again.
const mostApart = 0.3

// replaceH returns r with the predictor's response, times factor, and errors in place of its
// own; the coherence stays that of the spectra, and so do the points of which they know
// nothing. apart is by how much the two differ where the coherence is high; beyond
// mostApart that difference is charged to every point.
func (p *predictor) replaceH(r *spectrum.Response, factor func(w float64) complex128) (replaced *spectrum.Response, apart float64) {
	out := *r
	n := len(r.H)
	out.H, out.SD, out.BandRadS = make([]complex128, n), make([]float64, n), make([]float64, n)
	for k, w := range r.OmegaRadS {
		out.H[k] = p.at(w, 0) * factor(w)
		out.BandRadS[k] = 2 * math.Pi / (float64(p.order) * gridStepS)
		if k%errorEvery == 0 || k == n-1 {
			out.SD[k] = p.sd(w, 0)
		}
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
