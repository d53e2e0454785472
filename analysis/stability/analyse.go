package stability

import (
	"context"
	"fmt"
	"math"
	"sort"

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
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		if err := ctx.Err(); err != nil {
			return Result{}, err
		}
		r.Unstable = append(r.Unstable, limitFlags(h, axis, flights, limits)...)
		r.Unstable = append(r.Unstable, stopFlags(h, axis, flights)...)
		if c, ok := controlUsed(h, axis, flights); ok {
			r.Control = append(r.Control, c)
		}
		grown, findings := growing(h, axis, flights, segs)
		r.Unstable = append(r.Unstable, grown...)
		r.Findings = append(r.Findings, findings...)
	}
	sort.SliceStable(r.Unstable, func(i, j int) bool { return r.Unstable[i].Span.FromS < r.Unstable[j].Span.FromS })
	return r, nil
}

// growing returns the growing oscillations of one axis.
func growing(h *flight.Hop, axis flight.Axis, flights []flight.Span, segs []flight.Segment) ([]Unstable, []flight.Finding) {
	var out []Unstable
	t := newTrace(h, axis, flights)
	if t == nil {
		return nil, []flight.Finding{{
			Code: flight.CodeMissing, Severity: flight.Caution, Channel: string(axis.Attitude()),
			Text:   fmt.Sprintf("Neither attitude nor rate was logged in %s: growing oscillations in that axis would not be seen.", axis),
			Advice: "Log both attitude angles and both rates.",
		}}
	}
	for _, g := range t.growths(flights, segs) {
		out = append(out, t.judge(g)...)
	}
	return out, t.findings
}

// deg writes an angle in degrees.
func deg(rad float64) float64 { return rad * 180 / math.Pi }
