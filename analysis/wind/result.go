package wind

import "hopcard/flight"

// Class is a class of air.
type Class string

// The classes, from kind to unkind.
const (
	Calm   Class = "calm"
	Steady Class = "steady"
	Gusty  Class = "gusty"
)

// Phase holds the wind statistics of one interval. Estimates are nil where the log
// cannot give them.
type Phase struct {
	Class Class
	// Span is zero where the wind logger's clock could not be put on the hop clock.
	Span flight.Span

	MeanMS *flight.Estimate
	SDMS   *flight.Estimate
	// Highest and lowest 3 s running mean (WMO-No. 8), their difference and the ratio of
	// the highest to the mean.
	Gust3sMS            *flight.Estimate
	Lull3sMS            *flight.Estimate
	SpreadMS            *flight.Estimate
	GustFactor          *flight.Estimate
	TurbulenceIntensity *flight.Estimate
	// Direction the wind comes from and its circular standard deviation, in radians.
	DirectionRad   *flight.Estimate
	DirectionSDRad *flight.Estimate
	// DirectionSDYamartinoRad is the same spread by the one-pass formula of loggers.
	DirectionSDYamartinoRad *flight.Estimate
	// DirectionArcRad is the smallest arc that holds all directions, DirectionFromRad
	// to DirectionToRad clockwise; NaN without direction. DirectionRule is how weather
	// reports would word it (United States rule).
	DirectionArcRad, DirectionFromRad, DirectionToRad float64
	DirectionRule                                     DirectionRule
	// LengthM is the length scale of the turbulence along the wind.
	LengthM *flight.Estimate
	// Turbulence is the Dryden form fitted to the gusts, nil where the phase is too
	// short, too slow or too slowly logged for it.
	Turbulence *Turbulence
	// Against the nose, where heading is known: head wind and wind from the right.
	HeadMS  *flight.Estimate
	CrossMS *flight.Estimate
	// Beaufort is the Beaufort number of the mean.
	Beaufort int
	// Readings and the number of independent ones they are worth for the mean, NaN if
	// the record is too short to tell.
	Readings          int
	EffectiveReadings float64
}

// Component is a gust component against the nose.
type Component string

// The components.
const (
	HeadGust  Component = "head"
	CrossGust Component = "cross" // from the right
)

// Gust is the aircraft's answer to gusts in one axis and band. Answers are rms over rms
// in the band, so that a band's answer times the rms of its gusts is the rms of its
// attitude. They are nil where they cannot be told.
type Gust struct {
	Axis     flight.Axis
	Input    Component
	BandRadS [2]float64
	// RadPerMS is attitude per gust speed with the stick held, from the solution with
	// both sticks and both gust components as inputs; RateRadSPerMS the same of the rate.
	RadPerMS         *flight.Estimate
	RateRadSPerMS    *flight.Estimate
	PartialCoherence float64
	// SERadPerMS is the standard error of RadPerMS from scatter alone; NaN if unknown.
	SERadPerMS float64
	// PilotInLoopRadPerMS leaves the sticks out: what pilot and aircraft make of the gust
	// together. Taken for the aircraft's own answer it is biased, because the pilot flies
	// against the gust.
	PilotInLoopRadPerMS *flight.Estimate
	// Averaged answer to detected gusts, pilot in the loop; the same for all bands of an
	// axis's own gust. The peak is a size, without sign.
	Events       int
	PeakRadPerMS *flight.Estimate
	TimeToPeakS  *flight.Estimate
	SettleS      *flight.Estimate
}

// Result is what the air did during the flight. Whole is nil if no wind was logged.
type Result struct {
	Whole  *Phase // from lift-off to landing, or the whole record
	Phases []Phase
	// Gusts holds the answers of pitch to head gusts and of roll to gusts from the right,
	// OffAxis those of pitch to gusts from the right and of roll to head gusts.
	Gusts, OffAxis []Gust
	// LeadS is how long after the anemometer the gusts reach the aircraft, negative if they
	// reach it before; told from pilot and aircraft together, where sticks and gusts do not
	// tell it, up to about one second of it is their own following. NaN if it cannot be
	// told. Beyond 2 s the anemometer stands away from the aircraft.
	LeadS float64
	// Events holds the averaged answers to detected gusts, of roll and of pitch.
	Events []Events
	// Classes is the table of the hop by class of air: wind, motion, stick work.
	Classes []ClassRow
	// Minutes sets motion against the spread of the wind in blocks of 20 s, in time order;
	// empty where the wind has no clock common with the hop.
	Minutes []Minute
	// Activity is motion and stick work of the whole flight where no wind was measured, or
	// not on the hop's clock: lively sticks and attitudes hint at rough air, but a
	// lively pilot looks alike. It is no wind and has no class.
	Activity *ClassRow
	// OnBoard is true if the wind is an estimate made on board, not a measurement.
	OnBoard  bool
	Findings []flight.Finding
}
