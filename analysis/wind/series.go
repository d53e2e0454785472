package wind

import (
	"math"
	"sort"
	"strings"

	"hopcard/flight"
)

// fastestMS is above any wind ever measured near the ground (113 m/s, WMO archive of
// weather extremes): more is a fault of the logger.
const fastestMS = 120

// series is the wind as logged: parallel slices, stamps ascending, speed never NaN. They
// may be those of the hop's channels and are never written to.
type series struct {
	t, speed []float64
	dir      []float64 // NaN where unknown; nil if no direction was logged
	// sin and cos are those of dir, filled once for all that needs them; nil before.
	sin, cos []float64
	// Highest and lowest speed since the last reading, as instruments and notes give
	// them; nil if there are no such columns.
	gust, lull *flight.Channel

	main    *flight.Channel // whose source and column stand for the series in findings
	stepS   float64         // median step
	gapS    float64         // a longer step is a gap
	onBoard bool
	dropped int // readings that are no wind speed: negative or beyond fastestMS
}

// pick returns the wind of the hop that the statistics use: measured before estimated on
// board, then the surer, then the faster. ok is false if there is none.
func pick(h *flight.Hop) (s series, ok bool) {
	var best series
	for i := range h.Channels {
		c := &h.Channels[i]
		if c.Len() == 0 || isExtreme(c.Column) {
			continue
		}
		var cand series
		switch c.Quantity {
		case flight.WindSpeed:
			cand = fromSpeed(h, c)
		case flight.WindNorth:
			east := beside(h, c, flight.WindEast)
			if east == nil {
				continue
			}
			cand = fromComponents(c, east)
		default:
			continue
		}
		if len(cand.t) == 0 || ok && !cand.before(best) {
			continue
		}
		best, ok = cand, true
	}
	if ok {
		best.gust = extremeBeside(h, best.main, "gust", "max", "peak")
		best.lull = extremeBeside(h, best.main, "lull", "min")
	}
	return best, ok
}

// before reports whether s is to be used rather than o.
func (s series) before(o series) bool {
	if s.onBoard != o.onBoard {
		return o.onBoard
	}
	if s.main.Sure != o.main.Sure {
		return s.main.Sure > o.main.Sure
	}
	return s.stepS < o.stepS
}

func fromSpeed(h *flight.Hop, c *flight.Channel) series {
	s := series{main: c, onBoard: isOnBoard(c.Column)}
	dir := beside(h, c, flight.WindDirectionFrom)
	if s.takeWhole(c, dir) {
		return s.finish(dir != nil)
	}
	var at func(float64) float64
	if dir != nil {
		at = angleAt(dir)
	}
	for i, t := range c.TimeS {
		d := math.NaN()
		// A vane that stands still in still air shows no direction.
		if at != nil && c.Value[i] > 0 {
			d = at(t)
		}
		s.add(t, c.Value[i], d)
	}
	return s.finish(dir != nil)
}

// takeWhole takes the channels as they are, mostly without a copy, if every reading is one
// of the wind and dir, where there is one, was read at the same stamps.
func (s *series) takeWhole(c, dir *flight.Channel) bool {
	last, still := math.Inf(-1), false
	for i, v := range c.Value {
		if !(v >= 0 && v <= fastestMS && c.TimeS[i] > last) {
			return false
		}
		last = c.TimeS[i]
		still = still || v == 0
	}
	if dir != nil {
		if dir.Len() != c.Len() {
			return false
		}
		for i, t := range dir.TimeS {
			if t != c.TimeS[i] {
				return false
			}
		}
		s.dir = dir.Value
		if still {
			s.dir = append([]float64{}, dir.Value...)
			for i, v := range c.Value {
				if v == 0 {
					s.dir[i] = math.NaN() // as in fromSpeed
				}
			}
		}
	}
	s.t, s.speed = c.TimeS, c.Value
	return true
}

// fromComponents turns wind north and east, of one source, into speed and direction.
func fromComponents(north, east *flight.Channel) series {
	s := series{main: north, onBoard: isOnBoard(north.Column)}
	j := 0
	for i, t := range north.TimeS {
		for j < east.Len() && east.TimeS[j] < t {
			j++
		}
		if j == east.Len() || east.TimeS[j] != t {
			continue // the two are rows of one file; a row with one of them is no wind
		}
		n, e := north.Value[i], east.Value[j]
		d := math.NaN()
		if n != 0 || e != 0 {
			d = wrap2Pi(math.Atan2(-e, -n))
		}
		s.add(t, math.Hypot(n, e), d)
	}
	return s.finish(true)
}

func (s *series) add(t, speed, dir float64) {
	switch {
	case math.IsNaN(speed) || math.IsNaN(t):
		return
	case speed < 0 || speed > fastestMS:
		s.dropped++
		return
	case len(s.t) > 0 && t <= s.t[len(s.t)-1]:
		return
	}
	s.t = append(s.t, t)
	s.speed = append(s.speed, speed)
	s.dir = append(s.dir, dir)
}

func (s series) finish(hasDir bool) series {
	if !hasDir {
		s.dir = nil
	}
	s.stepS = medianStep(s.t)
	s.gapS = 2.5 * s.stepS
	return s
}

// cut returns the part of s inside span.
func (s series) cut(span flight.Span) series {
	i := sort.SearchFloat64s(s.t, span.FromS)
	j := sort.SearchFloat64s(s.t, span.ToS)
	return s.slice(i, max(i, j))
}

func (s series) slice(i, j int) series {
	s.t, s.speed = s.t[i:j], s.speed[i:j]
	if s.dir != nil {
		s.dir = s.dir[i:j]
	}
	if s.sin != nil {
		s.sin, s.cos = s.sin[i:j], s.cos[i:j]
	}
	return s
}

// turned fills sin and cos.
func (s series) turned() series {
	if s.dir == nil {
		return s
	}
	s.sin, s.cos = make([]float64, len(s.dir)), make([]float64, len(s.dir))
	for i, d := range s.dir {
		s.sin[i], s.cos[i] = math.Sincos(d)
	}
	return s
}

// without leaves out what the crew ruled out.
func (s series) without(exclude []flight.Span) series {
	if len(exclude) == 0 {
		return s
	}
	o := s
	o.t, o.speed, o.dir, o.sin, o.cos = nil, nil, nil, nil, nil
	for i, t := range s.t {
		out := false
		for _, e := range exclude {
			out = out || e.Contains(t)
		}
		if out {
			continue
		}
		o.t = append(o.t, t)
		o.speed = append(o.speed, s.speed[i])
		if s.dir != nil {
			o.dir = append(o.dir, s.dir[i])
		}
	}
	return o
}

// beside returns the channel of q in the same source as c, nil if there is none.
func beside(h *flight.Hop, c *flight.Channel, q flight.Quantity) *flight.Channel {
	var best *flight.Channel
	for i := range h.Channels {
		o := &h.Channels[i]
		if o.Quantity == q && o.Source == c.Source && o.Len() > 0 && isOnBoard(o.Column) == isOnBoard(c.Column) &&
			(best == nil || o.Sure > best.Sure) {
			best = o
		}
	}
	return best
}

// extremeBeside returns the wind speed column of c's source whose name holds one of
// words.
func extremeBeside(h *flight.Hop, c *flight.Channel, words ...string) *flight.Channel {
	for i := range h.Channels {
		o := &h.Channels[i]
		if o.Source != c.Source || o.Quantity != flight.WindSpeed || o == c {
			continue
		}
		for _, w := range words {
			if strings.Contains(strings.ToLower(o.Column), w) {
				return o
			}
		}
	}
	return nil
}

// isExtreme reports whether a column holds gusts or lulls instead of the wind itself.
func isExtreme(column string) bool {
	column = strings.ToLower(column)
	for _, w := range []string{"gust", "lull", "peak", "max", "min"} {
		if strings.Contains(column, w) {
			return true
		}
	}
	return false
}

// isOnBoard reports whether a column says that it is an estimate made on board.
func isOnBoard(column string) bool {
	words := strings.FieldsFunc(strings.ToLower(column), func(r rune) bool { return r < 'a' || r > 'z' })
	for _, w := range words {
		switch w {
		case "est", "estimate", "estimated", "ekf":
			return true
		}
	}
	return false
}

// angleAt returns a reader of an angle channel between its stamps, along the shorter arc.
// It returns NaN outside the channel, beside a NaN and in gaps of over 2.5 steps. Stamps
// must be asked for in ascending order.
func angleAt(c *flight.Channel) func(float64) float64 {
	gap := 2.5 * medianStep(c.TimeS)
	j := 0
	return func(t float64) float64 {
		for j < c.Len() && c.TimeS[j] < t {
			j++
		}
		switch {
		case j == c.Len() || math.IsNaN(t):
			return math.NaN()
		case c.TimeS[j] == t:
			return c.Value[j]
		case j == 0 || c.TimeS[j]-c.TimeS[j-1] > gap:
			return math.NaN()
		}
		f := (t - c.TimeS[j-1]) / (c.TimeS[j] - c.TimeS[j-1])
		return c.Value[j-1] + f*wrapPi(c.Value[j]-c.Value[j-1])
	}
}

// medianStep returns the median step of stamps, +Inf for fewer than two, at a cost that
// does not grow with the record.
func medianStep(t []float64) float64 {
	c := flight.Channel{TimeS: t}
	return 1 / c.RateHz()
}
