package report

import (
	"fmt"
	"math"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/flight"
)

// onAxis lists, in order, the results of one axis to its own stick.
func onAxis(d *debrief.Debrief, axis flight.Axis) []*response.Result {
	var out []*response.Result
	for i := range d.Responses {
		if r := &d.Responses[i]; r.Axis == axis && r.Input == axis.Stick() {
			out = append(out, r)
		}
	}
	return out
}

// answeredAxes lists the axes that have a response to their own stick.
func answeredAxes(d *debrief.Debrief) []flight.Axis {
	var out []flight.Axis
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		if len(onAxis(d, a)) > 0 {
			out = append(out, a)
		}
	}
	return out
}

// delayRow is one key number: where it is found, and how it is worded.
type delayRow struct {
	name string
	unit string
	k    float64
	get  func(*response.Result) *flight.Estimate
}

func delayRows() []delayRow {
	type r = response.Result
	return []delayRow{
		{"correlation lag", "ms", 1e3, func(x *r) *flight.Estimate { return x.CorrelationLagS }},
		{"  weighted by coherence", "ms", 1e3, func(x *r) *flight.Estimate { return x.WeightedCorrelationLagS }},
		{"transport delay", "ms", 1e3, func(x *r) *flight.Estimate { return x.TransportDelayS }},
		{"effective delay", "ms", 1e3, func(x *r) *flight.Estimate { return x.EffectiveDelayS }},
		{"phase delay", "ms", 1e3, func(x *r) *flight.Estimate { return x.PhaseDelayS }},
		{"180 deg behind at", "rad/s", 1, func(x *r) *flight.Estimate { return x.W180RadS }},
		{"bandwidth", "rad/s", 1, func(x *r) *flight.Estimate { return x.BandwidthRadS }},
		{"  by phase", "rad/s", 1, func(x *r) *flight.Estimate { return x.BandwidthPhaseRadS }},
		{"  by gain", "rad/s", 1, func(x *r) *flight.Estimate { return x.BandwidthGainRadS }},
		{"coupling", "", 1, func(x *r) *flight.Estimate { return x.Coupling }},
	}
}

// cardDelays is the table of delays, lags and bandwidth, with the meaning of each.
func cardDelays(p *page, d *debrief.Debrief) {
	p.heading(2, "Stick to answer")
	axes := answeredAxes(d)
	if len(axes) == 0 {
		p.paragraph("Not measured. No delay, lag or bandwidth is given for this hop; the data findings say why.")
		return
	}
	rows := [][]string{{"95 % interval in brackets"}}
	for _, a := range axes {
		rows[0] = append(rows[0], string(a))
	}
	for _, r := range delayRows() {
		row := []string{r.name}
		for _, a := range axes {
			row = append(row, withInterval(firstOf(onAxis(d, a), r.get), r.k, r.unit))
		}
		rows = append(rows, row)
	}
	p.table(append(rows, lagRows(d, axes)...))
	p.blank()
	for _, line := range delayMeanings() {
		p.bullet(line)
	}
	cardModels(p, d, axes)
	cardPhasing(p, d)
	cardWithheld(p, d)
}

// firstOf returns the first estimate that one of the results has.
func firstOf(results []*response.Result, get func(*response.Result) *flight.Estimate) *flight.Estimate {
	for _, r := range results {
		if e := get(r); e != nil {
			return e
		}
	}
	return nil
}

// lagRows lists the phase lag of attitude behind the stick at each frequency stated.
func lagRows(d *debrief.Debrief, axes []flight.Axis) [][]string {
	var rows [][]string
	for _, out := range []response.Output{response.Attitude, response.Rate} {
		var names []string
		byName := map[string][]string{}
		for i, a := range axes {
			for _, r := range onAxis(d, a) {
				if r.Output != out {
					continue
				}
				for _, l := range r.Lag {
					name := fmt.Sprintf("phase of %s at %s rad/s", out, significant(l.FrequencyRadS, 3))
					if byName[name] == nil {
						names = append(names, name)
						byName[name] = make([]string, 2*len(axes))
					}
					byName[name][2*i] = withInterval(&l.PhaseDeg, 1, "deg")
					byName[name][2*i+1] = withInterval(&l.TimeS, 1e3, "ms")
				}
			}
		}
		for _, name := range names {
			cells := byName[name]
			phase, time := []string{name}, []string{"  as time"}
			for i := range axes {
				phase = append(phase, orElse(cells[2*i], "not measured"))
				time = append(time, orElse(cells[2*i+1], "not measured"))
			}
			rows = append(rows, phase, time)
		}
	}
	return rows
}

// delayMeanings says in plain words what each row is. The four delays are four
// different things and must not be compared with one another.
func delayMeanings() []string {
	return []string{
		"correlation lag: shift of the peak of stick against rate. What the pilot feels; it depends on how the stick was moved, so compare it only between hops flown with the same inputs.",
		"transport delay: dead time in the control path alone, from the fitted model. Effective delay: its sum with the following time of the disc, where the data cannot separate the two.",
		"phase delay: slope of the phase of attitude beyond 180 deg, as ADS-33E-PRF (2000), 3.3.2.1, defines it.",
		"phase: how far the answer is behind the stick at one frequency (negative: behind); as time: the same, positive when behind.",
		"bandwidth: where attitude still follows the stick with 45 deg of phase or 6 dB of gain in hand before 180 deg, the lesser of the two (ADS-33E-PRF).",
		"coupling: answer in the other axis over answer in the axis asked for, at 2 rad/s.",
	}
}

func cardModels(p *page, d *debrief.Debrief, axes []flight.Axis) {
	for _, a := range axes {
		for _, r := range onAxis(d, a) {
			if r.Model == nil {
				continue
			}
			var parts []string
			for _, q := range r.Model.Parameters {
				parts = append(parts, markdown(q.Name, nameLength)+" "+withInterval(&q.Estimate, 1, ""))
			}
			text := fmt.Sprintf("model of stick to %s %s: %s; %s", a, r.Output, markdown(r.Model.Form, 100), strings.Join(parts, ", "))
			if finite(r.Model.FitPercent) {
				text += fmt.Sprintf("; fit %s %%", fixed(r.Model.FitPercent, 0))
			}
			p.bullet(text)
		}
	}
}

func cardPhasing(p *page, d *debrief.Debrief) {
	e := d.PhasingErrorRad
	if e == nil {
		return
	}
	p.bullet("phasing error of the swashplate, in rotor azimuth: " + withInterval(e, degPerRad, "deg") +
		". Change rigging only after a second hop shows the same.")
}

// cardWithheld repeats beside the numbers why some of them are missing.
func cardWithheld(p *page, d *debrief.Debrief) {
	for _, f := range d.Findings {
		switch f.Code {
		case flight.CodeNoClock, flight.CodeLeadsStick, flight.CodeNoResponse, flight.CodeNotMeasurable,
			flight.CodeModelDisagrees:
			p.bullet("doubt: " + findingText(f))
		}
	}
}

func cardModes(p *page, d *debrief.Debrief) {
	if len(d.Stability.Modes) == 0 && len(d.Stability.Margins) == 0 {
		return
	}
	p.heading(2, "Damping and margins")
	for _, m := range d.Stability.Modes {
		text := fmt.Sprintf("%s, %s, by %s: frequency %s, damping ratio %s", m.Axis, spanText(m.Span),
			markdown(m.Method, nameLength), withInterval(m.FrequencyRadS, 1, "rad/s"), withInterval(m.DampingRatio, 1, ""))
		if f := m.FrequencyRadS; f != nil && f.Value > 0 {
			text += fmt.Sprintf(", period about %s s", significant(2*math.Pi/f.Value, 2))
		}
		if m.TimeToHalfS != nil {
			text += ", time to half " + withInterval(m.TimeToHalfS, 1, "s")
		}
		if m.TimeToDoubleS != nil {
			text += ", GROWS: time to double " + withInterval(m.TimeToDoubleS, 1, "s")
		}
		p.bullet(text)
	}
	for _, m := range d.Stability.Margins {
		p.bullet(fmt.Sprintf("pilot and aircraft, %s: crossover %s, phase margin %s, gain margin %s", m.Axis,
			withInterval(m.CrossoverRadS, 1, "rad/s"), withInterval(m.PhaseMarginDeg, 1, "deg"),
			withInterval(m.GainMarginDB, 1, "dB")))
	}
}

func cardGusts(p *page, d *debrief.Debrief) {
	if len(d.Wind.Gusts) == 0 {
		return
	}
	p.heading(2, "Gusts")
	for _, g := range d.Wind.Gusts {
		text := fmt.Sprintf("%s, %s to %s rad/s: attitude %s per m/s of gust", g.Axis, significant(g.BandRadS[0], 2),
			significant(g.BandRadS[1], 2), withInterval(g.RadPerMS, degPerRad, "deg"))
		if finite(g.PartialCoherence) {
			text += ", partial coherence " + fixed(g.PartialCoherence, 2)
		}
		if g.Events > 0 {
			text += fmt.Sprintf("; mean of %d gusts: peak %s per m/s", g.Events, withInterval(g.PeakRadPerMS, degPerRad, "deg"))
			if g.SettleS != nil {
				text += ", settled after " + withInterval(g.SettleS, 1, "s")
			}
		}
		p.bullet(text)
	}
}
