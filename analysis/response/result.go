package response

import (
	"math"
	"sort"

	"hopcard/flight"
)

// Output says which motion a response ends in.
type Output string

// The outputs.
const (
	Attitude Output = "attitude"
	Rate     Output = "rate"
)

// Result is the response of one axis to its stick, stick to attitude or stick to rate.
//
// H is output in rad (or rad/s) per fraction of full stick travel; the decibels of GainDB
// are relative to 1 deg (or 1 deg/s) per percent of full travel. Phase is unwrapped and
// placed in (-270, 90] deg at 2 rad/s. Slices are parallel, frequencies ascending.
// Estimates are nil where the data cannot give them; a finding says why.
type Result struct {
	Axis   flight.Axis
	Input  flight.Quantity
	Output Output
	Spans  []flight.Span // what was averaged

	FrequencyRadS []float64
	H             []complex128
	GainDB        []float64
	PhaseDeg      []float64
	Coherence     []float64 // ordinary, or partial where other inputs were removed
	GainSDDB      []float64 // one standard deviation
	PhaseSDDeg    []float64

	// Of stick against rate only: shift of the peak of the cross-correlation, plain and
	// weighted by coherence.
	CorrelationLagS         *flight.Estimate
	WeightedCorrelationLagS *flight.Estimate
	// DoubletLagS is what the plain lag would be with a doublet of half a second each way in place of
	// the stick as flown: it does not depend on how that was moved, so hops can be compared by it.
	DoubletLagS *flight.Estimate
	// From the fitted model: dead time alone, or its sum with the following time where
	// the data cannot separate them.
	TransportDelayS *flight.Estimate
	EffectiveDelayS *flight.Estimate
	// Following times of the disc and of the stabiliser bar, from the fitted model where it
	// keeps them apart from each other and from the dead time.
	DiscFollowingS, BarFollowingS *flight.Estimate
	// Lag is stated at 0.5, 1 and 2 Hz and, where they are known, at w180 and at the pilot's
	// crossover.
	Lag []LagAt
	// RotorSpeedRadS is the median rotor speed while this was measured, 0 if it is not known.
	RotorSpeedRadS float64
	// ClockHalfWidthS is the half width of the clocks' 95 % interval, part of that of every
	// time here.
	ClockHalfWidthS float64

	// Of stick against attitude only, as ADS-33E-PRF (2000), 3.3.2.1, defines them.
	W180RadS           *flight.Estimate
	BandwidthPhaseRadS *flight.Estimate
	BandwidthGainRadS  *flight.Estimate
	BandwidthRadS      *flight.Estimate // the lesser of the two
	PhaseDelayS        *flight.Estimate
	// BandwidthDelayCorrelation is how the errors of BandwidthRadS and PhaseDelayS go together,
	// -1 to 1, for an ellipse where the two are drawn against each other; 0 where either is nil.
	BandwidthDelayCorrelation float64

	// What the closed loop of pilot and aircraft does to the measurement: the cross-correlation
	// on both sides of zero, and the share of the stick's power that answers what gusts do to
	// the aircraft.
	TwoSided       *TwoSided
	AnsweringShare *flight.Estimate
	// ResidualCorrelation is the largest autocorrelation of what the predictor behind the
	// response leaves unexplained; near 0 where that is white, as it must be.
	ResidualCorrelation float64
	// Apart is by how much, relative and rms, the response by the predictor and that by
	// averaged spectra differ where the coherence is high.
	Apart float64

	// Coupling is off-axis over on-axis gain at 2 rad/s.
	Coupling *flight.Estimate
	// StepCoupling is the greatest off-axis attitude within 4 s of a step of the stick over the
	// on-axis attitude at 4 s (ADS-33E-PRF 3.3.9.2, from memory).
	StepCoupling *flight.Estimate
	Model        *Model
}

// LagAt is the phase lag at one frequency, in degrees (negative: output behind) and as
// time (positive: output behind).
type LagAt struct {
	At            string // what the frequency is: "1 Hz", "w180", "crossover"
	FrequencyRadS float64
	PhaseDeg      flight.Estimate
	TimeS         flight.Estimate
	// Revolutions of the rotor in TimeS, nil if its speed is not known.
	Revolutions *flight.Estimate
}

// Revolutions returns a time of r as revolutions of the rotor, nil if the time or the rotor
// speed is not known.
func (r *Result) Revolutions(timeS *flight.Estimate) *flight.Estimate {
	if timeS == nil || r.RotorSpeedRadS == 0 {
		return nil
	}
	e := timeS.Times(r.RotorSpeedRadS / (2 * math.Pi))
	return &e
}

// AddLag states the phase lag at one more frequency, say the pilot's crossover once it is
// known. It reports whether the response was measured there, and may be timed.
func (r *Result) AddLag(at string, frequencyRadS float64) bool {
	n := len(r.FrequencyRadS)
	k := sort.SearchFloat64s(r.FrequencyRadS, frequencyRadS)
	if len(r.Lag) == 0 || k == 0 || k == n || !(frequencyRadS > 0) || r.FrequencyRadS[k] > 1.2*r.FrequencyRadS[k-1] {
		return false
	}
	f := math.Log(frequencyRadS/r.FrequencyRadS[k-1]) / math.Log(r.FrequencyRadS[k]/r.FrequencyRadS[k-1])
	r.addLag(at, frequencyRadS, (1-f)*r.PhaseDeg[k-1]+f*r.PhaseDeg[k], (1-f)*r.PhaseSDDeg[k-1]+f*r.PhaseSDDeg[k])
	return true
}

func (r *Result) addLag(at string, w, phaseDeg, sdDeg float64) {
	half := math.Hypot(1.96*sdDeg, w*r.ClockHalfWidthS*degPerRad)
	e := flight.Estimate{Value: phaseDeg, Low: phaseDeg - half, High: phaseDeg + half}
	l := LagAt{At: at, FrequencyRadS: w, PhaseDeg: e, TimeS: e.Times(-1 / (w * degPerRad))}
	l.Revolutions = r.Revolutions(&l.TimeS)
	r.Lag = append(r.Lag, l)
}

// Model is a low-order transfer function fitted to a response.
type Model struct {
	Form       string // in words, e.g. "first-order rate with delay"
	Parameters []Parameter
	FitPercent float64
	// Whiteness of what the model leaves of the response, nil where it has too few points.
	Whiteness *Whiteness
}

// Parameter is one fitted number; its name carries its unit.
type Parameter struct {
	Name     string
	Estimate flight.Estimate
}
