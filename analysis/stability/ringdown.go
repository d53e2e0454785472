package stability

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// ringdown is a sum of oscillations that grow or decay, and of exponentials, about a
// constant:
//
//	x(t) = c + sum exp(s t) (a cos w t + b sin w t) + sum r exp(k t)
//
// fitted to samples at stepS, t from 0, by least squares.
type ringdown struct {
	pairs [][2]float64 // s and w of each oscillation, 1/s and rad/s
	reals []float64    // k of each exponential, 1/s
	rms   float64      // of the residuals
	size  []float64    // of each oscillation: root of twice its mean square over the record
	// cov is the covariance of s and w of each oscillation, widened for residuals that
	// are not white.
	cov [][3]float64 // var s, cov s w, var w
	bic float64
	// freedom is the number of independent residuals less the parameters.
	freedom float64
}

// parameters lists s, w of the pairs and k of the reals.
func (r ringdown) parameters() []float64 {
	var p []float64
	for _, q := range r.pairs {
		p = append(p, q[0], q[1])
	}
	return append(p, r.reals...)
}

func (r ringdown) with(p []float64) ringdown {
	out := ringdown{pairs: make([][2]float64, len(r.pairs)), reals: make([]float64, len(r.reals))}
	for i := range out.pairs {
		out.pairs[i] = [2]float64{p[2*i], p[2*i+1]}
	}
	copy(out.reals, p[2*len(r.pairs):])
	return out
}

// basis returns the columns that enter linearly, times from the middle of the record so
// that growth and decay keep the columns of like size.
func (r ringdown) basis(n int, stepS float64) *mat.Dense {
	b := mat.NewDense(n, 1+2*len(r.pairs)+len(r.reals), nil)
	for i := range n {
		t := (float64(i) - float64(n-1)/2) * stepS
		b.Set(i, 0, 1)
		for k, p := range r.pairs {
			e := math.Exp(p[0] * t)
			b.Set(i, 1+2*k, e*math.Cos(p[1]*t))
			b.Set(i, 2+2*k, e*math.Sin(p[1]*t))
		}
		for k, q := range r.reals {
			b.Set(i, 1+2*len(r.pairs)+k, math.Exp(q*t))
		}
	}
	return b
}

// solve returns the linear coefficients and the residuals; ok is false if they are not
// determined.
func (r ringdown) solve(x []float64, stepS float64) (c []float64, residual []float64, ok bool) {
	b := r.basis(len(x), stepS)
	var qr mat.QR
	qr.Factorize(b)
	var sol mat.VecDense
	if err := qr.SolveVecTo(&sol, false, mat.NewVecDense(len(x), x)); err != nil {
		return nil, nil, false
	}
	var fit mat.VecDense
	fit.MulVec(b, &sol)
	residual = make([]float64, len(x))
	for i := range residual {
		residual[i] = x[i] - fit.AtVec(i)
	}
	return sol.RawVector().Data, residual, true
}

func squares(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v * v
	}
	return s
}

// jacobian returns the derivatives of the model with respect to the linear coefficients
// and then to s, w and k.
func (r ringdown) jacobian(c []float64, n int, stepS float64) *mat.Dense {
	b := r.basis(n, stepS)
	_, m := b.Dims()
	j := mat.NewDense(n, m+2*len(r.pairs)+len(r.reals), nil)
	for i := range n {
		t := (float64(i) - float64(n-1)/2) * stepS
		for k := range m {
			j.Set(i, k, b.At(i, k))
		}
		for k := range r.pairs {
			co, si := b.At(i, 1+2*k), b.At(i, 2+2*k)
			j.Set(i, m+2*k, t*(c[1+2*k]*co+c[2+2*k]*si))
			j.Set(i, m+2*k+1, t*(c[2+2*k]*co-c[1+2*k]*si))
		}
		for k := range r.reals {
			col := 1 + 2*len(r.pairs) + k
			j.Set(i, m+2*len(r.pairs)+k, t*c[col]*b.At(i, col))
		}
	}
	return j
}

// refine moves s, w and k to the least squares optimum by Levenberg-Marquardt steps
// (Marquardt, J. SIAM 11, 1963) with the linear coefficients solved for at each.
func (r ringdown) refine(x []float64, stepS float64) (ringdown, bool) {
	c, res, ok := r.solve(x, stepS)
	if !ok {
		return r, false
	}
	best, damp := squares(res), 1e-3
	for range 30 {
		step, ok := r.step(c, res, stepS, damp)
		if !ok {
			return r, false
		}
		p := r.parameters()
		for i := range p {
			p[i] += step[i]
		}
		next := r.with(p)
		nc, nres, ok := next.solve(x, stepS)
		if !ok || !(squares(nres) < best) {
			damp *= 10
			if damp > 1e8 {
				break
			}
			continue
		}
		gain := best - squares(nres)
		r, c, res, best, damp = next, nc, nres, squares(nres), max(damp/10, 1e-12)
		if gain < 1e-9*best {
			break
		}
	}
	return r.measure(c, res, stepS)
}

// step is one damped Gauss-Newton step in s, w and k.
func (r ringdown) step(c, res []float64, stepS, damp float64) ([]float64, bool) {
	j := r.jacobian(c, len(res), stepS)
	_, m := j.Dims()
	var jtj mat.Dense
	jtj.Mul(j.T(), j)
	for k := range m {
		jtj.Set(k, k, jtj.At(k, k)*(1+damp)+1e-300)
	}
	var g, d mat.VecDense
	g.MulVec(j.T(), mat.NewVecDense(len(res), res))
	if err := d.SolveVec(&jtj, &g); err != nil {
		if _, soft := err.(mat.Condition); !soft {
			return nil, false
		}
	}
	return d.RawVector().Data[len(c):], true
}

// measure fills in the covariance, from the residuals' variance and the Jacobian (Seber
// and Wild, Nonlinear Regression, 1989, sec. 2.1), times the number of samples that share
// one independent residual: 1 + 2 sum of the residuals' correlations up to the first that
// is not positive (Bayley and Hammersley 1946).
func (r ringdown) measure(c, res []float64, stepS float64) (ringdown, bool) {
	n := len(res)
	j := r.jacobian(c, n, stepS)
	_, m := j.Dims()
	share := 1.0
	if mean := c[0]; squares(res) > 1e-18*(float64(n)*mean*mean+squares(c)) {
		share = shared(res) // else nothing but rounding is left
	}
	r.freedom = float64(n)/share - float64(m)
	if r.freedom < 2 {
		return r, false
	}
	inv, ok := inverse(j)
	if !ok {
		return r, false
	}
	s2 := squares(res) / float64(n-m) * share
	r.rms = math.Sqrt(squares(res) / float64(n))
	for k := range r.pairs {
		a := len(c) + 2*k
		r.cov = append(r.cov, [3]float64{s2 * inv.At(a, a), s2 * inv.At(a, a+1), s2 * inv.At(a+1, a+1)})
		var sum float64
		for i := range n {
			v := c[1+2*k]*j.At(i, 1+2*k) + c[2+2*k]*j.At(i, 2+2*k)
			sum += v * v
		}
		r.size = append(r.size, math.Sqrt(2*sum/float64(n)))
	}
	// Schwarz 1978, with the number of independent samples.
	e := float64(n) / share
	r.bic = e*math.Log(max(squares(res), 1e-300)/float64(n)) + float64(m)*math.Log(e)
	return r, true
}

// inverse returns the inverse of j transposed times j, by columns of equal size so that
// fast decays do not spoil it.
func inverse(j *mat.Dense) (*mat.Dense, bool) {
	n, m := j.Dims()
	scaled := mat.DenseCopyOf(j)
	scale := make([]float64, m)
	for k := range m {
		scale[k] = mat.Norm(j.ColView(k), 2)
		if scale[k] == 0 {
			return nil, false
		}
		for i := range n {
			scaled.Set(i, k, scaled.At(i, k)/scale[k])
		}
	}
	var jtj, inv mat.Dense
	jtj.Mul(scaled.T(), scaled)
	if err := inv.Inverse(&jtj); err != nil {
		return nil, false
	}
	for i := range m {
		for k := range m {
			inv.Set(i, k, inv.At(i, k)/scale[i]/scale[k])
		}
	}
	return &inv, true
}

// shared returns how many neighbouring residuals go for one.
func shared(res []float64) float64 {
	all := squares(res)
	if all == 0 {
		return 1
	}
	sum := 1.0
	for lag := 1; lag < len(res)/4; lag++ {
		var c float64
		for i := lag; i < len(res); i++ {
			c += res[i] * res[i-lag]
		}
		if c <= 0 {
			break
		}
		sum += 2 * c / all
	}
	return sum
}
