package loop

import (
	"math"
	"slices"

	"hopcard/flight"
)

// leastShare is the share of the samples that must have a number for it to be given, and
// leastSamples how many of them there must be.
const (
	leastShare   = 0.9
	leastSamples = draws / 4
)

// interval makes an estimate of a value and the samples of it; nil where the value, or more
// than a few of the samples, are not there.
func interval(value float64, samples []float64) *flight.Estimate {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return nil
	}
	var have []float64
	for _, v := range samples {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			have = append(have, v)
		}
	}
	if len(have) < leastSamples || float64(len(have)) < leastShare*float64(len(samples)) {
		return nil
	}
	slices.Sort(have)
	e := flight.Estimate{Value: value, Low: quantile(have, 0.025), High: quantile(have, 0.975)}
	// The samples scatter about the value, but need not stand evenly round it.
	e.Low, e.High = min(e.Low, value), max(e.High, value)
	return &e
}

// quantile of sorted values, linear between them; NaN without any.
func quantile(sorted []float64, q float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	x := q * float64(len(sorted)-1)
	k := int(x)
	if k+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[k] + (x-float64(k))*(sorted[k+1]-sorted[k])
}
