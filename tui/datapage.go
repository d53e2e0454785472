package tui

import (
	"fmt"
	"strings"

	"hopcard/flight"
)

// dataLines says what stands behind the numbers: findings, files, clocks and columns.
func dataLines(o *opened, w int) []line {
	d := o.d
	ls := []line{heading(fmt.Sprintf("Findings: %d", len(d.Findings)))}
	for _, f := range d.Findings {
		ls = append(ls, findingLines(f, w)...)
	}
	ls = append(ls, plainLine(""), heading(fmt.Sprintf("Files: %d", len(d.Hop.Sources))))
	for i := range d.Hop.Sources {
		ls = append(ls, sourceLines(d.Hop, i, w)...)
	}
	if d.Hop.Notes != "" {
		ls = append(ls, plainLine(""), heading("Notes"))
		ls = append(ls, wrapped("  ", ink, d.Hop.Notes, w, nil)...)
	}
	if len(d.Hop.Marks) > 0 {
		ls = append(ls, plainLine(""), heading("Event marks"))
		for _, m := range d.Hop.Marks {
			ls = append(ls, wrapped(fmt.Sprintf("  %8s s  ", seconds(m.TimeS)), ink, m.Text, w, &m.TimeS)...)
		}
	}
	return ls
}

// findingTitle names a finding by code and where it is.
func findingTitle(f flight.Finding) string {
	parts := []string{string(f.Code)}
	if f.File != "" {
		parts = append(parts, f.File)
	}
	if f.Channel != "" {
		parts = append(parts, f.Channel)
	}
	return strings.Join(parts, " ")
}

func findingLines(f flight.Finding, w int) []line {
	word, pn := severityWord(f.Severity)
	var seeS *float64
	where := ""
	if f.Span != (flight.Span{}) {
		from := f.Span.FromS
		seeS = &from
		where = ", " + spanText(f.Span)
	}
	lead := fmt.Sprintf("%-8s ", word)
	ls := wrapped(lead, pn, findingTitle(f)+where+": "+f.Text, w, seeS)
	if f.Advice != "" {
		ls = append(ls, wrapped("      do ", faint, f.Advice, w, seeS)...)
	}
	return ls
}

func sourceLines(h *flight.Hop, i, w int) []line {
	s := &h.Sources[i]
	role := string(s.Role)
	if role == "" {
		role = "not used"
	}
	rate := "rate unknown"
	if s.RateHz > 0 {
		rate = number(s.RateHz) + " Hz"
	}
	ls := []line{{lead: clean(s.File), pen: strong,
		text: fmt.Sprintf("  %s, %d rows, %s", clean(role), s.Rows, rate)}}
	if s.Dress != "" {
		ls = append(ls, wrapped("  written: ", faint, s.Dress, w, nil)...)
	}
	ls = append(ls, wrapped("  clock: ", faint, clockText(s.Clock), w, nil)...)
	ls = append(ls, line{lead: fmt.Sprintf("  %-22s %-20s %-9s %-8s %s", "column", "quantity", "unit", "sense", "sure"), pen: faint})
	for j := range h.Channels {
		if c := &h.Channels[j]; c.Source == i {
			ls = append(ls, plainLine(channelText(c)))
		}
	}
	return append(ls, plainLine(""))
}

func clockText(c flight.Clock) string {
	if c.AlignedBy == flight.AlignNone {
		return "NOT ALIGNED: nothing is timed between this file and another"
	}
	if c.AlignedBy == flight.AlignSingle {
		return fmt.Sprintf("its own is the hop clock, zero at stamp %.3f s", c.OffsetS)
	}
	s := fmt.Sprintf("aligned by %s, offset %.3f s", c.AlignedBy, c.OffsetS)
	if c.Offset != nil && c.Offset.HasInterval() {
		s = fmt.Sprintf("aligned by %s, offset %.3f s (%.3f to %.3f)", c.AlignedBy, c.Offset.Value, c.Offset.Low, c.Offset.High)
	}
	s += fmt.Sprintf(", drift %s ppm", number(c.DriftPPM))
	if c.Drift != nil && c.Drift.HasInterval() {
		s += " (" + interval(c.Drift) + ")"
	}
	if c.IntervalS > 0 {
		s += fmt.Sprintf("; a stamp is good to ±%s ms", number(1000*c.IntervalS))
	}
	return s
}

func channelText(c *flight.Channel) string {
	unit, sense := string(c.Unit), "as ours"
	if unit == "" {
		unit = "-"
	}
	if c.Guessed {
		unit += "?"
	}
	if c.Sign < 0 {
		sense = "turned"
	}
	column := c.Column
	if c.Derived {
		column += " (derived)"
	}
	return fmt.Sprintf("  %-22s %-20s %-9s %-8s %.0f %%", clip(clean(column), 22), clip(string(c.Quantity), 20),
		clip(clean(unit), 9), sense, 100*c.Sure)
}
