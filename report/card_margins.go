package report

import (
	"fmt"
	"strconv"

	"hopcard/analysis/stability"
)

// cardMargins gives the margins of the loop of pilot and aircraft: with the pilot as
// measured, then with pilots of stated reaction, and what neither can show.
func cardMargins(p *page, margins []stability.Margin) {
	for i := range margins {
		p.bullet(marginText(&margins[i]))
	}
	if rows := marginRows(margins); len(rows) > 1 {
		p.blank()
		p.table(rows)
		p.blank()
		p.note("A pilot of a stated reaction answers attitude alone, that long after it, with the gain in use; grows from: the gain, in stick travel per attitude, at which swings begin to grow. Margins are what is left to that.")
	}
	said := map[string]bool{}
	for i := range margins {
		if s := margins[i].Says; s != "" && !said[s] {
			said[s] = true
			p.blank()
			p.note(markdown(s, textLength))
		}
	}
}

// marginText words the loop as flown.
func marginText(m *stability.Margin) string {
	text := fmt.Sprintf("pilot and aircraft, %s: crossover %s, phase margin %s, gain margin %s", m.Axis,
		withInterval(m.CrossoverRadS, 1, "rad/s"), withInterval(m.PhaseMarginDeg, 1, "deg"), withInterval(m.GainMarginDB, 1, "dB"))
	if m.CrossoverRadS == nil && m.PhaseMarginDeg == nil && m.GainMarginDB == nil {
		text = fmt.Sprintf("pilot and aircraft, %s: no margin measured as flown", m.Axis)
	}
	if m.GainLowDB != nil {
		text += ", gain may fall by " + withInterval(m.GainLowDB, 1, "dB")
	}
	p := m.Pilot
	if p == nil {
		return text
	}
	text += fmt.Sprintf(". The pilot, %s: %s per deg, %s after it", markdown(p.Method, textLength),
		withInterval(p.GainPerRad, percentPerDeg, "%"), withInterval(p.DelayS, 1, "s"))
	if p.LeadS != nil {
		text += ", lead " + withInterval(p.LeadS, 1, "s")
	}
	if finite(p.FitPercent) {
		text += fmt.Sprintf("; fit %s %%", fixed(p.FitPercent, 0))
	}
	if p.Biased {
		text += ". BIASED: read it as a hint"
	}
	return text
}

// marginRows has a row for the pilot as flown and for each assumed pilot of each axis.
// Without an assumed pilot the text has all there is.
func marginRows(margins []stability.Margin) [][]string {
	rows := [][]string{{"pilot", "phase margin, deg", "gain margin, dB", "grows from, %/deg"}}
	for i := range margins {
		m := &margins[i]
		if len(m.Assumed) == 0 {
			continue
		}
		if m.PhaseMarginDeg != nil || m.GainMarginDB != nil {
			rows = append(rows, []string{string(m.Axis) + ", as flown", tableCell(m.PhaseMarginDeg, 1, "deg"), tableCell(m.GainMarginDB, 1, "dB"), "-"})
		}
		for k := range m.Assumed {
			a := &m.Assumed[k]
			rows = append(rows, []string{
				fmt.Sprintf("%s, %s s reaction", m.Axis, strconv.FormatFloat(rounded(a.DelayS), 'g', 3, 64)), tableCell(a.PhaseMarginDeg, 1, "deg"),
				tableCell(a.GainMarginDB, 1, "dB"), worded(a.MostGainPerRad, percentPerDeg, "", 2),
			})
		}
	}
	return rows
}
