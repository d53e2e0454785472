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

// fraction is the fitted answer of one output to a few inputs.
type fraction struct {
	order  int
	inputs []int
	// p holds A's coefficients but the highest, which is one, then each input's B, all
	// from the constant up; weighted is the denominator the last pass weighted with, cov
	// the covariance of p, inverse that of the normal equations.
	p, weighted  []float64
	cov, inverse *mat.SymDense
	// rss is the sum of squares left of the output, total of the output itself, in n
	// real equations.
	rss, total float64
	n          int
}

// solve fits a fraction. delayS is taken off each input, in order of inputs. passes of the
// weighting start from the denominator start, or from |omega|^order if it is nil.
func solve(sheets []sheet, out int, inputs []int, delayS []float64, order, passes int, start []float64) (*fraction, bool) {
	f := &fraction{order: order, inputs: inputs}
	den := start
	for range passes {
		if !f.pass(sheets, out, delayS, den) {
			return nil, false
		}
		den = f.p[:order]
	}
	f.covariance(sheets, out, delayS)
	return f, true
}

// columns returns the number of coefficients of A and B, and with those of T.
func (f *fraction) columns(sheets int) (model, all int) {
	model = f.order + len(f.inputs)*f.order
	return model, model + sheets*(f.order+1)
}

func (f *fraction) pass(sheets []sheet, out int, delayS, den []float64) bool {
	model, all := f.columns(len(sheets))
	normal := mat.NewSymDense(all, nil)
	right := mat.NewVecDense(all, nil)
	row := make([]complex128, all)
	f.rss, f.total, f.n = 0, 0, 0
	for k, sh := range sheets {
		for i, w := range sh.omega {
			for j := range row {
				row[j] = 0
			}
			weight := complex(1/cmplx.Abs(f.denominator(den, w)), 0)
			want := f.fill(row, sh, k, i, out, model, delayS, weight)
			y := cmplx.Abs(sh.x[out][i])
			f.total += y * y
			f.n += 2
			accumulate(normal, right, row, want)
			f.rss += real(want)*real(want) + imag(want)*imag(want)
		}
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
	f.rss -= mat.Dot(&sol, right)
	f.rss = math.Max(f.rss, 1e-12*f.total)
	inverse := mat.NewSymDense(all, nil)
	if err := chol.InverseTo(inverse); err != nil {
		return false
	}
	f.p = make([]float64, all)
	unscaled := mat.NewSymDense(all, nil)
	for a := range all {
		f.p[a] = sol.AtVec(a) * scale[a]
		for b := a; b < all; b++ {
			unscaled.SetSym(a, b, inverse.At(a, b)*scale[a]*scale[b])
		}
	}
	f.inverse, f.weighted = unscaled, den
	return true
}

// covariance fills cov. What the inputs leave is not equally strong at all frequencies,
// least of all near a slow mode, so its own size at each counts (White 1980,
// Econometrica 48, 817). Where few equations bear on a coefficient they leave too little:
// each remainder is divided by one less its leverage (MacKinnon and White 1985, J.
// Econometrics 29, 305).
func (f *fraction) covariance(sheets []sheet, out int, delayS []float64) {
	model, all := f.columns(len(sheets))
	meat := mat.NewSymDense(all, nil)
	nothing := mat.NewVecDense(all, nil)
	row := make([]complex128, all)
	for k, sh := range sheets {
		for i, w := range sh.omega {
			for j := range row {
				row[j] = 0
			}
			weight := complex(1/cmplx.Abs(f.denominator(f.weighted, w)), 0)
			e := f.fill(row, sh, k, i, out, model, delayS, weight)
			for j, u := range row {
				e -= u * complex(f.p[j], 0)
			}
			// The two parts of e are alike and independent: half its square each.
			size := cmplx.Abs(e) / math.Sqrt2 / (1 - math.Min(0.9, f.leverage(row)))
			for j := range row {
				row[j] *= complex(size, 0)
			}
			accumulate(meat, nothing, row, 0)
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

// fill writes one equation: what stands before each coefficient, and the right side.
func (f *fraction) fill(row []complex128, sh sheet, k, i, out, model int, delayS []float64, weight complex128) complex128 {
	w := sh.omega[i]
	s := complex(0, w/fractionUnitRadS)
	power := weight
	for j := range f.order + 1 {
		if j < f.order {
			row[j] = -power * sh.x[out][i]
			for m, in := range f.inputs {
				x := sh.x[in][i]
				if delayS[m] != 0 {
					x *= cmplx.Exp(complex(0, -w*delayS[m]))
				}
				row[f.order*(1+m)+j] = power * x
			}
		}
		row[model+k*(f.order+1)+j] = power
		if j == f.order {
			return power * sh.x[out][i]
		}
		power *= s
	}
	return 0
}

// accumulate adds one complex equation with real unknowns to the normal equations.
func accumulate(normal *mat.SymDense, right *mat.VecDense, row []complex128, want complex128) {
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
		right.SetVec(a, right.AtVec(a)+ur*real(want)+ui*imag(want))
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
