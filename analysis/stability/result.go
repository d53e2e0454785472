package stability

import "hopcard/flight"

// Kind says why a segment is called unstable.
type Kind string

// The kinds of unstable segment.
const (
	Airframe     Kind = "airframe"      // grows with the stick still
	PilotCoupled Kind = "pilot-coupled" // grows while the stick follows behind the attitude
	Limit        Kind = "limit"         // attitude or rate beyond its limit
	ControlStop  Kind = "control-stop"  // stick within 10 % of its end
	// Unattributed growth cannot be put down to aircraft or pilot: no stick was logged,
	// or it cannot be timed against the attitude.
	Unattributed Kind = "unattributed"
)

// Unstable is an interval in which the aircraft was unstable or beyond a limit.
type Unstable struct {
	Axis flight.Axis
	Kind Kind
	Span flight.Span
	// Of growing oscillations only.
	FrequencyRadS *flight.Estimate
	GrowthPerS    *flight.Estimate
	Reason        string // one sentence with the numbers
}

// Mode is one mode of motion seen in the hop.
type Mode struct {
	Axis          flight.Axis
	Span          flight.Span
	Method        string
	FrequencyRadS *flight.Estimate
	DampingRatio  *flight.Estimate
	TimeToHalfS   *flight.Estimate // nil if it grows
	TimeToDoubleS *flight.Estimate // nil if it decays
}

// Margin holds the margins of the loop of pilot and aircraft in one axis.
type Margin struct {
	Axis           flight.Axis
	CrossoverRadS  *flight.Estimate
	PhaseMarginDeg *flight.Estimate
	GainMarginDB   *flight.Estimate
}

// Control says how much of the stick was used in flight in one axis. Percentages are of
// the travel from the middle to one stop; Left counts to the nearer stop.
type Control struct {
	Axis         flight.Axis
	UsedPercent  float64
	LeftPercent  float64
	LowPercent   float64 // most negative position
	HighPercent  float64 // most positive position
	AtStopS      float64 // time within 10 % of a stop
	SpanInFlight flight.Span
}

// DampingPoint is the apparent damping at one time: from the growth or decay of the
// swings in the two to four periods about it, whoever causes them. Negative: they grow.
type DampingPoint struct {
	Axis          flight.Axis
	TimeS         float64
	Ratio         flight.Estimate
	FrequencyRadS float64
}

// Result is what the hop says about stability.
type Result struct {
	Modes    []Mode
	Damping  []DampingPoint // by axis, then once a second; none during test inputs
	Unstable []Unstable
	Margins  []Margin
	Control  []Control
	Findings []flight.Finding
}
