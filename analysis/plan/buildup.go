package plan

import (
	"fmt"
	"slices"

	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// buildUp finds the step that this hop is, from what the last ones found. One step and one
// change at a time, the last safe one as the way back and calm air first are common practice
// of flight test (FAA AC 90-89A, 1995, for amateur-built aircraft; structure from memory).
func (p *Plan) buildUp(r Request) {
	why := func(format string, args ...any) { p.Why = append(p.Why, fmt.Sprintf(format, args...)) }
	last := r.Last
	if last == nil {
		p.Written.Step = flight.FirstHop
		why("no hop was flown before this one")
		return
	}
	same := last.Hop.Configuration == p.Configuration.Name
	why("last hop %s, %s: %s", last.Hop.Name, orUnknown(last.Hop.Configuration), verdictWord(last.Proceed))
	asked := stepAfter(last, r.Aircraft.Limits)
	p.Written.Step = asked
	switch {
	case same && asked == flight.NextStep:
		p.Written.Step = flight.Repeat
		why("the same configuration again: its numbers become more certain")
	case same && asked == flight.StepBack:
		p.caution("The last hop of this very configuration ended with a swing that grew. Do not fly it again before head, bar and linkages are inspected and the cause is known; the plan leaves out the sweep and hands-still, and halves what is left.")
	case same:
	case p.flownSafely(r) && (asked == flight.StepBack || asked == flight.SmallerStep):
		p.Written.Step = flight.StepBack
		why("back to a configuration that was flown before without a reason to stop")
	case asked == flight.StepBack:
		p.caution("The last hop ended with a swing that grew, and this configuration was not flown safely before: that is no step back. Return to the last configuration that was steady first.")
	case asked != flight.NextStep:
		p.caution("The last hop asks for something else first (%s): this plan changes the configuration before that is settled.", asked)
		if p.flownSafely(r) {
			p.Written.Step = flight.NextStep
		}
	}
	p.Why = append(p.Why, last.Advice...)
	p.ownLast(r, asked, same)
	if n := len(p.Changes); n > 1 {
		p.caution("%d things changed since the last hop: what the numbers then show cannot be put down to one of them. One change at a time.", n)
	}
	if !p.ChangesKnown {
		p.caution("What was flown last is not known: write configuration into its hop.toml, or nothing can be put down to a change.")
	}
	if slices.ContainsFunc(last.Hop.Sources, func(s flight.Source) bool { return s.Clock.AlignedBy == flight.AlignNone }) {
		p.caution("In the last hop the loggers' clocks could not be put together, so nothing was timed: the knocks below are what was missing.")
	}
}

// ownLast looks at the last hop of this configuration where others were flown since. The plan
// leaves out what a swing could grow in if one did then, or in the last hop of all before a
// configuration that was never flown.
func (p *Plan) ownLast(r Request, asked flight.BuildUp, same bool) {
	p.grew = asked == flight.StepBack && (same || len(r.Same) == 0)
	if same || len(r.Same) == 0 {
		return
	}
	own := &r.Same[0]
	switch stepAfter(own, r.Aircraft.Limits) {
	case flight.StepBack:
		p.grew = true
		p.Written.Step = flight.SmallerStep
		p.caution("In %s, the last hop of this configuration, a swing grew. Do not fly it again before the cause is known, and not in such air; the plan leaves out the sweep and hands-still, and halves what is left.", own.Hop.Name)
	case flight.SmallerStep:
		p.Written.Step = flight.SmallerStep
		p.caution("In %s, the last hop of this configuration, a limit was passed: half the input is planned.", own.Hop.Name)
	}
}

func orUnknown(s string) string {
	if s == "" {
		return "configuration not stated"
	}
	return s
}

func verdictWord(proceed string) string {
	switch proceed {
	case "yes":
		return "go on"
	case "no":
		return "stop"
	case "caution":
		return "caution"
	}
	return "not judged"
}

// stepAfter is the step after a hop, from what was found in it, heaviest first.
func stepAfter(e *Earlier, l flight.Limits) flight.BuildUp {
	grew := func(k stability.Kind) bool {
		return slices.ContainsFunc(e.Stability.Unstable, func(u stability.Unstable) bool { return u.Kind == k })
	}
	little := slices.ContainsFunc(e.Stability.Control, func(c stability.Control) bool { return c.LeftPercent < l.ControlLeftPercent })
	w := e.Wind.Whole
	windy := w != nil && (w.MeanMS != nil && w.MeanMS.Value > l.WindMeanMS || w.SpreadMS != nil && w.SpreadMS.Value > l.GustSpreadMS)
	measured := slices.ContainsFunc(e.Responses, func(r response.Result) bool { return r.Output == response.Attitude })
	switch {
	case grew(stability.Airframe), grew(stability.PilotCoupled):
		return flight.StepBack
	case grew(stability.Limit), grew(stability.ControlStop), little:
		return flight.SmallerStep
	case windy:
		return flight.CalmerAir
	case dampingBelow(&e.Stability, l):
		return flight.SmallerStep
	case e.Proceed == "yes" && measured:
		return flight.NextStep
	case e.Proceed == "no":
		return flight.SmallerStep
	}
	return flight.Repeat
}

// dampingBelow reports whether a damping ratio or margin lies wholly below its limit: a doubtful
// number is not evidence.
func dampingBelow(r *stability.Result, l flight.Limits) bool {
	under := func(e *flight.Estimate, limit float64) bool {
		return e != nil && (e.High < limit || !e.HasInterval() && e.Value < limit)
	}
	return slices.ContainsFunc(r.Modes, func(m stability.Mode) bool { return under(m.DampingRatio, l.DampingRatio) }) ||
		slices.ContainsFunc(r.Margins, func(m stability.Margin) bool {
			return under(m.PhaseMarginDeg, l.PhaseMarginDeg) || under(m.GainMarginDB, l.GainMarginDB)
		})
}

// flownSafely reports whether the last hop of this configuration gave no reason to stop.
func (p *Plan) flownSafely(r Request) bool { return len(r.Same) > 0 && r.Same[0].Proceed != "no" }

// careful reports whether inputs are halved: a configuration not yet flown safely, or one whose
// last hop asks for less.
func (p *Plan) careful() bool {
	return !p.safe || p.Written.Step == flight.SmallerStep || p.grew
}
