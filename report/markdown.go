package report

import (
	"fmt"
	"io"

	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Markdown writes the test card of the hop: what was flown, the verdict with its
// reasons, the key numbers, what was flagged, doubts about the data, cautions, and room
// for remarks and signatures. It reads as plain text in a terminal 80 characters wide.
// The only error is one of w.
func Markdown(w io.Writer, d *debrief.Debrief) error {
	p := describe(d)
	cardSignatures(p)
	_, err := io.WriteString(w, p.b.String())
	return err
}

// Headings that pages with figures look for.
const (
	flagsHeading   = "Flagged seconds"
	controlHeading = "Control left"
)

// cardTitle is what stands on top of the card, Markdown's escapes in it.
func cardTitle(d *debrief.Debrief) string {
	return "Test card: hop " + markdown(d.Hop.Name, nameLength)
}

// describe puts the card together, but for the room for signatures. It is the one
// description of the card that Markdown, HTML and PDF are written from.
func describe(d *debrief.Debrief) *page {
	p := &page{}
	p.line("# %s", cardTitle(d))
	p.blank()
	cardHead(p, d)
	cardVerdict(p, d)
	p.figure(false, func(widthPt float64) *drawing { return flightFigure(d, widthPt) })
	cardDelays(p, d)
	for _, axis := range answeredAxes(d) {
		p.figure(true, func(widthPt float64) *drawing { return responseFigure(d, axis, widthPt) })
	}
	cardModes(p, d)
	cardGusts(p, d)
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		p.figure(true, func(widthPt float64) *drawing { return gustFigure(d, axis, widthPt) })
	}
	cardFlags(p, d)
	for _, g := range flagGroups(d.Stability.Unstable) {
		p.figure(true, func(widthPt float64) *drawing { return flagFigure(d, g, widthPt) })
	}
	cardControl(p, d)
	cardData(p, d)
	cardCautions(p, d)
	return p
}

// cardHead is the table of who, what, when and in which air.
func cardHead(p *page, d *debrief.Debrief) {
	h := d.Hop
	rows := [][]string{{"card", "flown"}}
	add := func(name, value string) {
		rows = append(rows, []string{name, orElse(value, "not stated")})
	}
	add("aircraft", markdown(d.Aircraft.Name, nameLength))
	add("field", markdown(d.Aircraft.Field, nameLength))
	add("configuration", configurationText(d))
	add("date", dateText(h))
	add("logged", fmt.Sprintf("%s s", seconds(h.DurationS)))
	for i, text := range windText(&d.Wind) {
		if i == 0 {
			add("wind", text)
		} else {
			add("", text)
		}
	}
	p.table(rows)
	if h.Notes != "" {
		p.blank()
		p.paragraph("Notes: " + markdown(h.Notes, textLength))
	}
}

func orElse(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func configurationText(d *debrief.Debrief) string {
	name := markdown(d.Hop.Configuration, nameLength)
	c := d.Aircraft.Configuration(d.Hop.Configuration)
	if name == "" || c == nil || c.Note == "" {
		return name
	}
	return name + ": " + markdown(c.Note, nameLength)
}

func dateText(h *flight.Hop) string {
	if h.StartedAt.IsZero() {
		return "not logged"
	}
	return h.StartedAt.UTC().Format("2006-01-02 15:04") + " UTC"
}

// windText words the wind of the whole flight in a few short lines.
func windText(r *wind.Result) []string {
	w := r.Whole
	if w == nil {
		return []string{"not logged"}
	}
	first := string(w.Class)
	if r.OnBoard {
		first += " (estimated on board, not measured)"
	}
	lines := []string{first, "mean " + withInterval(w.MeanMS, 1, "m/s")}
	add := func(name string, e *flight.Estimate, k float64, unit string) {
		if e != nil {
			lines = append(lines, name+" "+withInterval(e, k, unit))
		}
	}
	add("3 s gust", w.Gust3sMS, 1, "m/s")
	add("3 s lull", w.Lull3sMS, 1, "m/s")
	add("gust spread", w.SpreadMS, 1, "m/s")
	add("turbulence intensity", w.TurbulenceIntensity, 1, "")
	add("from", w.DirectionRad, degPerRad, "deg")
	add("from ahead", w.HeadMS, 1, "m/s")
	add("from the right", w.CrossMS, 1, "m/s")
	for _, ph := range r.Phases {
		if len(r.Phases) > 1 && len(lines) < 16 {
			lines = append(lines, fmt.Sprintf("%s: %s", spanText(ph.Span), ph.Class))
		}
	}
	return lines
}

// verdictWord is what a card calls each verdict.
func verdictWord(p debrief.Proceed) string {
	switch p {
	case debrief.Yes:
		return "go on"
	case debrief.Caution:
		return "caution"
	case debrief.No:
		return "stop"
	}
	return "none"
}

func cardControl(p *page, d *debrief.Debrief) {
	p.heading(2, controlHeading)
	if len(d.Stability.Control) == 0 {
		p.paragraph("Not measured: no stick was logged, or no flight was found.")
		return
	}
	rows := [][]string{{"axis", "used", "left to the nearer stop", "within 10 % of a stop"}}
	for _, c := range d.Stability.Control {
		rows = append(rows, []string{
			string(c.Axis), plain(c.UsedPercent, 0, "%"), plain(c.LeftPercent, 0, "%"), plain(c.AtStopS, 1, "s"),
		})
	}
	p.table(rows)
	p.blank()
	p.paragraph("Percent of the travel from the middle to a stop, as read from the log, without interval.")
}

// plain words a number that carries no interval.
func plain(x float64, decimals int, unit string) string {
	if !finite(x) {
		return "not measured"
	}
	return fixed(x, decimals) + " " + unit
}
