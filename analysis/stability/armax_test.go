package stability

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// made is a record of a known model: two inputs, the second without effect, the first partly
// fed back from y two steps late, as a pilot would.
func made(seed uint64, n int, noise float64) stretch {
	rng := rand.New(rand.NewPCG(seed, 9))
	a, b, c := madeModel()
	s := stretch{y: make([]float64, n), u: [][]float64{make([]float64, n), make([]float64, n)}}
	e := make([]float64, n)
	for t := range n {
		s.u[1][t] = rng.NormFloat64()
		s.u[0][t] = rng.NormFloat64()
		if t > 2 {
			s.u[0][t] -= 0.4 * (s.y[t-2] - s.y[t-3])
		}
		e[t] = noise * rng.NormFloat64()
		s.y[t] = e[t] + 0.4
		for i := range a {
			if k := t - 1 - i; k >= 0 {
				s.y[t] -= a[i] * s.y[k]
				s.y[t] += b[i]*s.u[0][k] + c[i]*e[k]
			}
		}
	}
	return s
}

// madeModel has poles at 0.08 +- 0.5i and -1.5 per second, sampled at 0.2 s, and -0.2.
func madeModel() (a, b, c []float64) {
	p := []complex128{1}
	for _, z := range []complex128{cmplx.Exp(complex(0.016, 0.1)), cmplx.Exp(complex(0.016, -0.1)), complex(math.Exp(-0.3), 0), -0.2} {
		next := make([]complex128, len(p)+1)
		for i, v := range p {
			next[i] += v
			next[i+1] -= v * z
		}
		p = next
	}
	for _, v := range p[1:] {
		a = append(a, real(v))
	}
	return a, []float64{0.01, 0.05, 0.02, -0.01}, []float64{-0.6, 0.2, 0.1, 0}
}

// TestModelComesBackWithoutNoise: what the model is comes back to rounding.
func TestModelComesBackWithoutNoise(t *testing.T) {
	const tol = 1e-5
	data := []stretch{made(1, 400, 1e-9), made(2, 300, 1e-9)}
	long, err := longModel(data)
	if err != nil {
		t.Fatal(err)
	}
	m, err := fitFree(data, long.errors(data), 4, 5)
	if err != nil {
		t.Fatal(err)
	}
	a, b, _ := madeModel()
	for i := range a {
		if math.Abs(m.a[i]-a[i]) > tol || math.Abs(m.b[0][i]-b[i]) > tol || math.Abs(m.b[1][i]) > tol {
			t.Errorf("a%d %.7f want %.7f, b%d %.7f want %.7f, second %.2g", i+1, m.a[i], a[i], i+1, m.b[0][i], b[i], m.b[1][i])
		}
	}
	if math.Abs(m.k-0.4) > tol {
		t.Errorf("constant %g, want 0.4", m.k)
	}
	// The growing pair is one of the poles.
	p, _ := pole{s: 0.08, w: 0.5}.near(m.poles(0.2))
	if math.Hypot(p.s-0.08, p.w-0.5) > 1e-4 {
		t.Errorf("pole %.6f %+.6fi, want 0.08 +0.5i", p.s, p.w)
	}
}

// TestPolesInNoiseAreWithinTheirIntervals: with noise and feedback, the growing pair is
// found without bias, and 95 % intervals hold it.
func TestPolesInNoiseAreWithinTheirIntervals(t *testing.T) {
	const runs = 60
	in, sum, spread := 0, 0.0, 0.0
	for seed := range uint64(runs) {
		data := []stretch{made(seed, 500, 0.3)}
		long, err := longModel(data)
		if err != nil {
			t.Fatal(err)
		}
		m, err := fitFree(data, long.errors(data), 4, 5)
		if err != nil {
			t.Fatal(err)
		}
		p, ok := pole{s: 0.08, w: 0.5}.near(m.poles(0.2))
		if !ok {
			t.Fatal("no pole")
		}
		z := p.modeWith(1.96).DampingRatio
		want := -0.08 / math.Hypot(0.08, 0.5)
		if z.Low <= want && want <= z.High {
			in++
		}
		sum += (z.Value - want) / runs
		spread += (z.Value - want) * (z.Value - want) / runs
	}
	if share := float64(in) / runs; share < 0.87 {
		t.Errorf("intervals hold the truth in %.2f of the runs", share)
	}
	if math.Abs(sum) > 3*math.Sqrt(spread/runs) {
		t.Errorf("mean error %.4f, spread %.4f", sum, math.Sqrt(spread))
	}
}

// TestGradientIsTheDerivative of half the sum of squares by each parameter, but for what the
// first samples of the record add, which are filtered as if nothing had been before them.
func TestGradientIsTheDerivative(t *testing.T) {
	data := []stretch{made(3, 6000, 0.3)}
	m := newArmax(hoverForm{0.2}, 4, 2, 1)
	if !m.set([]float64{1.2, 0.3, 0.06, 0.03}) {
		t.Fatal("no model")
	}
	copy(m.c, []float64{-0.4, 0.1, 0, 0.05})
	m.d[0] = -0.5
	m.b[0][1] = 0.03
	_, g, _, _ := m.normal(data)
	for i := range g {
		step := make([]float64, len(g))
		h := 1e-6
		step[i] = h
		up, ok1 := m.moved(step)
		step[i] = -h
		down, ok2 := m.moved(step)
		if !ok1 || !ok2 {
			t.Fatal("moved to no model")
		}
		want := -(up.cost(data) - down.cost(data)) / 4 / h
		if math.Abs(g[i]-want) > 2e-3*math.Abs(want)+0.2 {
			t.Errorf("parameter %d: %.6g, want %.6g", i, g[i], want)
		}
	}
}

// TestShiftedSumsAreThoseRowByRow: the short way of summing gives the same equations.
func TestShiftedSumsAreThoseRowByRow(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	noise := func() []float64 {
		x := make([]float64, 50)
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		return x
	}
	signals := []regressor{{noise(), 0, 3}, {noise(), 3, 5}, {noise(), 8, 1}}
	e := noise()
	const from, size = 5, 9
	short, long := newNormal(size), newNormal(size)
	short.addShifted(signals, e, from)
	for k := from; k < len(e); k++ {
		row := make([]float64, size)
		for _, s := range signals {
			for i := range s.lags {
				row[s.at+i] = s.x[k-1-i]
			}
		}
		long.add(row, e[k])
	}
	for i := range size {
		for j := range i + 1 {
			if d := short.left[i*size+j] - long.left[i*size+j]; math.Abs(d) > 1e-10 {
				t.Errorf("left %d %d off by %g", i, j, d)
			}
		}
		if math.Abs(short.right[i]-long.right[i]) > 1e-10 {
			t.Errorf("right %d: %g want %g", i, short.right[i], long.right[i])
		}
	}
}

// TestStableIsWhatTheRootsSay, for any polynomial.
func TestStableIsWhatTheRootsSay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SliceOfN(rapid.Float64Range(-1.5, 1.5), 1, 5).Draw(t, "c")
		most := 0.0
		for _, z := range roots(c) {
			most = max(most, cmplx.Abs(z))
		}
		if math.Abs(most-1) > 1e-3 && stable(c) != (most < 1) {
			t.Errorf("%v: stable %v, largest root %.5f", c, stable(c), most)
		}
	})
}
