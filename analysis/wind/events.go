package wind

import (
	"math"
	"math/rand/v2"
	"sort"

	"gonum.org/v1/gonum/floats"

	"hopcard/flight"
)

const (
	eventBeforeS, eventAfterS = 4.0, 20.0
	apartS                    = 12.0 // between gusts
	peakWithinS               = 12.0 // of the gust; what comes later answers later gusts
	fewestEvents              = 8
	bootstraps                = 200
	// standOut is how many half widths of its interval a peak must reach: the largest of
	// some twenty independent places is chosen, each 0.05/20 likely to lie so far out.
	standOut = 1.6
	// settledShare of the peak is what counts as settled.
	settledShare = 0.2
)

// Events is the averaged answer of one axis to detected gusts of its own component, pilot
// in the loop, on the time of the gust's peak. Slices are parallel.
type Events struct {
	Axis  flight.Axis
	Input Component
	// PeakTimesS are the hop times of the gusts found, GustMS their size, less the slow
	// wind, with its sign.
	PeakTimesS, GustMS []float64
	// TimeS runs from before to after the peak. AttitudePerMS is the change of attitude
	// from before the gust, in rad per m/s of gust, with its interval; StickPerMS that of
	// the axis's stick, fraction of full travel, NaN if it was not logged.
	TimeS         []float64
	AttitudePerMS []flight.Estimate
	StickPerMS    []float64
	// PeakRadPerMS is the largest of AttitudePerMS, nil where it does not stand out from
	// its interval; TimeToPeakS when it comes and SettleS when no more than a fifth of
	// it is left, both after the gust's peak. Their intervals are those of drawing the
	// events again and again (bootstrap, Efron and Tibshirani 1993, chapter 13).
	PeakRadPerMS, TimeToPeakS, SettleS *flight.Estimate
	// SettleAfterS is how long after the gust's peak the upset lasts at least: up to then
	// more than a fifth of its peak is left for certain. NaN if the peak does not stand
	// out. Other gusts and the pilot often hide when it settles, not that it has not yet.
	SettleAfterS float64
	// StickPeakPerMS is the largest change of stick per m/s of gust, NaN if unknown.
	StickPeakPerMS float64
}

// events finds gusts of component in and averages what axis and stick did. It is nil if
// there are too few.
func (a answers) events(axis flight.Axis, in, out, stick int) *Events {
	gust := bandPass(a.x[in], int(1/a.g.stepS), int(30/a.g.stepS))
	before, after := int(eventBeforeS/a.g.stepS), int(eventAfterS/a.g.stepS)
	peaks := findPeaks(gust, before, after, int(apartS/a.g.stepS), a.x[out])
	if len(peaks) < fewestEvents {
		return nil
	}
	e := &Events{Axis: axis, Input: HeadGust, StickPeakPerMS: math.NaN(), SettleAfterS: math.NaN()}
	if in == crossGust {
		e.Input = CrossGust
	}
	var size []float64
	var traces, sticks [][]float64
	for _, k := range peaks {
		e.PeakTimesS = append(e.PeakTimesS, a.g.at(k))
		size = append(size, gust[k])
		traces = append(traces, around(a.x[out], k, before, after))
		sticks = append(sticks, around(a.x[stick], k, before, after))
	}
	e.GustMS = size
	for i := range traces[0] {
		e.TimeS = append(e.TimeS, float64(i-before)*a.g.stepS)
	}
	mean := average(traces, size, nil)
	half := scatter(traces, size, mean)
	for i, m := range mean {
		e.AttitudePerMS = append(e.AttitudePerMS, flight.Estimate{Value: m, Low: m - half[i], High: m + half[i]})
	}
	e.StickPerMS = average(sticks, size, nil)
	within := int(peakWithinS / a.g.stepS)
	if a.stick {
		k := largest(e.StickPerMS, before, within)
		e.StickPeakPerMS = e.StickPerMS[k]
	}
	e.summarise(traces, size, before, within, a.g.stepS)
	return e
}

// summarise fills peak, time to peak and time to settle with their intervals.
func (e *Events) summarise(traces [][]float64, size []float64, before, within int, stepS float64) {
	all := e.values()
	k := largest(all, before, within)
	p := e.AttitudePerMS[k]
	if math.Abs(p.Value) < standOut*(p.High-p.Low)/2 || k >= before+within-int(1/stepS) {
		return // nothing that stands out, or still growing
	}
	e.SettleAfterS = e.lastsUntil(k)
	// Draws look for the peak on the side on which all events have it.
	side := math.Copysign(1, p.Value)
	turned := make([]float64, len(all))
	measure := func(mean []float64) (peak, time, settle float64) {
		for i, v := range mean {
			turned[i] = math.Max(0, side*v)
		}
		k := largest(turned, before, within)
		s := settled(mean, k)
		settle = math.NaN()
		if s >= 0 {
			settle = float64(s-before) * stepS
		}
		return mean[k], float64(k-before) * stepS, settle
	}
	peak, time, settle := measure(all)
	var peaks, times, settles []float64
	rng := rand.New(rand.NewPCG(1, uint64(len(size))))
	often := make([]float64, len(size))
	for range bootstraps {
		for i := range often {
			often[i] = 0
		}
		for range size {
			often[rng.IntN(len(size))]++
		}
		p, t, s := measure(average(traces, size, often))
		peaks, times, settles = append(peaks, p), append(times, t), append(settles, s)
	}
	e.PeakRadPerMS = percentiles(peak, peaks)
	e.TimeToPeakS = percentiles(time, times)
	if !math.IsNaN(settle) {
		e.SettleS = percentiles(settle, settles)
	}
}

// lastsUntil returns the last time from the peak at k on at which what is left, on the
// peak's side, stands out above settledShare of the most that the peak may be.
func (e *Events) lastsUntil(k int) float64 {
	p := e.AttitudePerMS[k]
	side := math.Copysign(1, p.Value)
	most := math.Abs(p.Value) + (p.High-p.Low)/2
	last := e.TimeS[k]
	for i := k; i < len(e.TimeS); i++ {
		v := e.AttitudePerMS[i]
		if side*v.Value-standOut*(v.High-v.Low)/2 <= settledShare*most {
			break
		}
		last = e.TimeS[i]
	}
	return last
}

func (e *Events) values() []float64 {
	v := make([]float64, len(e.AttitudePerMS))
	for i, p := range e.AttitudePerMS {
		v[i] = p.Value
	}
	return v
}

// percentiles returns value with the middle 95 % of the values drawn, without an interval
// if one draw in forty or more gave none: then an end of it is not known.
func percentiles(value float64, drawn []float64) *flight.Estimate {
	e := flight.Plain(value)
	var there []float64
	for _, v := range drawn {
		if !math.IsNaN(v) {
			there = append(there, v)
		}
	}
	if 40*(len(drawn)-len(there)) >= len(drawn) {
		return e
	}
	sort.Float64s(there)
	at := func(q float64) float64 { return there[int(math.Round(q*float64(len(there)-1)))] }
	e.Low, e.High = math.Min(value, at(0.025)), math.Max(value, at(0.975))
	return e
}

// bandPass takes the running mean over long steps off that over short ones. NaN spread
// over both.
func bandPass(x []float64, short, long int) []float64 {
	a, b := centred(x, short), centred(x, long)
	for i := range a {
		a[i] -= b[i]
	}
	return a
}

// centred returns running means over n values around each; near the ends over what there
// is. NaN where a value in reach is missing.
func centred(x []float64, n int) []float64 {
	sum := make([]float64, len(x)+1)
	missing := make([]int, len(x)+1)
	for i, v := range x {
		sum[i+1], missing[i+1] = sum[i]+v, missing[i]
		if math.IsNaN(v) {
			sum[i+1], missing[i+1] = sum[i], missing[i]+1
		}
	}
	out := make([]float64, len(x))
	for i := range x {
		from, to := max(0, i-n/2), min(len(x), i+n/2+1)
		out[i] = (sum[to] - sum[from]) / float64(to-from)
		if missing[to] > missing[from] {
			out[i] = math.NaN()
		}
	}
	return out
}

// findPeaks returns the places of gusts larger than their standard deviation, largest
// first, no two closer than apart, with all of trace logged around; then in
// order of time.
func findPeaks(gust []float64, before, after, apart int, trace []float64) []int {
	var there []float64
	for _, g := range gust {
		if !math.IsNaN(g) {
			there = append(there, g)
		}
	}
	_, sd := meanSD(there)
	var cand []int
	for i := max(before, 1); i < len(gust)-after; i++ {
		g := math.Abs(gust[i])
		if g > sd && g >= math.Abs(gust[i-1]) && g > math.Abs(gust[i+1]) {
			cand = append(cand, i)
		}
	}
	sort.SliceStable(cand, func(i, j int) bool { return math.Abs(gust[cand[i]]) > math.Abs(gust[cand[j]]) })
	var peaks []int
	for _, c := range cand {
		free := true
		for _, p := range peaks {
			free = free && (c-p >= apart || p-c >= apart)
		}
		for i := c - before; free && i <= c+after; i++ {
			free = !math.IsNaN(trace[i]) && !math.IsNaN(gust[i])
		}
		if free {
			peaks = append(peaks, c)
		}
	}
	sort.Ints(peaks)
	return peaks
}

// around returns x from before to after k, less its mean over the first half of before.
func around(x []float64, k, before, after int) []float64 {
	out := append([]float64{}, x[k-before:k+after+1]...)
	base := 0.0
	for _, v := range out[:before/2] {
		base += v / float64(before/2)
	}
	for i := range out {
		out[i] -= base
	}
	return out
}

// average returns the slope through the origin of traces on size at each place, each event
// counting as often as often says, once if it is nil.
func average(traces [][]float64, size, often []float64) []float64 {
	mean := make([]float64, len(traces[0]))
	power := 0.0
	for k, tr := range traces {
		weight := size[k]
		if often != nil {
			weight *= often[k]
		}
		if weight == 0 {
			continue
		}
		power += weight * size[k]
		floats.AddScaled(mean, weight, tr)
	}
	floats.Scale(1/power, mean)
	return mean
}

// scatter returns the half width of the 95 % interval of average: that of a line through
// the origin whose scatter may differ from event to event (White 1980).
func scatter(traces [][]float64, size, mean []float64) []float64 {
	n := float64(len(traces))
	power := 0.0
	for _, g := range size {
		power += g * g
	}
	half := make([]float64, len(mean))
	factor := studentT(n-1) * math.Sqrt(n/(n-1)) / power
	for k, tr := range traces {
		for i, v := range tr {
			e := size[k] * (v - mean[i]*size[k])
			half[i] += e * e
		}
	}
	for i, sum := range half {
		half[i] = factor * math.Sqrt(sum)
	}
	return half
}

// largest returns the place of the largest size from from on, of the next within.
func largest(x []float64, from, within int) int {
	best := from
	for i := from; i < from+within; i++ {
		if math.Abs(x[i]) > math.Abs(x[best]) {
			best = i
		}
	}
	return best
}

// settled returns the first place from which x stays within settledShare of x[peak], -1
// if it does not by the end.
func settled(x []float64, peak int) int {
	k := len(x)
	for k > peak && math.Abs(x[k-1]) <= settledShare*math.Abs(x[peak]) {
		k--
	}
	if k == len(x) {
		return -1
	}
	return k
}
