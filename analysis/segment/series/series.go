// Package series makes evenly sampled copies of logged channels, for detectors that look
// at time histories rather than at spectra, and holds the few zero-phase filters they
// share.
//
// All slices are parallel to a Grid. NaN marks times at which the channel has a gap.
package series

import (
	"math"

	"hopcard/flight"
)

// Grid is a row of evenly spaced hop times, FromS, FromS+StepS, ...
type Grid struct {
	FromS, StepS float64
	N            int
}

// Over returns the grid of that step that covers span.
func Over(span flight.Span, stepS float64) Grid {
	n := int(math.Floor(span.LengthS()/stepS+1e-9)) + 1
	return Grid{span.FromS, stepS, max(n, 0)}
}

// TimeS returns the hop time of sample i.
func (g Grid) TimeS(i int) float64 { return g.FromS + float64(i)*g.StepS }

// Index returns the sample nearest to tS, kept inside the grid.
func (g Grid) Index(tS float64) int {
	i := int(math.Round((tS - g.FromS) / g.StepS))
	return min(max(i, 0), g.N-1)
}

// Steps returns the number of samples in lengthS, at least one.
func (g Grid) Steps(lengthS float64) int { return max(int(math.Round(lengthS/g.StepS)), 1) }

// maxGapS is the longest pause between two samples that is bridged; longer ones are NaN.
const maxGapS = 0.3

// Even returns c on the grid: at each time the mean of the samples nearby under a Hann
// weight of full width widthS (a local mean in the sense of Nadaraya 1964 and Watson
// 1964), which is a zero-phase low-pass filter with its half-amplitude point at
// 1/widthS Hz and its first zero at 2/widthS Hz, whatever the jitter of the stamps.
// Where fewer than three samples fall under the weight it interpolates linearly.
// Times outside the channel and in pauses longer than 0.3 s (or three of its own
// steps, if that is more) are NaN.
func Even(c *flight.Channel, g Grid, widthS float64) []float64 {
	out := make([]float64, g.N)
	n := len(c.TimeS)
	if n == 0 {
		for i := range out {
			out[i] = math.NaN()
		}
		return out
	}
	stepS := c.Span().LengthS() / float64(max(n-1, 1))
	gapS := max(maxGapS, 3*stepS)
	if widthS > 24*stepS {
		c = thinned(c, widthS/8)
	}
	half := widthS / 2
	weight := hannTable()
	scale := float64(len(weight)-1) / half
	ts, vs := c.TimeS, c.Value[:len(c.TimeS)]
	lo := 0
	for i := range out {
		t := g.TimeS(i)
		for lo < len(ts) && ts[lo] <= t-half {
			lo++
		}
		var sum, wsum float64
		n := 0
		for k := lo; k < len(ts) && ts[k] < t+half; k++ {
			v := vs[k]
			if v != v {
				continue
			}
			w := weight[int(math.Abs(ts[k]-t)*scale)]
			sum += w * v
			wsum += w
			n++
		}
		if n >= 3 && wsum > 0 {
			out[i] = sum / wsum
		} else {
			out[i] = between(c, lo, t, gapS)
		}
	}
	return out
}

// thinned returns c as means over binS, on the mean time of what is in each. A bin is an
// eighth of the weight that follows, so that the shape of the weight is kept and the work
// saved.
func thinned(c *flight.Channel, binS float64) *flight.Channel {
	times, values := c.TimeS, c.Value[:len(c.TimeS)]
	most := min(len(times), int(c.Span().LengthS()/binS)+2)
	ts, vs := make([]float64, 0, most), make([]float64, 0, most)
	for i := 0; i < len(times); {
		end := times[i] + binS
		var t, v float64
		n := 0
		for ; i < len(times) && times[i] < end; i++ {
			if x := values[i]; x == x {
				t, v, n = t+times[i], v+x, n+1
			}
		}
		if n > 0 {
			ts, vs = append(ts, t/float64(n)), append(vs, v/float64(n))
		}
	}
	return &flight.Channel{Quantity: c.Quantity, TimeS: ts, Value: vs}
}

// hannTable is half a Hann window, from its middle to its end.
func hannTable() []float64 {
	const n = 256
	w := make([]float64, n+1)
	for i := range w {
		w[i] = 0.5 + 0.5*math.Cos(math.Pi*(float64(i)+0.5)/(n+1))
	}
	return w
}

// between interpolates c at t between its valid neighbours; lo is an index at or before
// the first sample after t.
func between(c *flight.Channel, lo int, t, gapS float64) float64 {
	k := lo
	for k < len(c.TimeS) && c.TimeS[k] < t {
		k++
	}
	b := k
	for b < len(c.TimeS) && math.IsNaN(c.Value[b]) {
		b++
	}
	if b < len(c.TimeS) && c.TimeS[b] == t {
		return c.Value[b]
	}
	a := k - 1
	for a >= 0 && math.IsNaN(c.Value[a]) {
		a--
	}
	if a < 0 || b >= len(c.TimeS) || c.TimeS[b]-c.TimeS[a] > gapS {
		return math.NaN()
	}
	f := (t - c.TimeS[a]) / (c.TimeS[b] - c.TimeS[a])
	return c.Value[a] + f*(c.Value[b]-c.Value[a])
}

// Filled returns x with NaN replaced by a straight line between the neighbours (by the
// nearest value at the ends), so that filters can run across; whoever uses the result
// must still keep out of the gaps. It is all zero if x has no number at all.
func Filled(x []float64) []float64 {
	out := append([]float64(nil), x...)
	last := -1
	for i, v := range x {
		if v != v {
			continue
		}
		for k := last + 1; k < i; k++ {
			if last < 0 {
				out[k] = v
				continue
			}
			f := float64(k-last) / float64(i-last)
			out[k] = x[last] + f*(v-x[last])
		}
		last = i
	}
	for k := last + 1; k < len(out); k++ {
		if last < 0 {
			out[k] = 0
		} else {
			out[k] = x[last]
		}
	}
	return out
}
