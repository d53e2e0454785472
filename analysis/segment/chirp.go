package segment

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// law is a sweep as a sine whose frequency rises along a straight line over time, or whose
// logarithm does.
type law struct {
	linear bool
	atS    [2]float64 // two times, seconds on the rows' clock
	ln     [2]float64 // ln of the frequency in rad/s at them
	phase0 float64    // phase at atS[1]
}

// rate returns the frequency at atS[1] and the slope over time of the frequency, or of its
// logarithm.
func (c law) rate() (end, slope float64) {
	end = math.Exp(c.ln[1])
	if c.linear {
		return end, (end - math.Exp(c.ln[0])) / (c.atS[1] - c.atS[0])
	}
	return end, (c.ln[1] - c.ln[0]) / (c.atS[1] - c.atS[0])
}

// omega returns the frequency at tS, 0 before the law begins.
func (c law) omega(tS float64) float64 {
	end, slope := c.rate()
	if c.linear {
		return max(end+slope*(tS-c.atS[1]), 0)
	}
	return end * math.Exp(slope*(tS-c.atS[1]))
}

// phase returns the phase at tS: the integral of omega. The frequency must rise.
func (c law) phase(tS float64) float64 {
	end, slope := c.rate()
	w := c.omega(tS)
	if c.linear {
		return c.phase0 + (w*w-end*end)/(2*slope)
	}
	return c.phase0 + (w-end)/slope
}

// phases sets dst to the phase at every stepS from 0.
func (c law) phases(dst []float64, stepS float64) {
	end, slope := c.rate()
	if c.linear {
		for i := range dst {
			w := max(end+slope*(float64(i)*stepS-c.atS[1]), 0)
			dst[i] = c.phase0 + (w*w-end*end)/(2*slope)
		}
		return
	}
	// Each row's frequency is the same factor above that of the row before.
	w, grow := c.omega(0), math.Exp(slope*stepS)
	for i := range dst {
		dst[i] = c.phase0 + (w-end)/slope
		w *= grow
	}
}

// rows are the equations that the stick obeys about the slow end of a sweep: stick = trim +
// what the pilot does about the aircraft + sweep + the rest. Times run from the slow end on;
// those of a falling sweep are turned round.
type rows struct {
	stepS  float64
	n      int
	stick  []float64
	known  [][]float64 // trim and pilot, orthonormal once whitened
	rho    float64     // of the rest, from a row to the next
	target []float64   // the stick, whitened, less what known explains
	free   float64     // sum of squares of target
	angle  []float64   // phases of the law in hand
	buf    [5]column
}

// column is a whitened column of the equations with its products with each of known, so
// that what known explains of it need not be taken off row by row. It is zero before first.
type column struct {
	first int
	x     []float64
	on    []float64
}

// times returns the product of two columns, less what known explains of both.
func (a *column) times(b *column) float64 {
	first := max(a.first, b.first)
	return dot(a.x[first:], b.x[first:]) - dot(a.on, b.on)
}

func (r *rows) timeS(i int) float64 { return float64(i) * r.stepS }

// fresh returns buffer k for a column that begins at row first.
func (r *rows) fresh(k, first int) *column {
	c := &r.buf[k]
	if len(c.x) != r.n {
		c.x = make([]float64, r.n)
	}
	c.first = first
	clear(c.x[:first])
	return c
}

// finish whitens c and multiplies it with known.
func (r *rows) finish(c *column) {
	r.whiten(c.x)
	c.on = c.on[:0]
	for _, q := range r.known {
		c.on = append(c.on, dot(q[c.first:], c.x[c.first:]))
	}
}

// whiten takes off what the row before foretells of x under a first-order Markov process.
func (r *rows) whiten(x []float64) {
	for i := len(x) - 1; i > 0; i-- {
		x[i] -= r.rho * x[i-1]
	}
	x[0] = 0
}

// project takes off x what known explains.
func (r *rows) project(x []float64) {
	for _, q := range r.known {
		s := dot(q, x)
		for i, v := range q {
			x[i] -= s * v
		}
	}
}

// prepare whitens the first n rows by rho and sets known to an orthonormal base of the
// columns.
func (r *rows) prepare(columns [][]float64, rho float64) {
	r.rho = rho
	r.known = r.known[:0]
	for _, c := range columns {
		x := append([]float64(nil), c[:r.n]...)
		r.whiten(x)
		size := math.Sqrt(dot(x, x))
		r.project(x)
		r.project(x) // once more, for what rounding left
		norm := math.Sqrt(dot(x, x))
		if norm < 1e-6*size || norm == 0 {
			continue
		}
		for i := range x {
			x[i] /= norm
		}
		r.known = append(r.known, x)
	}
	r.target = append(r.target[:0], r.stick[:r.n]...)
	r.whiten(r.target)
	r.project(r.target)
	r.free = dot(r.target, r.target)
}

// dot multiplies a with as much of b as it is long.
func dot(a, b []float64) float64 { return floats.Dot(a, b[:len(a)]) }

// A hand keeps the size of its strokes: that of the slowest, against that of the fastest
// that the law is fitted to, lies between these.
const (
	leastSlowSize = 0.4
	mostSlowSize  = 1.6
)

// left returns the sum of squares that remains when the law, of an amplitude that changes
// along a straight line, moves the stick from that phase on, and that amplitude there and at
// the last row.
func (r *rows) left(c law, from float64) (sum float64, size [2]float64) {
	angle := r.phases(c)
	first := r.first(c, from)
	a, b := r.fresh(0, first), r.fresh(1, first)
	for i := first; i < r.n; i++ {
		v, u := math.Sin(angle[i]), r.along(i, first)
		a.x[i], b.x[i] = v*(1-u), v*u
	}
	r.finish(a)
	r.finish(b)
	p, ok := r.pair(a, b)
	if !ok {
		return r.free, size
	}
	size = p.best()
	if k := size[0] / size[1]; !(k > leastSlowSize && k < mostSlowSize) {
		size = p.bounded()
	}
	return r.free - p.won(size), size
}

// along is how far row i lies between first and the end, 0 to 1.
func (r *rows) along(i, first int) float64 { return float64(i-first) / float64(r.n-first) }

func (r *rows) phases(c law) []float64 {
	if len(r.angle) != r.n {
		r.angle = make([]float64, r.n)
	}
	c.phases(r.angle, r.stepS)
	return r.angle
}

// first returns the first row at which the law has reached a phase.
func (r *rows) first(c law, phase float64) int {
	lo, hi := 0, r.n-1
	for lo < hi {
		if mid := (lo + hi) / 2; c.phase(r.timeS(mid)) < phase {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// pair holds the products of two columns with each other and the target.
type pair struct{ aa, ab, bb, ya, yb float64 }

// pair returns those products; ok is false if the columns are as good as one.
func (r *rows) pair(a, b *column) (p pair, ok bool) {
	p = pair{a.times(a), a.times(b), b.times(b), dot(a.x[a.first:], r.target[a.first:]), dot(b.x[b.first:], r.target[b.first:])}
	return p, p.aa*p.bb-p.ab*p.ab > 1e-9*p.aa*p.bb
}

// best returns the sizes of least squares.
func (p pair) best() [2]float64 {
	det := p.aa*p.bb - p.ab*p.ab
	return [2]float64{(p.ya*p.bb - p.yb*p.ab) / det, (p.yb*p.aa - p.ya*p.ab) / det}
}

// won returns what the columns of those sizes take off the sum of squares.
func (p pair) won(size [2]float64) float64 {
	a, b := size[0], size[1]
	return 2*(a*p.ya+b*p.yb) - a*a*p.aa - 2*a*b*p.ab - b*b*p.bb
}

// bounded returns the better one of the sizes at the two bounds.
func (p pair) bounded() (size [2]float64) {
	best := math.Inf(-1)
	for _, k := range []float64{leastSlowSize, mostSlowSize} {
		y, x := k*p.ya+p.yb, k*k*p.aa+2*k*p.ab+p.bb
		if won := y * y / x; won > best {
			best, size = won, [2]float64{k * y / x, y / x}
		}
	}
	return size
}

// anyPhase returns the sum of squares that remains under the law with an even amplitude from
// row first on, whatever its phase, and that phase.
func (r *rows) anyPhase(c law, first int) (sum, phase float64) {
	angle := r.phases(c)
	a, b := r.fresh(0, first), r.fresh(1, first)
	for i := first; i < r.n; i++ {
		a.x[i], b.x[i] = math.Sincos(angle[i])
	}
	r.finish(a)
	r.finish(b)
	p, ok := r.pair(a, b)
	if !ok {
		return r.free, 0
	}
	size := p.best()
	return r.free - p.won(size), math.Atan2(size[1], size[0])
}

// fit moves the law of c to where it leaves least of the stick, moving it from that phase
// on, by Levenberg's and Marquardt's method on what remains once the amplitudes are solved
// for (Kaufman, BIT 15, 1975).
func (r *rows) fit(c law, from float64) (law, float64) {
	const mostSteps, enough, leastRise = 12, 1e-5, 0.1
	damping := 1e-3
	sum, size := r.left(c, from)
	for range mostSteps {
		by, ok := r.step(c, size, damping)
		if !ok {
			break
		}
		next := c.moved(by)
		if next.ln[1]-next.ln[0] < leastRise {
			break
		}
		nextSum, nextSize := r.left(next, from)
		if !(nextSum < sum) {
			if damping *= 10; damping > 1e3 {
				break
			}
			r.left(c, from) // the buffers belong to c again
			continue
		}
		done := sum-nextSum < enough*sum
		c, sum, size = next, nextSum, nextSize
		damping = max(damping/10, 1e-6)
		if done {
			break
		}
	}
	return c, sum
}

// moved returns the law with its two frequencies (their logarithms) and phase changed.
func (c law) moved(by [3]float64) law {
	c.ln[0] += by[0]
	c.ln[1] += by[1]
	c.phase0 += by[2]
	return c
}

// step returns the change of the law's numbers that leaves least of the stick, linearised.
// The buffers hold the columns and phases of c from left.
func (r *rows) step(c law, size [2]float64, damping float64) (by [3]float64, ok bool) {
	const bit = 1e-4
	first := r.buf[0].first
	angle := append([]float64(nil), r.angle...)
	moved := make([]float64, r.n)
	for k := range by {
		var d [3]float64
		d[k] = bit
		c.moved(d).phases(moved, r.stepS)
		x := r.fresh(2+k, first)
		for i := first; i < r.n; i++ {
			u := r.along(i, first)
			x.x[i] = (size[0]*(1-u) + size[1]*u) * math.Cos(angle[i]) * (moved[i] - angle[i]) / bit
		}
		r.finish(x)
	}
	const m = 2 + len(by)
	a, b := mat.NewSymDense(m, nil), mat.NewVecDense(m, nil)
	for i := range m {
		for j := i; j < m; j++ {
			a.SetSym(i, j, r.buf[i].times(&r.buf[j]))
		}
		f := r.buf[i].first
		b.SetVec(i, dot(r.buf[i].x[f:], r.target[f:])-size[0]*r.buf[i].times(&r.buf[0])-size[1]*r.buf[i].times(&r.buf[1]))
	}
	for i := 2; i < m; i++ {
		a.SetSym(i, i, a.At(i, i)*(1+damping))
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return by, false
	}
	for k := range by {
		by[k] = x.AtVec(2 + k)
	}
	return by, true
}
