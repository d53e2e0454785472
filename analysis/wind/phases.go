package wind

import (
	"math"

	"hopcard/flight"
)

const (
	// nodeS is the grid on which changes of the air are looked for, shortestPhaseS the
	// shortest phase told apart: shorter ones are gusts.
	nodeS          = 5.0
	shortestPhaseS = 30.0
)

// changePoints returns the indexes into s where mean or spread of the speed change, first
// index 0 and last len(s.t) included.
//
// The record is cut where that lowers the sum of n log(variance) over the parts by more
// than a penalty (optimal partitioning, Jackson et al. 2005, IEEE Signal Process. Lett.
// 12, 105). Readings count as the number of independent ones: n is the length over twice
// the integral time scale of the speed about the means of the parts. That scale is first
// taken from the record as a whole, which is too long if the air changed and so errs to
// fewer phases, then from the parts found, until nothing changes.
func changePoints(s series) []int {
	n := len(s.t)
	whole := []int{0, n}
	if n < 8 || s.t[n-1]-s.t[0] < 2*shortestPhaseS {
		return whole
	}
	grid := nodes(s)
	cuts, parts := whole, thirds(s)
	for range 4 {
		scale := correlationTimeS(s, parts)
		if math.IsNaN(scale) {
			return cuts
		}
		next := partition(s, grid, math.Max(scale, s.stepS))
		if equal(next, cuts) {
			break
		}
		cuts, parts = next, next
	}
	return cuts
}

// thirds cuts s into parts of about 100 s, at least three.
func thirds(s series) []int {
	n := len(s.t)
	parts := max(3, int((s.t[n-1]-s.t[0])/100))
	cuts := []int{0}
	for k := 1; k <= parts; k++ {
		cuts = append(cuts, n*k/parts)
	}
	return cuts
}

// nodes returns the indexes of the readings nearest to a grid of nodeS, or of three
// readings where they are further apart.
func nodes(s series) []int {
	step := math.Max(nodeS, 3*s.stepS)
	grid := []int{0}
	next := s.t[0] + step
	for i, t := range s.t {
		if t >= next {
			grid = append(grid, i)
			next += step * (1 + math.Floor((t-next)/step))
		}
	}
	if grid[len(grid)-1] != len(s.t) {
		grid = append(grid, len(s.t))
	}
	return grid
}

// correlationTimeS returns the time one independent reading takes, twice the integral
// time scale, pooled over the parts between cuts; NaN if they are too short to tell.
func correlationTimeS(s series, cuts []int) float64 {
	length, count := 0.0, 0.0
	for k := 1; k < len(cuts); k++ {
		part := s.slice(cuts[k-1], cuts[k])
		m := effective(part.t, part.speed, s.stepS)
		eff := m.effectiveN()
		if math.IsNaN(eff) || math.IsInf(eff, 0) {
			continue
		}
		length += float64(m.n) * s.stepS
		count += math.Min(eff, float64(m.n))
	}
	if count == 0 {
		return math.NaN()
	}
	return length / count
}

// partition returns the cheapest cuts of s at nodes of grid.
func partition(s series, grid []int, scaleS float64) []int {
	sum := make([]float64, len(s.t)+1)
	square := make([]float64, len(s.t)+1)
	for i, v := range s.speed {
		sum[i+1] = sum[i] + v
		square[i+1] = square[i] + v*v
	}
	total := float64(len(s.t)) * s.stepS / scaleS
	// Two parameters and a place for each part, each worth log(n) (Schwarz 1978), and
	// half as much again for the place, which is searched for (after Zhang and Siegmund
	// 2007, Biometrics 63, 22).
	penalty := 3.5 * math.Log(math.Max(total, 2))
	floor := varianceFloor(s, sum, square)
	least := max(1, int(math.Ceil(shortestPhaseS/s.stepS)))
	cost := func(i, j int) float64 {
		n := float64(j - i)
		mean := (sum[j] - sum[i]) / n
		v := (square[j]-square[i])/n - mean*mean
		return n * s.stepS / scaleS * math.Log(math.Max(v, floor))
	}
	best := make([]float64, len(grid))
	from := make([]int, len(grid))
	for j := 1; j < len(grid); j++ {
		best[j] = math.Inf(1)
		for i := range j {
			if i > 0 && (grid[j]-grid[i] < least || math.IsInf(best[i], 1)) {
				continue
			}
			if grid[j]-grid[i] < least && j < len(grid)-1 {
				continue
			}
			if c := best[i] + cost(grid[i], grid[j]) + penalty; c < best[j] {
				best[j], from[j] = c, i
			}
		}
	}
	var back []int
	for j := len(grid) - 1; j > 0; j = from[j] {
		back = append(back, grid[j])
	}
	cuts := []int{0}
	for k := len(back) - 1; k >= 0; k-- {
		cuts = append(cuts, back[k])
	}
	return cuts
}

// varianceFloor keeps a stuck anemometer from costing nothing: a thousandth of the
// variance of the record, at least that of 1 cm/s.
func varianceFloor(s series, sum, square []float64) float64 {
	n := float64(len(s.t))
	mean := sum[len(s.t)] / n
	return math.Max(1e-3*(square[len(s.t)]/n-mean*mean), 1e-4)
}

func equal(a, b []int) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// phases sums up the wind between the changes of the air, over span.
func phases(th thinned, span flight.Span, around surroundings) []Phase {
	s := th.cells
	cuts := changePoints(s)
	var out []Phase
	for k := 1; k < len(cuts); k++ {
		part := th.part(cuts[k-1], cuts[k])
		sp := span
		if k > 1 {
			sp.FromS = s.t[cuts[k-1]]
		}
		if k < len(cuts)-1 {
			sp.ToS = s.t[cuts[k]]
		}
		p := statistics(part, sp, around)
		p.addTurbulence(part, around)
		out = append(out, *p)
	}
	return out
}
