// Package segment says what happened when during a hop: on the ground, lift-off, hover,
// which test inputs were flown in which axis, hands still, landing, rotor starting and
// stopping.
//
// It works from whatever was logged and from physics, not from names: on its skids an
// aircraft does not turn, so the angular rates (or the attitude's derivative) tell
// flight from ground; height and collective refine the moment; vibration, or the rotor
// speed if logged, tells the rotor's state; the sticks tell the inputs.
package segment

import (
	"sort"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// Find returns the segments of the hop by start time, and findings about what could not
// be told. Ground and flight are covered without a gap; test inputs in two axes may
// overlap each other.
func Find(h *flight.Hop) ([]flight.Segment, []flight.Finding) {
	f := newFinder(h)
	if f == nil {
		return nil, []flight.Finding{{
			Code: flight.CodeMissing, Severity: flight.Caution,
			Text:   "No attitude and no angular rate was logged, so flight and ground cannot be told apart.",
			Advice: "Log roll and pitch attitude, or the angular rates, at 20 Hz or more.",
		}}
	}
	f.findFlights()
	f.findRotor()
	var segs []flight.Segment
	segs = append(segs, f.groundSegments()...)
	segs = append(segs, f.flightSegments()...)
	sort.SliceStable(segs, func(i, j int) bool { return segs[i].Span.FromS < segs[j].Span.FromS })
	return segs, f.findings
}

// Flight returns the span from the start of the first lift-off to the end of the last
// landing. ok is false if the hop was never in the air.
func Flight(segs []flight.Segment) (span flight.Span, ok bool) {
	all := Flights(segs)
	if len(all) == 0 {
		return flight.Span{}, false
	}
	return flight.Span{FromS: all[0].FromS, ToS: all[len(all)-1].ToS}, true
}

// Flights returns each stay in the air, from the start of a lift-off to the end of its
// landing.
func Flights(segs []flight.Segment) []flight.Span {
	var out []flight.Span
	for _, s := range segs {
		if onGround(s.Kind) {
			continue
		}
		if n := len(out); n > 0 && s.Span.FromS <= out[n-1].ToS+1e-6 {
			out[n-1].ToS = max(out[n-1].ToS, s.Span.ToS)
			continue
		}
		out = append(out, s.Span)
	}
	return out
}

// Inputs returns the spans of the test inputs in that axis, of the given kinds or, if
// none is given, of every kind of input.
func Inputs(segs []flight.Segment, axis flight.Axis, kinds ...flight.SegmentKind) []flight.Span {
	var out []flight.Span
	for _, s := range segs {
		if s.Axis != axis || !IsInput(s.Kind) {
			continue
		}
		match := len(kinds) == 0
		for _, k := range kinds {
			match = match || s.Kind == k
		}
		if match {
			out = append(out, s.Span)
		}
	}
	return out
}

// IsInput reports whether k is a test input.
func IsInput(k flight.SegmentKind) bool {
	switch k {
	case flight.Doublet, flight.Steps, flight.Sweep, flight.Rap:
		return true
	}
	return false
}

func onGround(k flight.SegmentKind) bool {
	switch k {
	case flight.Ground, flight.SpinUp, flight.SpinDown, flight.ControlCheck, flight.Knocks:
		return true
	}
	return false
}

// finder carries one hop through the steps of Find.
type finder struct {
	hop      *flight.Hop
	whole    flight.Span
	findings []flight.Finding

	slow     series.Grid // for flight, ground and rotor
	activity []float64   // rms angular rate over 1.5 s, rad/s
	rate     []float64   // size of the angular rate itself

	flights []flight.Span
	rotor   []float64 // rotor speed over its flight value, nil if unknown
	// The rotor's start before the first and stop after the last flight; zero if not seen.
	spinUp, spinDown flight.Span
}

// slowStepS is the step of the grid for flight, ground and rotor.
const slowStepS = 0.1

func newFinder(h *flight.Hop) *finder {
	f := &finder{hop: h}
	var lead *flight.Channel
	for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.RollRate, flight.PitchRate} {
		if c := h.Channel(q); c != nil && c.Len() > 20 && lead == nil {
			lead = c
		}
	}
	if lead == nil || lead.Span().LengthS() < 1 {
		return nil
	}
	f.whole = lead.Span()
	f.slow = series.Over(f.whole, slowStepS)
	f.measureActivity()
	return f
}

// Turning returns the spans in which the rotor turned, as far as rotor speed, vibration
// or the segments themselves tell: from the start of spin-up to the end of spin-down.
func Turning(segs []flight.Segment) (span flight.Span, ok bool) {
	span, ok = Flight(segs)
	for _, s := range segs {
		switch {
		case s.Kind == flight.SpinUp && (!ok || s.Span.FromS < span.FromS):
			span.FromS = s.Span.FromS
			if !ok {
				span.ToS = s.Span.ToS
			}
			ok = true
		case s.Kind == flight.SpinDown && ok && s.Span.ToS > span.ToS:
			span.ToS = s.Span.ToS
		}
	}
	return span, ok
}
