package flight

import "math"

// Quantity names what a channel measures.
type Quantity string

// The quantities hopcard knows. Their text is the one used in files and on screens.
const (
	Time              Quantity = "time"
	Roll              Quantity = "roll attitude"
	Pitch             Quantity = "pitch attitude"
	Heading           Quantity = "heading"
	RollRate          Quantity = "roll rate"
	PitchRate         Quantity = "pitch rate"
	YawRate           Quantity = "yaw rate"
	AccelX            Quantity = "acceleration x"
	AccelY            Quantity = "acceleration y"
	AccelZ            Quantity = "acceleration z"
	LonStick          Quantity = "longitudinal stick"
	LatStick          Quantity = "lateral stick"
	Pedal             Quantity = "pedal"
	Collective        Quantity = "collective"
	RotorSpeed        Quantity = "rotor speed"
	WindSpeed         Quantity = "wind speed"
	WindDirectionFrom Quantity = "wind direction from"
	WindNorth         Quantity = "wind north"
	WindEast          Quantity = "wind east"
	Height            Quantity = "height"
	Knock             Quantity = "knock accelerometer"
	QuaternionW       Quantity = "quaternion w"
	QuaternionX       Quantity = "quaternion x"
	QuaternionY       Quantity = "quaternion y"
	QuaternionZ       Quantity = "quaternion z"
)

// Quantities lists every quantity in the order screens and exports show them.
func Quantities() []Quantity {
	return []Quantity{
		Time, Roll, Pitch, Heading, RollRate, PitchRate, YawRate, AccelX, AccelY, AccelZ,
		LonStick, LatStick, Pedal, Collective, RotorSpeed, WindSpeed, WindDirectionFrom,
		WindNorth, WindEast, Height, Knock, QuaternionW, QuaternionX, QuaternionY, QuaternionZ,
	}
}

// Dimension groups quantities that share a unit.
type Dimension int

// The dimensions a quantity can have.
const (
	NoDimension Dimension = iota
	Angle
	AngularRate
	Acceleration
	StickTravel
	RotationSpeed
	Speed
	Length
	Duration
	Pure
)

// Dimension reports which kind of unit q is measured in.
func (q Quantity) Dimension() Dimension {
	switch q {
	case Time:
		return Duration
	case Roll, Pitch, Heading, WindDirectionFrom:
		return Angle
	case RollRate, PitchRate, YawRate:
		return AngularRate
	case AccelX, AccelY, AccelZ, Knock:
		return Acceleration
	case LonStick, LatStick, Pedal, Collective:
		return StickTravel
	case RotorSpeed:
		return RotationSpeed
	case WindSpeed, WindNorth, WindEast:
		return Speed
	case Height:
		return Length
	case QuaternionW, QuaternionX, QuaternionY, QuaternionZ:
		return Pure
	}
	return NoDimension
}

// Axis is one axis of the aircraft.
type Axis string

// The axes of the aircraft.
const (
	RollAxis  Axis = "roll"
	PitchAxis Axis = "pitch"
	YawAxis   Axis = "yaw"
)

// Attitude returns the attitude quantity of the axis.
func (a Axis) Attitude() Quantity {
	switch a {
	case RollAxis:
		return Roll
	case PitchAxis:
		return Pitch
	case YawAxis:
		return Heading
	}
	return ""
}

// Rate returns the angular rate quantity of the axis.
func (a Axis) Rate() Quantity {
	switch a {
	case RollAxis:
		return RollRate
	case PitchAxis:
		return PitchRate
	case YawAxis:
		return YawRate
	}
	return ""
}

// Stick returns the control that commands the axis.
func (a Axis) Stick() Quantity {
	switch a {
	case RollAxis:
		return LatStick
	case PitchAxis:
		return LonStick
	case YawAxis:
		return Pedal
	}
	return ""
}

// Unit is a unit as written in a log. The text is the one used in files.
type Unit string

// The units hopcard reads and shows. PulseUs (servo pulse width) and Counts (ADC
// readings) have no fixed scale: the importer finds it and keeps it in the channel.
const (
	NoUnit     Unit = ""
	Deg        Unit = "deg"
	Rad        Unit = "rad"
	DegPerS    Unit = "deg/s"
	RadPerS    Unit = "rad/s"
	MPerS      Unit = "m/s"
	Knot       Unit = "kt"
	KmPerH     Unit = "km/h"
	MilePerH   Unit = "mph"
	MPerS2     Unit = "m/s2"
	G          Unit = "g"
	Percent    Unit = "percent"
	UnitTravel Unit = "unit"
	PulseUs    Unit = "pulse_us"
	Counts     Unit = "counts"
	RPM        Unit = "rpm"
	Metre      Unit = "m"
	Foot       Unit = "ft"
	Second     Unit = "s"
	MilliS     Unit = "ms"
	MicroS     Unit = "us"
	NanoS      Unit = "ns"
	ISO8601    Unit = "iso8601"
	ClockTime  Unit = "hh:mm:ss"
)

// StandardGravity is the conventional value of g in m/s2 (ISO 80000-3).
const StandardGravity = 9.80665

// Scale returns the factor that turns a value in u into SI and the dimension that u
// measures. ok is false for units without a fixed scale.
//
// Knot, mile and foot are exact by definition (NIST SP 811, appendix B).
func (u Unit) Scale() (toSI float64, dim Dimension, ok bool) {
	switch u {
	case Deg:
		return math.Pi / 180, Angle, true
	case Rad:
		return 1, Angle, true
	case DegPerS:
		return math.Pi / 180, AngularRate, true
	case RadPerS:
		return 1, AngularRate, true
	case MPerS:
		return 1, Speed, true
	case Knot:
		return 1852.0 / 3600, Speed, true
	case KmPerH:
		return 1 / 3.6, Speed, true
	case MilePerH:
		return 0.44704, Speed, true
	case MPerS2:
		return 1, Acceleration, true
	case G:
		return StandardGravity, Acceleration, true
	case Percent:
		return 0.01, StickTravel, true
	case UnitTravel:
		return 1, StickTravel, true
	case RPM:
		return 2 * math.Pi / 60, RotationSpeed, true
	case Metre:
		return 1, Length, true
	case Foot:
		return 0.3048, Length, true
	case Second:
		return 1, Duration, true
	case MilliS:
		return 1e-3, Duration, true
	case MicroS:
		return 1e-6, Duration, true
	case NanoS:
		return 1e-9, Duration, true
	}
	return 0, NoDimension, false
}

// ShownUnit is the unit screens, cards and exports use for q, and the factor from SI
// to it.
func (q Quantity) ShownUnit() (u Unit, fromSI float64) {
	switch q.Dimension() {
	case Angle:
		return Deg, 180 / math.Pi
	case AngularRate:
		return DegPerS, 180 / math.Pi
	case Acceleration:
		return MPerS2, 1
	case StickTravel:
		return Percent, 100
	case RotationSpeed:
		return RPM, 60 / (2 * math.Pi)
	case Speed:
		return MPerS, 1
	case Length:
		return Metre, 1
	case Duration:
		return Second, 1
	}
	return NoUnit, 1
}
