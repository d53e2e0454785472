package importers

import (
	"fmt"
	"math"
	"slices"

	"hopcard/flight"
)

// settleUnits gives every column of f a unit, a scale and a zero. A unit taken from the
// data is a finding that says how sure it is.
func (f *logFile) settleUnits() {
	f.columns = slices.DeleteFunc(f.columns, func(c *column) bool {
		if c.figures.n > 0 {
			return false
		}
		f.add(flight.CodeStuck, flight.Caution, c.header, flight.Span{},
			fmt.Sprintf("column %q (%s) holds no value at all", c.header, c.quantity), "check the sensor's lead")
		return true
	})
	for _, c := range f.columns {
		if c.quantity.Dimension() == flight.StickTravel {
			f.settleStick(c)
			continue
		}
		if c.quantity.Dimension() == flight.Pure {
			c.scale = 1
			continue
		}
		if c.unit == flight.NoUnit {
			f.guessUnit(c)
		}
		k, _, ok := c.unit.Scale()
		if !ok {
			k = 1
		}
		c.scale = k
	}
}

// guessUnit works out the unit of a column from its own values.
func (f *logFile) guessUnit(c *column) {
	g := c.figures
	u, sure, because := likelyUnit(c.quantity, g)
	c.unit, c.guessed = u, true
	c.sure *= sure
	f.add(flight.CodeUnitGuessed, guessSeverity(sure), c.header, flight.Span{},
		fmt.Sprintf("column %q (%s) says no unit: %s, taken for %s, %.0f %% sure", c.header, c.quantity, because, u, 100*sure),
		"name the unit in hop.toml if this is wrong")
}

// agree gives quantities of one kind that say no unit the unit that the largest of them
// speaks for: one logger does not write roll in degrees and pitch in radians.
func (f *logFile) agree(of ...flight.Quantity) {
	var unit flight.Unit
	var lead *column
	best := 0.0
	for _, q := range of {
		c := f.find(q)
		if c == nil {
			continue
		}
		u, sure := c.unit, 1.0
		if u == flight.NoUnit {
			u, sure, _ = likelyUnit(q, c.figures)
		}
		if sure > best {
			unit, best, lead = u, sure, c
		}
	}
	for _, q := range of {
		c := f.find(q)
		if c == nil || c == lead || c.unit != flight.NoUnit {
			continue
		}
		c.unit, c.guessed = unit, true
		c.sure *= best
		f.add(flight.CodeUnitGuessed, guessSeverity(best), c.header, flight.Span{},
			fmt.Sprintf("column %q (%s) says no unit: taken for %s like %q, %.0f %% sure", c.header, q, unit, lead.header, 100*best),
			"name the unit in hop.toml if this is wrong")
	}
}

// agreeUnits lets the clearest column of each kind decide for the others.
func (f *logFile) agreeUnits() {
	f.agree(flight.AccelX, flight.AccelY, flight.AccelZ)
	f.agree(flight.Roll, flight.Pitch, flight.Heading)
	f.agree(flight.RollRate, flight.PitchRate, flight.YawRate)
	f.agree(flight.WindNorth, flight.WindEast, flight.WindSpeed)
}

// likelyUnit says which unit the figures of a quantity speak for. The bounds are what a
// light helicopter can do: pi in attitude, some 10 rad/s in rate, gravity, 60 rad/s of
// rotor speed and 40 m/s of wind.
func likelyUnit(q flight.Quantity, g figures) (u flight.Unit, sure float64, because string) {
	reach := fmt.Sprintf("values reach %.4g", g.absHigh)
	switch q.Dimension() {
	case flight.Angle:
		switch limit := angleLimit(q); {
		case g.absHigh > limit:
			return flight.Deg, 0.99, reach
		case g.absHigh < limit/4 && q != flight.Heading && q != flight.WindDirectionFrom:
			return flight.Rad, 0.7, reach
		}
		return flight.Rad, 0.8, reach
	case flight.AngularRate:
		if g.absHigh > 8 {
			return flight.DegPerS, 0.97, reach
		}
		if g.absHigh > 3 {
			return flight.DegPerS, 0.7, reach
		}
		return flight.RadPerS, 0.8, reach
	case flight.Acceleration:
		return likelyAcceleration(q, g)
	case flight.RotationSpeed:
		if g.absHigh > 120 {
			return flight.RPM, 0.98, reach
		}
		return flight.RadPerS, 0.7, reach
	case flight.Speed:
		return flight.MPerS, 0.6, reach
	case flight.Length:
		return flight.Metre, 0.7, reach
	}
	return flight.NoUnit, 0.5, reach
}

func angleLimit(q flight.Quantity) float64 {
	if q == flight.Heading || q == flight.WindDirectionFrom {
		return 6.5
	}
	return 1.6
}

// likelyAcceleration tells g from m/s2. The vertical one is decided by gravity; the
// others follow it (see agree) unless they are alone.
func likelyAcceleration(q flight.Quantity, g figures) (flight.Unit, float64, string) {
	m := math.Abs(g.median)
	at := fmt.Sprintf("the median is %.4g", g.median)
	if q == flight.AccelZ || q == flight.Knock {
		switch {
		case m > 6 && m < 14:
			return flight.MPerS2, 0.99, at
		case m > 0.6 && m < 1.4:
			return flight.G, 0.99, at
		}
	}
	if g.absHigh > 4 {
		return flight.MPerS2, 0.6, fmt.Sprintf("values reach %.4g", g.absHigh)
	}
	return flight.G, 0.5, fmt.Sprintf("values reach %.4g", g.absHigh)
}
