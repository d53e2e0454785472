package stability

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"hopcard/flight"
)

const (
	// calmSDMS is the largest standard deviation of the wind at which a few seconds of still
	// stick show the aircraft and not the gusts that push it: in simulated hops the pilot's
	// own stirring is then the larger part.
	calmSDMS = 0.5
	// fewestWind is how many readings a standard deviation of the wind needs.
	fewestWind = 60
	// likeOmega and likeDamping are how near a mode must be to one measured with the stick
	// known to be confirmed by it, as a share of the frequency and as a difference, beyond
	// what their intervals leave open.
	likeOmega, likeDamping = 0.15, 0.05
)

// confirmed returns the modes of still stick that may be believed. What gusts force on the
// aircraft in a few seconds looks like a mode of its own, with an interval that knows nothing
// of them. So a mode must be seen in the model with the stick known, fitted to the whole
// flight; where there is none, wind that was measured must have been calm.
func (t *trace) confirmed(still, known []Mode, windSDMS float64) []Mode {
	var out []Mode
	for _, m := range still {
		ok := !(windSDMS >= calmSDMS) // where no wind was logged nothing speaks against it
		if len(known) > 0 {
			ok = false
			for _, k := range known {
				ok = ok || alike(m, k)
			}
		}
		if ok {
			out = append(out, m)
			continue
		}
		why := "another one than the whole flight shows"
		if len(known) == 0 {
			why = "and the wind was not calm: gusts may have made it"
		}
		t.findings = append(t.findings, flight.Finding{
			Code: flight.CodeNotMeasurable, Severity: flight.Note, Span: m.Span, Channel: string(t.axis.Attitude()),
			Text: fmt.Sprintf("%.1f s of still stick show a %s oscillation at %.2g rad/s, %s; it is withheld.",
				m.Span.LengthS(), t.axis, m.FrequencyRadS.Value, why),
			Advice: "Hold the stick still after a small rap in calm air, log the wind, or fly doublets so that the aircraft can be told from the gusts.",
		})
	}
	return out
}

// alike reports whether two modes may be one.
func alike(a, b Mode) bool {
	near := func(x, y *flight.Estimate, more float64) bool {
		return x.Low-more <= y.High && y.Low-more <= x.High
	}
	return near(a.FrequencyRadS, b.FrequencyRadS, likeOmega*b.FrequencyRadS.Value) &&
		near(a.DampingRatio, b.DampingRatio, likeDamping)
}

// windSDMS is the standard deviation of the measured wind speed in flight; NaN if it was not
// logged, or by hand only.
func windSDMS(h *flight.Hop, flown flight.Span) float64 {
	c := h.Channel(flight.WindSpeed)
	if c == nil {
		return math.NaN()
	}
	var x []float64
	for i, v := range c.Value {
		if v == v && flown.Contains(c.TimeS[i]) {
			x = append(x, v)
		}
	}
	if len(x) < fewestWind {
		return math.NaN()
	}
	return stat.StdDev(x, nil)
}
