package wind

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
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
	// rss is the sum of squares left of the output in n real equations.
	rss float64
	n   int
}

// solve fits a fraction. passes of the weighting start from |omega|^order.
func solve(sheets []sheet, sums []products, out int, inputs []int, order, passes int) (*fraction, bool) {
	return solveFrom(nil, sheets, sums, out, inputs, order, passes)
}

// solveFrom is solve, the weighting starting from the denominator den.
func solveFrom(den []float64, sheets []sheet, sums []products, out int, inputs []int, order, passes int) (*fraction, bool) {
	f := &fraction{order: order, inputs: inputs, out: out}
	for pass := range passes {
		if !f.pass(sheets, sums, den, pass == passes-1) {
			return nil, false
		}
		f.weighted, den = den, f.p[:order]
	}
	f.rss = 0
	for k, sh := range sheets {
		for _, e := range f.left(sh, k) {
			f.rss += real(e)*real(e) + imag(e)*imag(e)
		}
	}
	return f, true
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

// pass solves once, weighted with the denominator den, and last fills inverse.
func (f *fraction) pass(sheets []sheet, sums []products, den []float64, last bool) bool {
	_, all := f.columns(len(sheets))
	normal := mat.NewSymDense(all, nil)
	right := mat.NewVecDense(all, nil)
	f.n = 0
	for k, sh := range sheets {
		f.n += 2 * len(sh.omega)
		f.normal(normal, right, sums[k], k, f.weights(sh, den))
	}
	if f.n <= all+10 {
		return false
	}
	var chol mat.Cholesky
	scale := equilibrate(normal, right)
	if !chol.Factorize(normal) {
		return false
	}
	var sol mat.VecDense
	if err := chol.SolveVecTo(&sol, right); err != nil {
		return false
	}
	f.p = make([]float64, all)
	for a := range all {
		f.p[a] = sol.AtVec(a) * scale[a]
	}
	if !last {
		return true
	}
	f.inverse = mat.NewSymDense(all, nil)
	if err := chol.InverseTo(f.inverse); err != nil {
		return false
	}
	for a := range all {
		for b := a; b < all; b++ {
			f.inverse.SetSym(a, b, f.inverse.At(a, b)*scale[a]*scale[b])
		}
	}
	return true
}

// weights returns, for each power k of s up to twice the order, |s|^k/|A|^2 at each
// frequency.
func (f *fraction) weights(sh sheet, den []float64) [][]float64 {
	w := make([][]float64, 2*f.order+1)
	for k := range w {
		w[k] = make([]float64, len(sh.omega))
	}
	for i, omega := range sh.omega {
		d := f.denominator(den, omega)
		v := 1 / (real(d)*real(d) + imag(d)*imag(d))
		for k := range w {
			w[k][i] = v
			v *= omega / fractionUnitRadS
		}
	}
	return w
}

// normal adds the normal equations of sheet k.
//
// Each coefficient stands before s^a z, z being the output, an input or, for T, one. The
// product of two such is |s|^(a+b) times the product of the two z, turned by b-a quarter
// turns: sums over the frequencies by power and pair are all that is needed.
func (f *fraction) normal(normal *mat.SymDense, right *mat.VecDense, prod products, k int, weights [][]float64) {
	column := f.terms(k)
	n := f.order
	sums := map[[3]int]float64{}
	product := func(p, q term) float64 {
		quarter := q.power - p.power
		i, j := p.z, q.z
		if i > j { // the mirrored product is the conjugate
			i, j, quarter = j, i, -quarter
		}
		key := [3]int{i, j, p.power + q.power}
		sum, known := sums[key]
		if !known {
			part := prod.re
			if quarter%2 != 0 {
				part = prod.im
			}
			sum = floats.Dot(weights[key[2]], part[prod.pair(i, j)])
			sums[key] = sum
		}
		switch quarter & 3 {
		case 1, 2: // j c has the real part -Im c
			sum = -sum
		}
		return sum * p.sign * q.sign
	}
	want := term{z: f.out, power: n, sign: 1}
	for a, p := range column {
		for b := a; b < len(column); b++ {
			q := column[b]
			i, j := min(p.column, q.column), max(p.column, q.column)
			normal.SetSym(i, j, normal.At(i, j)+product(p, q))
		}
		right.SetVec(p.column, right.AtVec(p.column)+product(p, want))
	}
}

// term is what stands before one coefficient: sign s^power z, z an index of products.
type term struct {
	column, z, power int
	sign             float64
}

// terms lists those of sheet k.
func (f *fraction) terms(k int) []term {
	var out []term
	n := f.order
	for j := range n {
		out = append(out, term{j, f.out, j, -1})
		for m, in := range f.inputs {
			out = append(out, term{n*(1+m) + j, in, j, 1})
		}
	}
	model := n * (1 + len(f.inputs))
	for j := range n + 1 {
		out = append(out, term{model + k*(n+1) + j, answerChannels, j, 1})
	}
	return out
}

// products holds conj(x_i) x_j of the channels of one sheet, and of the constant one as
// the last, by pair i <= j and frequency.
type products struct{ re, im [][]float64 }

func (products) pair(i, j int) int { return i*(answerChannels+1) + j }

func multiply(sh sheet) products {
	const n = answerChannels + 1
	p := products{make([][]float64, n*n), make([][]float64, n*n)}
	one := make([]complex128, len(sh.omega))
	for i := range one {
		one[i] = 1
	}
	z := append(append([][]complex128{}, sh.x...), one)
	for i := range n {
		for j := i; j < n; j++ {
			re, im := make([]float64, len(one)), make([]float64, len(one))
			for k := range one {
				a, b := z[i][k], z[j][k]
				re[k] = real(a)*real(b) + imag(a)*imag(b)
				im[k] = real(a)*imag(b) - imag(a)*real(b)
			}
			p.re[p.pair(i, j)], p.im[p.pair(i, j)] = re, im
		}
	}
	return p
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
			size := cmplx.Abs(e) / math.Sqrt2 / (1 - math.Min(0.9, f.leverage(row)))
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

// accumulate adds the normal equations of one complex equation with real unknowns.
func accumulate(normal *mat.SymDense, row []complex128) {
	raw := normal.RawSymmetric()
	for a, u := range row {
		if u == 0 {
			continue
		}
		ur, ui := real(u), imag(u)
		line := raw.Data[a*raw.Stride:]
		for b := a; b < len(row); b++ {
			v := row[b]
			line[b] += ur*real(v) + ui*imag(v)
		}
	}
}

// equilibrate scales the unknowns so that the diagonal is one; unknowns without an input
// are fixed at zero.
func equilibrate(normal *mat.SymDense, right *mat.VecDense) []float64 {
	n := normal.SymmetricDim()
	scale := make([]float64, n)
	for a := range n {
		if d := normal.At(a, a); d > 0 {
			scale[a] = 1 / math.Sqrt(d)
		} else {
			normal.SetSym(a, a, 1)
			scale[a] = 1
		}
	}
	for a := range n {
		right.SetVec(a, right.AtVec(a)*scale[a])
		for b := a; b < n; b++ {
			normal.SetSym(a, b, normal.At(a, b)*scale[a]*scale[b])
		}
	}
	return scale
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
