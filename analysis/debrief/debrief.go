// Package debrief runs every part of the analysis on one hop, in order, and puts the
// answers into one value. It is the only entry point for screens, cards and commands.
package debrief

import (
	"slices"

	"hopcard/analysis/plan"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Debrief is everything hopcard says about one hop.
type Debrief struct {
	Hop      *flight.Hop
	Aircraft *flight.Aircraft // never nil
	// Findings of the import and of every part of the analysis, worst first, then by
	// time.
	Findings  []flight.Finding
	Segments  []flight.Segment
	Responses []response.Result
	// PhasingErrorRad is the swashplate's phasing error in rotor azimuth, nil if it
	// cannot be measured.
	PhasingErrorRad *flight.Estimate
	Wind            wind.Result
	Stability       stability.Result
	// Plan is what of the hop's plan was flown, nil if it had none.
	Plan    *plan.Flown
	Verdict Verdict
}

// Proceed says whether the next card may be flown.
type Proceed string

// The verdicts.
const (
	Yes     Proceed = "yes"
	Caution Proceed = "caution"
	No      Proceed = "no"
)

// Verdict is hopcard's advice, with every reason for it. The pilot and local rules
// decide.
type Verdict struct {
	Proceed Proceed
	Reasons []Reason
	// Advice is what that means for the build-up, in general terms, most urgent first; never
	// empty.
	Advice []string
}

// Reason is one reason of a verdict and the interval behind it, zero if it is the
// whole hop.
type Reason struct {
	Text string
	Span flight.Span
	// Weight is what this reason alone would make of the verdict.
	Weight Proceed
}

// Progress is told how far a long job is, 0 to 1, and what it is doing.
type Progress func(done float64, what string)

// Lean is a copy of d whose hop keeps the samples of the sticks alone, which is what hops
// are set side by side by: the samples of a season would fill the memory.
func (d *Debrief) Lean() *Debrief {
	out, hop := *d, *d.Hop
	hop.Channels = slices.DeleteFunc(slices.Clone(hop.Channels), func(c flight.Channel) bool {
		return c.Quantity != flight.LatStick && c.Quantity != flight.LonStick
	})
	out.Hop = &hop
	return &out
}
