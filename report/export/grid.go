package export

import (
	"cmp"
	"math"
	"slices"
)

// grid lists the rows of a table of times: ranges of k, ascending and apart, for which
// the time k/rate lies within a run of a channel.
type grid struct {
	rateHz float64
	ranges [][2]int // first and last
	rows   int
}

// rowOf returns the place of k in the table.
func (g *grid) rowOf(k int) int {
	row := 0
	for _, r := range g.ranges {
		if k <= r[1] {
			return row + k - r[0]
		}
		row += r[1] - r[0] + 1
	}
	return row
}

// rangeOf lists the k whose time lies within the run; last < first if there are none.
func rangeOf(r run, rateHz float64) [2]int {
	const rounding = 1e-6 // of a row: stamps are no rounder than that
	return [2]int{int(math.Ceil(r.t[0]*rateHz - rounding)), int(math.Floor(r.t[len(r.t)-1]*rateHz + rounding))}
}

// gridOf joins the ranges of all runs.
func gridOf(runs [][]run, rateHz float64) *grid {
	var all [][2]int
	for _, list := range runs {
		for _, r := range list {
			if span := rangeOf(r, rateHz); span[0] <= span[1] {
				all = append(all, span)
			}
		}
	}
	slices.SortFunc(all, func(a, b [2]int) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	g := &grid{rateHz: rateHz}
	for _, span := range all {
		if n := len(g.ranges); n > 0 && span[0] <= g.ranges[n-1][1]+1 {
			g.ranges[n-1][1] = max(g.ranges[n-1][1], span[1])
		} else {
			g.ranges = append(g.ranges, span)
		}
	}
	for _, span := range g.ranges {
		g.rows += span[1] - span[0] + 1
	}
	return g
}

// times lists the time of every row.
func (g *grid) times() []float64 {
	out := make([]float64, 0, g.rows)
	for _, span := range g.ranges {
		for k := span[0]; k <= span[1]; k++ {
			out = append(out, float64(k)/g.rateHz)
		}
	}
	return out
}
