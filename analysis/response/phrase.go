package response

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// PhasingCorrection says in words how to turn the swashplate's input to correct the phasing
// error, in rad of rotor azimuth. With a positive error an aft command also tilts the disc
// right: seen from above the answer stands counter-clockwise of the command, so the input has
// to go back clockwise, whichever way the rotor turns. rotorTurns is "clockwise" or
// "counter-clockwise", seen from above, or empty if it is not known; it only adds whether
// that is with or against the rotation. Where the interval holds zero there is nothing to
// turn, and without a finite interval nothing may be turned.
func PhasingCorrection(e flight.Estimate, rotorTurns string) string {
	d := e.Times(degPerRad)
	for _, v := range []float64{d.Value, d.Low, d.High} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "How far to turn the swashplate is not known well enough to say."
		}
	}
	if d.Low <= 0 && d.High >= 0 {
		return fmt.Sprintf("No correction of the phasing: the error is nil within %.0f deg.", math.Ceil(max(-d.Low, d.High)))
	}
	sense, against := "clockwise", "counter-clockwise"
	if d.Value < 0 {
		d = d.Times(-1)
		sense, against = against, sense
	}
	text := fmt.Sprintf("Turn the swashplate input %.0f deg (%.0f to %.0f) %s seen from above", d.Value, d.Low, d.High, sense)
	switch rotorTurns {
	case sense:
		text += ", with the rotation"
	case against:
		text += ", against the rotation"
	}
	return text + "."
}

// pilotCaution repeats the caution of ADS-33E-PRF (2000), figure 5 (paraphrased, from
// memory): where the gain bandwidth is below the phase bandwidth or indeterminate, the
// aircraft may be prone to pilot-induced oscillation in precise or aggressive flying.
func (a *analyser) pilotCaution(r *Result, value handling) {
	if r.W180RadS == nil || r.BandwidthPhaseRadS == nil {
		return
	}
	var why string
	switch g := r.BandwidthGainRadS; {
	case g != nil && g.High < r.BandwidthPhaseRadS.Low:
		why = fmt.Sprintf("the gain bandwidth, %.1f rad/s, lies below the phase bandwidth, %.1f rad/s", g.Value, r.BandwidthPhaseRadS.Value)
	case g == nil && math.IsNaN(value.gainBandwidth):
		why = "the gain does not stand 6 dB above that at 180 deg lag anywhere in the band measured"
	default:
		return
	}
	a.find(flight.Finding{
		Code: flight.CodeGainLimited, Severity: flight.Caution, Channel: string(r.Axis.Attitude()), Span: hull(r.Spans),
		Text: fmt.Sprintf("In %s %s: a pilot who tightens up meets 180 deg of lag with little warning, and may couple with the "+
			"aircraft in precise or aggressive flying.", r.Axis, why),
		Advice: "Build up slowly to tasks that need tight control, and let go of the tight grip at the first sign of an oscillation.",
	})
}
