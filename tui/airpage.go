package tui

import (
	"fmt"
	"math"

	"hopcard/analysis/wind"
	"hopcard/flight"
)

// figureLine is a named number as a line of a page.
func figureLine(name string, e *flight.Estimate, unit string) line {
	s := value(e, unit)
	if i := interval(e); i != "" {
		s += "  (" + i + ")"
	}
	return line{lead: fmt.Sprintf("  %-22s", name), pen: faint, text: s}
}

// airLines says what the air did and how far gusts threw the aircraft.
func airLines(o *opened, w int, speed speedUnit) []line {
	r := &o.d.Wind
	if r.Whole == nil {
		ls := []line{heading("No wind was logged.")}
		ls = append(ls, wrapped("", ink, "The response is then measured with the gusts in it; the findings say what that does.", w, nil)...)
		ls = append(ls, activityLines(r.Activity, w)...)
		return append(ls, findingsOf(r.Findings, w)...)
	}
	whole := "Air over the flight: "
	if r.Whole.Span == (flight.Span{}) {
		whole = "Air over the wind log, whose clock is not known: "
	}
	ls := []line{section('w', "wind", whole+string(r.Whole.Class))}
	if r.OnBoard {
		ls = append(ls, line{lead: "  CAUTION ", pen: warn, text: "this wind was estimated on board, not measured"})
	}
	ls = append(ls, windChart(o, w, speed)...)
	ls = append(ls, phaseLines(r.Whole, speed)...)
	if len(r.Phases) > 1 {
		ls = append(ls, plainLine(""), section('p', "phases", "Phases"))
		for i := range r.Phases {
			p := &r.Phases[i]
			ls = append(ls, line{lead: fmt.Sprintf("  %-20s %-7s", spanText(p.Span), p.Class), pen: ink, seeS: &p.Span.FromS,
				text: fmt.Sprintf("mean %s, spread %s", value(speed.of(p.MeanMS), speed.name), value(speed.of(p.SpreadMS), speed.name))})
		}
	}
	if t := classTable(r.Classes, w, speed); t != nil {
		ls = append(append(ls, plainLine("")), t...)
	}
	if charts := airCharts(o, w, speed); charts != nil {
		ls = append(append(ls, plainLine("")), charts...)
	}
	for _, s := range spectraOf(r)[:min(1, len(spectraOf(r)))] {
		ls = append(append(ls, section('t', "turbulence", "Turbulence, 95 % intervals in brackets")), turbulenceLines(s.of, speed)...)
	}
	ls = append(ls, plainLine(""), section('a', "answers to gusts", "Answer to gusts, 95 % intervals in brackets"))
	if len(r.Gusts) == 0 {
		ls = append(ls, plainLine("  "+unknown))
	}
	if len(r.Gusts) > 0 {
		ls = append(ls, gustTables(r, w, speed)...)
	}
	if len(r.Gusts) > 0 && !math.IsNaN(r.LeadS) {
		ls = append(ls, line{lead: fmt.Sprintf("  %-22s", "answers after gust"), pen: faint, text: number(r.LeadS) + " s"})
	}
	return append(ls, findingsOf(r.Findings, w)...)
}

func phaseLines(p *wind.Phase, speed speedUnit) []line {
	return []line{
		figureLine("mean", speed.of(p.MeanMS), speed.name),
		figureLine("standard deviation", speed.of(p.SDMS), speed.name),
		figureLine("3 s gust", speed.of(p.Gust3sMS), speed.name),
		figureLine("3 s lull", speed.of(p.Lull3sMS), speed.name),
		figureLine("gust spread", speed.of(p.SpreadMS), speed.name),
		figureLine("gust factor", p.GustFactor, ""),
		figureLine("turbulence intensity", p.TurbulenceIntensity, ""),
		figureLine("from", times(p.DirectionRad, degPerRad), "deg"),
		figureLine("direction sd", times(p.DirectionSDRad, degPerRad), "deg"),
		figureLine("head wind", speed.of(p.HeadMS), speed.name),
		figureLine("wind from the right", speed.of(p.CrossMS), speed.name),
	}
}

// gustTables are the answers to gusts by band, and averaged over the gusts that stand out.
func gustTables(r *wind.Result, w int, speed speedUnit) []line {
	// One column, repeated with the numbers that find no room beside the others.
	const answerOf = "%-5s  %-5s  %s"
	per := "deg per " + speed.name
	deg := func(e *flight.Estimate) string { return orNone(times(speed.per(e), degPerRad)) }
	var rows, events [][]string
	seen := map[flight.Axis]bool{}
	for _, g := range r.Gusts {
		rows = append(rows, []string{fmt.Sprintf(answerOf, g.Axis, g.Input, number(g.BandRadS[0])+" to "+number(g.BandRadS[1])),
			deg(g.RadPerMS), deg(g.PilotInLoopRadPerMS), plain(g.PartialCoherence)})
		if g.Events > 0 && !seen[g.Axis] { // the same for every band of an axis
			seen[g.Axis] = true
			events = append(events, []string{string(g.Axis), string(g.Input), fmt.Sprint(g.Events), deg(g.PeakRadPerMS), orNone(g.TimeToPeakS), orNone(g.SettleS)})
		}
	}
	ls := tableLines([]string{fmt.Sprintf(answerOf, "axis", "gust", "rad/s"), per + ", stick held", "with the pilot", "coherence"}, rows, w)
	ls = append(ls, wrapped("  ", faint, "Stick held: the aircraft alone. With the pilot: biased for the aircraft, since the pilot flies against the gust.", w, nil)...)
	if events == nil {
		return ls
	}
	ls = append(ls, heading("Mean over gusts that stand out, pilot in the loop"))
	return append(ls, tableLines([]string{"axis", "gust", "gusts", "peak " + per, "after s", "settles s"}, events, w)...)
}

// findingsOf lists the findings of one part of the analysis.
func findingsOf(fs []flight.Finding, w int) []line {
	if len(fs) == 0 {
		return nil
	}
	ls := []line{plainLine(""), section('i', "findings", "Findings")}
	for _, f := range fs {
		ls = append(ls, findingLines(f, w)...)
	}
	return ls
}
