package response

import (
	"math"

	"hopcard/flight"
)

// gustStepS is the step at which the wind, logged once or a few times per second, is drawn
// as straight lines between its readings before it goes to the grid.
const gustStepS = 0.04

// gustCover is the least share of the record that the wind log must cover to be used:
// what it does not cover is lost to the response.
const gustCover = 0.8

// gusts returns the wind against the nose and from the right as channels, if speed,
// direction and heading are logged on clocks that may be timed against the motion, over
// most of the spans wanted. They are further inputs: what the air does to the aircraft is
// then not laid to the stick. Wind in the very log of the motion is left alone: it may be
// worked out on board from the motion, and would explain it by itself.
func (a *analyser) gusts(motion *flight.Channel, wanted []flight.Span) []*flight.Channel {
	speed, from := filled(a.hop.Channel(flight.WindSpeed)), filled(a.hop.Channel(flight.WindDirectionFrom))
	heading := filled(a.hop.Channel(flight.Heading))
	if speed == nil || from == nil || heading == nil || speed.Source != from.Source || len(speed.TimeS) != len(from.TimeS) ||
		speed.Source == motion.Source {
		return nil
	}
	for _, c := range []*flight.Channel{speed, heading} {
		if _, ok := a.hop.CommonClock(motion, c); !ok {
			return nil
		}
	}
	head := &flight.Channel{Source: speed.Source}
	right := &flight.Channel{Source: speed.Source}
	limit := max(2, 2.5*typicalStepS(speed.TimeS))
	for i := 1; i < len(speed.TimeS); i++ {
		t0, t1 := speed.TimeS[i-1], speed.TimeS[i]
		if t1-t0 > limit {
			continue // a gap stays one
		}
		h0, r0 := components(speed.Value[i-1], from.Value[i-1], headingAt(heading, t0))
		h1, r1 := components(speed.Value[i], from.Value[i], headingAt(heading, t1))
		n := max(1, int(math.Ceil((t1-t0)/gustStepS)))
		for k := range n {
			f := float64(k) / float64(n)
			head.TimeS = append(head.TimeS, t0+f*(t1-t0))
			head.Value = append(head.Value, h0+f*(h1-h0))
			right.Value = append(right.Value, r0+f*(r1-r0))
		}
	}
	if len(head.TimeS) < 2 || total(intersect(wanted, reach(head))) < gustCover*total(wanted) {
		return nil
	}
	right.TimeS = head.TimeS
	return []*flight.Channel{head, right}
}

// components resolves a wind against the nose and from the right.
func components(speed, fromRad, headingRad float64) (head, right float64) {
	sin, cos := math.Sincos(fromRad - headingRad)
	return speed * cos, speed * sin
}

// headingAt is the heading logged nearest to tS.
func headingAt(c *flight.Channel, tS float64) float64 {
	i := min(c.Index(tS), len(c.TimeS)-1)
	return c.Value[i]
}

func total(spans []flight.Span) (s float64) {
	for _, x := range spans {
		s += x.LengthS()
	}
	return s
}
