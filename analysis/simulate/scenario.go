package simulate

import (
	"time"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// Scenario says what is flown, by whom and in what air.
type Scenario struct {
	Name      string
	Seed      uint64
	Head      rotor.Head
	Pilot     Pilot
	Air       Air
	Sensors   Sensors
	Trim      Trim
	Legs      []Leg
	StartedAt time.Time
	// HeadingRad is the heading the pilot holds.
	HeadingRad float64
	// HoverHeightM is the height of the hover; 0 stands for 1.5 m.
	HoverHeightM float64
	// StepS is the step of the simulation; 0 stands for 2 ms.
	StepS float64
}

// LegKind is a kind of leg. Kinds that hopcard looks for carry their segment's name.
type LegKind string

// The kinds of leg.
const (
	Ground       = LegKind(flight.Ground)
	ControlCheck = LegKind(flight.ControlCheck)
	Knocks       = LegKind(flight.Knocks)
	SpinUp       = LegKind(flight.SpinUp)
	LiftOff      = LegKind(flight.LiftOff)
	Hover        = LegKind(flight.Hover)
	Doublet      = LegKind(flight.Doublet)
	Steps        = LegKind(flight.Steps)
	Sweep        = LegKind(flight.Sweep)
	Rap          = LegKind(flight.Rap)
	HandsStill   = LegKind(flight.HandsStill)
	Landing      = LegKind(flight.Landing)
	SpinDown     = LegKind(flight.SpinDown)
	// Shaking moves the stick at random in a band, added to the pilot's own.
	Shaking LegKind = "shaking"
	// Growing raises the pilot's gain in one axis until the attitude passes Limit.
	Growing LegKind = "growing"
	// LetGo follows Growing by itself: the stick returns to trim and stays.
	LetGo LegKind = "let-go"
	// StopPulse throws the stick to its stop for LengthS.
	StopPulse LegKind = "stop-pulse"
)

// Leg is one part of a hop. Fields that a kind does not use are ignored.
type Leg struct {
	Kind    LegKind
	Axis    flight.Axis // roll or pitch, of kinds that move one stick
	LengthS float64     // for Growing, the longest it may take
	// Amplitude of the stick, fraction of full travel; negative starts the other way. Of a
	// Sweep it goes to AmplitudeEnd; of Shaking it is the rms.
	Amplitude, AmplitudeEnd float64
	FromRadS, ToRadS        float64 // Sweep: first and last; Shaking: band
	UnitS                   float64 // Steps: the unit of 3-2-1-1
	GainFactor              float64 // Growing: on the pilot's gain
	LimitRad                float64 // Growing: attitude from trim at which he lets go
	LetGoS                  float64 // Growing: for how long; 0 stands for 0.7 s
	// Destabilise, in 1/s, is added to the damping of the leg's axis while the leg lasts: an
	// airframe that goes unstable by itself, say a bar that sticks.
	Destabilise float64
}

// Trim is where stick and attitude stand in a still hover, and the attitude on the ground.
type Trim struct {
	PitchRad, RollRad             float64
	LonStick, LatStick            float64
	GroundPitchRad, GroundRollRad float64
}

// Air is the wind over the field. The zero value is still air.
type Air struct {
	// Mean and DirectionFrom are straight lines between points in time.
	Mean, DirectionFrom []Point
	// Gusts is the wind at 20 ft, m/s, that sets the strength of the turbulence (0.1 of it
	// is the vertical standard deviation).
	Gusts float64
	// HeightFt of MIL-F-8785C, 10 to 1000; 0 stands for 10.
	HeightFt float64
	// Mast is the distance of the anemometer upwind of the aircraft, m. Gusts reach the
	// aircraft later by distance over mean wind; Coherence, 0 to 1, is the share of their
	// energy that does. Mast 0 with Coherence 0 stands for an anemometer at the aircraft.
	MastM     float64
	Coherence float64
}

// Point is a value at a time of the hop.
type Point struct{ TimeS, Value float64 }

// Constant is a value that holds for the whole hop.
func Constant(v float64) []Point { return []Point{{0, v}} }

// Sensors says how well and how often things are measured. The zero value of a rate leaves
// its channels out; UsualSensors is a cheap set of loggers.
type Sensors struct {
	AttitudeHz, StickHz, WindHz float64

	AttitudeNoiseRad  float64
	GyroNoiseRadS     float64
	GyroBiasRadS      float64 // standard deviation of each axis's bias
	AccelNoiseMS2     float64
	VibrationMS2      float64 // twice per revolution at full rotor speed
	GyroVibrationRadS float64
	StickNoise        float64
	WindNoiseMS       float64
	WindDirNoiseRad   float64
	HeightNoiseM      float64
	// CupDistanceM is the distance constant of the anemometer's cup and vane, 0 for none.
	CupDistanceM float64
	// NoWind, NoRates, NoHeading and NoRotorSpeed leave those channels out.
	NoWind, NoRates, NoHeading, NoRotorSpeed bool
}

// UsualSensors is a light attitude logger with a stick logger, and a cup anemometer.
func UsualSensors() Sensors {
	const deg = 0.017453292519943295
	return Sensors{
		AttitudeHz: 100, StickHz: 100, WindHz: 4,
		AttitudeNoiseRad: 0.04 * deg, GyroNoiseRadS: 0.15 * deg, GyroBiasRadS: 0.05 * deg,
		AccelNoiseMS2: 0.08, VibrationMS2: 0.8, GyroVibrationRadS: 0.3 * deg, StickNoise: 0.002,
		WindNoiseMS: 0.05, WindDirNoiseRad: 1 * deg, HeightNoiseM: 0.03,
	}
}

// UsualTrim is a hover with the nose a little up and the left skid low.
func UsualTrim() Trim {
	const deg = 0.017453292519943295
	return Trim{
		PitchRad: 2.1 * deg, RollRad: -1.4 * deg, LonStick: 0.04, LatStick: -0.065,
		GroundPitchRad: 1.1 * deg, GroundRollRad: -0.7 * deg,
	}
}
