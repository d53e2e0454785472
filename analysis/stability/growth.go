package stability

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/analysis/segment"
	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// swing is one half cycle of the rate between two crossings of zero.
type swing struct {
	fromS, toS float64
	peakS      float64 // when the rate was largest
	peak       float64 // that rate, with sign, rad/s
}

func (s swing) lengthS() float64 { return s.toS - s.fromS }

const (
	// Growth is asked of windows of four to eight swings: two to four periods.
	fewestSwings = 4
	mostSwings   = 8
	// Without a stick on the same clock, answers to test inputs cannot be left out: then
	// growth must last longer than that to a doublet or a step series, and be stronger
	// than that to a sweep.
	fewestBlind = 7
	foldBlind   = 3.0
	// A growing oscillation is only reported if it ends above these: a swing of this
	// many times the usual size in this flight, and of this attitude. Both are this
	// project's own choice: below them nobody in the cockpit would notice.
	floorUsual       = 3.0
	floorAttitudeRad = 0.75 * math.Pi / 180
	// Growth slower than this damping ratio is not told from none.
	leastGrowthRatio = 0.01
)

// swingsOf cuts the band-passed rate x into swings.
func (t *trace) swingsOf(x []float64) []swing {
	var out []swing
	var cur swing
	open := false
	for i := 1; i < len(x); i++ {
		if x[i-1] == 0 || x[i-1]*x[i] < 0 {
			f := 0.0
			if x[i] != x[i-1] {
				f = x[i-1] / (x[i-1] - x[i])
			}
			at := t.grid.TimeS(i-1) + f*stepS
			if open {
				cur.toS = at
				out = append(out, cur)
			}
			cur, open = swing{fromS: at}, true
		}
		if math.Abs(x[i]) > math.Abs(cur.peak) {
			cur.peak, cur.peakS = x[i], t.grid.TimeS(i)
		}
	}
	return out
}

// growth is a growing oscillation.
type growth struct {
	span  flight.Span
	sigma flight.Estimate // growth rate, 1/s
	omega flight.Estimate // rad/s
}

// growths returns the growing oscillations in flights. Swings within a test input, and
// the first after it, are the answer to the input and are left out.
func (t *trace) growths(flights []flight.Span, segs []flight.Segment) []growth {
	t.swings = t.swingsOf(t.band)
	use := t.usable(flights, segment.Inputs(segs, t.axis))
	t.usual = t.usualPeak(use)
	grows := make([]bool, len(t.swings))
	for lo := range t.swings {
		for n := fewestSwings; n <= mostSwings && lo+n <= len(t.swings); n++ {
			if !use[lo+n-1] {
				break
			}
			if !use[lo] || !t.windowGrows(lo, lo+n) {
				continue
			}
			for k := lo; k < lo+n; k++ {
				grows[k] = true
			}
		}
	}
	var out []growth
	for lo := 0; lo < len(grows); lo++ {
		if !grows[lo] {
			continue
		}
		hi := lo
		for hi+1 < len(grows) && grows[hi+1] {
			hi++
		}
		if g, ok := t.measure(lo, hi); ok {
			out = append(out, g)
		}
		lo = hi
	}
	return out
}

// usable marks the swings that may be judged.
func (t *trace) usable(flights, inputs []flight.Span) []bool {
	use := make([]bool, len(t.swings))
	for i, s := range t.swings {
		span := flight.Span{FromS: s.fromS, ToS: s.toS}
		for _, air := range flights {
			use[i] = use[i] || span.FromS >= air.FromS && span.ToS <= air.ToS
		}
		for _, in := range inputs {
			if span.Overlaps(in) {
				use[i] = false
			}
		}
		for k := t.grid.Index(s.fromS); k <= t.grid.Index(s.toS); k++ {
			use[i] = use[i] && !t.bad[k]
		}
	}
	return use
}

// usualPeak is the median peak of the usable swings, each counted by its length.
func (t *trace) usualPeak(use []bool) float64 {
	var peaks []float64
	for i, s := range t.swings {
		if !use[i] {
			continue
		}
		for range max(int(s.lengthS()/0.1), 1) {
			peaks = append(peaks, math.Abs(s.peak))
		}
	}
	return series.Percentile(peaks, 0.5)
}

// windowGrows reports whether the swings [lo,hi) are one oscillation of steady frequency
// whose size grows steadily.
func (t *trace) windowGrows(lo, hi int) bool {
	w := t.swings[lo:hi]
	last := math.Abs(w[len(w)-1].peak)
	before := math.Abs(w[len(w)-2].peak)
	top := max(last, before)
	mean := (w[len(w)-1].toS - w[0].fromS) / float64(len(w))
	if top < floorUsual*t.usual || top*mean/math.Pi < floorAttitudeRad {
		return false
	}
	for i, s := range w {
		if s.lengthS() < 0.6*mean || s.lengthS() > 1.6*mean {
			return false
		}
		if i > 0 && math.Abs(s.peak) < 0.75*math.Abs(w[i-1].peak) {
			return false
		}
	}
	sigma := slopeOfLog(w)
	omega := math.Pi / mean
	if omega < lowRadS { // the band pass itself rings there
		return false
	}
	return sigma.Low > 0 && sigma.Value > leastGrowthRatio*omega && !oneJump(w)
}

// oneJump reports whether a single step between neighbours makes most of the growth: a
// kick, not a growth.
func oneJump(w []swing) bool {
	total := math.Log(math.Abs(w[len(w)-1].peak / w[0].peak))
	most := 0.0
	for i := 1; i < len(w); i++ {
		most = max(most, math.Log(math.Abs(w[i].peak/w[i-1].peak)))
	}
	return most > 0.65*total && most > math.Log(1.8)
}

// slopeOfLog returns the growth rate of the peaks in 1/s: the slope of log peak over time
// by least squares, with its 95 % interval from Student's t (Draper and Smith, Applied
// Regression Analysis, 1998, sec. 1.4). This is the logarithmic decrement, averaged.
func slopeOfLog(w []swing) flight.Estimate {
	x, y := make([]float64, len(w)), make([]float64, len(w))
	for i, s := range w {
		x[i], y[i] = s.peakS, math.Log(math.Abs(s.peak))
	}
	return slope(x, y)
}

// widen opens the interval of the slope of log peak for what neighbouring swings have in
// common: by sqrt((1+r)/(1-r)), r the correlation of neighbouring residuals (Bayley and
// Hammersley, J. Roy. Stat. Soc. Suppl. 8, 1946), with the bias of r in few samples taken
// off (Kendall, Biometrika 41, 1954: minus (1+3r)/n for a series about its mean, here
// (2+4r)/n for one about a line).
func widen(e flight.Estimate, w []swing) flight.Estimate {
	n := float64(len(w))
	var mx, my float64
	for _, s := range w {
		mx += s.peakS / n
		my += math.Log(math.Abs(s.peak)) / n
	}
	var all, next, last float64
	for i, s := range w {
		r := math.Log(math.Abs(s.peak)) - my - e.Value*(s.peakS-mx)
		all += r * r
		if i > 0 {
			next += r * last
		}
		last = r
	}
	if all == 0 {
		return e
	}
	r := next / all
	r = min(max(r+(2+4*r)/n, 0), 0.8)
	k := math.Sqrt((1 + r) / (1 - r))
	return flight.Estimate{Value: e.Value, Low: e.Value - k*(e.Value-e.Low), High: e.Value + k*(e.High-e.Value)}
}

// slope fits a line to y over x and returns its slope with the 95 % interval.
func slope(x, y []float64) flight.Estimate {
	n := float64(len(x))
	var mx, my float64
	for i := range x {
		mx += x[i] / n
		my += y[i] / n
	}
	var sxx, sxy float64
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	b := sxy / sxx
	var rss float64
	for i := range x {
		e := y[i] - my - b*(x[i]-mx)
		rss += e * e
	}
	if n < 3 {
		return flight.Estimate{Value: b, Low: math.Inf(-1), High: math.Inf(1)}
	}
	half := studentT(n-2) * math.Sqrt(rss/(n-2)/sxx)
	return flight.Estimate{Value: b, Low: b - half, High: b + half}
}

// studentT is the 97.5 % point of Student's t. The first twelve are looked up, being asked
// for at every window.
func studentT(freedom float64) float64 {
	known := [...]float64{
		12.7062047364, 4.30265272991, 3.18244630528, 2.7764451052, 2.57058183661, 2.44691184879,
		2.36462425101, 2.30600413503, 2.26215716274, 2.22813885196, 2.20098516008, 2.17881282966,
	}
	if n := int(freedom); float64(n) == freedom && n >= 1 && n <= len(known) {
		return known[n-1]
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile(0.975)
}

// measure fits rate of growth and frequency to the swings lo to hi and sets the span: from
// the first swing that lies on the line of growth to the end of the last that still grew.
func (t *trace) measure(lo, hi int) (growth, bool) {
	// What follows the largest swing has stopped growing.
	largest := lo
	for k := lo; k <= hi; k++ {
		if math.Abs(t.swings[k].peak) > math.Abs(t.swings[largest].peak) {
			largest = k
		}
	}
	hi = largest
	if hi-lo+1 < fewestSwings {
		return growth{}, false
	}
	rough := t.fit(t.swings[hi-fewestSwings+1 : hi+1])
	// The swing in which the stick was let go is longer, not part of the oscillation.
	if hi-lo+1 > fewestSwings && t.swings[hi].lengthS() > 1.15*t.swings[hi-1].lengthS() {
		hi--
		rough = t.fit(t.swings[hi-fewestSwings+1 : hi+1])
	}
	w := t.traceBack(rough, t.swings[hi].toS)
	if len(w) < fewestSwings {
		w = t.swings[lo : hi+1]
	}
	g := t.fit(w)
	if t.stick == nil && (len(w) < fewestBlind || math.Exp(g.sigma.Value*g.span.LengthS()) < foldBlind) {
		return growth{}, false
	}
	clear := g.sigma.Low > 0
	g.sigma = t.disturbed(g.sigma, w)
	// What disturbs the swings may leave zero in the interval of a true growth; a growth below
	// one standard error of it is a guess.
	return g, clear && g.sigma.Value > (g.sigma.High-g.sigma.Value)/1.96
}

// disturbed opens the interval of a growth rate for what gusts and the pilot's other work add
// to each swing. They come at the oscillation's own frequency, so that the residuals of a
// few swings do not show all of it: on a peak of size a, other motion of size u and any phase
// adds u/sqrt(2) (rms) in phase, u/(sqrt(2) a) to its logarithm, which the line carries into
// its slope.
func (t *trace) disturbed(e flight.Estimate, w []swing) flight.Estimate {
	n := float64(len(w))
	var mean, sxx, sum float64
	for _, s := range w {
		mean += s.peakS / n
	}
	for _, s := range w {
		sxx += (s.peakS - mean) * (s.peakS - mean)
	}
	for _, s := range w {
		d := (s.peakS - mean) / sxx * t.usual / math.Abs(s.peak)
		sum += d * d
	}
	more := 1.96 * math.Sqrt(sum/2)
	return flight.Estimate{
		Value: e.Value,
		Low:   min(e.Low, e.Value-more),
		High:  max(e.High, e.Value+more),
	}
}

// fit returns rate of growth, frequency and span of consecutive swings.
func (t *trace) fit(w []swing) growth {
	x, y := make([]float64, len(w)+1), make([]float64, len(w)+1)
	for i, s := range w {
		x[i], y[i] = float64(i), s.fromS
	}
	x[len(w)], y[len(w)] = float64(len(w)), w[len(w)-1].toS
	half := slope(x, y)
	return growth{
		span:  flight.Span{FromS: w[0].fromS, ToS: w[len(w)-1].toS},
		sigma: widen(slopeOfLog(w), w),
		omega: flight.Estimate{Value: math.Pi / half.Value, Low: math.Pi / half.High, High: math.Pi / max(half.Low, 1e-3)},
	}
}

// traceBack follows a growing oscillation that ends at endS back to where it came out of
// the other motion. It looks at the rate in half an octave on each side of the
// oscillation; going back, each swing must lie on the line that the later ones draw, in
// size within a factor of 1.7 and in time within a quarter of a swing. One that does not
// is passed over if the next does.
func (t *trace) traceBack(rough growth, endS float64) []swing {
	const width = 1.5
	narrow := t.swingsOf(series.BandPass(t.rate, stepS, rough.omega.Value/width, rough.omega.Value*width))
	hi := -1
	for i, s := range narrow {
		if s.peakS < endS {
			hi = i
		}
	}
	if hi < fewestSwings {
		return nil
	}
	// Growth out of other motion cannot be told from it below its usual size.
	usual := series.Percentile(sizes(narrow), 0.5)
	first := hi - fewestSwings + 1
	for first > 0 && math.Abs(narrow[first].peak) > 1.6*usual {
		if t.onLine(narrow[first:hi+1], narrow[first-1], 1) {
			first--
		} else if first > 1 && t.onLine(narrow[first:hi+1], narrow[first-2], 2) {
			first -= 2
		} else {
			break
		}
	}
	return narrow[first : hi+1]
}

// sizes returns the peaks of w without their signs.
func sizes(w []swing) []float64 {
	out := make([]float64, len(w))
	for i, s := range w {
		out[i] = math.Abs(s.peak)
	}
	return out
}

// onLine reports whether s, back swings before w, continues w.
func (t *trace) onLine(w []swing, s swing, back int) bool {
	const (
		sizeOff = 0.53 // of the logarithm
		timeOff = 0.25 // of a swing
	)
	sigma := slopeOfLog(w).Value
	n := float64(len(w))
	half := (w[len(w)-1].toS - w[0].fromS) / n
	var logs, at float64
	for i, v := range w {
		logs += math.Log(math.Abs(v.peak)) / n
		at += (v.peakS - float64(i)*half) / n // of the first peak
	}
	wantS := at - float64(back)*half
	want := logs - sigma*half*((n-1)/2+float64(back))
	return math.Abs(math.Log(math.Abs(s.peak))-want) < sizeOff && math.Abs(s.peakS-wantS) < timeOff*half
}
