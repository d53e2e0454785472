package loop

import (
	"fmt"
	"math"
	"strings"

	"hopcard/analysis/stability"
	"hopcard/flight"
)

func (o *one) withheld(code flight.Code, why, advice string) {
	o.findings = append(o.findings, flight.Finding{
		Code: code, Severity: flight.Note, Channel: string(o.axis.Stick()),
		Text:   fmt.Sprintf("The pilot's answer and the margins in %s are withheld: %s.", o.axis, why),
		Advice: advice,
	})
}

func (o *one) tooShort(r *record) {
	total := 0.0
	for _, s := range r.spans {
		total += s.LengthS()
	}
	o.withheld(flight.CodeNotMeasurable,
		fmt.Sprintf("only %.0f s of hover without test inputs hold stick and attitude without a gap", total),
		"Hover for a minute or more between the test inputs.")
}

func (o *one) noPilot() {
	o.withheld(flight.CodeLowCoherence, "what the stick does without test inputs hardly follows the attitude",
		"Hover for longer, in air with a little wind: the pilot shows when something moves the aircraft.")
}

// tooStill says that next to nothing but the stick moved the aircraft.
func (o *one) tooStill(share float64) {
	o.withheld(flight.CodeNotMeasurable,
		fmt.Sprintf("only about %.0f %% of the attitude's power between %g and %g rad/s comes from anything but the stick itself (%.0f %% are needed), "+
			"and in air so still stick and attitude do not tell the pilot from the inverse of the aircraft",
			math.Floor(100*max(0, share)), outsideFromRadS, outsideToRadS, 100*leastOutside),
		"Fly the hover in a breeze, and log the wind.")
}

// outsideUnknown says that it could not be told whether anything but the stick moved the
// aircraft.
func (o *one) outsideUnknown() {
	o.withheld(flight.CodeNotMeasurable,
		"without the aircraft's measured answer in the pilot's band, or a logged gust, it cannot be told whether anything but the stick moves the attitude, and only that shows the pilot",
		"Fly a sweep in this axis, hover for a minute or more in a breeze, and log the wind.")
}

func (o *one) outsideDisagrees(out outside) {
	o.findings = append(o.findings, flight.Finding{
		Code: flight.CodeModelDisagrees, Severity: flight.Note, Channel: string(o.axis.Stick()),
		Text: fmt.Sprintf("In %s the pilot's answer by stick and attitude, and by the motion that is not the stick's, differ by %.1f times their errors: "+
			"the intervals of pilot and margins are made wider by that.", o.axis, math.Sqrt(out.excess)),
		Advice: "Hover longer, in a breeze, and log the wind.",
	})
}

// absent notes which margins the loop does not show, and why.
func (o *one) absent(m *stability.Margin, l open) {
	from, to := l.w[0], l.w[len(l.w)-1]
	switch {
	case m.CrossoverRadS != nil:
	case m.Crossovers == 0 && l.lnGain[0] < 0:
		o.missing = append(o.missing, fmt.Sprintf("crossover and phase margin (|L| is below 1 from %.1f rad/s on; further down the aircraft was not measured)", from))
	default:
		o.missing = append(o.missing, fmt.Sprintf("crossover and phase margin (|L| does not surely pass 1 between %.1f and %.1f rad/s)", from, to))
	}
	if m.GainMarginDB == nil {
		o.missing = append(o.missing, fmt.Sprintf("gain margin (the phase of L does not surely pass -180 deg between %.1f and %.1f rad/s)", from, to))
	}
}

// notMeasurable lists what the hop does not tell.
func (o *one) notMeasurable() {
	if len(o.missing) == 0 {
		return
	}
	o.findings = append(o.findings, flight.Finding{
		Code: flight.CodeNotMeasurable, Severity: flight.Note, Channel: string(o.axis.Stick()),
		Text:   fmt.Sprintf("Not measurable in %s: %s.", o.axis, strings.Join(o.missing, "; ")),
		Advice: "Hover longer without test inputs, in air with a little wind, and fly a sweep in this axis.",
	})
}

func (o *one) gustDisagrees(v verdict) {
	o.findings = append(o.findings, flight.Finding{
		Code: flight.CodeModelDisagrees, Severity: flight.Note, Channel: string(o.axis.Stick()),
		Text: fmt.Sprintf("In %s the pilot's answer by stick and attitude and by the logged gust differ by %.1f times their errors: "+
			"the intervals of pilot and margins are made wider by that.", o.axis, math.Sqrt(v.excess)),
		Advice: "Hover longer, and put the anemometer near the aircraft.",
	})
}

// say writes what the margins can and cannot show.
func (o *one) say(m *stability.Margin) {
	switch {
	case m.Pilot == nil:
		m.Says = "The pilot could not be measured: only the aircraft against assumed pilots is shown, who answer attitude alone."
	case len(m.Loop) == 0:
		m.Says = "The pilot was measured, but not the aircraft in the band he works in: there is no loop to take margins from."
	default:
		m.Says = "This is the pilot's whole loop with all that he does about attitude and about drift, cut at the stick of this axis; it is not the loop of attitude alone, " +
			"whose phase margin may be larger by some 30 deg where he works slowly, with a stabiliser bar say. " +
			"What he does about drift is seen as far as drift follows attitude: the push of gusts on the fuselage may hide a part of it, " +
			"and the interval of the phase margin reaches down by as much."
	}
	if m.Pilot != nil && m.Pilot.Biased {
		m.Says += fmt.Sprintf(" No logged gust confirms the pilot; that at least %.0f %% of the attitude's power comes from elsewhere than his stick lets stick and attitude alone tell him.", 100*leastOutside)
	}
	if m.Crossovers > 1 {
		m.Says += fmt.Sprintf(" |L| is 1 at %d frequencies; the phase margin is the least of them.", m.Crossovers)
	}
}
