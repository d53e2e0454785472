package tui

import (
	"fmt"
	"slices"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// rowState is how far a hop of the logbook is.
type rowState int

const (
	waiting rowState = iota
	reading
	ready
	failed
)

// row is what the logbook shows of one hop.
type row struct {
	entry flight.HopEntry
	state rowState
	done  float64 // while reading
	what  string
	err   error // if failed

	date, air, lag, damping, flags string
	configuration                  string
	proceed                        debrief.Proceed
	reasons                        []debrief.Reason
}

func newRow(e flight.HopEntry) row {
	return row{entry: e, configuration: e.Configuration}
}

// fill takes over what a debrief says.
func (r *row) fill(d *debrief.Debrief) {
	r.state, r.err = ready, nil
	if !d.Hop.StartedAt.IsZero() {
		r.date = d.Hop.StartedAt.Format("2006-01-02")
	}
	if d.Hop.Configuration != "" {
		r.configuration = d.Hop.Configuration
	}
	r.air = "no log"
	if d.Wind.Whole != nil {
		r.air = string(d.Wind.Whole.Class)
	}
	r.lag = lagSummary(d)
	r.flags = flagSummary(d.Stability.Unstable)
	r.damping = dampingSummary(d.Stability.Modes)
	r.proceed, r.reasons = d.Verdict.Proceed, worstFirst(d.Verdict.Reasons)
}

// lagSummary gives the correlation lag of roll and pitch in ms.
func lagSummary(d *debrief.Debrief) string {
	word := func(a flight.Axis) string {
		for _, r := range d.Responses {
			if r.Axis == a && r.Input == a.Stick() && r.Output == response.Rate && r.CorrelationLagS != nil {
				return fmt.Sprintf("%.0f", r.CorrelationLagS.Value*1000)
			}
		}
		return "?"
	}
	return word(flight.RollAxis) + " / " + word(flight.PitchAxis)
}

// flagSummary counts the unstable segments by kind: "2A 1P".
func flagSummary(unstable []stability.Unstable) string {
	if len(unstable) == 0 {
		return "none"
	}
	var words []string
	for _, k := range flagKinds() {
		n := 0
		for _, u := range unstable {
			if u.Kind == k {
				n++
			}
		}
		if n > 0 {
			words = append(words, fmt.Sprintf("%d%c", n, flagLetter(k)))
		}
	}
	return strings.Join(words, " ")
}

// flagKinds lists the kinds of unstable segment, worst first.
func flagKinds() []stability.Kind {
	return []stability.Kind{stability.Airframe, stability.PilotCoupled, stability.ControlStop, stability.Limit}
}

// dampingSummary is the least damping ratio of the modes seen.
func dampingSummary(modes []stability.Mode) string {
	var least *flight.Estimate
	for _, m := range modes {
		if m.DampingRatio != nil && (least == nil || m.DampingRatio.Value < least.Value) {
			least = m.DampingRatio
		}
	}
	if least == nil {
		return "-"
	}
	return fmt.Sprintf("%+.2f", least.Value)
}

// worstFirst orders reasons by what each alone would make of the verdict.
func worstFirst(rs []debrief.Reason) []debrief.Reason {
	weight := func(p debrief.Proceed) int {
		switch p {
		case debrief.No:
			return 0
		case debrief.Caution:
			return 1
		}
		return 2
	}
	rs = slices.Clone(rs)
	slices.SortStableFunc(rs, func(a, b debrief.Reason) int { return weight(a.Weight) - weight(b.Weight) })
	return rs
}

// rank orders verdicts, worst first; what is not known yet comes last.
func (r *row) rank() int {
	switch {
	case r.state == failed:
		return 1
	case r.state != ready:
		return 4
	case r.proceed == debrief.No:
		return 0
	case r.proceed == debrief.Caution:
		return 2
	}
	return 3
}
