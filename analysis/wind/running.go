package wind

import "math"

// gustS is the averaging time of a gust (WMO-No. 306, 15.5.5; WMO-No. 8, 5.8.3).
const gustS = 3.0

// runningExtremes returns the least and the greatest mean of x over 3 s, NaN if nowhere 3 s
// are fully logged.
func runningExtremes(t, x []float64, stepS, gapS float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	runningMean(t, x, stepS, gapS, func(_, mean float64) {
		low, high = min(low, mean), max(high, mean)
	})
	if low > high {
		return math.NaN(), math.NaN()
	}
	return low, high
}

// runningMean calls yield with the mean of x over the 3 s up to each stamp, where the 3 s are fully logged: no step in them longer than gapS. Each window holds the
// readings of the last 3 s, at a steady rate always the same number.
func runningMean(t, x []float64, stepS, gapS float64, yield func(at, mean float64)) {
	per := max(1, int(math.Round(gustS/stepS)))
	window := float64(per) * stepS
	first, run := 0, 0 // of the window, of the gap-free stretch
	sum := 0.0
	for i := range x {
		if i > 0 && t[i]-t[i-1] > gapS {
			first, run, sum = i, i, 0
		}
		sum += x[i]
		// Half a step of room keeps a jittered stamp on its side of the edge.
		for t[i]-t[first] > window-stepS/2 {
			sum -= x[first]
			first++
		}
		if t[i]-t[run] < window-1.5*stepS {
			continue // the stretch is not yet 3 s long
		}
		yield(t[i], sum/float64(i-first+1))
	}
}

// extremes returns the least and the greatest value, NaN if there is none.
func extremes(x []float64) (low, high float64) {
	if len(x) == 0 {
		return math.NaN(), math.NaN()
	}
	low, high = x[0], x[0]
	for _, v := range x {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return low, high
}
