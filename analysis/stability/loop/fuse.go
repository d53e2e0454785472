package loop

import (
	"math"

	"hopcard/flight"
)

const (
	// fuseS is the width of the weight below which the attitude rests on its own sensor, and
	// above on the integral of the rate.
	fuseS = 2.0
	// slopeError is how far the scale of a rate may be off for it to be used.
	slopeError = 0.05
)

// rateOf returns the rate of the axis if it comes from the attitude's own logger.
func rateOf(h *flight.Hop, attitude *flight.Channel, axis flight.Axis) *flight.Channel {
	rate := h.Channel(axis.Rate())
	if rate == nil || rate.Source != attitude.Source || rate.Len() < 2 {
		return nil
	}
	return rate
}

// fused takes the quick part of the attitude from the integral of the rate, whose noise falls
// with frequency where that of a sensor of attitude stays: noise that the pilot does not see
// would make him look slacker than he is. A rate of another scale is left alone
// and better is false.
func fused(attitude, rate []float64) (out []float64, better bool) {
	n := len(attitude)
	integral := make([]float64, n)
	for t := 1; t < n; t++ {
		step := gridStepS / 2 * (rate[t] + rate[t-1])
		if step != step {
			step = 0
		}
		integral[t] = integral[t-1] + step
	}
	if s := slope(attitude, integral); !(math.Abs(s-1) < slopeError) {
		return attitude, false
	}
	half := int(math.Round(fuseS / gridStepS / 2))
	weight := make([]float64, 2*half+1)
	for i := range weight {
		weight[i] = 1 + math.Cos(math.Pi*float64(i-half)/float64(half+1))
	}
	out = make([]float64, n)
	for t := range out {
		var sum, total float64
		for k := max(0, t-half); k <= min(n-1, t+half); k++ {
			if w := weight[k-t+half]; attitude[k] == attitude[k] {
				sum += w * (attitude[k] - integral[k])
				total += w
			}
		}
		out[t] = integral[t] + sum/total
		if attitude[t] != attitude[t] || rate[t] != rate[t] {
			out[t] = attitude[t]
		}
	}
	return out, true
}

// slope is that of the attitude's changes over half a second on those of the rate's integral.
func slope(attitude, integral []float64) float64 {
	const steps = 6
	var xy, xx float64
	for t := steps; t < len(attitude); t++ {
		y, x := attitude[t]-attitude[t-steps], integral[t]-integral[t-steps]
		if y == y {
			xy += x * y
			xx += x * x
		}
	}
	return xy / xx
}
