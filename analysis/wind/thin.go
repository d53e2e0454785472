package wind

import "math"

// thinS is the step to which quickly logged wind is thinned for all that does not look at
// single readings: 20 Hz, far above the gusts that move an aircraft.
const thinS = 0.05

// thinned is the wind as logged, all, beside the same in means over cells of thinS. Where
// it was logged no faster than that each cell is one reading. Speed, its spread, the
// extremes and the directions are those of all readings; turbulence, changes of the air
// and answers to gusts are worked out from the cells.
type thinned struct {
	all   series
	cells series
	first []int // of all, by cell, and the end; nil if each cell is one reading
	// fromNorth and fromEast are the speed times cosine and sine of the direction it
	// comes from: 0 in still air, NaN where the direction is unknown, nil if it was not
	// logged. cells.dir is left nil.
	fromNorth, fromEast []float64
}

// thin cuts s into cells by time, so that lost readings leave a cell with fewer and gaps
// one without.
func (s series) thin() thinned {
	s = s.turned()
	th := thinned{all: s, cells: s}
	th.cells.dir, th.cells.sin, th.cells.cos = nil, nil, nil
	per := 1
	if s.stepS > 0 {
		per = int(thinS/s.stepS + 1e-6)
	}
	if per >= 2 {
		th.first = cellStarts(s.t, float64(per)*s.stepS)
		th.cells.t, th.cells.speed = th.means(s.t), th.means(s.speed)
		th.cells.stepS = float64(per) * s.stepS
		th.cells.gapS = 2.5 * th.cells.stepS
	}
	if s.dir != nil {
		th.components()
	}
	return th
}

// cellStarts returns the index of the first reading of each cell that holds any, and the
// number of readings.
func cellStarts(t []float64, width float64) []int {
	if len(t) == 0 {
		return []int{0}
	}
	start := make([]int, 0, int(float64(len(t))/2)+2)
	from := t[0] - width*1e-3
	next := from
	for i, at := range t {
		if at >= next {
			start = append(start, i)
			next = from + width*(1+math.Floor((at-from)/width))
		}
	}
	return append(start, len(t))
}

// means returns the mean of x over each cell.
func (th thinned) means(x []float64) []float64 {
	out := make([]float64, len(th.first)-1)
	for k := range out {
		sum := 0.0
		for _, v := range x[th.first[k]:th.first[k+1]] {
			sum += v
		}
		out[k] = sum / float64(th.first[k+1]-th.first[k])
	}
	return out
}

// components fills fromNorth and fromEast. Readings of a cell without a direction are
// taken to come from where the others do.
func (th *thinned) components() {
	n := len(th.cells.t)
	th.fromNorth, th.fromEast = make([]float64, n), make([]float64, n)
	s := th.all
	for k := range n {
		from, to := th.span(k)
		var north, east, known, all float64
		for i := from; i < to; i++ {
			v := s.speed[i]
			all += v
			if x := v * s.cos[i]; !math.IsNaN(x) {
				north += x
				east += v * s.sin[i]
				known += v
			}
		}
		switch {
		case all == 0:
		case known == 0:
			th.fromNorth[k], th.fromEast[k] = math.NaN(), math.NaN()
		default:
			scale := all / known / float64(to-from)
			th.fromNorth[k], th.fromEast[k] = north*scale, east*scale
		}
	}
}

// span returns the readings of cell k.
func (th thinned) span(k int) (from, to int) {
	if th.first == nil {
		return k, k + 1
	}
	return th.first[k], th.first[k+1]
}

// part returns the cells from i to before j and their readings.
func (th thinned) part(i, j int) thinned {
	from, to := i, j
	if th.first != nil {
		from, to = th.first[i], th.first[j]
	}
	o := th
	o.cells = th.cells.slice(i, j)
	o.all = th.all.slice(from, to)
	if th.first != nil {
		o.first = make([]int, j-i+1)
		for k := range o.first {
			o.first[k] = th.first[i+k] - from
		}
	}
	if th.fromNorth != nil {
		o.fromNorth, o.fromEast = th.fromNorth[i:j], th.fromEast[i:j]
	}
	return o
}

// against returns the components against a heading at cell k: head wind and wind from the
// right.
func (th thinned) against(k int, headingRad float64) (headMS, crossMS float64) {
	if th.cells.speed[k] == 0 && !math.IsNaN(headingRad) {
		return 0, 0
	}
	s, c := math.Sincos(headingRad)
	n, e := th.fromNorth[k], th.fromEast[k]
	return n*c + e*s, e*c - n*s
}
