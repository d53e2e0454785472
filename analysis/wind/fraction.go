package wind

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/mat"
)

// A hovering aircraft has slow modes near the border of stability: its response varies
// over hundredths of a rad/s and the motion remembers gusts longer than any window, so
// averaged spectra smear just the band where gusts throw it most. The answer with the
// stick held is therefore solved on the transform of the whole record, with all inputs at
// once and one common denominator:
//
//	A(s) Y = sum of B_i(s) X_i + T(s),   s = j omega,
//
// T being what state and inputs at the two ends of the record leave (Pintelon, Schoukens
// and Vandersteen 1997, IEEE Trans. Autom. Control 42, 1740). It is linear in the
// coefficients; each pass weights with the denominator of the one before (Sanathanan and
// Koerner 1963, IEEE Trans. Autom. Control 8, 56). No stability is needed anywhere.
const (
	fractionLowRadS  = 0.2
	fractionHighRadS = 5.0
	fractionUnitRadS = 1.5 // s is counted in it, so that powers stay near one
	shortestRunS     = 60.0
)

// sheet is one gap-free run in the frequency domain, inside the band of the fit.
type sheet struct {
	omega []float64
	x     [][]complex128 // by channel
	// mean is the part of head and cross gusts that the mean wind makes as the nose turns.
	mean [2][]complex128
}

// transform returns the sheets of the runs that are long enough.
func transform(rs [][][]float64, stepS float64) []sheet {
	var out []sheet
	for _, run := range rs {
		n := smooth(len(run[0]))
		if float64(n)*stepS < shortestRunS {
			continue
		}
		fft := fourier.NewFFT(n)
		var sh sheet
		width := 2 * math.Pi / (float64(n) * stepS)
		low, high := int(math.Ceil(fractionLowRadS/width)), int(fractionHighRadS/width)
		for k := low; k <= high; k++ {
			sh.omega = append(sh.omega, float64(k)*width)
		}
		for _, c := range run {
			x := append([]float64{}, c[:n]...)
			detrend(x)
			sh.x = append(sh.x, append([]complex128{}, fft.Coefficients(nil, x)[low:high+1]...))
		}
		// Runs of different length, one scale: power per Hz.
		k := complex(1/math.Sqrt(float64(n)), 0)
		for _, c := range sh.x {
			for i := range c {
				c[i] *= k
			}
		}
		out = append(out, sh)
	}
	return out
}

// fraction is the fitted answer of the output out to a few inputs.
type fraction struct {
	order  int
	out    int
	inputs []int
	// p holds A's coefficients but the highest, which is one, then each input's B, all
	// from the constant up; weighted is the denominator the last pass weighted with, cov
	// the covariance of p, inverse that of the normal equations.
	p, weighted  []float64
	cov, inverse *mat.SymDense
	chol         mat.Cholesky // of the last pass's equations, in units of scale
	scale        []float64
	room         [][][]float64 // weights by sheet, written again by each pass
	// remains is what is left of the output, weighted, by sheet and frequency, from
	// covariance on as if the equation had no part in the fit; rss is the first's sum
	// of squares, in n real equations.
	remains [][]complex128
	rss     float64
	n       int
}

// solve fits a fraction. passes of the weighting start from |omega|^order.
func solve(sheets []sheet, sums []products, out int, inputs []int, order, passes int) (*fraction, bool) {
	return solveFrom(nil, sheets, sums, out, inputs, order, passes)
}

// solveFrom is solve, the weighting starting from the denominator den.
func solveFrom(den []float64, sheets []sheet, sums []products, out int, inputs []int, order, passes int) (*fraction, bool) {
	f := &fraction{order: order, inputs: inputs, out: out}
	for pass := range passes {
		if !f.pass(sheets, sums, den) {
			return nil, false
		}
		f.weighted = den
		if pass > 0 && near(den, f.p[:order]) {
			break
		}
		den = f.p[:order]
	}
	if !f.invert() {
		return nil, false
	}
	f.rss = 0
	for k, sh := range sheets {
		left := f.left(sh, k)
		f.remains = append(f.remains, left)
		for _, e := range left {
			f.rss += real(e)*real(e) + imag(e)*imag(e)
		}
	}
	return f, true
}

// near reports whether the weighting has settled: the denominator changed by less than
// what its place among the coefficients' errors could ever show.
func near(a, b []float64) bool {
	const settled = 1e-4
	var change, size float64
	for i := range a {
		change += (a[i] - b[i]) * (a[i] - b[i])
		size += b[i] * b[i]
	}
	return change <= settled*settled*size
}

// left returns what the fraction leaves of sheet k, weighted.
func (f *fraction) left(sh sheet, k int) []complex128 {
	row := make([]complex128, len(f.p))
	out := make([]complex128, len(sh.omega))
	for i, w := range sh.omega {
		weight := complex(1/cmplx.Abs(f.denominator(f.weighted, w)), 0)
		e := f.fill(row, sh, k, i, weight)
		for j, u := range row {
			e -= u * complex(f.p[j], 0)
		}
		out[i] = e
	}
	return out
}

// columns returns the number of coefficients of A and B, and with those of T.
func (f *fraction) columns(sheets int) (model, all int) {
	model = f.order + len(f.inputs)*f.order
	return model, model + sheets*(f.order+1)
}

// pass solves once, weighted with the denominator den.
func (f *fraction) pass(sheets []sheet, sums []products, den []float64) bool {
	_, all := f.columns(len(sheets))
	normal := mat.NewSymDense(all, nil)
	right := mat.NewVecDense(all, nil)
	f.n = 0
	for k, sh := range sheets {
		f.n += 2 * len(sh.omega)
		if len(f.room) == k {
			f.room = append(f.room, f.weights(sh, den))
		} else {
			f.weightsInto(f.room[k], sh, den)
		}
		f.normal(normal, right, sums[k], k, f.room[k])
	}
	if f.n <= all+10 {
		return false
	}
	f.scale = equilibrate(normal, right)
	chol := &f.chol
	if !chol.Factorize(normal) {
		return false
	}
	var sol mat.VecDense
	if err := chol.SolveVecTo(&sol, right); err != nil {
		return false
	}
	f.p = make([]float64, all)
	for a := range all {
		f.p[a] = sol.AtVec(a) * f.scale[a]
	}
	return true
}

// invert fills inverse from the last pass.
func (f *fraction) invert() bool {
	all := len(f.p)
	f.inverse = mat.NewSymDense(all, nil)
	if err := f.chol.InverseTo(f.inverse); err != nil {
		return false
	}
	for a := range all {
		for b := a; b < all; b++ {
			f.inverse.SetSym(a, b, f.inverse.At(a, b)*f.scale[a]*f.scale[b])
		}
	}
	return true
}

// weights returns, for each power k of s up to twice the order, |s|^k/|A|^2 at each
// frequency.
func (f *fraction) weights(sh sheet, den []float64) [][]float64 {
	w := make([][]float64, 2*f.order+1)
	room := make([]float64, len(w)*len(sh.omega))
	for k := range w {
		w[k] = room[k*len(sh.omega):][:len(sh.omega)]
	}
	f.weightsInto(w, sh, den)
	return w
}

func (f *fraction) weightsInto(w [][]float64, sh sheet, den []float64) {
	for i, omega := range sh.omega {
		x := omega / fractionUnitRadS
		v := 1 / sizeSquared(den, f.order, x)
		for k := range w {
			w[k][i] = v
			v *= x
		}
	}
}

// sizeSquared returns |A|^2 at s = jx for the denominator den, or its highest power alone
// if den is nil: even powers of s are real, odd ones imaginary.
func sizeSquared(den []float64, order int, x float64) float64 {
	if den == nil {
		return math.Pow(x, 2*float64(order))
	}
	at := func(from int) float64 { // sum of (-x^2)^k over coefficients from, from+2, ...
		top := order - (order-from)%2
		v := 0.0
		for j := top; j >= from; j -= 2 {
			c := 1.0
			if j < order {
				c = den[j]
			}
			v = c - x*x*v
		}
		return v
	}
	even, odd := at(0), x*at(1)
	return even*even + odd*odd
}

// covariance fills cov. What the inputs leave is not equally strong at all frequencies,
// least of all near a slow mode, so its own size at each counts (White 1980,
// Econometrica 48, 817). Where few equations bear on a coefficient they leave too little:
// each remainder is divided by one less its leverage (MacKinnon and White 1985, J.
// Econometrics 29, 305).
func (f *fraction) covariance(sheets []sheet) {
	model, all := f.columns(len(sheets))
	meat := mat.NewSymDense(all, nil)
	row := make([]complex128, all)
	for k, sh := range sheets {
		for i, w := range sh.omega {
			for j := range row {
				row[j] = 0
			}
			weight := complex(1/cmplx.Abs(f.denominator(f.weighted, w)), 0)
			e := f.fill(row, sh, k, i, weight)
			for j, u := range row {
				e -= u * complex(f.p[j], 0)
			}
			// The two parts of e are alike and independent: half its square each.
			e /= complex(1-math.Min(0.9, f.leverage(row)), 0)
			f.remains[k][i] = e
			size := cmplx.Abs(e) / math.Sqrt2
			for j := range row {
				row[j] *= complex(size, 0)
			}
			accumulate(meat, row)
		}
	}
	var half, whole mat.Dense
	half.Mul(f.inverse, meat)
	whole.Mul(&half, f.inverse)
	f.cov = mat.NewSymDense(model, nil)
	for a := range model {
		for b := a; b < model; b++ {
			f.cov.SetSym(a, b, whole.At(a, b))
		}
	}
	f.p = f.p[:model]
}

// leverage returns how much an equation, the mean of its two parts, determines its own
// fit.
func (f *fraction) leverage(row []complex128) float64 {
	raw := f.inverse.RawSymmetric()
	sum := 0.0
	for a, u := range row {
		line := raw.Data[a*raw.Stride:]
		ur, ui := real(u), imag(u)
		sum += line[a] * (ur*ur + ui*ui)
		for b := a + 1; b < len(row); b++ {
			sum += 2 * line[b] * (ur*real(row[b]) + ui*imag(row[b]))
		}
	}
	return sum / 2
}

// fill writes the equation of frequency i of sheet k: what stands before each coefficient,
// and the right side.
func (f *fraction) fill(row []complex128, sh sheet, k, i int, weight complex128) complex128 {
	model, _ := f.columns(0)
	s := complex(0, sh.omega[i]/fractionUnitRadS)
	power := weight
	for j := range f.order + 1 {
		if j < f.order {
			row[j] = -power * sh.x[f.out][i]
			for m, in := range f.inputs {
				row[f.order*(1+m)+j] = power * sh.x[in][i]
			}
		}
		row[model+k*(f.order+1)+j] = power
		if j == f.order {
			return power * sh.x[f.out][i]
		}
		power *= s
	}
	return 0
}

// denominator evaluates A at omega; with no coefficients, its highest power.
func (f *fraction) denominator(den []float64, omegaRadS float64) complex128 {
	s := complex(0, omegaRadS/fractionUnitRadS)
	v := complex128(1)
	if den == nil {
		return cmplx.Pow(s, complex(float64(f.order), 0))
	}
	for j := f.order - 1; j >= 0; j-- {
		v = v*s + complex(den[j], 0)
	}
	return v
}

// at evaluates the answer to the input of that place among inputs with coefficients p.
func (f *fraction) at(p []float64, input int, omegaRadS float64) complex128 {
	s := complex(0, omegaRadS/fractionUnitRadS)
	var b complex128
	for j := f.order - 1; j >= 0; j-- {
		b = b*s + complex(p[f.order*(1+input)+j], 0)
	}
	return b / f.denominator(p[:f.order], omegaRadS)
}
