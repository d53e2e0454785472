package response

import (
	"sort"

	"hopcard/flight"
)

// A test input is used with some time before it, because the slow start of a sweep may pass
// for hover, and with the answer that follows it. On 240 drawn hops 6 and 4 s give a tenth fewer
// bandwidths and phase delays half as far off again, and the intervals of dead time and w180 hold
// 91 and 90 % instead of 94; 32 and 24 s change nothing beyond chance.
const (
	beforeTestS = 16
	afterTestS  = 12
)

// isTest reports whether the kind of segment is one in which the pilot moves the stick
// to learn something.
func isTest(k flight.SegmentKind) bool {
	switch k {
	case flight.Sweep, flight.Doublet, flight.Steps, flight.Rap:
		return true
	}
	return false
}

// isAirborne reports whether the aircraft flies in segments of this kind.
func isAirborne(k flight.SegmentKind) bool {
	switch k {
	case flight.LiftOff, flight.Hover, flight.HandsStill, flight.Landing:
		return true
	}
	return isTest(k)
}

// flown returns the interval from the first to the last airborne segment.
func flown(segs []flight.Segment) (flight.Span, bool) {
	var s flight.Span
	found := false
	for _, g := range segs {
		if !isAirborne(g.Kind) {
			continue
		}
		if !found {
			s, found = g.Span, true
			continue
		}
		s.FromS, s.ToS = min(s.FromS, g.Span.FromS), max(s.ToS, g.Span.ToS)
	}
	return s, found
}

// settled returns the parts of the flight between lift-off and landing: with the skids
// on the ground the aircraft does not answer like one in the air.
func settled(segs []flight.Segment) []flight.Span {
	whole, ok := flown(segs)
	if !ok {
		return nil
	}
	var ground []flight.Span
	for _, g := range segs {
		if !isAirborne(g.Kind) || g.Kind == flight.LiftOff || g.Kind == flight.Landing {
			ground = append(ground, g.Span)
		}
	}
	return flight.Without([]flight.Span{whole}, union(ground))
}

// tests returns the intervals around the test inputs of the axes, joined where they
// touch, inside the spans given.
func tests(segs []flight.Segment, inside []flight.Span, axes ...flight.Axis) []flight.Span {
	var spans []flight.Span
	for _, g := range segs {
		for _, a := range axes {
			if isTest(g.Kind) && g.Axis == a {
				spans = append(spans, flight.Span{FromS: g.Span.FromS - beforeTestS, ToS: g.Span.ToS + afterTestS})
			}
		}
	}
	return intersect(union(spans), inside)
}

// union sorts the spans and joins those that overlap or touch.
func union(spans []flight.Span) []flight.Span {
	sort.Slice(spans, func(i, j int) bool { return spans[i].FromS < spans[j].FromS })
	var out []flight.Span
	for _, s := range spans {
		if n := len(out); n > 0 && s.FromS <= out[n-1].ToS {
			out[n-1].ToS = max(out[n-1].ToS, s.ToS)
			continue
		}
		out = append(out, s)
	}
	return out
}
