package report

import (
	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/flight"
)

// TimingWithheld reports whether the time between stick and motion of r is known to be wrong:
// the motion comes before the stick in r's axis, or in another one timed by the same two
// logs. Its phase is then no number to use, and delays, lags and bandwidths are absent.
func TimingWithheld(d *debrief.Debrief, r *response.Result) bool {
	for _, f := range d.Findings {
		if f.Code != flight.CodeLeadsStick {
			continue
		}
		for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
			if f.Channel == string(a.Stick()) && (a == r.Axis || sameClocks(d.Hop, a, r.Axis)) {
				return true
			}
		}
	}
	return false
}

// sameClocks reports whether stick and motion of both axes come from the same two logs.
func sameClocks(h *flight.Hop, a, b flight.Axis) bool {
	motion := func(x flight.Axis) *flight.Channel {
		if c := h.Channel(x.Rate()); c != nil {
			return c
		}
		return h.Channel(x.Attitude())
	}
	stickA, stickB, motionA, motionB := h.Channel(a.Stick()), h.Channel(b.Stick()), motion(a), motion(b)
	return stickA != nil && stickB != nil && motionA != nil && motionB != nil &&
		stickA.Source == stickB.Source && motionA.Source == motionB.Source
}

// timingSays is the sentence for a response whose timing is withheld.
func timingSays(a flight.Axis) string {
	return "The time between stick and " + string(a) + " is wrong: gain and coherence are shown, but the phase must not be used."
}

// cardTiming warns of responses whose phase must not be used; the finding about it says why.
func cardTiming(p *page, d *debrief.Debrief) {
	for _, a := range answeredAxes(d) {
		for _, r := range onAxis(d, a) {
			if TimingWithheld(d, r) {
				p.bullet("timing withheld, " + string(a) + ": " + timingSays(a))
				break
			}
		}
	}
}
