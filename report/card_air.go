package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// cardGusts is how far gusts threw the aircraft, and what each class of air asked of it.
func cardGusts(p *page, d *debrief.Debrief) {
	if d.Wind.Whole == nil {
		cardActivity(p, d.Wind.Activity)
		return
	}
	p.heading(2, "Gusts")
	if rows := gustRows(d.Wind.Gusts); len(rows) > 1 {
		p.table(rows)
		p.blank()
		p.note("Attitude in deg per m/s of gust, head gusts for pitch, gusts from the right for roll. Stick held: the aircraft alone, sticks and gusts taken apart. Single input: sticks left out, what pilot and aircraft make of it together; taken for the aircraft's own answer it is biased, because the pilot flies against the gust.")
	} else {
		p.paragraph("No answer to gusts was measured.")
	}
	p.blank()
	if d.Wind.LeadS > wind.AwayS { // not if it is NaN
		p.bullet(fmt.Sprintf("the aircraft answers %s s after the anemometer: the anemometer stands away from it", fixed(d.Wind.LeadS, 1)))
	}
	for _, g := range onePerAxis(d.Wind.Gusts) {
		text := fmt.Sprintf("%s: mean answer to %d gusts: peak %s per m/s", g.Axis, g.Events, withInterval(g.PeakRadPerMS, degPerRad, "deg"))
		if g.TimeToPeakS != nil {
			text += ", " + withInterval(g.TimeToPeakS, 1, "s") + " after the gust"
		}
		if g.SettleS != nil {
			text += ", settled after " + withInterval(g.SettleS, 1, "s")
		} else if s := lastsFor(&d.Wind, &g); finite(s) {
			text += ", not settled before " + fixed(s, 1) + " s"
		}
		p.bullet(text)
	}
	for _, text := range gustFindings(d) {
		p.bullet(text)
	}
	cardClasses(p, d.Wind.Classes)
}

// lastsFor is how long after the gust's peak its upset lasts at least, in s; NaN if that is
// not known.
func lastsFor(w *wind.Result, g *wind.Gust) float64 {
	for i := range w.Events {
		if e := &w.Events[i]; e.Axis == g.Axis && e.Input == g.Input && e.PeakRadPerMS != nil && e.SettleAfterS > 0 {
			return e.SettleAfterS
		}
	}
	return math.NaN()
}

// cardActivity is all there is of a hop without a measured wind.
func cardActivity(p *page, a *wind.ClassRow) {
	if a == nil {
		return
	}
	rows := classRows([]wind.ClassRow{*a})
	if len(rows) < 2 {
		return
	}
	rows[1][0] = "whole flight"
	p.heading(2, "Activity")
	p.table(rows)
	p.blank()
	p.note("No wind was measured on the hop's clock. Lively sticks and attitudes hint at rough air, but a lively pilot looks alike: this is no wind, and does not compare with hops whose wind was measured. Rms without interval; stick in percent of full travel; turns: reversals of the stick each minute; left: the least that was left to a stop.")
}

// aboutGusts tells the findings that explain why an answer to gusts is missing.
func aboutGusts(d *debrief.Debrief, f flight.Finding) bool {
	return d.Wind.Whole != nil && f.Code == flight.CodeNotMeasurable && f.Channel == string(flight.WindSpeed)
}

// gustFindings words those findings. Those that say the same of several bands ("withheld:
// roll at 1 to 2 rad/s: why") are one.
func gustFindings(d *debrief.Debrief) []string {
	type said struct {
		head, tail string
		where      []string
	}
	var all []said
	for _, f := range d.Findings {
		if !aboutGusts(d, f) {
			continue
		}
		text := fmt.Sprintf("%s: %s", f.Severity, Sentences(markdown(f.Text, textLength), markdown(f.Advice, textLength)))
		s := said{head: text}
		if parts := strings.Split(text, ": "); len(parts) == 4 {
			s = said{parts[0] + ": " + parts[1] + ": ", ": " + parts[3], []string{parts[2]}}
		}
		if i := slices.IndexFunc(all, func(o said) bool { return o.head == s.head && o.tail == s.tail && s.where != nil }); i >= 0 {
			all[i].where = append(all[i].where, s.where...)
			continue
		}
		all = append(all, s)
	}
	var texts []string
	for _, s := range all {
		texts = append(texts, s.head+strings.Join(s.where, ", ")+s.tail)
	}
	return texts
}

func gustRows(gusts []wind.Gust) [][]string {
	rows := [][]string{{"axis", "band, rad/s", "stick held", "single input (biased)", "partial coherence"}}
	for _, g := range gusts {
		if g.RadPerMS == nil && g.PilotInLoopRadPerMS == nil {
			continue
		}
		coherence := notMeasured
		if finite(g.PartialCoherence) {
			coherence = fixed(g.PartialCoherence, 2)
		}
		rows = append(rows, []string{
			string(g.Axis), significant(g.BandRadS[0], 2) + " to " + significant(g.BandRadS[1], 2),
			tableCell(g.RadPerMS, degPerRad, "deg per m/s"), tableCell(g.PilotInLoopRadPerMS, degPerRad, "deg per m/s"), coherence,
		})
	}
	return rows
}

// onePerAxis lists the first gust of each axis that was met with events: they are the
// same in all bands of an axis.
func onePerAxis(gusts []wind.Gust) []wind.Gust {
	var out []wind.Gust
	seen := map[flight.Axis]bool{}
	for _, g := range gusts {
		if g.Events > 0 && g.PeakRadPerMS != nil && !seen[g.Axis] {
			seen[g.Axis] = true
			out = append(out, g)
		}
	}
	return out
}
