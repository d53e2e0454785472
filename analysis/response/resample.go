package response

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"hopcard/flight"
)

// The grid of the analysis: 12.5 Hz, with a kernel that passes up to 3.25 Hz (20 rad/s)
// and stops, by 60 dB, what would fold back below that (Kaiser's formulas, Oppenheim and
// Schafer, Discrete-Time Signal Processing, section 7.6: length (A-8)/(2.285 dw)).
const (
	gridStepS  = 0.08
	kernelHalf = 0.3 // s
	kaiserBeta = 5.653
)

// kernel is the low-pass kernel, tabulated against distance in s.
type kernel struct {
	table []float64
	perS  float64
}

func newKernel() kernel {
	const points = 3000
	k := kernel{table: make([]float64, points+2), perS: points / kernelHalf}
	for i := range points + 1 {
		t := float64(i) / k.perS
		x := math.Pi * t / gridStepS
		sinc := 1.0
		if x != 0 {
			sinc = math.Sin(x) / x
		}
		u := t / kernelHalf
		k.table[i] = sinc * besselI0(kaiserBeta*math.Sqrt(max(0, 1-u*u))) / besselI0(kaiserBeta)
	}
	return k
}

func (k kernel) at(tS float64) float64 {
	x := math.Abs(tS) * k.perS
	i := int(x)
	if i >= len(k.table)-1 {
		return 0
	}
	f := x - float64(i)
	return k.table[i] + f*(k.table[i+1]-k.table[i])
}

// besselI0 is the modified Bessel function of order zero (Abramowitz and Stegun 1964,
// 9.6.12).
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= (x / 2) * (x / 2) / (k * k)
		sum += term
	}
	return sum
}

// run is one stretch of the grid on which every channel of a group is there.
type run struct {
	span   flight.Span
	values [][]float64 // one slice per channel
}

// resample brings the channels to the grid inside the spans wanted. There is one run per
// stretch without a gap in any of them.
func resample(chs []*flight.Channel, wanted []flight.Span) []run {
	return onGrid(chs, reaches{}.spansFor(chs, wanted))
}

// onGrid brings the channels to the grid over spans in which all are there.
func onGrid(chs []*flight.Channel, spans []flight.Span) []run {
	k := newKernel()
	var runs []run
	for _, s := range spans {
		n := int(s.LengthS()/gridStepS+1e-6) + 1
		if n < 2 {
			continue
		}
		r := run{span: s, values: make([][]float64, len(chs))}
		for i := range r.values {
			r.values[i] = make([]float64, n)
		}
		for _, g := range shareStamps(chs) {
			k.apply(chs, g, s.FromS, r.values)
		}
		runs = append(runs, r)
	}
	return runs
}

// shareStamps groups the channels that have the very same stamps.
func shareStamps(chs []*flight.Channel) [][]int {
	var groups [][]int
next:
	for i, c := range chs {
		for g, members := range groups {
			o := chs[members[0]]
			if len(o.TimeS) == len(c.TimeS) && &o.TimeS[0] == &c.TimeS[0] {
				groups[g] = append(members, i)
				continue next
			}
		}
		groups = append(groups, []int{i})
	}
	return groups
}

// apply writes the grid values of the channels of one group, all on the same stamps.
func (k kernel) apply(chs []*flight.Channel, group []int, fromS float64, out [][]float64) {
	t := chs[group[0]].TimeS
	lo, hi := 0, 0
	weight := make([]float64, 0, 256)
	for j := range out[group[0]] {
		at := fromS + float64(j)*gridStepS
		for lo < len(t) && t[lo] < at-kernelHalf {
			lo++
		}
		hi = max(hi, lo)
		for hi < len(t) && t[hi] <= at+kernelHalf {
			hi++
		}
		weight = weight[:0]
		for i := lo; i < hi; i++ {
			// Each sample stands for the time half-way to its neighbours.
			share := t[min(i+1, len(t)-1)] - t[max(i-1, 0)]
			weight = append(weight, share*k.at(t[i]-at))
		}
		total := floats.Sum(weight)
		for _, c := range group {
			v := chs[c].Value[lo:hi]
			x := floats.Dot(v, weight) / total
			if !finite(x) { // the logger wrote none for some stamp
				x = weighted(v, weight)
			}
			out[c][j] = x
		}
	}
}

// weighted returns the weighted mean of the values that are finite numbers.
func weighted(v, weight []float64) float64 {
	var sum, total float64
	for i, w := range weight {
		x := v[i]
		if !finite(x) {
			continue
		}
		sum += w * x
		total += w
	}
	return sum / total
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// reach returns where the kernel finds samples of c on both sides without a gap. A hole
// of up to 60 ms is none: a lost sample or two, over which nothing below 20 rad/s moves.
func reach(c *flight.Channel) []flight.Span {
	const holeS = 0.06
	step := typicalStepS(c.TimeS)
	if step == 0 {
		return nil
	}
	limit := max(holeS, 2.5*step)
	var spans []flight.Span
	first, last := math.NaN(), math.NaN()
	add := func() {
		if s := (flight.Span{FromS: first + kernelHalf, ToS: last - kernelHalf}); s.ToS > s.FromS {
			spans = append(spans, s)
		}
	}
	for i, t := range c.TimeS {
		if !finite(c.Value[i]) {
			continue
		}
		if !(t-last <= limit) {
			add()
			first = t
		}
		last = t
	}
	add()
	return spans
}

// typicalStepS returns the median step of the stamps, from an even sample of them: sorting
// the steps of a long log would take longer than all the rest.
func typicalStepS(t []float64) float64 {
	n := min(len(t)-1, 501)
	if n < 1 {
		return 0
	}
	steps := make([]float64, n)
	for k := range steps {
		i := k * (len(t) - 1) / n
		steps[k] = t[i+1] - t[i]
	}
	slices.Sort(steps)
	return steps[n/2]
}

// intersect returns what two ascending lists of spans share.
func intersect(a, b []flight.Span) []flight.Span {
	var out []flight.Span
	for i, j := 0, 0; i < len(a) && j < len(b); {
		s := flight.Span{FromS: max(a[i].FromS, b[j].FromS), ToS: min(a[i].ToS, b[j].ToS)}
		if s.ToS > s.FromS {
			out = append(out, s)
		}
		if a[i].ToS < b[j].ToS {
			i++
		} else {
			j++
		}
	}
	return out
}
