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
	// Hover tells the slow oscillation of the hover, in which speed builds up and the rotor
	// flaps back, from quicker rocking. Without a bar it usually grows, and the pilot holds
	// it: what counts is how fast.
	Hover bool
	// Says is the mode in plain words, one sentence without a full stop: what it is, its
	// period, how fast it grows or dies.
	Says string
}

// Margin holds the margins of the loop of pilot and aircraft in one axis: L = Y H, with H
// the aircraft's attitude per stick and Y the pilot's stick per attitude. Estimates are nil
// where the hop cannot give them.
type Margin struct {
	Axis           flight.Axis
	CrossoverRadS  *flight.Estimate
	PhaseMarginDeg *flight.Estimate
	GainMarginDB   *flight.Estimate
	// GainLowDB is by how much the gain may fall before the loop grows, nil where any lower
	// gain will do: an aircraft that is unstable by itself needs its pilot.
	GainLowDB *flight.Estimate
	// Crossovers is at how many frequencies |L| is 1; of several, CrossoverRadS and
	// PhaseMarginDeg belong to that with the least margin.
	Crossovers int
	// Pilot is the pilot as measured, nil if the hop does not show one.
	Pilot *Pilot
	// Loop is L over frequency, ascending, where both parts were measured.
	Loop []LoopPoint
	// Assumed holds the aircraft alone against pilots of stated reaction delays.
	Assumed []AssumedPilot
	// Says is what these margins can and cannot show, in one or two sentences.
	Says string
}

// Pilot is the pilot's stick per attitude in one axis, from the seconds in which no test
// input was flown: Y(s) = -Gain (1 + Lead s) exp(-Delay s), Gain in fractions of full stick
// travel per rad. The delay is the effective one, from eye to stick with the lag of the hand in
// it. What he does about drift adds to Y below about 1 rad/s; it is in the loop, not here.
type Pilot struct {
	// Method says how it was measured: with the logged gust as instrument, or from stick
	// and attitude alone, which is biased towards the inverse of the aircraft.
	Method string
	Biased bool
	Spans  []flight.Span

	GainPerRad *flight.Estimate
	LeadS      *flight.Estimate
	DelayS     *flight.Estimate
	FitPercent float64

	// The measured response behind the fit, frequencies ascending; slices are parallel.
	FrequencyRadS []float64
	Y             []complex128
	RelativeSD    []float64 // one standard deviation over |Y|, also of the phase in rad
}

// LoopPoint is the open loop L at one frequency, with one standard deviation.
type LoopPoint struct {
	FrequencyRadS    float64
	GainDB, PhaseDeg float64
	GainSDDB         float64
	PhaseSDDeg       float64
}

// AssumedPilot is a pilot who answers attitude with a gain after a reaction delay, against
// the measured aircraft.
type AssumedPilot struct {
	DelayS float64
	// MostGainPerRad is the gain at which the loop begins to grow: fractions of full stick
	// travel per rad of attitude.
	MostGainPerRad *flight.Estimate
	// At the gain in use, nil if the gain in use is not known.
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
