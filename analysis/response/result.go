package response

import "hopcard/flight"

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
	// From the fitted model: dead time alone, or its sum with the following time where
	// the data cannot separate them.
	TransportDelayS *flight.Estimate
	EffectiveDelayS *flight.Estimate
	Lag             []LagAt

	// Of stick against attitude only, as ADS-33E-PRF (2000), 3.3.2.1, defines them.
	W180RadS           *flight.Estimate
	BandwidthPhaseRadS *flight.Estimate
	BandwidthGainRadS  *flight.Estimate
	BandwidthRadS      *flight.Estimate // the lesser of the two
	PhaseDelayS        *flight.Estimate

	// Coupling is off-axis over on-axis gain at 2 rad/s.
	Coupling *flight.Estimate
	Model    *Model
}

// LagAt is the phase lag at one frequency, in degrees (negative: output behind) and as
// time (positive: output behind).
type LagAt struct {
	FrequencyRadS float64
	PhaseDeg      flight.Estimate
	TimeS         flight.Estimate
}

// Model is a low-order transfer function fitted to a response.
type Model struct {
	Form       string // in words, e.g. "first-order rate with delay"
	Parameters []Parameter
	FitPercent float64
}

// Parameter is one fitted number; its name carries its unit.
type Parameter struct {
	Name     string
	Estimate flight.Estimate
}
