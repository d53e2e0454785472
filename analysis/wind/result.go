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

// Gust is the aircraft's answer to gusts in one axis and band.
type Gust struct {
	Axis             flight.Axis
	BandRadS         [2]float64
	RadPerMS         *flight.Estimate // attitude per gust speed
	PartialCoherence float64
	Events           int
	PeakRadPerMS     *flight.Estimate
	SettleS          *flight.Estimate
}

// Result is what the air did during the flight. Whole is nil if no wind was logged.
type Result struct {
	Whole  *Phase // from lift-off to landing, or the whole record
	Phases []Phase
	Gusts  []Gust
	// OnBoard is true if the wind is an estimate made on board, not a measurement.
	OnBoard  bool
	Findings []flight.Finding
}
