package segment

import (
	"math"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

const (
	degree = math.Pi / 180
	// Flight needs more than between 0.10 and 0.35 deg/s of angular rate (rms over 1.5 s,
	// below 2.5 Hz). Good low-cost rate sensors show 0.02 to 0.05 deg/s of noise in that
	// band; a hover flown by hand in still air seldom less than 0.4. This project's own
	// choice.
	quietLeastRadS = 0.10 * degree
	quietMostRadS  = 0.35 * degree
	// Shorter stays are not believed: on the ground between two flights, and in the air.
	shortestGroundS = 5
	shortestFlightS = 4
	liftOffS        = 5 // assumed length of lift-off and landing where no height tells it
)

// measureActivity fills activity and rate from the rates or, without them, from the
// attitude's derivative.
func (f *finder) measureActivity() {
	n := f.slow.N
	square := make([]float64, n)
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		r := f.rateOf(axis)
		if r == nil {
			continue
		}
		// The mean rate of a machine that comes back upright is its sensor's bias.
		bias := series.Percentile(r, 0.5)
		for i, v := range series.Filled(r) {
			square[i] += (v - bias) * (v - bias)
		}
	}
	f.rate = make([]float64, n)
	for i, v := range square {
		f.rate[i] = math.Sqrt(v)
	}
	f.activity = series.MovingMean(square, f.slow.Steps(1.5))
	for i, v := range f.activity {
		f.activity[i] = math.Sqrt(v)
	}
}

func (f *finder) rateOf(axis flight.Axis) []float64 {
	const widthS = 0.4
	if c := f.hop.Channel(axis.Rate()); c != nil && c.Len() > 20 {
		return series.Even(c, f.slow, widthS)
	}
	if c := f.hop.Channel(axis.Attitude()); c != nil && c.Len() > 20 {
		return series.Derivative(series.Filled(series.Even(c, f.slow, widthS)), f.slow.StepS)
	}
	return nil
}

// quietRadS is the activity that parts ground from flight: the geometric mean of the
// quietest and the usual flown level, kept within its two bounds.
func (f *finder) quietRadS() float64 {
	floor := series.Percentile(f.activity, 0.05)
	var flown []float64
	for _, a := range f.activity {
		if a > quietMostRadS {
			flown = append(flown, a)
		}
	}
	if len(flown) == 0 {
		return quietMostRadS
	}
	usual := series.Percentile(flown, 0.5)
	return min(max(math.Sqrt(floor*usual), quietLeastRadS), quietMostRadS)
}

// findFlights sets flights from activity, then lets height and collective overrule the
// edges.
func (f *finder) findFlights() {
	quiet := f.quietRadS()
	spans := f.runs(func(i int) bool { return f.activity[i] > quiet })
	spans = f.whileTurning(f.joinStill(closeGaps(spans, shortestGroundS)))
	ground := f.outside(spans)
	for _, s := range spans {
		if s.LengthS() < shortestFlightS {
			continue
		}
		s = f.sharpen(s, quiet)
		s = f.byCollective(s, ground)
		s = f.byHeight(s, ground)
		if s.LengthS() >= shortestFlightS {
			f.flights = append(f.flights, s)
		}
	}
}

// runs returns the spans of the slow grid where is holds.
func (f *finder) runs(is func(i int) bool) []flight.Span {
	var out []flight.Span
	for i := 0; i < f.slow.N; i++ {
		if !is(i) {
			continue
		}
		k := i
		for k < f.slow.N && is(k) {
			k++
		}
		out = append(out, flight.Span{FromS: f.slow.TimeS(i), ToS: f.slow.TimeS(k)})
		i = k
	}
	return out
}

func closeGaps(spans []flight.Span, gapS float64) []flight.Span {
	var out []flight.Span
	for _, s := range spans {
		if n := len(out); n > 0 && s.FromS-out[n-1].ToS < gapS {
			out[n-1].ToS = s.ToS
			continue
		}
		out = append(out, s)
	}
	return out
}

// outside returns the whole record less spans.
func (f *finder) outside(spans []flight.Span) []flight.Span {
	return without(f.whole, spans)
}

// without returns what is left of whole after spans (by start time) are taken out.
func without(whole flight.Span, spans []flight.Span) []flight.Span {
	var out []flight.Span
	at := whole.FromS
	for _, s := range spans {
		if s.FromS > at {
			out = append(out, flight.Span{FromS: at, ToS: min(s.FromS, whole.ToS)})
		}
		at = max(at, s.ToS)
	}
	if at < whole.ToS {
		out = append(out, flight.Span{FromS: at, ToS: whole.ToS})
	}
	return out
}

// sharpen moves the edges from where the running mean of activity crosses the quiet
// level, half a window early and late, to where the rate itself does.
func (f *finder) sharpen(s flight.Span, quiet float64) flight.Span {
	reach := f.slow.Steps(1.6)
	from, to := f.slow.Index(s.FromS), f.slow.Index(s.ToS)
	if from > 0 { // a record that starts in the air keeps its start
		for k := from; k < min(from+reach, to); k++ {
			if f.rate[k] > quiet {
				s.FromS = f.slow.TimeS(k)
				break
			}
		}
	}
	if to < f.slow.N-1 {
		for k := to; k > max(to-reach, from); k-- {
			if f.rate[k] > quiet {
				s.ToS = f.slow.TimeS(k)
				break
			}
		}
	}
	return s
}

// byCollective shortens s to the time in which the collective was off its ground
// position: rocking on the skids is not flight.
func (f *finder) byCollective(s flight.Span, ground []flight.Span) flight.Span {
	c := f.hop.Channel(flight.Collective)
	if c == nil {
		return s
	}
	x := series.Even(c, f.slow, 0.4)
	down := series.Percentile(f.pick(x, ground), 0.5)
	up := series.Percentile(f.pick(x, []flight.Span{s}), 0.5)
	if !(up-down > 0.1) { // fixed collective, or no ground in the record
		return s
	}
	return f.shorten(s, x, down+0.1*(up-down), 8)
}

// byHeight shortens s to the time in which the height was off the ground.
func (f *finder) byHeight(s flight.Span, ground []flight.Span) flight.Span {
	c := f.hop.Channel(flight.Height)
	if c == nil {
		return s
	}
	x := series.Even(c, f.slow, 0.4)
	near := f.pick(x, []flight.Span{{FromS: s.FromS - 15, ToS: s.FromS - 1}, {FromS: s.ToS + 1, ToS: s.ToS + 15}})
	if len(near) < 20 {
		return s
	}
	zero, noise := series.Percentile(near, 0.5), series.Spread(near)
	off := zero + 0.05 + 4*noise
	// A barometer that wanders by more than the hover height tells nothing.
	if !(series.Percentile(f.pick(x, []flight.Span{s}), 0.5) > off) {
		return s
	}
	return f.lengthen(f.shorten(s, x, off, 4), x, off, 8)
}

// lengthen moves the edges of s outwards, by at most reachS, as long as x is above level:
// a gentle lift-off in still air turns the aircraft late.
func (f *finder) lengthen(s flight.Span, x []float64, level, reachS float64) flight.Span {
	reach := f.slow.Steps(reachS)
	from, to := f.slow.Index(s.FromS), f.slow.Index(s.ToS)
	for k := from; k > max(from-reach, 0) && x[k-1] > level; k-- {
		s.FromS = f.slow.TimeS(k - 1)
	}
	for k := to; k < min(to+reach, f.slow.N-1) && x[k+1] > level; k++ {
		s.ToS = f.slow.TimeS(k + 1)
	}
	return s
}

// shorten moves the edges of s inwards, by at most reachS, to the first and the last
// time x is above level.
func (f *finder) shorten(s flight.Span, x []float64, level, reachS float64) flight.Span {
	reach := f.slow.Steps(reachS)
	from, to := f.slow.Index(s.FromS), f.slow.Index(s.ToS)
	if from > 0 {
		for k := from; k < min(from+reach, to); k++ {
			if x[k] > level {
				s.FromS = f.slow.TimeS(k)
				break
			}
		}
	}
	if to < f.slow.N-1 {
		for k := to; k > max(to-reach, from); k-- {
			if x[k] > level {
				s.ToS = f.slow.TimeS(k)
				break
			}
		}
	}
	return s
}

// pick returns the numbers of x that lie in spans.
func (f *finder) pick(x []float64, spans []flight.Span) []float64 {
	var out []float64
	for _, s := range spans {
		for i := range x {
			if v := x[i]; s.Contains(f.slow.TimeS(i)) && v == v {
				out = append(out, v)
			}
		}
	}
	return out
}
