package report

import (
	"fmt"
	"html"
	"io"
	"math"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/plan"
	"hopcard/flight"
)

// PlanMarkdown writes the card before the hop: build-up step and change, what to fly, limits
// and when to break off, knocks and notes, ground crew and inspection, cautions, and room for
// remarks and signatures. The only error is one of w.
func PlanMarkdown(w io.Writer, c *plan.Plan) error {
	p := describePlan(c)
	cardSignatures(p)
	_, err := io.WriteString(w, p.b.String())
	return err
}

// PlanHTML writes the same as one page that needs nothing else. The only error is one of w.
func PlanHTML(w io.Writer, c *plan.Plan) error {
	var b strings.Builder
	title := html.EscapeString(unescaped(planTitle(c)))
	b.WriteString("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n" +
		"<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n" +
		"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n")
	fmt.Fprintf(&b, "<title>%s</title>\n<style>\n%s</style>\n</head>\n<body>\n<main>\n<h1>%s</h1>\n", title, cardStyle, title)
	for _, s := range sections(describePlan(c).blocks) {
		htmlSection(&b, s)
	}
	b.WriteString(htmlSignatures)
	b.WriteString("</main>\n</body>\n</html>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// PlanPDF writes the same to be printed: on one page if it fits, else on two. Same plan, same
// bytes. Errors are those of w and of the library that writes it.
func PlanPDF(w io.Writer, c *plan.Plan, paper Paper) error {
	parts := sections(describePlan(c).blocks)
	var best *sheet
	for _, size := range append(sizes(), 0.84, 0.82) { // letters of tables no less than 6 pt high
		s, err := newSheet(planDebrief(c), paper, size)
		if err != nil {
			return err
		}
		s.name = s.clean(unescaped(planTitle(c)))
		s.doc.SetTitle(s.name, true)
		s.card(s.name, parts)
		s.signatures()
		s.endPage()
		if best == nil || s.doc.PageNo() < best.doc.PageNo() {
			best = s
		}
		if s.doc.PageNo() == 1 {
			break
		}
	}
	return best.doc.Output(w)
}

// planDebrief is a debrief of nothing, for the parts that a card has before the hop as after.
func planDebrief(c *plan.Plan) *debrief.Debrief {
	return &debrief.Debrief{Hop: &flight.Hop{}, Aircraft: c.Aircraft}
}

// planTitle is what stands on top, Markdown's escapes in it.
func planTitle(c *plan.Plan) string {
	if c.Hop != "" {
		return "Card before the hop: " + markdown(c.Hop, nameLength)
	}
	return "Card before the hop: " + markdown(c.Configuration.Name, nameLength)
}

// describePlan puts the card together, but for the room for signatures.
func describePlan(c *plan.Plan) *page {
	p := &page{}
	p.line("# %s", planTitle(c))
	p.blank()
	planHead(p, c)
	planBuildUp(p, c)
	planInputs(p, c)
	planLimits(p, c)
	planLogging(p, c)
	planCrew(p)
	cardCautions(p, planDebrief(c))
	return p
}

func planHead(p *page, c *plan.Plan) {
	name := markdown(c.Configuration.Name, nameLength)
	if c.Configuration.Note != "" {
		name += ": " + markdown(c.Configuration.Note, nameLength)
	}
	last := "none"
	if c.Last != nil {
		last = markdown(c.Last.Hop.Name, nameLength)
		if f := c.Last.Hop.Configuration; f != "" {
			last += ", " + markdown(f, nameLength)
		}
	}
	const stated = "not stated"
	space := ruled(20)
	p.table([][]string{
		{"card", "planned", "hop", ""},
		{"aircraft", orElse(markdown(c.Aircraft.Name, nameLength), stated), "in the air", fmt.Sprintf("about %s min", fixed(c.FlightS/60, 0))},
		{"field", orElse(markdown(c.Aircraft.Field, nameLength), stated), "wished", fmt.Sprintf("delay within %g ms", c.Written.WishMS)},
		{"configuration", name, "pilot, caller", space},
		{"last hop", last, "date, time", space},
	})
}

func planBuildUp(p *page, c *plan.Plan) {
	p.heading(2, "Build-up: "+string(c.Written.Step))
	switch {
	case c.Last == nil:
	case !c.ChangesKnown:
		p.bullet("changed since the last hop: not known")
	case len(c.Changes) == 0:
		p.bullet("changed since the last hop: nothing")
	default:
		var words []string
		for _, ch := range c.Changes {
			words = append(words, markdown(ch.String(), textLength))
		}
		p.bullet("changed since the last hop: " + strings.Join(words, "; "))
	}
	for _, w := range c.Why {
		p.bullet(markdown(w, textLength))
	}
	for _, w := range c.Cautions {
		p.bullet("CAUTION: " + markdown(w, textLength))
	}
}

func planInputs(p *page, c *plan.Plan) {
	p.heading(2, "To fly, in this order")
	p.table(inputRows(c))
	p.blank()
	p.figure(0, func(r room) *drawing { return inputFigure(c, r.widthPt) })
	for _, a := range c.Axes {
		p.bullet(expectText(c, a))
	}
	p.bullet("stick in percent of the travel from the middle to a stop; stick and attitude from trim, the attitude more in gusts. After each input hover until all is quiet, at least 8 s")
	p.bullet("doublet: to one side, hold, to the other, hold as long, back to trim, each as sharply as is easy; every second one begins to the other side")
	p.bullet("sweep: sway the stick about trim, one sway in ten seconds at first, evenly faster to two a second, without a break, growing in size; only if the doublets before it died away. Hold the place by the slow mean of the stick")
}

func inputRows(c *plan.Plan) [][]string {
	rows := [][]string{{"input", "axis", "times", "each", "stick", "what to see"}}
	for _, i := range c.Written.Inputs {
		row := []string{string(i.Kind), string(i.Axis), fmt.Sprint(i.Count), fmt.Sprintf("%s s", fixed(i.LengthS, 0)), "", ""}
		see := func(rad float64) string {
			if rad == 0 {
				return "not known yet"
			}
			return "about " + fixed(rad*degPerRad, 0) + " deg"
		}
		switch i.Kind {
		case flight.Doublet:
			row[3] = fmt.Sprintf("%s s + %s s", fixed(i.LengthS/2, 1), fixed(i.LengthS/2, 1))
			row[4], row[5] = percent(i.SizePercent), see(axisPlan(c, i.Axis).DoubletRad)
		case flight.Sweep:
			row[3] = fmt.Sprintf("%s s, %s to %s Hz", fixed(i.LengthS, 0), fixed(i.FromRadS/(2*math.Pi), 1), fixed(i.ToRadS/(2*math.Pi), 1))
			row[4] = percent(i.SizePercent)
			if i.SizeEndPercent > i.SizePercent {
				row[4] += " to " + percent(i.SizeEndPercent)
			}
			row[5] = see(axisPlan(c, i.Axis).SweepRad)
		case flight.HandsStill:
			row[1], row[4], row[5] = "both", "still", "swings, none grows"
		case flight.Hover:
			row[4], row[5] = "as needed", "no input"
		}
		rows = append(rows, row)
	}
	return rows
}

func percent(x float64) string { return "±" + significant(x, 2) + " %" }

func axisPlan(c *plan.Plan, axis flight.Axis) plan.AxisPlan {
	for _, a := range c.Axes {
		if a.Axis == axis {
			return a
		}
	}
	return plan.AxisPlan{}
}

// expectText says how exactly the delay is expected to come out, and from what.
func expectText(c *plan.Plan, a plan.AxisPlan) string {
	ms := func(s float64) string { return significant(s*1e3, 2) }
	from := "assuming a coherence of 0.8; the hop will show"
	switch a.Basis {
	case plan.Measured:
		var names []string
		for _, h := range a.Hops {
			names = append(names, markdown(h, nameLength))
		}
		from = "from " + strings.Join(names, ", ")
	case plan.Model:
		from = "by the rotor model in the most wind allowed"
	}
	return fmt.Sprintf("%s: correlation lag expected within %s ms (wished %s; no repeat removes %s), phase lag at 1 Hz within %s ms; %s",
		a.Axis, ms(a.HalfWidthS), significant(c.Written.WishMS, 2), ms(a.FloorS), ms(a.PhaseHalfWidthS), from)
}

func planLimits(p *page, c *plan.Plan) {
	p.heading(2, "Limits, and when to break off")
	rows := [][]string{{"limit", "", "from"}}
	for _, l := range c.Limits {
		rows = append(rows, []string{l.Name, fmt.Sprintf("%g %s", l.Value, l.Unit), l.Source})
	}
	p.table(rows)
	p.blank()
	for _, a := range c.Aborts {
		p.bullet(a)
	}
	p.blank()
	p.paragraph("Anybody who sees one of these, or does not like what is seen, says KNOCK IT OFF on the radio. The pilot ends the input, levels, lands gently; nobody asks why before the rotor stands. The test is not taken up again in this hop.")
}
