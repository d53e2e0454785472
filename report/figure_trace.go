package report

import (
	"math"

	"hopcard/flight"
)

// gapSteps is how many usual steps may lie between two samples that a line joins.
const gapSteps = 5

// trace thins a channel to at most columns columns over span, keeping the lowest and the
// highest value of each, so that no spike is lost. Values are multiplied by k. A line
// ends where samples are missing or no number.
func trace(c *flight.Channel, span flight.Span, columns int, k float64) [][]point {
	from, to := c.Index(span.FromS), c.Index(span.ToS)
	if from >= to || columns < 1 || span.LengthS() <= 0 {
		return nil
	}
	gapS := math.Inf(1)
	if rate := c.RateHz(); rate > 0 {
		gapS = gapSteps / rate
	}
	t := thinner{columnS: span.LengthS() / float64(columns), fromS: span.FromS, raw: to-from <= 2*columns}
	for i := from; i < to; i++ {
		if i > from && c.TimeS[i]-c.TimeS[i-1] > gapS {
			t.split()
		}
		if v := c.Value[i] * k; finite(v) {
			t.add(point{c.TimeS[i], v})
		} else {
			t.split()
		}
	}
	t.split()
	return t.runs
}

// thinner collects points into runs, two for each column.
type thinner struct {
	columnS, fromS float64
	raw            bool
	runs           [][]point
	run            []point
	column         int
	low, high      point
	open           bool
}

func (t *thinner) add(p point) {
	if t.raw {
		t.run = append(t.run, p)
		return
	}
	column := int((p.x - t.fromS) / t.columnS)
	if t.open && column != t.column {
		t.flush()
	}
	if !t.open {
		t.open, t.column, t.low, t.high = true, column, p, p
		return
	}
	if p.y < t.low.y {
		t.low = p
	}
	if p.y > t.high.y {
		t.high = p
	}
}

// flush writes the extremes of a column in the order they came.
func (t *thinner) flush() {
	if !t.open {
		return
	}
	a, b := t.low, t.high
	if a.x > b.x {
		a, b = b, a
	}
	t.run = append(t.run, a)
	if b != a {
		t.run = append(t.run, b)
	}
	t.open = false
}

func (t *thinner) split() {
	t.flush()
	if len(t.run) > 0 {
		t.runs = append(t.runs, t.run)
	}
	t.run = nil
}

// reach is the lowest and highest value of runs; low is above high if there is none.
func reach(runs [][]point) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, run := range runs {
		for _, p := range run {
			low, high = min(low, p.y), max(high, p.y)
		}
	}
	return low, high
}

// timed is the channel of q if its stamps are on the hop clock, otherwise nil.
func timed(h *flight.Hop, q flight.Quantity) *flight.Channel {
	c := h.Channel(q)
	if c == nil || c.Len() == 0 || c.Source >= len(h.Sources) || h.SourceOf(c).Clock.AlignedBy == flight.AlignNone {
		return nil
	}
	return c
}
