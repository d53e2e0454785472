package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// takeFigures looks once through every column.
func (f *logFile) takeFigures() {
	onAllCores(len(f.columns), func(i int) { f.columns[i].figures = look(f.columns[i].values) })
}

// dataFaults looks for values that no healthy sensor writes.
func (f *logFile) dataFaults() {
	found := make([]spikes, len(f.columns))
	onAllCores(len(f.columns), func(i int) {
		switch c := f.columns[i]; {
		case c.derived || c.quantity == flight.Heading || c.quantity == flight.WindDirectionFrom: // they jump at north
		case c.sensed() || c.quantity.Dimension() == flight.StickTravel:
			found[i] = c.spikes()
		}
	})
	for i, c := range f.columns {
		if c.sensed() && !c.derived {
			f.stuck(c)
		}
		f.spikeFinding(c, found[i])
		if c.sensed() && !c.derived {
			f.saturated(c)
		}
	}
}

// sensed reports whether a column comes from a sensor of motion.
func (c *column) sensed() bool {
	switch c.quantity.Dimension() {
	case flight.Angle, flight.AngularRate, flight.Acceleration:
		return true
	}
	return false
}

// stuck finds stretches in which a sensor that otherwise changes from row to row writes
// the same value for at least two seconds. Slow sensors in a fast log repeat values all
// the time and are left alone.
func (f *logFile) stuck(c *column) {
	const least = 2.0 // s
	n, repeats := len(c.values), c.figures.repeats
	if n < 100 || repeats > n/2 {
		if n >= 100 && repeats == n-1 {
			f.add(flight.CodeStuck, flight.Caution, c.header, flight.Span{FromS: f.stamps[0], ToS: f.stamps[n-1]},
				fmt.Sprintf("%q (%s) holds the same value %.6g throughout", c.header, c.quantity, c.values[0]), "check the sensor")
		}
		return
	}
	for _, s := range c.figures.stands {
		span := flight.Span{FromS: f.stamps[s.first], ToS: f.stamps[s.last]}
		if span.LengthS() >= least {
			f.add(flight.CodeStuck, flight.Caution, c.header, span,
				fmt.Sprintf("%q (%s) stands still at %.6g for %.1f s", c.header, c.quantity, c.values[s.first], span.LengthS()),
				"exclude the interval in hop.toml; check the sensor's lead")
		}
	}
}

// spikes counts values that jump out and back, and keeps the row of the first.
type spikes struct{ count, first int }

// spikes finds single values far from both neighbours, while these agree: no motion can
// go out and come back within one row.
func (c *column) spikes() spikes {
	n := len(c.values)
	if n < 100 {
		return spikes{}
	}
	limit := math.Max(60*c.figures.bend, 0.25*(c.figures.absHigh+1e-300))
	var s spikes
	for i := 1; i+1 < n; i++ {
		a, b := c.values[i-1], c.values[i]
		if !(math.Abs(b-a) > limit) {
			continue
		}
		e := c.values[i+1]
		if out := math.Min(math.Abs(b-a), math.Abs(b-e)); out > limit && math.Abs(a-e) < 0.2*out {
			if s.count++; s.count == 1 {
				s.first = i
			}
		}
	}
	return s
}

func (f *logFile) spikeFinding(c *column, s spikes) {
	if s.count == 0 || s.count >= len(c.values)/100 {
		return
	}
	f.add(flight.CodeSpike, flight.Caution, c.header, flight.Span{FromS: f.stamps[s.first-1], ToS: f.stamps[s.first+1]},
		fmt.Sprintf("%d single values of %q (%s) jump far out and back within one row; the first is %.6g at stamp %.3f s",
			s.count, c.header, c.quantity, c.values[s.first], f.stamps[s.first]),
		"exclude the interval in hop.toml if it lies in a test")
}

// saturated finds a sensor at the end of its range: its very largest value repeated in
// rows on end, while it otherwise changes from row to row.
func (f *logFile) saturated(c *column) {
	g := &c.figures
	if c.quantity == flight.Heading || c.quantity == flight.WindDirectionFrom || g.n < 100 || g.high == g.low {
		return
	}
	for _, e := range []extreme{g.atLow, g.atHigh} {
		if e.value != g.low && e.value != g.high || e.rows >= g.n*45/100 {
			continue
		}
		// A coarse sensor at rest also repeats its extreme: the end must stand out.
		if math.Abs(e.value-g.median) > 20*math.Max(g.step, 1e-12*math.Abs(e.value)) {
			f.add(flight.CodeSaturated, flight.Caution, c.header,
				flight.Span{FromS: f.stamps[e.first], ToS: f.stamps[min(e.first+e.rows, len(f.stamps)-1)]},
				fmt.Sprintf("%q (%s) stands at its extreme %.6g in %d stretches, %d rows in all: the sensor's range is too small",
					c.header, c.quantity, e.value, e.runs, e.rows), "set a wider range in the logger")
		}
	}
}

// windShort notes a wind log that does not cover the hop.
func windShort(h *flight.Hop, lead int) {
	var whole flight.Span
	for i := range h.Channels {
		if c := &h.Channels[i]; c.Source == lead {
			whole = c.Span()
			break
		}
	}
	for _, q := range []flight.Quantity{flight.WindSpeed, flight.WindNorth} {
		c := h.Channel(q)
		if c == nil || h.Sources[c.Source].Clock.AlignedBy == flight.AlignNone || whole.LengthS() <= 0 {
			continue
		}
		s := c.Span()
		covered := math.Min(s.ToS, whole.ToS) - math.Max(s.FromS, whole.FromS)
		if covered < 0.98*whole.LengthS()-2 {
			h.Findings = append(h.Findings, flight.Finding{
				Code: flight.CodeWindShort, Severity: flight.Caution, File: h.Sources[c.Source].File, Channel: string(q), Span: s,
				Text: fmt.Sprintf("the wind was logged from %.1f to %.1f s only, %.0f of %.0f s of the hop",
					s.FromS, s.ToS, math.Max(covered, 0), whole.LengthS()),
				Advice: "start the wind logger before the aircraft's",
			})
		}
	}
}
