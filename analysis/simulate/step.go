package simulate

import (
	"math"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// moveHands lets the pilot see the aircraft and move both hands over one step.
func (c *craft) moveHands(l Leg, tau, share float64) {
	x := c.x
	c.hand(0, l, tau, share, x[rotor.Pitch], x[rotor.PitchRate], x[rotor.SpeedForward])
	c.hand(1, l, tau, share, x[rotor.Roll], x[rotor.RollRate], -x[rotor.SpeedRight])
}

func (c *craft) hand(i int, l Leg, tau, share, attitude, rate, speed float64) {
	h := c.hands[i]
	integral := h.integral
	h.see(attitude, rate, speed, c.stepS)
	// Remnant: first-order noise, 0.3 s.
	f := 1 - h.noise.step(0.3, c.stepS)
	h.remnant = f*h.remnant + math.Sqrt(1-f*f)*h.pilot.Remnant*c.remnant.NormFloat64()
	raw, lag := 0.0, 0.04
	if l.moves(h.axis) {
		raw, lag = l.shape(tau, c.waves)
	}
	c.test[i] += (raw - c.test[i]) * h.finger.step(lag, c.stepS)
	switch {
	case share == 0:
		h.move(0, 0.3, c.stepS)
	case l.still(h.axis):
		h.integral = integral // he waits
	case l.Kind == LetGo && l.Axis == h.axis:
		h.integral = integral
		h.move(0, 0.1, c.stepS)
	default:
		wish := h.wish(c.stepS)
		if l.Kind == Growing && l.moves(h.axis) {
			wish *= l.GainFactor
		}
		h.move(wish+h.remnant, h.pilot.LagS, c.stepS)
	}
}

// sticks returns both sticks now, trim, wind and test input included, between the stops.
func (c *craft) sticks(l Leg, tau, share float64) (lon, lat float64) {
	t := c.s.Trim
	lon = share*(t.LonStick+c.windTrim[0]+c.hands[0].stick) + c.test[0]
	lat = share*(t.LatStick+c.windTrim[1]+c.hands[1].stick) + c.test[1]
	if l.Kind == ControlCheck {
		a, b := l.check(tau)
		lon, lat = lon+a, lat+b
	}
	return min(max(lon, -1), 1), min(max(lat, -1), 1)
}

// stickAt is the stick at a time; one that lies in the step under way, because the dead time
// is shorter than a step, is found between the last sample and the one to come.
func (c *craft) stickAt(history []float64, ahead, tS float64) float64 {
	last := len(history) - 1
	if over := tS/c.stepS - float64(last); over > 0 {
		return history[last] + (ahead-history[last])*min(over, 1)
	}
	return c.f.At(history, tS)
}

// sample writes the state at the start of a step.
func (c *craft) sample(l Leg, tau float64) {
	f, tS := c.f, c.timeS()
	share, slope := l.airborne(tau)
	lon, lat := c.sticks(l, tau, share)
	f.LonStick, f.LatStick = append(f.LonStick, lon), append(f.LatStick, lat)
	c.now = c.inputsAt(tS)
	c.attitude(share, slope)
	c.rest(share, tS)
	c.wind(tS)
}

// inputsAt returns the model's inputs at a time: sticks a dead time ago, less trim, and the
// wind now.
func (c *craft) inputsAt(tS float64) [4]float64 {
	lon := c.stickAt(c.f.LonStick, c.ahead[0], tS-c.s.Head.DelayS) - c.s.Trim.LonStick
	lat := c.stickAt(c.f.LatStick, c.ahead[1], tS-c.s.Head.DelayS) - c.s.Trim.LatStick
	head, right := c.air.against(tS, c.heading)
	return [4]float64{lon, lat, head, right}
}

// attitude writes attitudes, and rates that are exactly their derivatives.
func (c *craft) attitude(share, slope float64) {
	f, x, t := c.f, c.x, c.s.Trim
	pitch := x[rotor.Pitch] + share*t.PitchRad + (1-share)*t.GroundPitchRad
	roll := x[rotor.Roll] + share*t.RollRad + (1-share)*t.GroundRollRad
	f.Pitch, f.Roll = append(f.Pitch, pitch), append(f.Roll, roll)
	q := share*x[rotor.PitchRate] - (1-share)*groundPerS*x[rotor.Pitch] + slope*(t.PitchRad-t.GroundPitchRad)
	p := share*x[rotor.RollRate] - (1-share)*groundPerS*x[rotor.Roll] + slope*(t.RollRad-t.GroundRollRad)
	f.PitchRate, f.RollRate = append(f.PitchRate, q), append(f.RollRate, p)
	const g = flight.StandardGravity
	f.AccelX = append(f.AccelX, share*c.slope(rotor.SpeedForward)+g*pitch)
	f.AccelY = append(f.AccelY, share*c.slope(rotor.SpeedRight)-g*roll)
	f.SpeedForward = append(f.SpeedForward, x[rotor.SpeedForward])
	f.SpeedRight = append(f.SpeedRight, x[rotor.SpeedRight])
}

// slope is the derivative of one state of the free motion now.
func (c *craft) slope(i rotor.State) float64 {
	sum := 0.0
	for j, a := range c.model.A[i] {
		sum += a * c.x[j]
	}
	for j, b := range c.model.B[i] {
		sum += b * c.now[j]
	}
	return sum
}

// rest writes what follows from share and time alone.
func (c *craft) rest(share, tS float64) {
	f := c.f
	c.turn = share * c.yawRate(tS)
	f.Heading, f.YawRate = append(f.Heading, c.heading), append(f.YawRate, c.turn)
	bob := 0.06 * (math.Sin(0.7*tS) + 0.6*math.Sin(1.31*tS+1))
	f.Height = append(f.Height, share*(c.s.HoverHeightM+bob))
	f.Collective = append(f.Collective, 0.03*c.spin+share*(0.52-0.05*bob))
	f.Pedal = append(f.Pedal, 0.12*share+0.8*c.turn)
	f.RotorSpeed = append(f.RotorSpeed, c.spin*c.s.Head.RotorSpeedRadS)
	f.RotorAzimuth = append(f.RotorAzimuth, c.azimuth)
	knock := 0.0
	for _, t := range c.taps {
		knock += t.strengthG * tap(tS-t.timeS)
	}
	f.KnockG = append(f.KnockG, knock)
	f.AccelZ = append(f.AccelZ, -flight.StandardGravity*(1+knock))
}

func (c *craft) wind(tS float64) {
	f := c.f
	head, right := c.air.against(tS, c.heading)
	f.HeadWind, f.WindFromRight = append(f.HeadWind, head), append(f.WindFromRight, right)
	north, east := c.air.craft(tS)
	f.WindNorth, f.WindEast = append(f.WindNorth, north), append(f.WindEast, east)
	north, east = c.air.mast(tS)
	f.MastNorth, f.MastEast = append(f.MastNorth, north), append(f.MastEast, east)
}
