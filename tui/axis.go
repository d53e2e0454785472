package tui

import (
	"math"
	"strconv"
)

// roundStep returns the smallest of 1, 2, 5 times a power of ten that is at least least.
func roundStep(least float64) float64 {
	if !(least > 0) || math.IsInf(least, 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(least)))
	for _, k := range []float64{1, 2, 5} {
		if k*p >= least*(1-1e-9) {
			return k * p
		}
	}
	return 10 * p
}

// roundBounds widens b to round numbers, so that a scale can be labelled at its ends.
func roundBounds(b bounds, least float64) bounds {
	if b.empty() {
		return bounds{-least, least}
	}
	if b.hi-b.lo < least {
		mid := (b.hi + b.lo) / 2
		b = bounds{mid - least/2, mid + least/2}
	}
	// A fiftieth of a step beyond an end is less than a dot and not worth a longer scale.
	const little = 0.02
	step := roundStep((b.hi - b.lo) / 8)
	return bounds{math.Floor(b.lo/step+little) * step, math.Ceil(b.hi/step-little) * step}
}

// ticks returns round values in [lo, hi], at most most of them.
func ticks(lo, hi float64, most int) (at []float64, step float64) {
	if !(hi > lo) || most < 1 {
		return nil, 1
	}
	step = roundStep((hi - lo) / float64(most))
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+step*1e-9; k++ {
		at = append(at, k*step)
	}
	return at, step
}

// stepText writes v with the decimals that step needs.
func stepText(v, step float64) string {
	decimals := 0
	if step < 1 {
		decimals = min(int(math.Ceil(-math.Log10(step)-1e-9)), 6)
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if math.Abs(v) < step/2 {
		return strconv.FormatFloat(0, 'f', decimals, 64)
	}
	return s
}

// decadeTicks returns 1, 2 and 5 times each power of ten in [lo, hi].
func decadeTicks(lo, hi float64) []float64 {
	if !(lo > 0) || !(hi > lo) || math.IsInf(hi, 0) {
		return nil
	}
	var at []float64
	for e := math.Floor(math.Log10(lo)); e <= math.Ceil(math.Log10(hi)); e++ {
		for _, k := range []float64{1, 2, 5} {
			if v := k * math.Pow(10, e); v >= lo*(1-1e-9) && v <= hi*(1+1e-9) {
				at = append(at, v)
			}
		}
	}
	return at
}

// plainText writes a round number with no more decimals than it has.
func plainText(v float64) string {
	if v == 0 {
		return "0" // not -0
	}
	return strconv.FormatFloat(v, 'g', 4, 64)
}
