package importers

import (
	"math"
	"runtime"
	"sync/atomic"

	"github.com/sourcegraph/conc"
	"gonum.org/v1/gonum/stat"
)

// figures are what the values of a column look like, in written units. Extremes and
// counts are exact; medians and percentiles come from some thousand values spread evenly
// over the record, so that they cost the same however long it is.
type figures struct {
	n         int // finite values
	low, high float64
	median    float64
	sd        float64 // standard deviation
	absHigh   float64 // 99.9th percentile of the magnitude
	whole     bool    // all values are whole numbers
	repeats   int     // values equal to the one before
	bend      float64 // median magnitude of second differences, NaN without any
	step      float64 // quantisation, 0 if unknown
	stands    []stand // stretches of at least leastStand equal values
	atLow     extreme
	atHigh    extreme
}

// stand is a stretch of rows from first to last, both included, that hold one value.
type stand struct{ first, last int }

// leastStand is the shortest stand that is kept, in rows.
const leastStand = 20

// extreme counts the rows at the end of a range, in runs of at least leastRun.
type extreme struct {
	value             float64
	rows, runs, first int
}

const leastRun = 4

// take counts a run of n rows from first on whose value is above (with sense 1) or
// below (with sense -1) all before, or equal to it.
func (e *extreme) take(value float64, first, n int, sense float64) {
	switch {
	case n < leastRun || sense*value < sense*e.value:
	case value == e.value && e.runs > 0:
		e.rows, e.runs = e.rows+n, e.runs+1
	default:
		*e = extreme{value, n, 1, first}
	}
}

// look takes the figures of a column.
func look(v []float64) figures {
	f := figures{n: len(v), low: math.Inf(1), high: math.Inf(-1), whole: true}
	f.atLow.value, f.atHigh.value = math.Inf(1), math.Inf(-1)
	from, last := 0, nan
	for i, x := range v {
		if x == last {
			continue
		}
		if i-from > 1 {
			f.run(v, from, i)
		}
		from, last = i, x
		if x < f.low {
			f.low = x
		}
		if x > f.high {
			f.high = x
		}
		if x != x {
			f.n--
		} else if f.whole && x != math.Trunc(x) {
			f.whole = false
		}
	}
	f.run(v, from, len(v))
	if f.n == 0 {
		return figures{bend: nan}
	}
	some := spread(v, f.n)
	f.sd = stat.PopStdDev(some, nil)
	f.median = nth(some, len(some)/2)
	for i, x := range some {
		some[i] = math.Abs(x)
	}
	f.absHigh = nth(some, (len(some)-1)*999/1000)
	f.bend = bend(v)
	f.step = quantisation(v)
	return f
}

// run takes the run of equal values from first to before end.
func (f *figures) run(v []float64, first, end int) {
	if end-first <= 1 {
		return
	}
	f.repeats += end - first - 1
	f.atLow.take(v[first], first, end-first, -1)
	f.atHigh.take(v[first], first, end-first, 1)
	if end-first >= leastStand {
		f.stands = append(f.stands, stand{first, end - 1})
	}
}

// bend returns the median magnitude of the second differences of v, which motion hardly
// reaches and noise does; NaN without any.
func bend(v []float64) float64 {
	d := make([]float64, 0, mostKept)
	for i := 1; i+1 < len(v); i += 1 + len(v)/mostKept {
		if x := math.Abs(v[i-1] - 2*v[i] + v[i+1]); x-x == 0 {
			d = append(d, x)
		}
	}
	return middleOf(d)
}

// quantisation returns the step in which values are written: the least difference
// between neighbours, if the others are multiples of it; 0 otherwise.
func quantisation(v []float64) float64 {
	step := math.Inf(1)
	n := min(len(v), 5000)
	if at := (len(v) - n) / 2; at > 0 && v[0] == v[n-1] {
		v = v[at:] // a stick at rest at first shows no steps
	}
	for i := 1; i < n; i++ {
		if d := math.Abs(v[i] - v[i-1]); d > 1e-12*(1+math.Abs(v[i])) && d < step {
			step = d
		}
	}
	if math.IsInf(step, 1) {
		return 0
	}
	for i := 1; i < n; i++ {
		d := math.Abs(v[i]-v[i-1]) / step
		if d == d && math.Abs(d-math.Round(d)) > 0.02 {
			return 0
		}
	}
	return step
}

// mostKept is how many values a median or percentile is taken from at most.
const mostKept = 4096

// spread returns at most mostKept of the n finite values of v, evenly spread over them.
func spread(v []float64, n int) []float64 {
	stride := 1 + (n-1)/mostKept
	some := make([]float64, 0, 1+n/stride)
	if n == len(v) {
		for i := 0; i < n; i += stride {
			some = append(some, v[i])
		}
		return some
	}
	wait := 0
	for _, x := range v {
		if x-x != 0 {
			continue
		}
		if wait == 0 {
			some, wait = append(some, x), stride
		}
		wait--
	}
	return some
}

// medianOf returns the median of the finite values, the mean of the middle two for an
// even number, NaN for none; of many values it takes those of spread.
func medianOf(v []float64) float64 {
	n := 0
	for _, x := range v {
		if x-x == 0 {
			n++
		}
	}
	return middleOf(spread(v, n))
}

// middleOf returns the median of v and changes its order.
func middleOf(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return nan
	}
	upper := nth(v, n/2)
	if n%2 == 1 {
		return upper
	}
	lower := v[0]
	for _, x := range v[:n/2] {
		lower = math.Max(lower, x)
	}
	return (lower + upper) / 2
}

// nth returns the value that would stand at v[k] if v were sorted, and puts no larger
// ones before it and no smaller ones after (Hoare 1961, "Algorithm 65: FIND"). v must
// hold no NaN.
func nth(v []float64, k int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		pivot := v[lo+(hi-lo)/2]
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for pivot < v[j] {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		if k <= j {
			hi = j
		} else if k >= i {
			lo = i
		} else {
			break
		}
	}
	return v[k]
}

// onAllCores calls work for 0 to n-1, on all cores.
func onAllCores(n int, work func(i int)) {
	var next atomic.Int64
	var wg conc.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				work(i)
			}
		})
	}
	wg.Wait()
}
