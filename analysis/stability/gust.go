package stability

import (
	"strings"

	"hopcard/analysis/segment/series"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// gustOn returns the measured wind that pushes on the axis, head wind in pitch and wind from
// the right in roll, on the grid; nil if it or the heading was not logged, cannot be timed
// against the motion, or has gaps within flown.
func gustOn(h *flight.Hop, axis flight.Axis, grid series.Grid, flown flight.Span) []float64 {
	lead, heading := motionOf(h, axis), h.Channel(flight.Heading)
	speed, from := measuredWind(h)
	if lead == nil || heading == nil || heading.Len() < 2 || speed == nil {
		return nil
	}
	for _, c := range []*flight.Channel{speed, heading} {
		if _, ok := h.CommonClock(lead, c); !ok {
			return nil
		}
	}
	c := &flight.Channel{}
	for i, t := range speed.TimeS {
		// Rows between the steps of the grid would only be passed over.
		if n := c.Len(); n > 0 && t-c.TimeS[n-1] < 0.9*stepS {
			continue
		}
		k := min(heading.Index(t), heading.Len()-1)
		head, right := wind.Components(speed.Value[i], from.Value[i], heading.Value[k])
		if axis == flight.PitchAxis {
			right = head
		}
		if right == right {
			c.TimeS, c.Value = append(c.TimeS, t), append(c.Value, right)
		}
	}
	return lines(c, grid, flown)
}

// measuredWind returns wind speed and the direction it comes from, on the same stamps. An
// estimate made on board is worked out from the motion, and would explain it by itself.
func measuredWind(h *flight.Hop) (speed, from *flight.Channel) {
	speed, from = h.Channel(flight.WindSpeed), h.Channel(flight.WindDirectionFrom)
	if speed == nil || from == nil || speed.Source != from.Source || speed.Len() != from.Len() || speed.Len() < 2 {
		return nil, nil
	}
	for _, c := range []*flight.Channel{speed, from} {
		if name := strings.ToLower(c.Column); strings.Contains(name, "est") || strings.Contains(name, "ekf") {
			return nil, nil
		}
	}
	return speed, from
}

// lines draws c on the grid as straight lines between its readings; nil if it does not
// cover flown, or is silent for long in it.
func lines(c *flight.Channel, grid series.Grid, flown flight.Span) []float64 {
	n := c.Len()
	if n < 2 || c.TimeS[0] > flown.FromS || c.TimeS[n-1] < flown.ToS {
		return nil
	}
	longest := max(2, 2.5*c.Span().LengthS()/float64(n-1))
	out := make([]float64, grid.N)
	k := 1
	for i := range out {
		t := grid.TimeS(i)
		for k < n-1 && c.TimeS[k] < t {
			k++
		}
		a, b := c.TimeS[k-1], c.TimeS[k]
		if b-a > longest && a < flown.ToS && b > flown.FromS {
			return nil
		}
		f := 0.0
		if b > a {
			f = min(max((t-a)/(b-a), 0), 1)
		}
		out[i] = c.Value[k-1] + f*(c.Value[k]-c.Value[k-1])
	}
	return out
}

// motionOf returns attitude or rate of the axis.
func motionOf(h *flight.Hop, axis flight.Axis) *flight.Channel {
	if c := h.Channel(axis.Attitude()); c != nil {
		return c
	}
	return h.Channel(axis.Rate())
}

const (
	// A gust that passes the anemometer reaches the aircraft, or has reached it, within
	// these times.
	soonestS = -2.0
	latestS  = 10.0
)
