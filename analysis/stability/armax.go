package stability

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// stretch is an unbroken record at an even step: the motion y and the known inputs u, each
// as long as y.
type stretch struct {
	y []float64
	u [][]float64
}

// armax is the model
//
//	A(q) y(t) = sum B_i(q) u_i(t) + k + C(q)/D(q) e(t)
//
// A = 1 + a1 q^-1 + ..., B_i = b_i1 q^-1 + ..., C = 1 + c1 q^-1 + ..., D = 1 + d1 q^-1 or 1,
// q^-1 one step back, e white. Gusts enter an aircraft as forces do, through its own poles,
// which is what A under all of it says; C and D shape their spectrum. With that right, the
// poles come out right though the pilot flies against the gusts, as long as he answers
// later than within one step (Ljung, System Identification, 2nd ed. 1999, sec. 4.2 and
// 13.4, from memory).
type armax struct {
	form  form
	alpha []float64 // parameters of A
	b     [][]float64
	c, d  []float64
	k     float64

	a    []float64   // of alpha
	dadp [][]float64 // derivatives of a by alpha

	variance float64    // of e
	samples  int        // that the variance is over
	cov      *mat.Dense // of alpha
	schwarz  float64
}

// form says what A may be: of which order, and how it follows from its parameters.
type form interface {
	order() int
	coefficients(alpha []float64) (a []float64, dadp [][]float64, ok bool)
	// before is what is known of a parameter beforehand: mean and standard deviation, 0
	// for nothing.
	before(parameter int) (mean, sd float64)
}

// anyForm is A with every coefficient free.
type anyForm int

func (f anyForm) order() int                    { return int(f) }
func (f anyForm) before(int) (mean, sd float64) { return 0, 0 }

func (f anyForm) coefficients(alpha []float64) ([]float64, [][]float64, bool) {
	d := make([][]float64, len(alpha))
	for i := range d {
		d[i] = make([]float64, len(alpha))
		d[i][i] = 1
	}
	return alpha, d, true
}

func newArmax(f form, taps, inputs, coloured int) *armax {
	m := &armax{form: f, c: make([]float64, f.order()), d: make([]float64, coloured)}
	for range inputs {
		m.b = append(m.b, make([]float64, taps))
	}
	return m
}

// set takes on the parameters of A; false if they are none.
func (m *armax) set(alpha []float64) bool {
	a, d, ok := m.form.coefficients(alpha)
	if ok {
		m.alpha, m.a, m.dadp = alpha, a, d
	}
	return ok
}

func (m *armax) size() int {
	n := len(m.alpha) + len(m.c) + len(m.d) + 1
	for _, b := range m.b {
		n += len(b)
	}
	return n
}

// moved returns the model with its parameters moved by step; false if that is no model.
func (m *armax) moved(step []float64) (*armax, bool) {
	next := &armax{form: m.form, variance: m.variance}
	take := func(x []float64) []float64 {
		out := make([]float64, len(x))
		for i := range x {
			out[i] = x[i] + step[i]
		}
		step = step[len(x):]
		return out
	}
	alpha := take(m.alpha)
	for _, b := range m.b {
		next.b = append(next.b, take(b))
	}
	next.c, next.d = take(m.c), take(m.d)
	next.k = m.k + step[0]
	return next, next.set(alpha) && stable(next.c) && stable(next.d)
}

// withColour returns the model with a first-order D, as yet without effect.
func (m *armax) withColour() *armax {
	next := *m
	next.d = make([]float64, len(m.d)+1)
	copy(next.d, m.d)
	next.cov = nil
	return &next
}

// lags is how far the model looks back.
func (m *armax) lags() int {
	n := len(m.a)
	for _, b := range m.b {
		n = max(n, len(b))
	}
	return n
}

// residuals returns v = A y - B u - k and e = D/C v of a stretch, zero while its past is
// not known.
func (m *armax) residuals(s stretch) (v, e []float64) {
	v, e = make([]float64, len(s.y)), make([]float64, len(s.y))
	for t := m.lags(); t < len(s.y); t++ {
		x := s.y[t] - m.k
		for i, a := range m.a {
			x += a * s.y[t-1-i]
		}
		for i, u := range s.u {
			for j, b := range m.b[i] {
				x -= b * u[t-1-j]
			}
		}
		v[t] = x
		for i, d := range m.d {
			x += d * v[t-1-i]
		}
		for i, c := range m.c {
			x -= c * e[t-1-i]
		}
		e[t] = x
	}
	return v, e
}

func (m *armax) cost(data []stretch) float64 {
	sum := 0.0
	for _, s := range data {
		_, e := m.residuals(s)
		sum += squares(e)
	}
	return sum + m.surprise()
}

// surprise is what parameters cost that are not what was known beforehand, in units of e
// squared.
func (m *armax) surprise() float64 {
	sum := 0.0
	for i, a := range m.alpha {
		if mean, sd := m.form.before(i); sd > 0 {
			sum += m.variance * (a - mean) * (a - mean) / sd / sd
		}
	}
	return sum
}

// overC returns x filtered by 1/C, with D over it if wanted.
func (m *armax) overC(x []float64, withD bool) []float64 {
	out := make([]float64, len(x))
	for t := range x {
		v := x[t]
		if withD {
			for i := 0; i < len(m.d) && i < t; i++ {
				v += m.d[i] * x[t-1-i]
			}
		}
		for i := 0; i < len(m.c) && i < t; i++ {
			v -= m.c[i] * out[t-1-i]
		}
		out[t] = v
	}
	return out
}

// regressors returns the derivatives of -e by coefficients of A, B, C, D and k, as if those
// of A were free: signals filtered by D/C or 1/C (Ljung 1999, sec. 10.3, from memory).
func (m *armax) regressors(s stretch, v, e []float64) []regressor {
	out := []regressor{{negative(m.overC(s.y, true)), 0, len(m.a)}}
	at := len(m.a)
	add := func(x []float64, lags int) {
		if lags > 0 {
			out = append(out, regressor{x, at, lags})
			at += lags
		}
	}
	for i, b := range m.b {
		add(m.overC(s.u[i], true), len(b))
	}
	add(m.overC(e, false), len(m.c))
	add(negative(m.overC(v, false)), len(m.d))
	one := make([]float64, len(e))
	for i := range one {
		one[i] = 1
	}
	add(m.overC(one, true), 1)
	return out
}

func negative(x []float64) []float64 {
	for i := range x {
		x[i] = -x[i]
	}
	return x
}

// normal returns the information matrix, minus the gradient of half the sum of squares of
// e, and that sum.
func (m *armax) normal(data []stretch) (info *mat.SymDense, gradient []float64, cost float64, n int) {
	size := m.size() - len(m.alpha) + len(m.a)
	sum := newNormal(size)
	for _, s := range data {
		v, e := m.residuals(s)
		cost += squares(e)
		from := m.lags()
		n += max(len(e)-from, 0)
		if len(e) > from {
			sum.addShifted(m.regressors(s, v, e), e, from)
		}
	}
	info, gradient = sum.through(m.dadp)
	return info, gradient, cost, n
}

// descend returns the model at the least squares optimum, by damped Gauss-Newton steps.
func (m *armax) descend(data []stretch) (*armax, error) {
	// A gain of one part in enough changes twice the log likelihood by less than 0.1 in
	// ten minutes.
	const enough = 3e-5
	ridge := 1e-6
	for range 40 {
		info, g, cost, n := m.normal(data)
		m.variance = cost / float64(n)
		cost += m.known(info, g)
		next, gain := m.better(data, info, g, cost, &ridge)
		if next == nil {
			break
		}
		if m = next; gain < enough*cost {
			break
		}
	}
	return m, m.measure(data)
}

// better takes the largest step that lowers the sum of squares; nil if none does.
func (m *armax) better(data []stretch, info *mat.SymDense, g []float64, cost float64, ridge *float64) (next *armax, gain float64) {
	for ; *ridge < 1e3; *ridge *= 10 {
		step, err := solveScaled(info, g, *ridge)
		if err != nil {
			continue
		}
		next, ok := m.moved(step)
		if !ok {
			continue
		}
		if c := next.cost(data); c < cost {
			*ridge = max(*ridge/100, 1e-12)
			return next, cost - c
		}
	}
	return nil, 0
}

// known adds what is known of the parameters beforehand to the normal equations, and
// returns what they cost for being off it, in units of e squared.
func (m *armax) known(info *mat.SymDense, g []float64) float64 {
	for i, a := range m.alpha {
		if mean, sd := m.form.before(i); sd > 0 {
			w := m.variance / sd / sd
			info.SetSym(i, i, info.At(i, i)+w)
			g[i] += w * (mean - a)
		}
	}
	return m.surprise()
}

// measure fills in variance, covariance and Schwarz's criterion.
func (m *armax) measure(data []stretch) error {
	info, g, cost, n := m.normal(data)
	size, k := m.size(), len(m.alpha)
	m.samples = n
	if n < 3*size {
		return errNotTold
	}
	m.variance = cost / float64(n-size)
	m.known(info, g)
	m.schwarz = float64(n)*math.Log(cost/float64(n)) + float64(size)*math.Log(float64(n))
	m.cov = mat.NewDense(k, k, nil)
	for i := range k {
		one := make([]float64, size)
		one[i] = 1
		h, err := solveScaled(info, one, 0)
		if err != nil {
			return err
		}
		for j := range k {
			m.cov.Set(i, j, m.variance*h[j])
		}
	}
	return nil
}

// stable reports whether 1 + c1 z^-1 + ... has all roots within the unit circle, by
// stepping the order down (Levinson and Durbin's recursion backwards; Jury's test).
func stable(c []float64) bool {
	a := append([]float64(nil), c...)
	for n := len(a); n > 0; n-- {
		k := a[n-1]
		if !(math.Abs(k) < 0.9999) {
			return false
		}
		next := make([]float64, n-1)
		for i := range next {
			next[i] = (a[i] - k*a[n-2-i]) / (1 - k*k)
		}
		a = next
	}
	return true
}
