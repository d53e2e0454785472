package debrief

import (
	"fmt"
	"math"

	"hopcard/analysis/segment"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// outOfControlPercent: with less stick left than this the pilot had, in effect, no
// control left; sensor noise and scale make a finer distinction idle.
const outOfControlPercent = 2.0

// judge weighs the hop against the card's limits. The heaviest reason decides; reasons
// that weigh nothing still say what was checked and what could not be.
func judge(d *Debrief) Verdict {
	v := Verdict{Proceed: Yes}
	add := func(w Proceed, span flight.Span, format string, args ...any) {
		v.Reasons = append(v.Reasons, Reason{Text: fmt.Sprintf(format, args...), Span: span, Weight: w})
		if heavier(w, v.Proceed) {
			v.Proceed = w
		}
	}
	judgeFlight(d, add)
	judgeUnstable(d, add)
	judgeControl(d, add)
	judgeModes(d, add)
	judgeWind(d, add)
	judgeData(d, add)
	judgePlan(d, add)
	return v
}

type addReason func(w Proceed, span flight.Span, format string, args ...any)

func heavier(a, b Proceed) bool {
	rank := func(p Proceed) int {
		switch p {
		case No:
			return 2
		case Caution:
			return 1
		}
		return 0
	}
	return rank(a) > rank(b)
}

func judgeFlight(d *Debrief, add addReason) {
	span, ok := segment.Flight(d.Segments)
	if !ok {
		add(Caution, flight.Span{}, "no flight was found between lift-off and landing: there is nothing to judge the next card by")
		return
	}
	add(Yes, span, "flew for %.0f s", span.LengthS())
}

func judgeUnstable(d *Debrief, add addReason) {
	for _, u := range d.Stability.Unstable {
		switch u.Kind {
		case stability.Airframe, stability.PilotCoupled, stability.Limit:
			add(No, u.Span, "%s", u.Reason)
		case stability.ControlStop, stability.Unattributed:
			add(Caution, u.Span, "%s", u.Reason)
		}
	}
}

func judgeControl(d *Debrief, add addReason) {
	limit := d.Aircraft.Limits.ControlLeftPercent
	for _, c := range d.Stability.Control {
		switch {
		case c.LeftPercent < outOfControlPercent:
			add(No, firstStop(d, c), "%s: the stick reached its stop, no control was left", c.Axis)
		case c.LeftPercent < limit:
			add(Caution, c.SpanInFlight, "%s: %.0f %% of the stick was left, the limit is %.0f %%",
				c.Axis, c.LeftPercent, limit)
		default:
			add(Yes, c.SpanInFlight, "%s: %.0f %% of the stick was left", c.Axis, c.LeftPercent)
		}
	}
}

// firstStop is when the stick of c first came near its stop; the whole flight if no
// segment tells.
func firstStop(d *Debrief, c stability.Control) flight.Span {
	for _, u := range d.Stability.Unstable {
		if u.Kind == stability.ControlStop && u.Axis == c.Axis {
			return u.Span
		}
	}
	return c.SpanInFlight
}

// judgeModes compares damping and margins with their limits. Only an interval that lies
// wholly below the limit counts: a doubtful number is not evidence.
func judgeModes(d *Debrief, add addReason) {
	l := d.Aircraft.Limits
	for _, m := range d.Stability.Modes {
		judgeMode(m, l, add)
	}
	for _, m := range d.Stability.Margins {
		judgeMargin(m, l, add)
	}
}

// leastDoubleS: the slow oscillation of the hover is held by the pilot, and grows without a
// bar as a matter of course. It may not double in less than this: MIL-H-8501A (1961), 3.2.11,
// for periods of 10 to 20 s (from memory; written for forward flight, a yardstick here).
const leastDoubleS = 10

// judgeMode weighs the damping of a mode. The slow hover oscillation is weighed by how fast
// it grows: a caution at every hop without a bar would soon be read over.
func judgeMode(m stability.Mode, l flight.Limits, add addReason) {
	z := m.DampingRatio
	switch {
	case z == nil:
	case m.Hover && m.TimeToDoubleS != nil && below(m.TimeToDoubleS, leastDoubleS):
		add(Caution, m.Span, "%s: the slow hover oscillation doubles in %.1f s, less than %d s", m.Axis, m.TimeToDoubleS.Value, leastDoubleS)
	case m.Hover && m.TimeToDoubleS != nil:
		add(Yes, m.Span, "%s: %s", m.Axis, m.Says)
	case below(z, l.DampingRatio):
		add(Caution, m.Span, "%s: damping ratio %.2f is below the limit of %.2f", m.Axis, z.Value, l.DampingRatio)
	}
}

// judgeMargin weighs margins only where the pilot was measured without bias: otherwise they
// come out low in still air, and a caution at every calm hop is soon read over.
func judgeMargin(m stability.Margin, l flight.Limits, add addReason) {
	weight, doubt := Caution, ""
	if m.Pilot != nil && m.Pilot.Biased {
		weight, doubt = Yes, "; the pilot was measured with bias, so this is a hint and not judged"
	}
	if pm := m.PhaseMarginDeg; pm != nil && below(pm, l.PhaseMarginDeg) {
		add(weight, flight.Span{}, "%s: phase margin %.0f deg is below the limit of %.0f deg%s", m.Axis, pm.Value, l.PhaseMarginDeg, doubt)
	}
	if gm := m.GainMarginDB; gm != nil && below(gm, l.GainMarginDB) {
		add(weight, flight.Span{}, "%s: gain margin %.1f dB is below the limit of %.1f dB%s", m.Axis, gm.Value, l.GainMarginDB, doubt)
	}
}

func below(e *flight.Estimate, limit float64) bool {
	if math.IsNaN(e.High) {
		return e.Value < limit
	}
	return e.High < limit
}

func judgeWind(d *Debrief, add addReason) {
	w, l := d.Wind.Whole, d.Aircraft.Limits
	if w == nil || w.MeanMS == nil {
		add(Yes, flight.Span{}, "wind was not logged: its limits were not checked")
		return
	}
	mean := w.MeanMS.Value
	if mean > l.WindMeanMS {
		add(Caution, w.Span, "mean wind %.1f m/s is above the limit of %.1f m/s", mean, l.WindMeanMS)
	}
	if w.SpreadMS != nil && w.SpreadMS.Value > l.GustSpreadMS {
		add(Caution, w.Span, "gust spread %.1f m/s is above the limit of %.1f m/s", w.SpreadMS.Value, l.GustSpreadMS)
	}
	if mean <= l.WindMeanMS && (w.SpreadMS == nil || w.SpreadMS.Value <= l.GustSpreadMS) {
		add(Yes, w.Span, "wind %.1f m/s, inside its limits", mean)
	}
}

// judgeData lets no hop pass whose data cannot carry the answer.
func judgeData(d *Debrief, add addReason) {
	for _, f := range d.Findings {
		if f.Severity == flight.Stop {
			add(Caution, f.Span, "data: %s", f.Text)
		}
	}
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		if d.Hop.Channel(axis.Attitude()) == nil {
			add(Caution, flight.Span{}, "%s attitude was %s: nothing in that axis was checked", axis, absent(d.Hop, axis.Attitude()))
		}
		if d.Hop.Channel(axis.Stick()) == nil {
			add(Caution, flight.Span{}, "%s was %s: control left and pilot coupling were not checked", axis.Stick(), absent(d.Hop, axis.Stick()))
		}
	}
}

// absent says why a quantity is not there: it was not logged, or what was logged is withheld.
func absent(h *flight.Hop, q flight.Quantity) string {
	for _, c := range h.Channels {
		if c.Quantity == q && c.Withheld != "" {
			return "withheld"
		}
	}
	return "not logged"
}

// judgePlan says how much of the plan was flown. A plan not followed is no danger by itself;
// another configuration than the planned one makes the card's limits those of another head.
func judgePlan(d *Debrief, add addReason) {
	if d.Plan == nil {
		return
	}
	if want, got := d.Plan.Plan.Configuration, d.Hop.Configuration; want != "" && got != "" && want != got {
		add(Caution, flight.Span{}, "planned with %s, flown with %s: the plan was made for another head", want, got)
	}
	add(Yes, flight.Span{}, "plan: %d of %d items as planned", len(d.Plan.Rows)-d.Plan.NotDone(), len(d.Plan.Rows))
}
