package tui

import (
	"fmt"
	"slices"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/flight"
	"hopcard/tui/recall"
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

	known bool // sum holds something, from now or from an earlier session
	sum   recall.Summary
}

func newRow(e flight.HopEntry) row {
	return row{entry: e, sum: recall.Summary{Configuration: e.Configuration}}
}

// proceed is the verdict of a row that is known.
func (r *row) proceed() debrief.Proceed { return debrief.Proceed(r.sum.Proceed) }

// fill takes over what the job of the hop found.
func (r *row) fill(sum recall.Summary) {
	r.state, r.err, r.known = ready, nil, true
	if sum.Configuration == "" {
		sum.Configuration = r.entry.Configuration
	}
	r.sum = sum
}

// summarise puts a debrief into the words of the list.
func summarise(d *debrief.Debrief) recall.Summary {
	s := recall.Summary{
		Configuration: d.Hop.Configuration, Air: "no log", Lag: lagSummary(d),
		Flags: flagSummary(d.Stability.Unstable), Damping: dampingSummary(d.Stability.Modes),
		Proceed: string(d.Verdict.Proceed),
	}
	if !d.Hop.StartedAt.IsZero() {
		s.Date = d.Hop.StartedAt.Format("2006-01-02")
	}
	if d.Wind.Whole != nil {
		s.Air = string(d.Wind.Whole.Class)
	}
	for _, r := range worstFirst(d.Verdict.Reasons) {
		s.Reasons = append(s.Reasons, recall.Reason{Text: r.Text, Weight: string(r.Weight)})
	}
	return s
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
	return []stability.Kind{stability.Airframe, stability.PilotCoupled, stability.Unattributed, stability.ControlStop, stability.Limit}
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
	case !r.known:
		return 4
	case r.proceed() == debrief.No:
		return 0
	case r.proceed() == debrief.Caution:
		return 2
	}
	return 3
}
