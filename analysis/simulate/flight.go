package simulate

import (
	"math"

	"hopcard/flight"
)

// Flight is a flown scenario: every quantity at every step, without sensor noise, and the
// truth about it. Slices are parallel; sample i is at i*StepS seconds of hop time.
type Flight struct {
	Scenario Scenario
	StepS    float64
	Truth    Truth

	LonStick, LatStick, Pedal, Collective []float64
	Roll, Pitch, Heading                  []float64
	RollRate, PitchRate, YawRate          []float64
	AccelX, AccelY, AccelZ                []float64 // specific force, without vibration
	SpeedForward, SpeedRight              []float64
	Height                                []float64
	RotorSpeed, RotorAzimuth              []float64
	HeadWind, WindFromRight               []float64 // at the aircraft
	WindNorth, WindEast                   []float64 // of the air, at the aircraft
	MastNorth, MastEast                   []float64 // at the anemometer
	KnockG                                []float64 // taps, in g, over what is at rest
}

// Len returns the number of steps.
func (f *Flight) Len() int { return len(f.Roll) }

// DurationS returns the length of the hop.
func (f *Flight) DurationS() float64 { return float64(f.Len()-1) * f.StepS }

// At interpolates a history of this flight at a hop time; outside it the end values stay.
func (f *Flight) At(history []float64, tS float64) float64 {
	x := tS / f.StepS
	k := int(math.Floor(x))
	if k < 0 {
		return history[0]
	}
	if k >= len(history)-1 {
		return history[len(history)-1]
	}
	return history[k] + (history[k+1]-history[k])*(x-float64(k))
}

// Stick, Attitude and Rate return the true history of an axis.
func (f *Flight) Stick(a flight.Axis) []float64 {
	if a == flight.RollAxis {
		return f.LatStick
	}
	return f.LonStick
}

// Attitude returns the true attitude of an axis, roll or pitch.
func (f *Flight) Attitude(a flight.Axis) []float64 {
	if a == flight.RollAxis {
		return f.Roll
	}
	return f.Pitch
}

// Rate returns the true rate of an axis, roll or pitch.
func (f *Flight) Rate(a flight.Axis) []float64 {
	if a == flight.RollAxis {
		return f.RollRate
	}
	return f.PitchRate
}

func (f *Flight) reserve(n int) {
	for _, p := range f.histories() {
		*p = make([]float64, 0, n)
	}
}

func (f *Flight) histories() []*[]float64 {
	return []*[]float64{
		&f.LonStick, &f.LatStick, &f.Pedal, &f.Collective, &f.Roll, &f.Pitch, &f.Heading,
		&f.RollRate, &f.PitchRate, &f.YawRate, &f.AccelX, &f.AccelY, &f.AccelZ,
		&f.SpeedForward, &f.SpeedRight, &f.Height, &f.RotorSpeed, &f.RotorAzimuth,
		&f.HeadWind, &f.WindFromRight, &f.WindNorth, &f.WindEast, &f.MastNorth, &f.MastEast, &f.KnockG,
	}
}
