package response

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The table of lagged products must equal the sums written out.
func TestLagProducts(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var runs []run
	for _, n := range []int{40, 25, 5} {
		r := run{values: make([][]float64, 3)}
		for c := range r.values {
			for range n {
				r.values[c] = append(r.values[c], rng.NormFloat64()+1)
			}
		}
		runs = append(runs, r)
	}
	const top = 6
	g := newLagProducts(runs, []int{2}, []int{0, 1}, top)
	order := []int{2, 0, 1}
	for a := range 3 {
		for b := range 3 {
			for i := 0; i <= top; i++ {
				for j := 0; j <= top; j++ {
					var want float64
					for _, r := range runs {
						for k := top; k < len(r.values[0])-leadSteps; k++ {
							want += ahead(r, order[a], k-i) * ahead(r, order[b], k-j)
						}
					}
					got := g.table[(a*(top+1)+i)*g.size()+b*(top+1)+j]
					if math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
						t.Fatalf("channels %d %d lags %d %d: %g, want %g", a, b, i, j, got, want)
					}
				}
			}
		}
	}
}

// ahead is channel c, counted from the output 2, at step k; the sticks are seen early.
func ahead(r run, c, k int) float64 {
	if c != 2 {
		k += leadSteps
	}
	return r.values[c][k]
}
