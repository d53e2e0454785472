package report

import (
	"slices"

	"hopcard/analysis/stability"
	"hopcard/flight"
)

// eventGapS is how near flags of an axis must be to belong to one event.
const eventGapS = 3

// flagGroup is the flags of one event: of one axis and near one another, such as an
// oscillation that went through the limit to the stop. Verdict and figures show them
// together.
type flagGroup struct {
	axis  flight.Axis
	index []int // into stability.Result.Unstable, ascending
	span  flight.Span
}

// flagGroups parts flags into events, in order of their first flag. It does not depend on
// the order of the flags but for that.
func flagGroups(flags []stability.Unstable) []flagGroup {
	byTime := make([]int, len(flags))
	for i := range byTime {
		byTime[i] = i
	}
	slices.SortStableFunc(byTime, func(a, b int) int {
		switch d := flags[a].Span.FromS - flags[b].Span.FromS; {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	var out []flagGroup
	last := map[flight.Axis]int{} // the latest group of each axis
	for _, i := range byTime {
		u := &flags[i]
		at, ok := last[u.Axis]
		if !ok || u.Span.FromS >= out[at].span.ToS+eventGapS {
			at = len(out)
			last[u.Axis] = at
			out = append(out, flagGroup{axis: u.Axis, span: u.Span})
		}
		g := &out[at]
		g.index = append(g.index, i)
		g.span.ToS = max(g.span.ToS, u.Span.ToS)
	}
	for _, g := range out {
		slices.Sort(g.index)
	}
	slices.SortStableFunc(out, func(a, b flagGroup) int { return a.index[0] - b.index[0] })
	return out
}

// flagEvents gives each flag the number of its event.
func flagEvents(flags []stability.Unstable) []int {
	events := make([]int, len(flags))
	for n, g := range flagGroups(flags) {
		for _, i := range g.index {
			events[i] = n
		}
	}
	return events
}
