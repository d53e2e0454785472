package tui

import (
	"fmt"

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
func airLines(o *opened, w int) []line {
	r := &o.d.Wind
	if r.Whole == nil {
		ls := []line{heading("No wind was logged.")}
		ls = append(ls, wrapped("", ink, "The response is then measured with the gusts in it; the findings say what that does.", w, nil)...)
		return append(ls, findingsOf(r.Findings, w)...)
	}
	ls := []line{heading("Air over the flight: " + string(r.Whole.Class))}
	if r.OnBoard {
		ls = append(ls, line{lead: "  CAUTION ", pen: warn, text: "this wind was estimated on board, not measured"})
	}
	ls = append(ls, phaseLines(r.Whole)...)
	if len(r.Phases) > 1 {
		ls = append(ls, plainLine(""), heading("Phases"))
		for i := range r.Phases {
			p := &r.Phases[i]
			ls = append(ls, line{lead: fmt.Sprintf("  %-20s %-7s", spanText(p.Span), p.Class), pen: ink, seeS: &p.Span.FromS,
				text: fmt.Sprintf("mean %s, spread %s", value(p.MeanMS, "m/s"), value(p.SpreadMS, "m/s"))})
		}
	}
	ls = append(ls, plainLine(""), heading("Answer to gusts, 95 % intervals in brackets"))
	if len(r.Gusts) == 0 {
		ls = append(ls, plainLine("  "+unknown))
	}
	for _, g := range r.Gusts {
		ls = append(ls, gustLines(g)...)
	}
	return append(ls, findingsOf(r.Findings, w)...)
}

func phaseLines(p *wind.Phase) []line {
	return []line{
		figureLine("mean", p.MeanMS, "m/s"),
		figureLine("standard deviation", p.SDMS, "m/s"),
		figureLine("3 s gust", p.Gust3sMS, "m/s"),
		figureLine("3 s lull", p.Lull3sMS, "m/s"),
		figureLine("gust spread", p.SpreadMS, "m/s"),
		figureLine("gust factor", p.GustFactor, ""),
		figureLine("turbulence intensity", p.TurbulenceIntensity, ""),
		figureLine("from", times(p.DirectionRad, degPerRad), "deg"),
		figureLine("direction sd", times(p.DirectionSDRad, degPerRad), "deg"),
		figureLine("length scale", p.LengthM, "m"),
		figureLine("head wind", p.HeadMS, "m/s"),
		figureLine("wind from the right", p.CrossMS, "m/s"),
	}
}

func gustLines(g wind.Gust) []line {
	return []line{
		{lead: fmt.Sprintf("  %s, %s to %s rad/s", g.Axis, number(g.BandRadS[0]), number(g.BandRadS[1])), pen: ink,
			text: fmt.Sprintf(": %d events, coherence %s", g.Events, number(g.PartialCoherence))},
		figureLine("  attitude per gust", times(g.RadPerMS, degPerRad), "deg per m/s"),
		figureLine("  peak per gust", times(g.PeakRadPerMS, degPerRad), "deg per m/s"),
		figureLine("  settles in", g.SettleS, "s"),
	}
}

// findingsOf lists the findings of one part of the analysis.
func findingsOf(fs []flight.Finding, w int) []line {
	if len(fs) == 0 {
		return nil
	}
	ls := []line{plainLine(""), heading("Findings")}
	for _, f := range fs {
		ls = append(ls, findingLines(f, w)...)
	}
	return ls
}
