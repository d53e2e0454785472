package response

import (
	"fmt"
	"math"
	"strings"

	"hopcard/flight"
)

func (a *analyser) find(f flight.Finding) { a.out.Findings = append(a.out.Findings, f) }

func (a *analyser) missing(c axisChannels) {
	f := flight.Finding{Code: flight.CodeMissing, Severity: flight.Caution}
	if c.stick == nil {
		f.Channel = string(c.axis.Stick())
		f.Text = fmt.Sprintf("No file holds the %s, so the %s response cannot be measured.", c.axis.Stick(), c.axis)
		f.Advice = "Log the stick, or name its column in hop.toml."
	} else {
		f.Channel = string(c.axis.Attitude())
		f.Text = fmt.Sprintf("No file holds %s or %s, so the %s response cannot be measured.",
			c.axis.Attitude(), c.axis.Rate(), c.axis)
		f.Advice = "Log attitude or rate, or name the column in hop.toml."
	}
	a.find(f)
}

func (a *analyser) noClock(c axisChannels) {
	a.find(flight.Finding{
		Code: flight.CodeNoClock, Severity: flight.Stop, Channel: string(c.axis.Stick()),
		File: a.hop.SourceOf(c.stick).File,
		Text: fmt.Sprintf("The clocks of stick and attitude are not aligned: response, delay, lag and bandwidth in %s "+
			"are withheld.", c.axis),
		Advice: "Give the clock offset in hop.toml, or knock both loggers together before and after the next flight.",
	})
}

func (a *analyser) notAirborne(axes []axisChannels) {
	var names []string
	for _, ax := range axes {
		names = append(names, string(ax.axis))
	}
	a.find(flight.Finding{
		Code: flight.CodeNoResponse, Severity: flight.Stop,
		Text: fmt.Sprintf("The aircraft was not airborne in this record: there is no response to the stick in %s.",
			strings.Join(names, ", ")),
		Advice: "Stick movements on the ground or with the rotor stopped say nothing about the aircraft: fly the card.",
	})
}

func (a *analyser) noResponse(ax axisChannels, spans []flight.Span) {
	severity := flight.Stop
	if ax.axis == flight.YawAxis {
		severity = flight.Note // pedals are often left alone, or answered by a gyro
	}
	a.find(flight.Finding{
		Code: flight.CodeNoResponse, Severity: severity, Channel: string(ax.axis.Stick()), Span: hull(spans),
		Text: fmt.Sprintf("Nothing answers the %s: over most of its power the motion in %s is no more related to it than "+
			"chance makes it.", ax.axis.Stick(), ax.axis),
		Advice: "Check that rotor and controls were live, and that the logged channels are the ones they are named after.",
	})
}

func (a *analyser) stickStill(ax axisChannels) {
	severity, advice := flight.Caution, "Fly doublets or a sweep in this axis."
	if ax.axis == flight.YawAxis {
		severity, advice = flight.Note, "If yaw matters, fly a doublet or two with the pedals."
	}
	a.find(flight.Finding{
		Code: flight.CodeStickStill, Severity: severity, Channel: string(ax.axis.Stick()),
		Text: fmt.Sprintf("The %s hardly moved in flight (less than %.1f %% of full travel): no %s response can be measured.",
			ax.axis.Stick(), 100*stillTravel, ax.axis),
		Advice: advice,
	})
}

func (a *analyser) tooShort(ax axisChannels, spans []flight.Span) {
	a.find(flight.Finding{
		Code: flight.CodeNotMeasurable, Severity: flight.Caution, Channel: string(ax.axis.Stick()), Span: hull(spans),
		Text: fmt.Sprintf("Only %.1f s of gap-free flight with stick and motion in %s: too short for a response.",
			total(spans), ax.axis),
		Advice: "Fly longer test inputs, and look for what interrupts the logs.",
	})
}

func (a *analyser) lowCoherence(r *Result) {
	a.find(flight.Finding{
		Code: flight.CodeLowCoherence, Severity: flight.Caution, Channel: string(r.Input), Span: hull(r.Spans),
		Text: fmt.Sprintf("The coherence of %s with %s %s stays below %.1f: no delay, lag or bandwidth is taken from it.",
			r.Input, r.Axis, r.Output, carriedCoherence),
		Advice: "Fly larger or longer test inputs in calmer air.",
	})
}

// notMeasurable says which of bandwidth and phase delay the response does not define, and
// why; phase is the smoothed phase of c.
func (a *analyser) notMeasurable(r *Result, c curve, phase []float64) {
	from, to := math.Exp(c.lnOmega[0]), math.Exp(c.lnOmega[len(c.lnOmega)-1])
	top := math.Inf(-1)
	for _, p := range phase {
		top = max(top, p)
	}
	band := fmt.Sprintf("between %.1f and %.1f rad/s, where the coherence holds", from, to)
	var why []string
	if r.BandwidthPhaseRadS == nil {
		why = append(why, fmt.Sprintf("no phase bandwidth (the phase rises to %.0f deg at most %s, and must fall through -135 deg)",
			top*degPerRad, band))
	}
	switch {
	case r.W180RadS == nil:
		why = append(why, "no frequency of 180 deg lag, so no gain bandwidth and no phase delay (the phase does not clearly fall through -180 deg "+band+")")
	case r.PhaseDelayS == nil:
		why = append(why, fmt.Sprintf("no phase delay (it needs the phase at %.1f rad/s; the coherence holds to %.1f rad/s)",
			2*r.W180RadS.Value, to))
	}
	if r.W180RadS != nil && r.BandwidthGainRadS == nil {
		why = append(why, "no gain bandwidth (the gain does not clearly stand 6 dB above that at 180 deg lag "+band+")")
	}
	if len(why) == 0 {
		return
	}
	a.find(flight.Finding{
		Code: flight.CodeNotMeasurable, Severity: flight.Note, Channel: string(r.Axis.Attitude()), Span: hull(r.Spans),
		Text:   fmt.Sprintf("Not measurable in %s: %s.", r.Axis, strings.Join(why, "; ")),
		Advice: "A sweep that is slow and large enough at that frequency may show it; some aircraft have no such number.",
	})
}

func (a *analyser) noModel(r *Result, m *fitted, e flight.Estimate) {
	a.find(flight.Finding{
		Code: flight.CodeNotMeasurable, Severity: flight.Note, Channel: string(r.Axis.Rate()), Span: hull(r.Spans),
		Text: fmt.Sprintf("No effective delay in %s: the best low-order model (%s) explains %.0f %% of the response and "+
			"leaves the delay between %.0f and %.0f ms.", r.Axis, m.form.name, m.fitPercent, 1000*e.Low, 1000*e.High),
		Advice: "A larger sweep that reaches 10 rad/s or more fixes the delay.",
	})
}

func (a *analyser) modelDisagrees(r *Result, modelS float64) {
	a.find(flight.Finding{
		Code: flight.CodeModelDisagrees, Severity: flight.Caution, Channel: string(r.Axis.Rate()), Span: hull(r.Spans),
		Text: fmt.Sprintf("In %s the fitted model, driven with the stick as flown, lags by %.0f ms, but stick and rate by %.0f ms: "+
			"one of the two is drawn off, by gusts or by the pilot's answer to the aircraft.", r.Axis, 1000*modelS, 1000*r.CorrelationLagS.Value),
		Advice: "Trust neither delay alone; fly larger test inputs in calmer air.",
	})
}

func (a *analyser) slopeDisagrees(r *Result, modelS, measuredS float64) {
	a.find(flight.Finding{
		Code: flight.CodeModelDisagrees, Severity: flight.Caution, Channel: string(r.Axis.Rate()), Span: hull(r.Spans),
		Text: fmt.Sprintf("In %s the phase of the fitted model falls by %.0f ms times frequency between %.0f and %.0f rad/s, the measured "+
			"one by %.0f ms: the model is not that of this aircraft.", r.Axis, -1000*modelS, leadFromRadS, leadToRadS, -1000*measuredS),
		Advice: "Trust the measured lag and phase delay rather than the model's delays.",
	})
}

func (a *analyser) modelLeavesPattern(r *Result, w *Whiteness) {
	a.find(flight.Finding{
		Code: flight.CodeModelDisagrees, Severity: flight.Note, Channel: string(r.Axis.Rate()), Span: hull(r.Spans),
		Text: fmt.Sprintf("In %s what the fitted model leaves of the response is no noise: neighbours of %d frequencies correlate by %.2f "+
			"(chance %.1f %%), so its form misses something.", r.Axis, w.Points, w.Correlation, 100*w.Chance),
		Advice: "Trust the measured lag and phase delay rather than the model's delays.",
	})
}

func (a *analyser) drawnOff(m *measured, spans []flight.Span) {
	a.find(flight.Finding{
		Code: flight.CodeNotMeasurable, Severity: flight.Caution, Channel: string(m.ax.axis.Stick()), Span: hull(spans),
		Text: fmt.Sprintf("In %s two ways of measuring the response differ by %.0f %% although the coherence is high: gusts move the "+
			"aircraft, the pilot answers them, and the stick says more about him than about the aircraft. What is shown carries "+
			"that difference as its error.", m.ax.axis, 100*m.apart),
		Advice: "Fly larger test inputs in calmer air before trusting delay, lag or bandwidth in this axis.",
	})
}

// hull is the span from the first start to the last end.
func hull(spans []flight.Span) flight.Span {
	if len(spans) == 0 {
		return flight.Span{}
	}
	return flight.Span{FromS: spans[0].FromS, ToS: spans[len(spans)-1].ToS}
}
