package simulate

import (
	"math"
	"math/rand/v2"

	"hopcard/flight"
)

// instruments turns true histories into readings. Every quantity draws from a stream of
// its own, so that leaving one out changes no other.
type instruments struct {
	f    *Flight
	bias [3]float64 // of the gyros: roll, pitch, yaw
}

func newInstruments(f *Flight) *instruments {
	rng := stream(f.Scenario.Seed, streamSensor)
	i := &instruments{f: f}
	for k := range i.bias {
		i.bias[k] = f.Scenario.Sensors.GyroBiasRadS * rng.NormFloat64()
	}
	return i
}

// GyroBiasRadS returns the true bias of the roll, pitch and yaw gyros.
func (f *Flight) GyroBiasRadS() [3]float64 { return newInstruments(f).bias }

// read returns one quantity at the given hop times.
func (i *instruments) read(q flight.Quantity, timeS []float64) []float64 {
	f, s := i.f, i.f.Scenario.Sensors
	rng := quantityStream(f.Scenario.Seed, q)
	switch q {
	case flight.Roll:
		return noisy(f, f.Roll, timeS, s.AttitudeNoiseRad, 0, rng)
	case flight.Pitch:
		return noisy(f, f.Pitch, timeS, s.AttitudeNoiseRad, 0, rng)
	case flight.Heading:
		return wrapped(noisy(f, f.Heading, timeS, s.AttitudeNoiseRad, 0, rng))
	case flight.RollRate:
		return i.gyro(f.RollRate, timeS, 0, rng)
	case flight.PitchRate:
		return i.gyro(f.PitchRate, timeS, 1, rng)
	case flight.YawRate:
		return i.gyro(f.YawRate, timeS, 2, rng)
	case flight.AccelX:
		return i.accel(f.AccelX, timeS, 0.4, rng)
	case flight.AccelY:
		return i.accel(f.AccelY, timeS, 0.5, rng)
	case flight.AccelZ:
		return i.accel(f.AccelZ, timeS, 1, rng)
	case flight.LonStick:
		return noisy(f, f.LonStick, timeS, s.StickNoise, 0, rng)
	case flight.LatStick:
		return noisy(f, f.LatStick, timeS, s.StickNoise, 0, rng)
	case flight.Pedal:
		return noisy(f, f.Pedal, timeS, s.StickNoise, 0, rng)
	case flight.Collective:
		return noisy(f, f.Collective, timeS, s.StickNoise, 0, rng)
	case flight.RotorSpeed:
		v := noisy(f, f.RotorSpeed, timeS, 0.05, 0, rng)
		for k := range v {
			v[k] = max(v[k], 0) // a pulse counter
		}
		return v
	case flight.Height:
		return noisy(f, f.Height, timeS, s.HeightNoiseM, 0, rng)
	case flight.Knock:
		v := noisy(f, f.KnockG, timeS, 0.012, 1, rng)
		for k := range v {
			v[k] *= flight.StandardGravity
		}
		return v
	case flight.WindSpeed, flight.WindDirectionFrom, flight.WindNorth, flight.WindEast:
		return i.anemometer(q, timeS, rng)
	}
	panic("simulate: no sensor for " + string(q))
}

// quantityStream seeds by the quantity's place in the list of all.
func quantityStream(seed uint64, q flight.Quantity) *rand.Rand {
	for k, known := range flight.Quantities() {
		if known == q {
			return stream(seed, uint64(100+k))
		}
	}
	panic("simulate: unknown quantity " + string(q))
}

func noisy(f *Flight, history, timeS []float64, noise, bias float64, rng *rand.Rand) []float64 {
	v := make([]float64, len(timeS))
	for k, t := range timeS {
		v[k] = f.At(history, t) + bias + noise*rng.NormFloat64()
	}
	return v
}

func wrapped(v []float64) []float64 {
	for k := range v {
		v[k] = wrap(v[k])
	}
	return v
}

// vibration is once and twice per revolution, growing with the square of rotor speed.
func (i *instruments) vibration(tS, size, phase float64) float64 {
	f := i.f
	spin := f.At(f.RotorSpeed, tS) / f.Scenario.Head.RotorSpeedRadS
	psi := f.At(f.RotorAzimuth, tS)
	return size * spin * spin * (math.Sin(2*psi+phase) + 0.4*math.Sin(psi+2*phase))
}

func (i *instruments) gyro(history, timeS []float64, axis int, rng *rand.Rand) []float64 {
	s := i.f.Scenario.Sensors
	v := noisy(i.f, history, timeS, s.GyroNoiseRadS, i.bias[axis], rng)
	for k, t := range timeS {
		v[k] += i.vibration(t, s.GyroVibrationRadS, float64(axis))
	}
	return v
}

func (i *instruments) accel(history, timeS []float64, share float64, rng *rand.Rand) []float64 {
	s := i.f.Scenario.Sensors
	v := noisy(i.f, history, timeS, s.AccelNoiseMS2, 0, rng)
	for k, t := range timeS {
		v[k] += i.vibration(t, share*s.VibrationMS2, 1+share)
	}
	return v
}

// anemometer reads the wind at the mast; a cup and vane follow with a lag of their distance
// constant over the wind speed.
func (i *instruments) anemometer(q flight.Quantity, timeS []float64, rng *rand.Rand) []float64 {
	f, s := i.f, i.f.Scenario.Sensors
	north, east := f.MastNorth, f.MastEast
	if s.CupDistanceM > 0 {
		north, east = cup(f, s.CupDistanceM)
	}
	v := make([]float64, len(timeS))
	for k, t := range timeS {
		n, e := f.At(north, t), f.At(east, t)
		switch q {
		case flight.WindSpeed:
			v[k] = max(math.Hypot(n, e)+s.WindNoiseMS*rng.NormFloat64(), 0)
		case flight.WindDirectionFrom:
			v[k] = wrap(math.Atan2(-e, -n) + s.WindDirNoiseRad*rng.NormFloat64())
		case flight.WindNorth:
			v[k] = n + s.WindNoiseMS*rng.NormFloat64()
		case flight.WindEast:
			v[k] = e + s.WindNoiseMS*rng.NormFloat64()
		}
	}
	return v
}

func cup(f *Flight, distanceM float64) (north, east []float64) {
	north, east = make([]float64, f.Len()), make([]float64, f.Len())
	for k := range north {
		if k == 0 {
			north[0], east[0] = f.MastNorth[0], f.MastEast[0]
			continue
		}
		speed := max(math.Hypot(f.MastNorth[k], f.MastEast[k]), 0.1)
		a := 1 - math.Exp(-f.StepS*speed/distanceM)
		north[k] = north[k-1] + a*(f.MastNorth[k]-north[k-1])
		east[k] = east[k-1] + a*(f.MastEast[k]-east[k-1])
	}
	return north, east
}

// stamps returns times from startS on at the rate, up to endS.
func stamps(startS, endS, rateHz float64) []float64 {
	n := int(math.Floor((endS-startS)*rateHz+1e-9)) + 1
	t := make([]float64, max(n, 0))
	for k := range t {
		t[k] = startS + float64(k)/rateHz
	}
	return t
}
