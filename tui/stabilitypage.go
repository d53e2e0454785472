package tui

import (
	"fmt"

	"hopcard/analysis/stability"
)

// stabilityLines says how close to unstable the hop was.
func stabilityLines(o *opened, w int) []line {
	r := &o.d.Stability
	ls := []line{heading(fmt.Sprintf("Unstable segments: %d", len(r.Unstable)))}
	for i := range r.Unstable {
		ls = append(ls, unstableLines(&r.Unstable[i], w)...)
	}
	ls = append(ls, plainLine(""), heading("Control used in flight, of the travel from the middle to a stop"))
	for _, c := range r.Control {
		ls = append(ls, plainLine(fmt.Sprintf("  %-6s used %s %% (%s to %s), left %s %%, %s s near a stop", c.Axis,
			number(c.UsedPercent), number(c.LowPercent), number(c.HighPercent), number(c.LeftPercent), number(c.AtStopS))))
	}
	ls = append(ls, plainLine(""), heading("Modes, 95 % intervals in brackets"))
	if len(r.Modes) == 0 {
		ls = append(ls, plainLine("  "+unknown))
	}
	for i := range r.Modes {
		ls = append(ls, modeLines(&r.Modes[i])...)
	}
	ls = append(ls, plainLine(""), heading("Margins of pilot and aircraft together"))
	if len(r.Margins) == 0 {
		ls = append(ls, plainLine("  "+unknown))
	}
	for i := range r.Margins {
		m := &r.Margins[i]
		ls = append(ls, plainLine("  "+string(m.Axis)),
			figureLine("  crossover", m.CrossoverRadS, "rad/s"),
			figureLine("  phase margin", m.PhaseMarginDeg, "deg"),
			figureLine("  gain margin", m.GainMarginDB, "dB"))
	}
	return append(ls, findingsOf(r.Findings, w)...)
}

func unstableLines(u *stability.Unstable, w int) []line {
	lead := fmt.Sprintf("  %c %-13s %-6s %-18s ", flagLetter(u.Kind), u.Kind, u.Axis, spanText(u.Span))
	text := u.Reason
	if u.FrequencyRadS != nil {
		text += fmt.Sprintf(" [%s", estimate(u.FrequencyRadS, "rad/s"))
		if u.GrowthPerS != nil {
			text += ", growth " + estimate(u.GrowthPerS, "per s")
		}
		text += "]"
	}
	if w-textWidth(lead) < 60 { // the reason gets its own rows
		ls := []line{{lead: lead, pen: danger, seeS: &u.Span.FromS}}
		return append(ls, wrapped("      ", ink, text, w, &u.Span.FromS)...)
	}
	return wrapped(lead, danger, text, w, &u.Span.FromS)
}

func modeLines(m *stability.Mode) []line {
	ls := []line{
		{lead: fmt.Sprintf("  %s, %s", m.Axis, spanText(m.Span)), pen: ink, text: " by " + clean(m.Method), seeS: &m.Span.FromS},
		figureLine("  frequency", m.FrequencyRadS, "rad/s"),
		figureLine("  damping ratio", m.DampingRatio, ""),
	}
	if m.TimeToHalfS != nil {
		ls = append(ls, figureLine("  time to half", m.TimeToHalfS, "s"))
	}
	if m.TimeToDoubleS != nil {
		ls = append(ls, figureLine("  time to double", m.TimeToDoubleS, "s"))
	}
	return ls
}
