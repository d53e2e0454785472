package tui

import (
	"fmt"
	"math"

	"hopcard/analysis/stability"
	"hopcard/flight"
)

// loopChartHeight is the height of the charts of the open loop, title and numbers included.
const loopChartHeight = 12

// marginLines says how much is left to the loop of pilot and aircraft before it grows, how
// the pilot was measured, and what gain other pilots may use.
func marginLines(ms []stability.Margin, w int) []line {
	ls := []line{plainLine(""), section('l', "margins", "Margins of the loop of pilot and aircraft, 95 % intervals in brackets")}
	if len(ms) == 0 {
		return append(ls, plainLine("  "+unknown))
	}
	ls = append(ls, marginTable(ms, w)...)
	for i := range ms {
		ls = append(ls, pilotLines(&ms[i], w)...)
	}
	for i := range ms {
		ls = append(ls, sideBySide(loopCharts(&ms[i], chartWidth(w)), w)...)
	}
	ls = append(ls, assumedLines(ms, w)...)
	for i := range ms {
		if m := &ms[i]; m.Says != "" && (i == 0 || ms[i-1].Says != m.Says) {
			ls = append(ls, wrapped("  ", faint, m.Says, w, nil)...)
		}
	}
	return ls
}

func marginTable(ms []stability.Margin, w int) []line {
	var rows [][]string
	for i := range ms {
		m := &ms[i]
		rows = append(rows, []string{string(m.Axis), estimate(m.CrossoverRadS, ""), estimate(m.PhaseMarginDeg, ""),
			estimate(m.GainMarginDB, ""), orNone(m.GainLowDB)})
	}
	return tableLines([]string{"axis", "crossover rad/s", "phase margin deg", "gain may rise dB", "may fall dB"}, rows, w)
}

// perDeg turns a gain in fractions of full travel per rad into percent of travel per deg.
func perDeg(e *flight.Estimate) *flight.Estimate { return times(e, 100/degPerRad) }

// pilotLines says what the pilot does, and by which method it was found.
func pilotLines(m *stability.Margin, w int) []line {
	p := m.Pilot
	if p == nil {
		return []line{{lead: fmt.Sprintf("  pilot %-6s", m.Axis), pen: faint, text: " not measured in this hop"}}
	}
	lead, pn := fmt.Sprintf("  pilot %-6s ", m.Axis), faint
	text := fmt.Sprintf("gain %s, lead %s, delay %s; the fit explains %s %%; by %s",
		estimate(perDeg(p.GainPerRad), "% of travel per deg"), estimate(p.LeadS, "s"), estimate(p.DelayS, "s"), plain(p.FitPercent), p.Method)
	if p.Biased {
		text, pn = "BIASED, a hint only: "+text, warn
	}
	return wrapped(lead, pn, text, w, nil)
}

// assumedLines is the table of pilots who are not this one.
func assumedLines(ms []stability.Margin, w int) []line {
	var rows [][]string
	for i := range ms {
		for _, a := range ms[i].Assumed {
			rows = append(rows, []string{fmt.Sprintf("%s %s s", ms[i].Axis, number(a.DelayS)), orNone(perDeg(a.MostGainPerRad)),
				orNone(a.CrossoverRadS), orNone(a.PhaseMarginDeg), orNone(a.GainMarginDB)})
		}
	}
	if rows == nil {
		return nil
	}
	ls := []line{plainLine(""), section('p', "pilots", "Gain that a pilot of that reaction may use on attitude alone, and what is left at the gain in use")}
	return append(ls, tableLines([]string{"reaction", "most gain %/deg", "crossover rad/s", "phase margin deg", "gain margin dB"}, rows, w)...)
}

// loopCharts draw gain and phase of L = pilot times aircraft with their margins, nil
// without a measured loop.
func loopCharts(m *stability.Margin, w int) []*paper {
	c := loopCurveOf(m)
	if len(c.w) < 2 {
		return nil
	}
	return []*paper{c.gainChart(m, w), c.phaseChart(m, w)}
}

// loopCurve is L at the frequencies where it is a number, with its 95 % band.
type loopCurve struct {
	w, gain, gainLow, gainHigh, phase, phaseLow, phaseHigh []float64
}

func loopCurveOf(m *stability.Margin) loopCurve {
	const two = 1.96 // standard deviations to 95 %
	var c loopCurve
	for _, l := range m.Loop {
		if !(l.FrequencyRadS > 0) || !finite(l.GainDB) || !finite(l.PhaseDeg) {
			continue
		}
		c.w = append(c.w, l.FrequencyRadS)
		c.gain, c.phase = append(c.gain, l.GainDB), append(c.phase, l.PhaseDeg)
		c.gainLow, c.gainHigh = append(c.gainLow, l.GainDB-two*l.GainSDDB), append(c.gainHigh, l.GainDB+two*l.GainSDDB)
		c.phaseLow, c.phaseHigh = append(c.phaseLow, l.PhaseDeg-two*l.PhaseSDDeg), append(c.phaseHigh, l.PhaseDeg+two*l.PhaseSDDeg)
	}
	return c
}

func (c *loopCurve) axis() axis {
	return axis{name: "rad/s; shaded: 95 %; ┊ crossover, ┃ margin", b: boundsOf(c.w), log: true}.round(0)
}

func (c *loopCurve) gainChart(m *stability.Margin, w int) *paper {
	y := axis{b: boundsOf(c.gain, []float64{0})}.round(6)
	ch := newChart(w, loopChartHeight, fmt.Sprintf("Pilot and aircraft in %s: gain of L, dB", m.Axis), c.axis(), y)
	ch.band(c.w, c.gainLow, c.gainHigh, faint)
	ch.level(0, '┄', faint)
	ch.line(c.w, c.gain, false, strong)
	if m.CrossoverRadS != nil {
		ch.upright(m.CrossoverRadS.Value, y.b.lo, y.b.hi, '┊', accent2)
	}
	if g := m.GainMarginDB; g != nil && finite(g.Value) {
		if at, ok := goesThrough(c.w, c.phase, c.gain, -180, -g.Value); ok {
			ch.upright(at, -g.Value, 0, '┃', accent)
			ch.words(at, -g.Value/2, number(g.Value)+" dB", accent)
		}
	}
	return ch.p
}

func (c *loopCurve) phaseChart(m *stability.Margin, w int) *paper {
	y := axis{b: boundsOf(c.phase, []float64{-180})}.round(45)
	ch := newChart(w, loopChartHeight, fmt.Sprintf("Pilot and aircraft in %s: phase of L, deg", m.Axis), c.axis(), y)
	ch.band(c.w, c.phaseLow, c.phaseHigh, faint)
	ch.level(-180, '┄', faint)
	ch.yNumber(-180)
	ch.line(c.w, c.phase, false, strong)
	if x := m.CrossoverRadS; x != nil {
		ch.upright(x.Value, y.b.lo, y.b.hi, '┊', accent2)
		if p := m.PhaseMarginDeg; p != nil && finite(p.Value) {
			ch.upright(x.Value, -180, p.Value-180, '┃', accent)
			ch.words(x.Value, p.Value/2-180, number(p.Value)+" deg", accent)
		}
	}
	return ch.p
}

// goesThrough is where ys goes through a level, between two points; of several places
// the one where beside is nearest to like.
func goesThrough(xs, ys, beside []float64, level, like float64) (x float64, ok bool) {
	best := math.Inf(1)
	for i := 1; i < len(xs); i++ {
		a, b := ys[i-1]-level, ys[i]-level
		if a*b > 0 || a == b {
			continue
		}
		k := a / (a - b)
		if d := math.Abs(beside[i-1] + k*(beside[i]-beside[i-1]) - like); d < best {
			best, x, ok = d, xs[i-1]*math.Pow(xs[i]/xs[i-1], k), true
		}
	}
	return x, ok
}
