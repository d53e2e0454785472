package wind

import (
	"math"
	"slices"

	"hopcard/flight"
)

const (
	// changeCellS is the width of the cells whose means stand for the record where changes
	// of the air are looked for, shortestPhaseS the shortest phase told apart: shorter ones
	// are gusts.
	changeCellS    = 2.5
	shortestPhaseS = 30.0
)

// changePoints returns the indexes into s where mean or spread of the speed change, first
// index 0 and last len(s.t) included.
//
// Cell means x follow from one to the next with the correlation r of the record; what is
// new in each, x[i] - r x[i-1], is independent of the ones before. A part's first cell is
// all new. The record is cut where
// that lowers the sum of n log(variance of what is new) over the parts by more than a
// penalty (optimal partitioning, Jackson et al. 2005, IEEE Signal Process. Lett. 12, 105).
// Both r and how much less the values are worth than independent normal ones are first
// taken from thirds of the record, or parts of about 100 s, then from the parts found, until
// nothing changes.
func changePoints(s series) []int {
	n := len(s.t)
	whole := []int{0, n}
	if n < 8 || s.t[n-1]-s.t[0] < 2*shortestPhaseS {
		return whole
	}
	c := changeCells(s)
	least := max(2, int(math.Ceil(shortestPhaseS/c.stepS)))
	cuts, parts := []int{0, len(c.mean)}, c.parts()
	for range 4 {
		r, worth := c.memory(parts)
		if math.IsNaN(r) {
			return whole
		}
		next := partition(c.mean, r, worth, least)
		if slices.Equal(next, cuts) {
			break
		}
		cuts, parts = next, next
	}
	for i, k := range cuts {
		cuts[i] = c.first[k]
	}
	return cuts
}

// cellRecord holds means over cells of equal width, NaN where there are no readings, and
// the index of the first reading at or after each cell's start, and the number of readings.
type cellRecord struct {
	mean  []float64
	first []int
	stepS float64
}

// changeCells forms the cells; a gap, however long, is one cell. Records of hours get wider
// ones, at most mostCells of the kind.
func changeCells(s series) cellRecord {
	const mostCells = 1500
	n := len(s.t)
	logged := math.Min(s.t[n-1]-s.t[0], float64(n)*s.gapS)
	c := cellRecord{stepS: math.Max(math.Max(changeCellS, s.stepS), logged/mostCells)}
	start := s.t[0]
	for i := 0; i < n; {
		if s.t[i] >= start+2*c.stepS {
			c.mean, c.first = append(c.mean, math.NaN()), append(c.first, i)
			start = s.t[i]
		}
		sum, from, end := 0.0, i, start+c.stepS*(1-1e-6)
		for ; i < n && s.t[i] < end; i++ {
			sum += s.speed[i]
		}
		c.mean, c.first = append(c.mean, sum/float64(i-from)), append(c.first, from) // NaN without readings
		start += c.stepS
	}
	c.first = append(c.first, n)
	return c
}

// parts cuts the record into parts of about 100 s, at least three.
func (c cellRecord) parts() []int {
	n := len(c.mean)
	parts := max(3, int(float64(n)*c.stepS/100))
	cuts := []int{0}
	for k := 1; k <= parts; k++ {
		cuts = append(cuts, n*k/parts)
	}
	return cuts
}

// news returns what is new in each cell, NaN where it or the one before is missing.
func (c cellRecord) news(r float64) []float64 {
	out := make([]float64, len(c.mean))
	out[0] = math.NaN()
	for i := 1; i < len(out); i++ {
		out[i] = c.mean[i] - r*c.mean[i-1]
	}
	return out
}

// memory returns the correlation from cell to cell about the means of the parts, NaN if it
// cannot be told, and what share of an independent normal value one is worth for a spread:
// gusts come in bursts, so that squares of what is new scatter more than a normal's and go
// together (the sum of their autocovariance, to 10 s with Bartlett's weights, over that of
// independent normal values, Newey and West 1987, Econometrica 55, 703).
func (c cellRecord) memory(parts []int) (r, worth float64) {
	lag := func(x []float64, k int) (sum, n float64) {
		for i := k; i < len(x); i++ {
			if p := x[i] * x[i-k]; !math.IsNaN(p) {
				sum += p
				n++
			}
		}
		return sum, n
	}
	var one, square float64
	for k := 1; k < len(parts); k++ {
		x := about(c.mean[parts[k-1]:parts[k]])
		a, _ := lag(x, 1)
		b, n := lag(x, 0)
		// Taking off its own mean makes a short part look less correlated.
		one += a + b/math.Max(1, n)
		square += b
	}
	if !(square > 0) {
		return math.NaN(), 1
	}
	r = math.Max(0, math.Min(0.95, one/square))
	news := c.news(r)
	const lags = 4
	var sums [lags + 1]float64
	count := 0.0
	for k := 1; k < len(parts); k++ {
		x := about(news[parts[k-1]:parts[k]])
		v, n := lag(x, 0)
		if !(v > 0) {
			continue
		}
		for i := range x {
			x[i] = x[i]*x[i]*n/v - 1
		}
		for j := range sums {
			sum, _ := lag(x, j)
			sums[j] += sum
		}
		count += n
	}
	if count == 0 {
		return math.NaN(), 1
	}
	spread := sums[0]
	for j := 1; j <= lags; j++ {
		spread += 2 * (1 - float64(j)/(lags+1)) * sums[j]
	}
	return r, 1 / math.Max(1, spread/count/2)
}

// about returns x less its mean, NaN left where it is.
func about(x []float64) []float64 {
	var p weighted
	for _, v := range x {
		p.add(v, 1)
	}
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v - p.value()
	}
	return out
}

// partition returns the cheapest cuts of the cells x, which follow each other with the
// correlation r, into parts of at least least cells, each worth a share of an independent
// one.
func partition(x []float64, r, worth float64, least int) []int {
	n := len(x)
	cost, total := partCost(x, r, worth)
	// Two parameters and a place for each part, each worth log(n) (Schwarz 1978), and
	// half as much again for the place, which is searched for (after Zhang and Siegmund
	// 2007, Biometrics 63, 22).
	penalty := 3.5 * math.Log(math.Max(total*worth, 2))
	best, from := make([]float64, n+1), make([]int, n+1)
	for j := 1; j <= n; j++ {
		best[j] = math.Inf(1)
		for i := 0; i < j; i++ {
			if j-i < least && !(i == 0 && j == n) || math.IsInf(best[i], 1) {
				continue
			}
			if c := best[i] + cost(i, j) + penalty; c < best[j] {
				best[j], from[j] = c, i
			}
		}
	}
	var cuts []int
	for j := n; j > 0; j = from[j] {
		cuts = append(cuts, j)
	}
	cuts = append(cuts, 0)
	slices.Reverse(cuts)
	return cuts
}

// partCost returns the cost of cells i to before j as one part, and how many cells hold
// readings: n log(variance of what is new), the likelihood of a first-order normal process
// that starts from its own mean and spread (Box, Jenkins and Reinsel 1994, 7.1.4).
func partCost(x []float64, r, worth float64) (cost func(i, j int) float64, total float64) {
	n := len(x)
	count, sum, square := make([]float64, n+1), make([]float64, n+1), make([]float64, n+1)
	for i := range x {
		count[i+1], sum[i+1], square[i+1] = count[i], sum[i], square[i]
		if i == 0 {
			continue
		}
		if v := x[i] - r*x[i-1]; !math.IsNaN(v) {
			count[i+1]++
			sum[i+1] += v
			square[i+1] += v * v
		}
	}
	mean := sum[n] / count[n]
	// A stuck anemometer must not cost nothing: a thousandth of the variance of the
	// record, at least that of 1 cm/s.
	floor := math.Max(1e-3*(square[n]/count[n]-mean*mean), 1e-4*(1-r*r))
	cost = func(i, j int) float64 {
		k := count[j] - count[i+1]
		s, q := sum[j]-sum[i+1], square[j]-square[i+1]
		// Least squares of the mean m from k times (1-r) m and once sqrt(1-r^2) m.
		a := k * (1 - r) * (1 - r)
		b := (1 - r) * s
		if first := x[i]; !math.IsNaN(first) {
			k++
			a += 1 - r*r
			b += (1 - r*r) * first
			q += (1 - r*r) * first * first
		}
		if k < 2 {
			return 0
		}
		return k * worth * math.Log(math.Max((q-b*b/a)/k, floor))
	}
	return cost, count[n] + 1
}

// phases sums up the wind between the changes of the air, over span, all but the turbulence,
// with the readings of each.
func phases(th thinned, span flight.Span, around surroundings) (out []Phase, parts []thinned) {
	s := th.cells
	cuts := changePoints(s)
	for k := 1; k < len(cuts); k++ {
		part := th.part(cuts[k-1], cuts[k])
		sp := span
		if k > 1 {
			sp.FromS = s.t[cuts[k-1]]
		}
		if k < len(cuts)-1 {
			sp.ToS = s.t[cuts[k]]
		}
		out, parts = append(out, *statistics(part, sp, around)), append(parts, part)
	}
	return out, parts
}
