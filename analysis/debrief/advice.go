package debrief

import (
	"slices"

	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// advise says in general terms what the verdict means for the build-up: repeat, step back,
// take a smaller step, wait for calmer air. One step at a time, the last safe one as the way
// back, and calm air first are common practice of flight test (FAA AC 90-89A, 1995, for
// amateur-built aircraft; structure from memory).
func advise(d *Debrief) []string {
	var advice []string
	add := func(when bool, text string) {
		if when {
			advice = append(advice, text)
		}
	}
	grew := func(k stability.Kind) bool { return hasFlag(d, k) }
	add(grew(stability.Airframe),
		"Step back: the aircraft swung more and more by itself. Return to the last configuration that was steady, and have head, bar and linkages inspected before anything is flown.")
	add(grew(stability.PilotCoupled),
		"Step back: pilot and aircraft drove each other. Do not fly this configuration in such air again; in calmer air use less stick, and let go of the attitude for a moment when a swing begins to grow.")
	add(grew(stability.Unattributed),
		"Repeat with the stick logged on the clock of the attitude: something grew, and without the stick its cause stays unknown.")
	add(grew(stability.Limit) && !grew(stability.Airframe) && !grew(stability.PilotCoupled),
		"Smaller step: a limit was passed. Repeat at half the input or in half the gusts before going further.")
	add(littleControl(d),
		"Smaller step: too little stick was left. Trim, throw or wind must give it back before the next card.")
	add(windBeyond(d),
		"Calmer air: wait until the wind is back inside the card's limits, and repeat this card then.")
	add(dampingBelow(d),
		"Smaller step: damping or margin is below its limit. Change one thing that raises it, and compare in calm air first.")
	add(hasStop(d), "Repeat: the data cannot carry the answer. Mend the logging first, on the ground.")
	if len(advice) == 0 && d.Verdict.Proceed != Yes {
		advice = append(advice, "Repeat: something could not be checked. Fly the same card again once that is mended.")
	}
	if d.Verdict.Proceed == Yes {
		add(!measured(d), "Repeat with test inputs: no response was measured, so nothing tells how the next change will compare.")
		add(true, "Next step: change one thing, by the smaller of the steps you have in mind, and fly it first in air no worse than this.")
	}
	return advice
}

func hasFlag(d *Debrief, k stability.Kind) bool {
	return slices.ContainsFunc(d.Stability.Unstable, func(u stability.Unstable) bool { return u.Kind == k })
}

func littleControl(d *Debrief) bool {
	return slices.ContainsFunc(d.Stability.Control, func(c stability.Control) bool {
		return c.LeftPercent < d.Aircraft.Limits.ControlLeftPercent
	})
}

func windBeyond(d *Debrief) bool {
	w, l := d.Wind.Whole, d.Aircraft.Limits
	return w != nil && (w.MeanMS != nil && w.MeanMS.Value > l.WindMeanMS ||
		w.SpreadMS != nil && w.SpreadMS.Value > l.GustSpreadMS)
}

func dampingBelow(d *Debrief) bool {
	l := d.Aircraft.Limits
	under := func(e *flight.Estimate, limit float64) bool { return e != nil && below(e, limit) }
	return slices.ContainsFunc(d.Stability.Modes, func(m stability.Mode) bool {
		if m.Hover {
			return under(m.TimeToDoubleS, leastDoubleS)
		}
		return under(m.DampingRatio, l.DampingRatio)
	}) || slices.ContainsFunc(d.Stability.Margins, func(m stability.Margin) bool {
		judged := m.Pilot == nil || !m.Pilot.Biased
		return judged && (under(m.PhaseMarginDeg, l.PhaseMarginDeg) || under(m.GainMarginDB, l.GainMarginDB))
	})
}

func hasStop(d *Debrief) bool {
	return slices.ContainsFunc(d.Findings, func(f flight.Finding) bool { return f.Severity == flight.Stop })
}

func measured(d *Debrief) bool {
	return slices.ContainsFunc(d.Responses, func(r response.Result) bool { return r.Output == response.Attitude })
}
