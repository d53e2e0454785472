package wind

import (
	"math"

	"hopcard/flight"
)

// Work is what the pilot did with one stick. Amounts are fractions of full travel.
type Work struct {
	Axis flight.Axis
	// RMS is of the stick about its mean in each phase, RateRMSPerS of its speed.
	RMS, RateRMSPerS float64
	// ReversalsPerMin counts changes of direction of more than 2 % of full travel.
	ReversalsPerMin float64
	// NearStopShare is the share of time within 10 % of a stop, LeftFraction the least
	// that was left to one.
	NearStopShare, LeftFraction float64
}

// Motion is what the aircraft did in one axis, in rad and rad/s about the phase's mean.
type Motion struct {
	Axis                  flight.Axis
	AttitudeRMS, RateRMS  float64 // NaN if not logged
	LargestAttitudeChange float64 // from the phase's mean
}

// ClassRow sums up all phases of one class of one hop.
type ClassRow struct {
	Class Class
	TimeS float64
	// MeanMS is the mean wind, SDMS the spread about the phases' means, SpreadMS the
	// largest gust spread of a phase; NaN if unknown.
	MeanMS, SDMS, SpreadMS float64
	Motion                 []Motion // roll, pitch
	Work                   []Work   // roll, pitch; only sticks that were logged
	// Flags is the number of growing oscillations that began in this class of air, -1 if
	// not known (yet).
	Flags int
	// Answers are those of roll to gusts from the right and of pitch to head gusts, by
	// band, from this class's own seconds; empty where none can be told.
	Answers []ClassAnswer
}

const (
	reversalFraction = 0.02
	nearStopFraction = 0.10
	workStepS        = 0.05
)

// classTable sums up phases by class, in the order calm, steady, gusty; classes that were
// not flown are left out.
func classTable(h *flight.Hop, wind *flight.Channel, ps []Phase) []ClassRow {
	var rows []ClassRow
	for _, class := range []Class{Calm, Steady, Gusty} {
		var of []Phase
		row := ClassRow{Class: class, SpreadMS: math.NaN(), Flags: -1}
		var mean, square, time float64
		for _, p := range ps {
			if p.Class != class {
				continue
			}
			of = append(of, p)
			length := p.Span.LengthS()
			time += length
			mean += length * p.MeanMS.Value
			if p.SDMS != nil {
				square += length * p.SDMS.Value * p.SDMS.Value
			}
			if p.SpreadMS != nil && !(row.SpreadMS > p.SpreadMS.Value) {
				row.SpreadMS = p.SpreadMS.Value
			}
		}
		if len(of) == 0 {
			continue
		}
		row.TimeS, row.MeanMS, row.SDMS = time, mean/time, math.Sqrt(square/time)
		for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			if m, ok := motion(h, wind, axis, of); ok {
				row.Motion = append(row.Motion, m)
			}
			if w, ok := work(h, wind, axis, of); ok {
				row.Work = append(row.Work, w)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// activity sums up motion and stick work of the flight where no wind was measured, nil if
// no attitude was logged.
func activity(h *flight.Hop, flown flight.Span) *ClassRow {
	ref := h.Channel(flight.Roll)
	if ref == nil {
		ref = h.Channel(flight.Pitch)
	}
	if ref == nil {
		return nil
	}
	if !(flown.LengthS() > 0) {
		flown = ref.Span()
	}
	nan := math.NaN()
	row := &ClassRow{TimeS: flown.LengthS(), MeanMS: nan, SDMS: nan, SpreadMS: nan, Flags: -1}
	of := []Phase{{Span: flown}}
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		if m, ok := motion(h, ref, axis, of); ok {
			row.Motion = append(row.Motion, m)
		}
		if w, ok := work(h, ref, axis, of); ok {
			row.Work = append(row.Work, w)
		}
	}
	return row
}

// timed returns the hop's channel of q if it can be timed against the wind.
func timed(h *flight.Hop, wind *flight.Channel, q flight.Quantity) *flight.Channel {
	c := h.Channel(q)
	if c == nil {
		return nil
	}
	if _, ok := h.CommonClock(wind, c); !ok {
		return nil
	}
	return c
}

// pooled is the rms of a channel about its mean in each phase.
type pooled struct {
	square, n, largest float64
}

func (p *pooled) add(x []float64) {
	mean, n := 0.0, 0.0
	for _, v := range x {
		if v == v {
			mean += v
			n++
		}
	}
	mean /= n
	square, largest := 0.0, 0.0
	for _, v := range x {
		// Comparing leaves NaN out; max would keep it.
		if d := (v - mean) * (v - mean); d == d {
			square += d
			if d > largest {
				largest = d
			}
		}
	}
	p.square += square
	p.largest = math.Max(p.largest, math.Sqrt(largest))
	p.n += n
}

func (p pooled) rms() float64 {
	if p.n == 0 {
		return math.NaN()
	}
	return math.Sqrt(p.square / p.n)
}

func motion(h *flight.Hop, wind *flight.Channel, axis flight.Axis, of []Phase) (Motion, bool) {
	att, rate := timed(h, wind, axis.Attitude()), timed(h, wind, axis.Rate())
	if att == nil && rate == nil {
		return Motion{}, false
	}
	var a, r pooled
	for _, p := range of {
		a.add(loggedIn(h, att, p.Span))
		r.add(loggedIn(h, rate, p.Span))
	}
	return Motion{Axis: axis, AttitudeRMS: a.rms(), RateRMS: r.rms(), LargestAttitudeChange: a.largest}, a.n+r.n > 0
}

// loggedIn returns the values of c in span, NaN for what the crew ruled out. They may be
// the channel's own.
func loggedIn(h *flight.Hop, c *flight.Channel, span flight.Span) []float64 {
	if c == nil {
		return nil
	}
	from := c.Index(span.FromS)
	x := c.Value[from:c.Index(span.ToS)]
	if len(h.Exclude) == 0 {
		return x
	}
	x = append([]float64{}, x...)
	for i := range x {
		for _, e := range h.Exclude {
			if e.Contains(c.TimeS[from+i]) {
				x[i] = math.NaN()
			}
		}
	}
	return x
}

// work sums up one stick over the phases, on an even grid of workStepS, so that loggers of
// different rates count alike.
func work(h *flight.Hop, wind *flight.Channel, axis flight.Axis, of []Phase) (Work, bool) {
	c := timed(h, wind, axis.Stick())
	if c == nil {
		return Work{}, false
	}
	var position pooled
	var rateSquare, steps, turns, near, seen float64
	left := math.Inf(1)
	for _, p := range of {
		g := newGrid(p.Span, workStepS)
		x := g.channel(c)
		g.exclude(x, h.Exclude)
		position.add(x)
		for i, v := range x {
			if math.IsNaN(v) {
				continue
			}
			seen++
			left = math.Min(left, 1-math.Abs(v))
			if 1-math.Abs(v) <= nearStopFraction {
				near++
			}
			if i > 0 && !math.IsNaN(x[i-1]) {
				d := (v - x[i-1]) / workStepS
				rateSquare += d * d
				steps++
			}
		}
		turns += float64(reversals(x, reversalFraction))
	}
	if seen == 0 || steps == 0 {
		return Work{}, false
	}
	return Work{
		Axis: axis, RMS: position.rms(), RateRMSPerS: math.Sqrt(rateSquare / steps),
		ReversalsPerMin: turns / (seen * workStepS / 60),
		NearStopShare:   near / seen, LeftFraction: left,
	}, true
}

// reversals counts the changes of direction of x of more than least, peak to peak. A NaN
// starts over.
func reversals(x []float64, least float64) int {
	n, dir := 0, 0
	low, high := math.Inf(1), math.Inf(-1) // since the last turn
	for _, v := range x {
		if math.IsNaN(v) {
			dir, low, high = 0, math.Inf(1), math.Inf(-1)
			continue
		}
		low, high = math.Min(low, v), math.Max(high, v)
		switch {
		case dir >= 0 && v < high-least:
			n += dir
			dir, low, high = -1, v, v
		case dir <= 0 && v > low+least:
			n -= dir
			dir, low, high = 1, v, v
		}
	}
	return n
}
