package stability

import (
	"math"

	"hopcard/flight"
)

const (
	// afterInputS is how long the answer to a test input may still ring.
	afterInputS = 3
	// ownLead is how much more than the other axis this one must move to be taken for an
	// oscillation of its own during the other's test input. A phasing error of 30 deg makes
	// roll move tan(30 deg) times the ratio of the inertias, about two: 1.15 times what pitch
	// does when pitch is asked for, and the loop of pilot and aircraft can more than double
	// that near its own swing. Less is an answer across. Limits that are passed are flagged
	// in any case.
	ownLead = 3
)

// answersAcross reports whether a growth is the answer to test inputs of the other axis: most
// of its second half, where it is large, lies within them, and the other axis does not move
// much less. A swashplate whose phasing is off
// lets a sweep in pitch shake roll, more and more as it comes near roll's own swing.
func (t *trace) answersAcross(g growth, other *trace, inputs []flight.Span) bool {
	if other == nil {
		return false
	}
	half := flight.Span{FromS: g.span.FromS + g.span.LengthS()/2, ToS: g.span.ToS}
	within := 0.0
	for _, in := range inputs {
		within += max(min(in.ToS+afterInputS, half.ToS)-max(in.FromS, half.FromS), 0)
	}
	if within < half.LengthS()/2 {
		return false
	}
	return t.mostBand(g.span) < ownLead*other.mostBand(g.span)
}

// mostBand is the largest rate of the axis within span, in the band of oscillations.
func (t *trace) mostBand(span flight.Span) float64 {
	most := 0.0
	for i := max(t.grid.Index(span.FromS), 0); i <= t.grid.Index(span.ToS) && i < len(t.band); i++ {
		most = math.Max(most, math.Abs(t.band[i]))
	}
	return most
}
