package stability

import (
	"fmt"
	"math"

	"hopcard/flight"
)

const (
	// nearStop is the stick position, as a fraction of full travel, from which on it
	// counts as at its stop.
	nearStop = 0.9
	// Excursions that come back for less than joinS are one; those shorter than leastS
	// are a spike of one sample.
	joinS  = 0.15
	leastS = 0.02
)

// beyond returns the spans within flights in which |c| is above level, edges interpolated
// between samples, and the value farthest out in each.
func beyond(c *flight.Channel, flights []flight.Span, level float64) (spans []flight.Span, peaks []float64) {
	const gapS = 0.3
	for _, air := range flights {
		open := false
		for i := c.Index(air.FromS); i < c.Len() && c.TimeS[i] < air.ToS; i++ {
			v := c.Value[i]
			if !(math.Abs(v) > level) {
				if open && v == v {
					spans[len(spans)-1].ToS = crossing(c, i, level, air)
				}
				open = false
				continue
			}
			t := c.TimeS[i]
			n := len(spans)
			switch {
			case open && t-spans[n-1].ToS > gapS: // a pause in the log
				open = false
				fallthrough
			case !open:
				from := t
				if i > 0 && c.TimeS[i]-c.TimeS[i-1] < gapS {
					from = crossing(c, i, level, air)
				}
				if n > 0 && from-spans[n-1].ToS < joinS && peaks[n-1]*v > 0 {
					break
				}
				spans, peaks = append(spans, flight.Span{FromS: from, ToS: t}), append(peaks, v)
			}
			open = true
			n = len(spans)
			spans[n-1].ToS = t
			if math.Abs(v) > math.Abs(peaks[n-1]) {
				peaks[n-1] = v
			}
		}
	}
	return dropSpikes(c, spans, peaks)
}

// crossing returns the time between samples i-1 and i at which |c| passes level, kept
// within air.
func crossing(c *flight.Channel, i int, level float64, air flight.Span) float64 {
	if i == 0 || c.Value[i-1] != c.Value[i-1] {
		return max(c.TimeS[i], air.FromS)
	}
	a, b := math.Abs(c.Value[i-1]), math.Abs(c.Value[i])
	if a == b {
		return c.TimeS[i]
	}
	f := min(max((level-a)/(b-a), 0), 1)
	return min(max(c.TimeS[i-1]+f*(c.TimeS[i]-c.TimeS[i-1]), air.FromS), air.ToS)
}

// dropSpikes leaves out what a single sample alone says.
func dropSpikes(c *flight.Channel, spans []flight.Span, peaks []float64) ([]flight.Span, []float64) {
	var s []flight.Span
	var p []float64
	for i, span := range spans {
		samples := c.Index(span.ToS) - c.Index(span.FromS)
		if span.LengthS() >= leastS && samples >= 2 {
			s, p = append(s, span), append(p, peaks[i])
		}
	}
	return s, p
}

// limitFlags returns the spans in which attitude or rate was beyond its limit in flight.
func limitFlags(h *flight.Hop, axis flight.Axis, flights []flight.Span, limits flight.Limits) []Unstable {
	var out []Unstable
	if c := h.Channel(axis.Attitude()); c != nil {
		spans, peaks := beyond(c, flights, limits.AttitudeDeg*math.Pi/180)
		for i, s := range spans {
			out = append(out, Unstable{Axis: axis, Kind: Limit, Span: s, Reason: fmt.Sprintf(
				"%s was beyond its limit of %.0f deg for %.1f s and reached %.1f deg",
				axis, limits.AttitudeDeg, s.LengthS(), deg(peaks[i]))})
		}
	}
	if c := h.Channel(axis.Rate()); c != nil {
		spans, peaks := beyond(c, flights, limits.RateDegS*math.Pi/180)
		for i, s := range spans {
			out = append(out, Unstable{Axis: axis, Kind: Limit, Span: s, Reason: fmt.Sprintf(
				"%s rate was beyond its limit of %.0f deg/s for %.1f s and reached %.0f deg/s",
				axis, limits.RateDegS, s.LengthS(), deg(peaks[i]))})
		}
	}
	return out
}

// stopFlags returns the spans in which the stick of the axis was within 10 % of a stop in
// flight. A stick without a common clock cannot be placed in the flight: see controlUsed.
func stopFlags(h *flight.Hop, axis flight.Axis, flights []flight.Span) []Unstable {
	c := timedStick(h, axis)
	if c == nil {
		return nil
	}
	var out []Unstable
	spans, peaks := beyond(c, flights, nearStop)
	for i, s := range spans {
		out = append(out, Unstable{Axis: axis, Kind: ControlStop, Span: s, Reason: fmt.Sprintf(
			"%s was within 10 %% of its %s stop for %.2f s (%.0f %% of travel)",
			axis.Stick(), side(axis, peaks[i]), s.LengthS(), 100*math.Abs(peaks[i]))})
	}
	return out
}

// side names the stop that a stick position lies towards.
func side(axis flight.Axis, position float64) string {
	names := [2]string{"left", "right"}
	if axis == flight.PitchAxis {
		names = [2]string{"forward", "aft"}
	}
	if position < 0 {
		return names[0]
	}
	return names[1]
}

// timedStick returns the stick of the axis if it can be timed against the attitude.
func timedStick(h *flight.Hop, axis flight.Axis) *flight.Channel {
	c := h.Channel(axis.Stick())
	if c == nil || c.Len() < 20 {
		return nil
	}
	for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.RollRate, flight.PitchRate} {
		if lead := h.Channel(q); lead != nil {
			if _, ok := h.CommonClock(lead, c); ok {
				return c
			}
			return nil
		}
	}
	return nil
}

// controlUsed returns how far the stick of the axis went in flight. ok is false without a
// stick on a common clock: the control check on the ground would be counted.
func controlUsed(h *flight.Hop, axis flight.Axis, flights []flight.Span) (c Control, ok bool) {
	ch := timedStick(h, axis)
	if ch == nil {
		return Control{}, false
	}
	c = Control{Axis: axis, SpanInFlight: flight.Span{FromS: flights[0].FromS, ToS: flights[len(flights)-1].ToS}}
	low, high := math.Inf(1), math.Inf(-1)
	for _, air := range flights {
		for i := ch.Index(air.FromS) + 1; i < ch.Len()-1 && ch.TimeS[i] < air.ToS; i++ {
			// The middle of three leaves out a spike of one sample.
			v := middle(ch.Value[i-1], ch.Value[i], ch.Value[i+1])
			if v == v {
				low, high = min(low, v), max(high, v)
			}
		}
	}
	if low > high {
		return Control{}, false
	}
	spans, _ := beyond(ch, flights, nearStop)
	for _, s := range spans {
		c.AtStopS += s.LengthS()
	}
	c.LowPercent, c.HighPercent = 100*low, 100*high
	c.UsedPercent = max(math.Abs(c.LowPercent), math.Abs(c.HighPercent))
	c.LeftPercent = max(100-c.UsedPercent, 0)
	return c, true
}

// middle returns the median of three numbers, NaN if one of them is.
func middle(a, b, c float64) float64 {
	return max(min(a, b), min(max(a, b), c))
}
