package stability

import (
	"context"
	"fmt"
	"math"
	"sort"

	"github.com/sourcegraph/conc"

	"hopcard/analysis/segment"
	"hopcard/flight"
)

// Analyse looks for growing oscillations, limits passed and stops reached in the flights
// that segs tell of, and for the control that was left. It needs roll or pitch, as
// attitude or as rate; without sticks it still finds growth and limits. The error is ctx's;
// everything that the data cannot give is a finding.
func Analyse(ctx context.Context, h *flight.Hop, segs []flight.Segment, limits flight.Limits) (Result, error) {
	var r Result
	limits = limits.OrDefault()
	flights := segment.Flights(segs)
	if len(flights) == 0 {
		r.Findings = append(r.Findings, flight.Finding{
			Code: flight.CodeNotMeasurable, Severity: flight.Note,
			Text:   "No flight was found in the record, so nothing is said about stability and control left.",
			Advice: "Nothing, if this was a ground run.",
		})
		return r, nil
	}
	flights = flight.Without(flights, h.Exclude)
	if len(flights) == 0 {
		return r, nil // the crew ruled all of it out
	}
	traces := map[flight.Axis]*trace{
		flight.RollAxis: newTrace(h, flight.RollAxis, flights), flight.PitchAxis: newTrace(h, flight.PitchAxis, flights),
	}
	if err := ctx.Err(); err != nil {
		return Result{}, err
	}
	axes := [2]flight.Axis{flight.RollAxis, flight.PitchAxis}
	var each [2]Result
	var wait conc.WaitGroup
	for i, axis := range axes {
		wait.Go(func() { each[i].axis(h, traces, axis, flights, segs, limits) })
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return Result{}, err
	}
	for _, one := range each {
		r.Unstable = append(r.Unstable, one.Unstable...)
		r.Control = append(r.Control, one.Control...)
		r.Findings = append(r.Findings, one.Findings...)
		r.Modes = append(r.Modes, one.Modes...)
		r.Damping = append(r.Damping, one.Damping...)
	}
	r.Unstable = append(r.Unstable, stopFlags(h, flight.YawAxis, flights)...)
	if c, ok := controlUsed(h, flight.YawAxis, flights); ok {
		r.Control = append(r.Control, c)
	}
	for i := range r.Modes {
		m := &r.Modes[i]
		m.Hover = m.FrequencyRadS.Value < shortModeRadS
		m.Says = m.says()
	}
	sort.SliceStable(r.Unstable, func(i, j int) bool { return r.Unstable[i].Span.FromS < r.Unstable[j].Span.FromS })
	return r, nil
}

// axis adds all there is to say about one axis. The other's trace is only read.
func (r *Result) axis(h *flight.Hop, traces map[flight.Axis]*trace, axis flight.Axis, flights []flight.Span,
	segs []flight.Segment, limits flight.Limits) {
	r.Unstable = append(r.Unstable, limitFlags(h, axis, flights, limits)...)
	r.Unstable = append(r.Unstable, stopFlags(h, axis, flights)...)
	if c, ok := controlUsed(h, axis, flights); ok {
		r.Control = append(r.Control, c)
	}
	r.Findings = append(r.Findings, missing(h, axis)...)
	r.motion(h, traces[axis], traces[across(axis)], axis, flights, segs)
}

// motion adds what the motion of the axis says: growth, modes, damping along the flight.
func (r *Result) motion(h *flight.Hop, t, other *trace, axis flight.Axis, flights []flight.Span, segs []flight.Segment) {
	if t == nil {
		r.Findings = append(r.Findings, flight.Finding{
			Code: flight.CodeMissing, Severity: flight.Caution, Channel: string(axis.Attitude()),
			Text:   fmt.Sprintf("Neither attitude nor rate was logged in %s: growing oscillations in that axis would not be seen.", axis),
			Advice: "Log both attitude angles and both rates.",
		})
		return
	}
	var grown []Unstable
	growths := t.growths(flights, segs)
	t.learn(flights, segment.Inputs(segs, t.axis), growths)
	for _, g := range growths {
		if !t.answersAcross(g, other, segment.Inputs(segs, across(axis))) {
			grown = append(grown, t.judge(g)...)
		}
	}
	r.Unstable = append(r.Unstable, grown...)
	known := t.knownModes(steady(flights, segs, grown), other.stickOn(t.grid), gustOn(h, axis, t.grid, whole(flights)))
	r.Modes = append(r.Modes, t.confirmed(t.modes(segs, h.Exclude), known, windSDMS(h, whole(flights)))...)
	r.Modes = append(r.Modes, known...)
	r.Damping = append(r.Damping, t.damping(flights, segs)...)
	r.Findings = append(r.Findings, t.findings...)
}

// missing says what the axis lacks, and what is withheld for it.
func missing(h *flight.Hop, axis flight.Axis) []flight.Finding {
	var out []flight.Finding
	stick := h.Channel(axis.Stick())
	switch {
	case stick == nil:
		out = append(out, flight.Finding{
			Code: flight.CodeMissing, Severity: flight.Caution, Channel: string(axis.Stick()),
			Text:   fmt.Sprintf("No %s was logged: control left and damping in flight are not given, and whose doing a growing %s oscillation is cannot be told.", axis.Stick(), axis),
			Advice: "Log the stick at 50 Hz or more, in the attitude logger or with knocks or UTC to align it.",
		})
	case timedStick(h, axis) == nil:
		out = append(out, flight.Finding{
			Code: flight.CodeNoClock, Severity: flight.Caution, Channel: string(axis.Stick()), File: h.SourceOf(stick).File,
			Text:   fmt.Sprintf("The %s cannot be timed against the attitude: control left and damping in flight are not given, and whose doing a growing %s oscillation is cannot be told.", axis.Stick(), axis),
			Advice: "Knock three times on the airframe near both loggers before and after the flight, or log UTC in both.",
		})
	}
	if h.Channel(axis.Rate()) == nil && h.Channel(axis.Attitude()) != nil {
		out = append(out, flight.Finding{
			Code: flight.CodeMissing, Severity: flight.Note, Channel: string(axis.Rate()),
			Text:   fmt.Sprintf("No %s was logged: oscillations are looked for in the derivative of the attitude, and the rate limit is not checked.", axis.Rate()),
			Advice: "Log the angular rates where the sensor has them.",
		})
	}
	return out
}

// deg writes an angle in degrees.
func deg(rad float64) float64 { return rad * 180 / math.Pi }

// across is the other of roll and pitch.
func across(a flight.Axis) flight.Axis {
	if a == flight.RollAxis {
		return flight.PitchAxis
	}
	return flight.RollAxis
}

// whole is from the start of the first to the end of the last.
func whole(flights []flight.Span) flight.Span {
	return flight.Span{FromS: flights[0].FromS, ToS: flights[len(flights)-1].ToS}
}

// steady returns the parts of the flights in which the aircraft was one and the same: clear
// of the ground, and not while it grew unstable with the stick still.
func steady(flights []flight.Span, segs []flight.Segment, grown []Unstable) []flight.Span {
	var out []flight.Span
	for _, s := range segs {
		if s.Kind == flight.LiftOff || s.Kind == flight.Landing {
			out = append(out, s.Span)
		}
	}
	for _, u := range grown {
		if u.Kind != PilotCoupled {
			out = append(out, flight.Span{FromS: u.Span.FromS - 4, ToS: u.Span.ToS + 2})
		}
	}
	return flight.Without(flights, out)
}
