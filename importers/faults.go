package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// dataFaults looks for values that no healthy sensor writes.
func (f *logFile) dataFaults() {
	for _, c := range f.columns {
		if c.derived {
			continue
		}
		switch c.quantity.Dimension() {
		case flight.Angle, flight.AngularRate, flight.Acceleration:
			f.stuck(c)
			if c.quantity != flight.Heading && c.quantity != flight.WindDirectionFrom { // they jump at north
				f.spikes(c)
			}
			f.saturated(c)
		case flight.StickTravel:
			f.spikes(c)
		}
	}
}

// stuck finds stretches in which a sensor that otherwise changes from row to row writes
// the same value for at least two seconds. Slow sensors in a fast log repeat values all
// the time and are left alone.
func (f *logFile) stuck(c *column) {
	const least = 2.0 // s
	n := len(c.values)
	repeats := 0
	for i := 1; i < n; i++ {
		if c.values[i] == c.values[i-1] {
			repeats++
		}
	}
	if n < 100 || repeats > n/2 {
		if n >= 100 && repeats == n-1 {
			f.add(flight.CodeStuck, flight.Caution, c.header, flight.Span{FromS: f.stamps[0], ToS: f.stamps[n-1]},
				fmt.Sprintf("%q (%s) holds the same value %.6g throughout", c.header, c.quantity, c.values[0]), "check the sensor")
		}
		return
	}
	for from, i := 0, 1; i <= n; i++ {
		if i < n && c.values[i] == c.values[from] {
			continue
		}
		if f.stamps[i-1]-f.stamps[from] >= least && i-from >= 20 {
			f.add(flight.CodeStuck, flight.Caution, c.header, flight.Span{FromS: f.stamps[from], ToS: f.stamps[i-1]},
				fmt.Sprintf("%q (%s) stands still at %.6g for %.1f s", c.header, c.quantity, c.values[from], f.stamps[i-1]-f.stamps[from]),
				"exclude the interval in hop.toml; check the sensor's lead")
		}
		from = i
	}
}

// spikes finds single values far from both neighbours, while these agree: no motion can
// go out and come back within one row.
func (f *logFile) spikes(c *column) {
	n := len(c.values)
	if n < 100 {
		return
	}
	var d []float64
	for i := 1; i+1 < n; i += max(1, n/20000) {
		d = append(d, math.Abs(c.values[i-1]-2*c.values[i]+c.values[i+1]))
	}
	g := look(c.values)
	limit := math.Max(60*medianOf(d), 0.25*(g.absHigh+1e-300))
	count, first := 0, 0
	for i := 1; i+1 < n; i++ {
		a, b, e := c.values[i-1], c.values[i], c.values[i+1]
		if out := math.Min(math.Abs(b-a), math.Abs(b-e)); out > limit && math.Abs(a-e) < 0.2*out {
			if count++; count == 1 {
				first = i
			}
		}
	}
	if count > 0 && count < n/100 {
		f.add(flight.CodeSpike, flight.Caution, c.header, flight.Span{FromS: f.stamps[first-1], ToS: f.stamps[first+1]},
			fmt.Sprintf("%d single values of %q (%s) jump far out and back within one row; the first is %.6g at stamp %.3f s",
				count, c.header, c.quantity, c.values[first], f.stamps[first]),
			"exclude the interval in hop.toml if it lies in a test")
	}
}

// saturated finds a sensor at the end of its range: its very largest value repeated in
// rows on end, while it otherwise changes from row to row.
func (f *logFile) saturated(c *column) {
	if c.quantity == flight.Heading || c.quantity == flight.WindDirectionFrom {
		return
	}
	g := look(c.values)
	if g.n < 100 || g.high == g.low {
		return
	}
	for _, end := range []float64{g.low, g.high} {
		rows, runs, first := 0, 0, 0
		for i := 0; i < len(c.values); i++ {
			j := i
			for j < len(c.values) && c.values[j] == end {
				j++
			}
			if j-i >= 4 {
				rows += j - i
				if runs++; runs == 1 {
					first = i
				}
			}
			i = max(i, j)
		}
		// A coarse sensor at rest also repeats its extreme: the end must stand out.
		if rows >= 4 && rows < g.n*45/100 && math.Abs(end-g.median) > 20*math.Max(quantisation(c.values), 1e-12*math.Abs(end)) {
			f.add(flight.CodeSaturated, flight.Caution, c.header, flight.Span{FromS: f.stamps[first], ToS: f.stamps[min(first+rows, len(f.stamps)-1)]},
				fmt.Sprintf("%q (%s) stands at its extreme %.6g in %d stretches, %d rows in all: the sensor's range is too small",
					c.header, c.quantity, end, runs, rows), "set a wider range in the logger")
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
