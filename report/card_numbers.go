package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
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

// delayRow is one key number: where it is found, and how it is worded. Unit is the unit
// of estimates multiplied by k.
type delayRow struct {
	name string
	unit string
	k    float64
	get  func(*response.Result) *flight.Estimate
}

// delayRows lists all of them.
func delayRows() []delayRow { return slices.Concat(feltRows(), definedRows(), besidesRows()) }

// feltRows come first: what the pilot feels. The phase lags follow, then what needs a
// definition or a model.
func feltRows() []delayRow {
	type r = response.Result
	return []delayRow{
		{"correlation lag", "ms", 1e3, func(x *r) *flight.Estimate { return x.CorrelationLagS }},
		{"  weighted", "ms", 1e3, func(x *r) *flight.Estimate { return x.WeightedCorrelationLagS }},
		{"  of the rotor", "rev", 1, func(x *r) *flight.Estimate { return x.Revolutions(x.CorrelationLagS) }},
	}
}

func definedRows() []delayRow {
	type r = response.Result
	return []delayRow{
		{"phase delay", "ms", 1e3, phaseDelayOf},
		{"transport delay", "ms", 1e3, func(x *r) *flight.Estimate { return x.TransportDelayS }},
		{"effective delay", "ms", 1e3, func(x *r) *flight.Estimate { return x.EffectiveDelayS }},
		{"disc follows in", "ms", 1e3, func(x *r) *flight.Estimate { return x.DiscFollowingS }},
		{"bar follows in", "ms", 1e3, func(x *r) *flight.Estimate { return x.BarFollowingS }},
		{"180 deg behind at", "rad/s", 1, func(x *r) *flight.Estimate { return x.W180RadS }},
		{"bandwidth", "rad/s", 1, bandwidthOf},
		{"bandwidth by phase", "rad/s", 1, func(x *r) *flight.Estimate { return x.BandwidthPhaseRadS }},
		{"bandwidth by gain", "rad/s", 1, func(x *r) *flight.Estimate { return x.BandwidthGainRadS }},
		{"coupling", "", 1, func(x *r) *flight.Estimate { return x.Coupling }},
	}
}

// besidesRows stand below the table, which is full, where they were measured.
func besidesRows() []delayRow {
	type r = response.Result
	return []delayRow{
		{"doublet lag", "ms", 1e3, func(x *r) *flight.Estimate { return x.DoubletLagS }},
		{"step coupling", "", 1, func(x *r) *flight.Estimate { return x.StepCoupling }},
	}
}

func cardBesides(p *page, d *debrief.Debrief, axes []flight.Axis) {
	for _, row := range besidesRows() {
		var parts []string
		for _, a := range axes {
			if e := firstOf(onAxis(d, a), row.get); e != nil {
				parts = append(parts, string(a)+" "+withInterval(e, row.k, row.unit))
			}
		}
		if len(parts) > 0 {
			p.bullet(row.name + ": " + strings.Join(parts, ", "))
		}
	}
}

func phaseDelayOf(r *response.Result) *flight.Estimate { return r.PhaseDelayS }
func bandwidthOf(r *response.Result) *flight.Estimate  { return r.BandwidthRadS }

// cardDelays is the table of delays, lags and bandwidth, with the meaning of each.
func cardDelays(p *page, d *debrief.Debrief) {
	p.heading(2, "Stick to answer")
	if axes := answeredAxes(d); len(axes) > 0 {
		delayTable(p, d, axes)
		cardBesides(p, d, axes)
		for _, line := range delayMeanings() {
			p.bullet(line)
		}
		cardModels(p, d, axes)
	} else {
		p.paragraph("Not measured. No delay, lag or bandwidth is given for this hop.")
		p.blank()
	}
	cardTiming(p, d)
	cardPhasing(p, d)
	cardClosedLoop(p, d)
	for _, f := range d.Findings {
		if aboutDelays(f) {
			p.bullet(fmt.Sprintf("%s: %s", f.Severity, findingText(f)))
		}
	}
}

// delayTable has a row for what was measured in at least one axis. What was measured in
// none is named below it: a number that is missing must be seen to be missing.
func delayTable(p *page, d *debrief.Debrief, axes []flight.Axis) {
	heading := []string{"95 % in brackets", "unit"}
	for _, a := range axes {
		heading = append(heading, string(a))
	}
	felt, missing := measuredRows(d, axes, feltRows())
	defined, more := measuredRows(d, axes, definedRows())
	p.table(slices.Concat([][]string{heading}, felt, lagRows(d, axes), defined))
	p.blank()
	if missing = append(missing, more...); len(missing) > 0 {
		p.note("Not measured: " + strings.Join(missing, ", ") + ".")
		p.blank()
	}
}

// measuredRows words the rows that at least one axis has, and names the others.
func measuredRows(d *debrief.Debrief, axes []flight.Axis, from []delayRow) (rows [][]string, missing []string) {
	for _, r := range from {
		row, known := []string{r.name, r.unit}, false
		for _, a := range axes {
			e := firstOf(onAxis(d, a), r.get)
			known = known || e != nil
			row = append(row, tableCell(e, r.k, r.unit))
		}
		if known {
			rows = append(rows, row)
		} else if r.unit != "rev" { // the same lag again
			missing = append(missing, strings.Replace(r.name, "  weighted", "weighted correlation lag", 1))
		}
	}
	return rows, missing
}

// tableCell words an estimate without its unit, not finer than makes sense in it: a
// tenth of a degree or millisecond, a hundredth of a rad/s.
func tableCell(e *flight.Estimate, k float64, unit string) string {
	finest := map[string]int{"deg": 1, "ms": 1, "rad/s": 2, "": 3, "deg per m/s": 2, "dB": 1, "rev": 2}[unit]
	return worded(e, k, "", finest)
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

// lagRows lists the phase of attitude, then of rate, at each frequency stated: in deg with
// its interval, and the same as time. Where an axis is 180 deg behind has a row of its own.
func lagRows(d *debrief.Debrief, axes []flight.Axis) [][]string {
	var rows [][]string
	for _, out := range []response.Output{response.Attitude, response.Rate} {
		at := map[string]int{} // row of each frequency
		for i, a := range axes {
			for _, r := range onAxis(d, a) {
				if r.Output != out {
					continue
				}
				w180 := firstOf(onAxis(d, a), func(r *response.Result) *flight.Estimate { return r.W180RadS })
				for _, l := range r.Lag {
					if w180 != nil && math.Abs(l.FrequencyRadS-w180.Value) < 1e-6*w180.Value {
						continue
					}
					name := lagName(out, &l)
					if _, ok := at[name]; !ok {
						at[name] = len(rows)
						rows = append(rows, emptyRow(name, "deg, ms", len(axes)))
					}
					rows[at[name]][2+i] = tableCell(&l.PhaseDeg, 1, "deg") + ", " + lagTime(&l)
				}
			}
		}
	}
	return rows
}

// lagName names a phase lag; each axis has a crossover of its own.
func lagName(out response.Output, l *response.LagAt) string {
	at := l.At
	if at == "" {
		at = significant(l.FrequencyRadS, 3) + " rad/s"
	}
	return string(out) + ", " + at
}

// lagTime words a lag as time without its interval, which is that of the angle: to a
// millisecond, or a hundredth of what it is.
func lagTime(l *response.LagAt) string {
	ms := l.TimeS.Value * 1e3
	if math.Abs(ms) >= 1000 {
		return significant(ms, 3)
	}
	return fixed(ms, 0)
}

func emptyRow(name, unit string, axes int) []string {
	row := []string{name, unit}
	for range axes {
		row = append(row, notMeasured)
	}
	return row
}

// delayMeanings says in plain words what each row is. The four delays are four
// different things and must not be compared with one another.
func delayMeanings() []string {
	return []string{
		"correlation lag: shift of the peak of stick against rate. What the pilot feels; compare it only between hops flown with the same inputs. Weighted: from frequencies with good coherence. Doublet lag: as if a standard doublet had been flown; any hops compare.",
		"attitude and rate at a frequency: phase lag there; behind the stick is negative in deg and positive in ms, with one interval for both.",
		"phase delay: slope of the phase of attitude beyond 180 deg, as ADS-33E-PRF (2000), 3.3.2.1, defines it.",
		"transport delay: dead time in the control path alone, from the fitted model. Effective delay: its sum with the following time of the disc, where the two cannot be separated. Disc and bar follow in: their following times.",
		"bandwidth: where attitude still follows the stick with 45 deg of phase or 6 dB of gain in hand before 180 deg, the lesser of the two (ADS-33E-PRF).",
		"coupling: other axis over the one asked for, at 2 rad/s; step coupling: its most within 4 s of a step over that asked for at 4 s.",
	}
}

// cardModels gives the models fitted. Attitude and rate of an axis often share one.
func cardModels(p *page, d *debrief.Debrief, axes []flight.Axis) {
	for _, a := range axes {
		var texts []string
		outputs := map[string][]string{}
		for _, r := range onAxis(d, a) {
			if r.Model == nil {
				continue
			}
			text := modelText(r.Model)
			if outputs[text] == nil {
				texts = append(texts, text)
			}
			outputs[text] = append(outputs[text], string(r.Output))
		}
		for _, text := range texts {
			p.bullet(fmt.Sprintf("model of stick to %s %s: %s", a, strings.Join(outputs[text], " and "), text))
		}
	}
}

func modelText(m *response.Model) string {
	var parts []string
	for _, q := range m.Parameters {
		parts = append(parts, markdown(q.Name, nameLength)+" "+withInterval(&q.Estimate, 1, ""))
	}
	text := markdown(m.Form, 100) + "; " + strings.Join(parts, ", ")
	if finite(m.FitPercent) {
		text += fmt.Sprintf("; fit %s %%", fixed(m.FitPercent, 0))
	}
	return text
}

// cardClosedLoop says how far the stick, in these seconds, answered the aircraft rather than
// the other way round.
func cardClosedLoop(p *page, d *debrief.Debrief) {
	for _, a := range answeredAxes(d) {
		for _, r := range onAxis(d, a) {
			if r.Output != response.Rate {
				continue
			}
			var parts []string
			if t := r.TwoSided; t != nil && finite(t.MotionBehind) && finite(t.StickBehind) {
				parts = append(parts, fmt.Sprintf("rate follows stick with correlation %s, %s ms behind; stick follows rate with %s, %s ms behind",
					fixed(t.MotionBehind, 2), fixed(t.MotionBehindS*1e3, 0), fixed(t.StickBehind, 2), fixed(math.Abs(t.StickBehindS)*1e3, 0)))
			}
			if r.AnsweringShare != nil {
				parts = append(parts, withInterval(r.AnsweringShare, 100, "%")+" of the stick's power answers what gusts do")
			}
			if len(parts) > 0 {
				p.bullet(fmt.Sprintf("pilot in the loop, %s: %s", a, strings.Join(parts, "; ")))
			}
		}
	}
}

func cardPhasing(p *page, d *debrief.Debrief) {
	e := d.PhasingErrorRad
	if e == nil {
		return
	}
	p.bullet("phasing error of the swashplate, in rotor azimuth: " + withInterval(e, degPerRad, "deg") +
		". " + response.PhasingCorrection(*e, d.Aircraft.RotorTurns) + " Change rigging only after a second hop shows the same.")
}

// aboutDelays tells the findings that explain why a number of this section is missing or
// doubtful; they stand beside the numbers and not again among those about the data.
func aboutDelays(f flight.Finding) bool {
	switch f.Code {
	case flight.CodeNoClock:
		return f.Severity != flight.Note // a note is about marks and the like
	case flight.CodeLeadsStick, flight.CodeNoResponse, flight.CodeModelDisagrees:
		return true
	case flight.CodeNotMeasurable:
		return f.Channel != string(flight.WindSpeed)
	}
	return false
}

func cardModes(p *page, d *debrief.Debrief) {
	if len(d.Stability.Modes) == 0 && len(d.Stability.Margins) == 0 {
		return
	}
	p.heading(2, "Damping and margins")
	for _, m := range d.Stability.Modes {
		p.bullet(modeText(&m))
	}
	cardMargins(p, d.Stability.Margins)
}

// modeText words a mode: in plain words where it has some, then with its numbers.
func modeText(m *stability.Mode) string {
	text := string(m.Axis) + ", "
	if m.Says != "" {
		text += markdown(m.Says, textLength) + "; "
	}
	by := ""
	if m.Says == "" { // the page is full: JSON has the method
		by = ", by " + markdown(m.Method, 2*nameLength)
	}
	text += fmt.Sprintf("%s%s: frequency %s, damping ratio %s", spanText(m.Span), by, withInterval(m.FrequencyRadS, 1, "rad/s"), withInterval(m.DampingRatio, 1, ""))
	if f := m.FrequencyRadS; f != nil && f.Value > 0 && m.Says == "" {
		text += fmt.Sprintf(", period about %s s", significant(2*math.Pi/f.Value, 2))
	}
	if m.TimeToHalfS != nil {
		text += ", time to half " + withInterval(m.TimeToHalfS, 1, "s")
	}
	if m.TimeToDoubleS != nil {
		text += ", GROWS: time to double " + withInterval(m.TimeToDoubleS, 1, "s")
	}
	return text
}
