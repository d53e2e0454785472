package wind

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// normal adds the normal equations of sheet k.
//
// Each coefficient stands before s^a z, z being the output, an input or, for T, one. The
// product of two such is |s|^(a+b) times the product of the two z, turned by b-a quarter
// turns: sums over the frequencies by power and pair are all that is needed.
func (f *fraction) normal(normal *mat.SymDense, right *mat.VecDense, prod products, k int, weights [][]float64) {
	f.normalWith(newPowerSums(f.order), normal, right, prod, k, weights)
}

// powerSums holds sums over the frequencies of products of two z times a power of |s|, by
// pair and power; NaN where not formed yet.
type powerSums struct {
	sum    []float64
	powers int
}

func newPowerSums(order int) powerSums {
	m := powerSums{powers: 2*order + 1}
	m.sum = make([]float64, (answerChannels+1)*(answerChannels+1)*m.powers)
	for i := range m.sum {
		m.sum[i] = math.NaN()
	}
	return m
}

// of returns the sum of the pair's products with that power, formed when first asked for.
// Even powers between the two take the real part, odd ones the imaginary part.
func (m powerSums) of(prod products, pair, power int, odd bool, weights [][]float64) float64 {
	at := &m.sum[pair*m.powers+power]
	if math.IsNaN(*at) {
		part := prod.re
		if odd {
			part = prod.im
		}
		*at = floats.Dot(weights[power], part[pair])
	}
	return *at
}

// forget takes back the sums of a pair.
func (m powerSums) forget(pair int) {
	for i := range m.powers {
		m.sum[pair*m.powers+i] = math.NaN()
	}
}

// normalWith is normal with the sums that m holds already.
func (f *fraction) normalWith(m powerSums, normal *mat.SymDense, right *mat.VecDense, prod products, k int, weights [][]float64) {
	column := f.terms(k)
	product := func(p, q term) float64 {
		quarter := q.power - p.power
		i, j := p.z, q.z
		if i > j { // the mirrored product is the conjugate
			i, j, quarter = j, i, -quarter
		}
		sum := m.of(prod, prod.pair(i, j), p.power+q.power, quarter%2 != 0, weights)
		switch quarter & 3 {
		case 1, 2: // j c has the real part -Im c
			sum = -sum
		}
		return sum * p.sign * q.sign
	}
	want := term{z: f.out, power: f.order, sign: 1}
	n := normal.RawSymmetric()
	for a, p := range column {
		for _, q := range column[a:] {
			i, j := min(p.column, q.column), max(p.column, q.column)
			n.Data[i*n.Stride+j] += product(p, q)
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
