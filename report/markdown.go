package report

import (
	"fmt"
	"io"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Markdown writes the test card of the hop: what was flown, the verdict with its
// reasons, the key numbers, what was flagged, doubts about the data, cautions, and room
// for remarks and signatures. It reads as plain text in a terminal 80 characters wide.
// The only error is one of w.
func Markdown(w io.Writer, d *debrief.Debrief) error {
	p := describe(d)
	cardSignatures(p, remarks(d.Hop.Notes)...)
	_, err := io.WriteString(w, p.b.String())
	return err
}

// Headings that pages with figures look for.
const (
	flagsHeading   = "Flagged seconds"
	controlHeading = "Control left"
	chartsHeading  = "Charts"
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
	p.figure(0, func(r room) *drawing { return flightFigure(d, r) })
	cardPlan(p, d.Plan)
	cardDelays(p, d)
	cardModes(p, d)
	cardGusts(p, d)
	cardCharts(p, d)
	cardFlags(p, d)
	for i, g := range flagGroups(d.Stability.Unstable) {
		if i < maxFlagFigures {
			p.figure(3, func(r room) *drawing { return flagFigure(d, g, r) })
		}
	}
	cardControl(p, d)
	cardData(p, d)
	cardCautions(p, d)
	return p
}

// cardCharts are the charts of the numbers above them, three in a row: a row for each
// section of its own would leave half of a printed page white.
func cardCharts(p *page, d *debrief.Debrief) {
	p.blocks = append(p.blocks, block{kind: headingBlock, text: chartsHeading}) // nothing in a page of text
	add := func(draw func(room) *drawing) { p.figure(3, draw) }
	for _, axis := range answeredAxes(d) {
		add(func(r room) *drawing { return responseFigure(d, axis, r) })
	}
	add(func(r room) *drawing { return bandwidthFigure(d, r) })
	for _, axis := range swungAxes() {
		add(func(r room) *drawing { return loopFigure(d, axis, r) })
	}
	for _, axis := range swungAxes() {
		add(func(r room) *drawing { return gustFigure(d, axis, r) })
	}
	add(func(r room) *drawing { return activityFigure(d, r) })
	add(func(r room) *drawing { return spectrumFigure(d, r) })
}

// swungAxes are the axes in which gusts and pilots swing an aircraft.
func swungAxes() []flight.Axis { return []flight.Axis{flight.RollAxis, flight.PitchAxis} }

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
	lines := []string{first + ", mean " + withInterval(w.MeanMS, 1, "m/s"), extremesText(w)}
	for _, q := range []struct {
		name string
		e    *flight.Estimate
		k    float64
		unit string
	}{
		{"turbulence intensity", w.TurbulenceIntensity, 1, ""}, {"from", w.DirectionRad, degPerRad, "deg"},
		{"from ahead", w.HeadMS, 1, "m/s"}, {"from the right", w.CrossMS, 1, "m/s"},
	} {
		switch {
		case q.e == nil:
		case q.e == w.CrossMS && w.HeadMS != nil:
			lines[len(lines)-1] += ", right " + withInterval(q.e, q.k, q.unit)
		default:
			lines = append(lines, q.name+" "+withInterval(q.e, q.k, q.unit))
		}
	}
	return append(lines, phaseTexts(r.Phases)...)
}

// extremesText words gust, lull and spread. As they are read from the log none usually has an
// interval: that is then said once.
func extremesText(w *wind.Phase) string {
	const none = ", no interval"
	var texts []string
	plainly := true
	for _, q := range []struct {
		name string
		e    *flight.Estimate
	}{{"3 s gust", w.Gust3sMS}, {"lull", w.Lull3sMS}, {"gust spread", w.SpreadMS}} {
		if q.e != nil {
			texts = append(texts, q.name+" "+withInterval(q.e, 1, "m/s"))
			plainly = plainly && strings.HasSuffix(texts[len(texts)-1], none)
		}
	}
	text := strings.Join(texts, ", ")
	if plainly {
		text = strings.ReplaceAll(text, none, "") + none
	}
	if len(texts) == 0 {
		return "gusts not measured"
	}
	return text
}

// phaseTexts words the phases of air, two on a line; the traces show all of them.
func phaseTexts(phases []wind.Phase) []string {
	const most = 6
	if len(phases) < 2 {
		return nil
	}
	var lines []string
	for i, ph := range phases[:min(len(phases), most)] {
		text := fmt.Sprintf("%s: %s", spanText(ph.Span), ph.Class)
		if i%2 == 1 {
			lines[len(lines)-1] += "; " + text
		} else {
			lines = append(lines, text)
		}
	}
	if len(phases) > most {
		lines = append(lines, fmt.Sprintf("and %d more phases", len(phases)-most))
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
	rows := [][]string{{"axis", "used", "left to the stops", "within 10 % of a stop"}}
	for _, c := range d.Stability.Control {
		rows = append(rows, []string{
			string(c.Axis), plain(c.UsedPercent, 0, "%"), leftText(c), plain(c.AtStopS, 1, "s"),
		})
	}
	p.table(rows)
	p.blank()
	p.note("Percent of the travel from the middle to a stop, as read from the log, without interval.")
}

// leftText words what is left to each stop.
func leftText(c stability.Control) string {
	low, high := "left", "right"
	if c.Axis == flight.PitchAxis {
		low, high = "forward", "aft"
	}
	if !finite(c.LowPercent) || !finite(c.HighPercent) {
		return plain(c.LeftPercent, 0, "%")
	}
	return fmt.Sprintf("%s %s, %s %s", low, plain(max(0, 100+c.LowPercent), 0, "%"), high, plain(max(0, 100-c.HighPercent), 0, "%"))
}

// plain words a number that carries no interval.
func plain(x float64, decimals int, unit string) string {
	if !finite(x) {
		return "not measured"
	}
	return fixed(x, decimals) + " " + unit
}
