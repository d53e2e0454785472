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
	// A growing oscillation is only reported if it ends above these: a swing of this
	// many times the usual size in this flight, and of this attitude. Both are this
	// project's own choice: below them nobody in the cockpit would notice.
	floorUsual       = 3.0
	floorAttitudeRad = 0.75 * math.Pi / 180
	// Growth slower than this damping ratio is not told from none.
	leastGrowthRatio = 0.01
)

// findSwings cuts the band-passed rate into swings.
func (t *trace) findSwings() {
	x := t.band
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
				t.swings = append(t.swings, cur)
			}
			cur, open = swing{fromS: at}, true
		}
		if math.Abs(x[i]) > math.Abs(cur.peak) {
			cur.peak, cur.peakS = x[i], t.grid.TimeS(i)
		}
	}
}

// growth is a growing oscillation: the swings first to last of the trace.
type growth struct {
	first, last int
	span        flight.Span
	sigma       flight.Estimate // growth rate, 1/s
	omega       flight.Estimate // rad/s
}

// growths returns the growing oscillations in flights. Swings within a test input, and
// the first after it, are the answer to the input and are left out.
func (t *trace) growths(flights []flight.Span, segs []flight.Segment) []growth {
	t.findSwings()
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

// studentT is the 97.5 % point of Student's t.
func studentT(freedom float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile(0.975)
}

// measure fits rate of growth and frequency to the swings lo to hi and sets the span: from
// the start of the first swing to the end of the last that still grew.
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
	lo = t.begin(lo, hi)
	w := t.swings[lo : hi+1]
	sigma := slopeOfLog(w)
	if !(sigma.Low > 0) {
		return growth{}, false
	}
	x, y := make([]float64, len(w)+1), make([]float64, len(w)+1)
	for i, s := range w {
		x[i], y[i] = float64(i), s.fromS
	}
	x[len(w)], y[len(w)] = float64(len(w)), w[len(w)-1].toS
	half := slope(x, y)
	omega := flight.Estimate{Value: math.Pi / half.Value, Low: math.Pi / half.High, High: math.Pi / max(half.Low, 1e-3)}
	return growth{lo, hi, flight.Span{FromS: w[0].fromS, ToS: w[len(w)-1].toS}, sigma, omega}, true
}

// begin returns the first swing, not before lo, that belongs to the growth that ends with
// swing hi: going back from there, each swing must lie on the line that the later ones
// draw, in size within a factor of 1.7 and in time within a quarter of a swing. What came
// before was other motion of chance size.
func (t *trace) begin(lo, hi int) int {
	const (
		sizeOff = 0.53 // of the logarithm
		timeOff = 0.25 // of a swing
	)
	first := hi - fewestSwings + 1
	for first > lo {
		w := t.swings[first : hi+1]
		sigma := slopeOfLog(w).Value
		half := (w[len(w)-1].toS - w[0].fromS) / float64(len(w))
		var logs, at float64
		for i, s := range w {
			logs += math.Log(math.Abs(s.peak)) / float64(len(w))
			at += (s.peakS + float64(len(w)-1-i)*half) / float64(len(w)) // of the last peak
		}
		middle := at - half*float64(len(w)-1)/2
		s := t.swings[first-1]
		wantS := at - half*float64(len(w))
		want := logs + sigma*(wantS-middle)
		if math.Abs(math.Log(math.Abs(s.peak))-want) > sizeOff || math.Abs(s.peakS-wantS) > timeOff*half {
			break
		}
		first--
	}
	return first
}
