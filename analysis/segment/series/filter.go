package series

import (
	"math"
	"slices"
)

// MovingMean returns the mean of x over n samples centred on each (fewer at the ends).
// x must not hold NaN.
func MovingMean(x []float64, n int) []float64 {
	sum := make([]float64, len(x)+1)
	for i, v := range x {
		sum[i+1] = sum[i] + v
	}
	out := make([]float64, len(x))
	half := n / 2
	for i := range out {
		lo, hi := max(i-half, 0), min(i+half+1, len(x))
		out[i] = (sum[hi] - sum[lo]) / float64(hi-lo)
	}
	return out
}

// Derivative returns dx/dt by central differences on samples stepS apart.
func Derivative(x []float64, stepS float64) []float64 {
	out := make([]float64, len(x))
	for i := range out {
		lo, hi := max(i-1, 0), min(i+1, len(x)-1)
		if hi > lo {
			out[i] = (x[hi] - x[lo]) / (float64(hi-lo) * stepS)
		}
	}
	return out
}

// Percentile returns the value below which the share p (0 to 1) of the numbers in x
// lies, by linear interpolation; NaN values are left out, and it is NaN if none is left.
func Percentile(x []float64, p float64) float64 {
	s := make([]float64, 0, len(x))
	for _, v := range x {
		if v == v {
			s = append(s, v)
		}
	}
	return percentileOf(s, p)
}

// percentileOf is Percentile of numbers without NaN, which it puts into another order.
func percentileOf(s []float64, p float64) float64 {
	if len(s) == 0 {
		return math.NaN()
	}
	f := p * float64(len(s)-1)
	i := min(int(f), len(s)-1)
	at := selected(s, i)
	if i+1 >= len(s) || f == float64(i) {
		return at
	}
	next := slices.Min(s[i+1:]) // what selected leaves above i is not smaller
	return at + (f-float64(i))*(next-at)
}

// selected returns the value that x would hold at k if it were sorted, and leaves nothing
// smaller above k and nothing larger below (Hoare, Find, Comm. ACM 4, 1961).
func selected(x []float64, k int) float64 {
	lo, hi := 0, len(x)-1
	for lo < hi {
		pivot := x[k]
		i, j := lo, hi
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for pivot < x[j] {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i, j = i+1, j-1
			}
		}
		if j < k {
			lo = i
		}
		if k < i {
			hi = j
		}
	}
	return x[k]
}

// Spread returns a standard deviation that a few wild values do not move: 1.4826 times
// the median distance from the median (Huber, Robust Statistics, 1981, sec. 5.1).
func Spread(x []float64) float64 {
	d := make([]float64, 0, len(x))
	for _, v := range x {
		if v == v {
			d = append(d, v)
		}
	}
	m := percentileOf(d, 0.5)
	for i, v := range d {
		d[i] = math.Abs(v - m)
	}
	return 1.4826 * percentileOf(d, 0.5)
}

// biquad is one second-order section, a0 = 1.
type biquad struct{ b0, b1, b2, a1, a2 float64 }

// lowPass and highPass are second-order Butterworth sections by the bilinear transform
// with prewarping (Oppenheim and Schafer, Discrete-Time Signal Processing, sec. 7.1).
func lowPass(cornerRadS, stepS float64) biquad {
	k := math.Tan(cornerRadS * stepS / 2)
	n := 1 / (1 + math.Sqrt2*k + k*k)
	return biquad{k * k * n, 2 * k * k * n, k * k * n, 2 * (k*k - 1) * n, (1 - math.Sqrt2*k + k*k) * n}
}

func highPass(cornerRadS, stepS float64) biquad {
	k := math.Tan(cornerRadS * stepS / 2)
	n := 1 / (1 + math.Sqrt2*k + k*k)
	return biquad{n, -2 * n, n, 2 * (k*k - 1) * n, (1 - math.Sqrt2*k + k*k) * n}
}

// run filters x in place, starting from the steady state of a constant input first.
func (q biquad) run(x []float64) {
	if len(x) == 0 {
		return
	}
	dc := (q.b0 + q.b1 + q.b2) / (1 + q.a1 + q.a2)
	x1, x2 := x[0], x[0]
	y1, y2 := dc*x[0], dc*x[0]
	for i, v := range x {
		y := q.b0*v + q.b1*x1 + q.b2*x2 - q.a1*y1 - q.a2*y2
		x2, x1, y2, y1 = x1, v, y1, y
		x[i] = y
	}
}

func both(q biquad, x []float64) {
	q.run(x)
	reverse(x)
	q.run(x)
	reverse(x)
}

func reverse(x []float64) {
	for i, j := 0, len(x)-1; i < j; i, j = i+1, j-1 {
		x[i], x[j] = x[j], x[i]
	}
}

// BandPass returns x filtered forwards and backwards by second-order Butterworth high-
// and low-pass sections, so without phase shift and with half amplitude at the corners.
// A corner of 0 leaves that section out. x must not hold NaN.
func BandPass(x []float64, stepS, lowRadS, highRadS float64) []float64 {
	out := append([]float64(nil), x...)
	if lowRadS > 0 {
		both(highPass(lowRadS, stepS), out)
	}
	if highRadS > 0 && highRadS*stepS < math.Pi*0.9 {
		both(lowPass(highRadS, stepS), out)
	}
	return out
}
