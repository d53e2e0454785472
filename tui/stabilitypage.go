package tui

import (
	"fmt"

	"hopcard/analysis/segment"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// stabilityLines says how close to unstable the hop was, and what is left.
func stabilityLines(o *opened, w int, speed speedUnit) []line {
	r := &o.d.Stability
	ls := []line{section('f', "flags", fmt.Sprintf("Unstable segments: %d", len(r.Unstable)))}
	for i := range r.Unstable {
		ls = append(ls, unstableLines(&r.Unstable[i], w)...)
	}
	ls = append(ls, adviceLines(o, w, speed)...)
	ls = append(ls, dampingLines(o, w)...)
	ls = append(ls, plainLine(""), section('c', "control", "Control used in flight, of the travel from the middle to a stop"))
	if len(r.Control) == 0 {
		ls = append(ls, plainLine("  "+unknown))
	} else {
		ls = append(ls, controlTable(r.Control, w)...)
	}
	ls = append(ls, plainLine(""), section('m', "modes", "Modes, 95 % intervals in brackets"))
	if len(r.Modes) == 0 {
		ls = append(ls, plainLine("  "+unknown))
	} else {
		ls = append(ls, modeTable(r.Modes, w)...)
	}
	for i := range r.Modes {
		if m := &r.Modes[i]; m.Says != "" {
			ls = append(ls, wrapped("  "+seconds(m.Span.FromS)+" s  ", faint, m.Says, w, &m.Span.FromS)...)
		}
	}
	ls = append(ls, marginLines(r.Margins, w)...)
	return append(ls, findingsOf(r.Findings, w)...)
}

// adviceLines says what the verdict means for the build-up.
func adviceLines(o *opened, w int, speed speedUnit) []line {
	v := &o.d.Verdict
	word, pn := proceedWord(v.Proceed)
	ls := []line{plainLine(""), section('a', "advice", "Before the next step of the build-up: "+word)}
	ls[1].pen = pn
	for _, r := range worstFirst(v.Reasons) {
		var at *float64
		if r.Span != (flight.Span{}) {
			at = &r.Span.FromS
		}
		word, pn := proceedWord(r.Weight)
		ls = append(ls, wrapped(fmt.Sprintf("  %-8s ", word), pn, speed.inText(r.Text), w, at)...)
	}
	for _, s := range v.Advice {
		ls = append(ls, wrapped("  do       ", faint, s, w, nil)...)
	}
	return ls
}

// dampingLines draws damping over the flight, axis beside axis where there is room.
func dampingLines(o *opened, w int) []line {
	if len(o.d.Stability.Damping) == 0 {
		return nil
	}
	over, ok := segment.Flight(o.d.Segments)
	if !ok {
		over = flight.Span{ToS: o.d.Hop.DurationS}
	}
	ls := []line{plainLine(""), section('d', "damping", "Damping over the flight")}
	var ps []*paper
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		if points := dampingOf(o.d.Stability.Damping, a); len(points) > 0 {
			ps = append(ps, dampingChart(points, a, over, chartWidth(w), 10))
		}
	}
	ls = append(ls, sideBySide(ps, w)...)
	return append(ls, line{lead: "bars: 95 % intervals; without regard to who causes the swings; none during test inputs", pen: faint})
}

// besideFrom is the width from which on two charts stand side by side.
const besideFrom = 116

// chartWidth is the width of a chart on a page of width w.
func chartWidth(w int) int {
	if w >= besideFrom {
		return (w - 2) / 2
	}
	return w
}

// sideBySide sets charts of chartWidth in rows.
func sideBySide(ps []*paper, w int) []line {
	var ls []line
	each := 1
	if w >= besideFrom {
		each = 2
	}
	for len(ps) > 0 {
		n := min(each, len(ps))
		ls = append(ls, linesOf(2, ps[:n]...)...)
		ps = ps[n:]
	}
	return ls
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
		return append(ls, goingOn(wrapped("      ", ink, text, w, &u.Span.FromS))...)
	}
	return wrapped(lead, danger, text, w, &u.Span.FromS)
}

func controlTable(cs []stability.Control, w int) []line {
	var rows [][]string
	for _, c := range cs {
		rows = append(rows, []string{string(c.Axis), number(c.UsedPercent), number(c.LowPercent), number(c.HighPercent),
			number(c.LeftPercent), number(c.AtStopS)})
	}
	return tableLines([]string{"axis", "used %", "lowest %", "highest %", "left %", "s near a stop"}, rows, w)
}

func modeTable(ms []stability.Mode, w int) []line {
	var rows [][]string
	for i := range ms {
		m := &ms[i]
		rows = append(rows, []string{string(m.Axis), spanText(m.Span), estimate(m.FrequencyRadS, ""), estimate(m.DampingRatio, ""),
			orNone(m.TimeToHalfS), orNone(m.TimeToDoubleS), clean(m.Method)})
	}
	ls := tableLines([]string{"axis", "seen", "rad/s", "damping ratio", "halves in s", "doubles in s", "by"}, rows, w)
	return withTimes(ls, len(ms), func(i int) *float64 { return &ms[i].Span.FromS })
}

// orNone is an estimate that need not be there.
func orNone(e *flight.Estimate) string {
	if e == nil {
		return "-"
	}
	return estimate(e, "")
}

// withTimes gives the rows of a table of n rows under each head the times they go to.
func withTimes(ls []line, n int, at func(i int) *float64) []line {
	for i := range ls {
		if k := i % (n + 1); k > 0 {
			ls[i].seeS = at(k - 1)
		}
	}
	return ls
}
