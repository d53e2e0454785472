package loop

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// fitted is a form with its covariance.
type fitted struct {
	form
	// root times independent errors of unit variance are the errors of the form's vector.
	root mat.TriDense
	// misfit is the weighted sum of squares over its degrees of freedom, 1 if the form and
	// the errors of what it was fitted to are right.
	misfit  float64
	percent float64
}

const (
	// fitFromRadS and fitToRadS bound the band of the fit: from where drift rules the
	// pilot to where his hand no longer follows.
	fitFromRadS, fitToRadS = 0.45, 6.0
	fitPoints              = 12
	// formError is the relative error of the form itself: no pilot is exactly of it.
	formError = 0.01
	// widening is by how much the errors of drawn hops are wider than what the predictor and
	// the fit alone make them: the noise of a hand on the stick and what it does about drift
	// are not quite what the predictor has room for.
	widening = 1.45
	// Before a hop tells more, a pilot's effective delay is usualDelayS with a standard
	// deviation of usualDelaySDS: 0.33 to 0.5 s are found in tracking tasks, 0.2 to 0.6 s are
	// plausible (McRuer and others, AFFDL-TR-65-15, 1965, from memory). Lead and delay are hard
	// to tell apart where the pilot leads little.
	usualDelayS, usualDelaySDS = 0.4, 0.15
	// longestDelayS is the longest delay a form may come out with.
	longestDelayS = 1.2
)

// fitFrequencies are even in log.
func fitFrequencies() []float64 {
	ws := make([]float64, fitPoints)
	for k := range ws {
		ws[k] = fitFromRadS * math.Pow(fitToRadS/fitFromRadS, float64(k)/(fitPoints-1))
	}
	return ws
}

// fitter fits a form to a predictor. Of the form that is right, B - Y A is zero but for the
// errors of the predictor's parameters, of which it is a linear function: weighted by their
// full covariance, a predictor of high order and the form of it together are as good as
// the form fitted to the record itself (the asymptotic method, Ljung 1999, section 10.6, from
// memory). The ratio B/A, which has no mean where A may vanish, is not used.
type fitter struct {
	ws             []float64
	a, b           []complex128
	aError, bError *mat.Dense
	upper          mat.TriDense // of the covariance, U'U
}

func newFitter(p *predictor) *fitter {
	f := &fitter{ws: fitFrequencies()}
	for _, w := range f.ws {
		a, b := p.parts(w)
		f.a, f.b = append(f.a, a), append(f.b, b)
	}
	ea, eb := p.errors(f.ws)
	f.aError, f.bError = mat.NewDense(ea.Rows, ea.Cols, ea.Data), mat.NewDense(eb.Rows, eb.Cols, eb.Data)
	return f
}

// fit returns the best form; ok is false where there is none that could be a pilot.
func (f *fitter) fit() (best fitted, ok bool) {
	least := math.Inf(1)
	for _, delay := range []float64{0.1, 0.25, 0.45} {
		g, sum, found := f.from(delay)
		if found && sum < least {
			best, least, ok = g, sum, true
		}
	}
	if !ok || !(best.gain > 0) || best.delay < -handS || best.delay > longestDelayS {
		return fitted{}, false
	}
	best.percent = f.percent(best.form)
	return best, true
}

// from fits from a starting delay: the covariance belongs to a form, so the two are found in
// turns.
func (f *fitter) from(delay float64) (g fitted, sum float64, ok bool) {
	g.form = f.start(delay)
	for range 4 {
		if !f.weigh(g.form) {
			return g, 0, false
		}
		g.form, sum = f.minimise(g.form)
	}
	if math.IsNaN(sum) || math.IsInf(sum, 0) {
		return g, 0, false
	}
	g.misfit = sum / float64(2*len(f.ws)+1-formParameters)
	// The larger the covariance, the less the sum says: the likelihood counts both.
	logDet := 0.0
	for i := range 2 * len(f.ws) {
		logDet += 2 * math.Log(f.upper.At(i, i))
	}
	return g, sum + logDet, f.root(&g)
}

// weigh works out the factor of the covariance of B - Y A.
func (f *fitter) weigh(y form) bool {
	rows, n := f.aError.Dims()
	var e mat.Dense
	e.CloneFrom(f.bError)
	for k, w := range f.ws {
		v := y.at(w)
		for i := range rows {
			d := v * complex(f.aError.At(i, 2*k), f.aError.At(i, 2*k+1))
			e.Set(i, 2*k, e.At(i, 2*k)-real(d))
			e.Set(i, 2*k+1, e.At(i, 2*k+1)-imag(d))
		}
	}
	var cov mat.SymDense
	cov.SymOuterK(1, e.T())
	for k, w := range f.ws {
		floor := formError * cmplx.Abs(y.at(w)*f.a[k])
		for _, i := range []int{2 * k, 2*k + 1} {
			cov.SetSym(i, i, cov.At(i, i)+floor*floor+1e-24)
		}
	}
	var chol mat.Cholesky
	if n == 0 || !chol.Factorize(&cov) {
		return false
	}
	chol.UTo(&f.upper)
	return true
}

// white divides real and imaginary parts by the transposed factor.
func (f *fitter) white(x []complex128) []float64 {
	v := make([]float64, 2*len(x))
	for k, z := range x {
		v[2*k], v[2*k+1] = real(z), imag(z)
	}
	blas64.Trsv(blas.Trans, f.upper.RawTriangular(), blas64.Vector{N: len(v), Inc: 1, Data: v})
	return v
}

func (f *fitter) residual(y form) *mat.VecDense {
	r := make([]complex128, len(f.ws))
	for k, w := range f.ws {
		r[k] = f.b[k] - y.at(w)*f.a[k]
	}
	return mat.NewVecDense(2*len(r)+1, append(f.white(r), (y.delay+handS-usualDelayS)/usualDelaySDS))
}

func (f *fitter) jacobian(y form) *mat.Dense {
	var columns [formParameters][]complex128
	for k, w := range f.ws {
		for i, s := range y.slopes(w) {
			columns[i] = append(columns[i], -s*f.a[k])
		}
	}
	j := mat.NewDense(2*len(f.ws)+1, formParameters, nil)
	for i, c := range columns {
		usual := 0.0
		if i == formParameters-1 {
			usual = 1 / usualDelaySDS
		}
		j.SetCol(i, append(f.white(c), usual))
	}
	return j
}

// start solves all but the delay by least squares.
func (f *fitter) start(delay float64) form {
	a := mat.NewDense(2*len(f.ws), formParameters-1, nil)
	b := mat.NewVecDense(2*len(f.ws), nil)
	for k, w := range f.ws {
		s := form{delay: delay}.slopes(w)
		for i := range formParameters - 1 {
			z := s[i] * f.a[k]
			a.Set(2*k, i, real(z))
			a.Set(2*k+1, i, imag(z))
		}
		b.SetVec(2*k, real(f.b[k]))
		b.SetVec(2*k+1, imag(f.b[k]))
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return form{gain: 1, delay: delay}
	}
	return form{gain: x.AtVec(0), lead: x.AtVec(1), drift: x.AtVec(2), place: x.AtVec(3), delay: delay}
}

// minimise is Gauss and Newton's method with steps that are halved until they gain.
func (f *fitter) minimise(y form) (at form, sum float64) {
	r := f.residual(y)
	sum = mat.Dot(r, r)
	for range 25 {
		var step mat.VecDense
		if err := step.SolveVec(f.jacobian(y), r); err != nil {
			return y, sum
		}
		gained := false
		for part := 1.0; part > 1e-3 && !gained; part /= 2 {
			v := y.vector()
			for i := range v {
				v[i] -= part * step.AtVec(i)
			}
			next := formOf(v)
			q := f.residual(next)
			if s := mat.Dot(q, q); s < sum {
				gained = s < sum*(1-1e-8)
				y, r, sum = next, q, s
				break
			}
		}
		if !gained {
			break
		}
	}
	return y, sum
}

// root fills in the root of the covariance, widened by what the form leaves unexplained.
func (f *fitter) root(g *fitted) bool {
	var information mat.SymDense
	information.SymOuterK(1/(widening*widening*max(1, g.misfit)), f.jacobian(g.form).T())
	var chol mat.Cholesky
	if !chol.Factorize(&information) {
		return false
	}
	var cov mat.SymDense
	if err := chol.InverseTo(&cov); err != nil || !chol.Factorize(&cov) {
		return false
	}
	chol.LTo(&g.root)
	return true
}

// percent is how much of the predictor's response the form explains, weighted by how well
// the predictor knows it.
func (f *fitter) percent(y form) float64 {
	var left, all float64
	for k, w := range f.ws {
		v := f.upperError(k) / cmplx.Abs(f.b[k])
		d := cmplx.Abs(f.b[k]-y.at(w)*f.a[k]) / cmplx.Abs(f.b[k])
		left += d * d / (v * v)
		all += 1 / (v * v)
	}
	return 100 * max(0, 1-math.Sqrt(left/all))
}

// upperError is the standard deviation of B - Y A at point k.
func (f *fitter) upperError(k int) float64 {
	s := 0.0
	for i := range 2*k + 2 {
		for _, c := range []int{2 * k, 2*k + 1} {
			if i <= c {
				s += f.upper.At(i, c) * f.upper.At(i, c)
			}
		}
	}
	return math.Sqrt(s)
}

// widen makes the squares of the errors so many times larger.
func (g *fitted) widen(times float64) {
	if times > 1 {
		g.root.ScaleTri(math.Sqrt(times), &g.root)
	}
}

// draw returns the form with errors from independent normal numbers.
func (g *fitted) draw(normal func() float64) form {
	v := g.vector()
	var z [formParameters]float64
	for i := range z {
		z[i] = normal()
		for j := range i + 1 {
			v[i] += g.root.At(i, j) * z[j]
		}
	}
	f := formOf(v)
	f.bend = complex(bendPerRadS*normal(), bendPerRadS*normal())
	return f
}

// sd is the standard deviation of parameter i.
func (g *fitted) sd(i int) float64 {
	s := 0.0
	for j := range i + 1 {
		s += g.root.At(i, j) * g.root.At(i, j)
	}
	return math.Sqrt(s)
}

// relativeSD is the standard deviation of Y at w over its magnitude.
func (g *fitted) relativeSD(w float64) float64 {
	slopes, y := g.slopes(w), g.at(w)
	sum := 0.0
	for j := range formParameters {
		var d complex128
		for i := j; i < formParameters; i++ {
			d += slopes[i] * complex(g.root.At(i, j), 0)
		}
		d /= y
		sum += real(d * cmplx.Conj(d))
	}
	return math.Hypot(math.Sqrt(sum/2), bendPerRadS*w)
}
