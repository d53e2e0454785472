package importers

import (
	"fmt"
	"math"
	"strings"

	"hopcard/flight"
)

// restChecks looks at what the sensors read while the aircraft stands still: gravity of
// one g, no rates.
func (f *logFile) restChecks() {
	rest := f.atRest()
	if len(rest) < 2 {
		return
	}
	span := flight.Span{FromS: rest[0].FromS, ToS: rest[len(rest)-1].ToS}
	f.gravityCheck(rest, span)
	for _, q := range []flight.Quantity{flight.RollRate, flight.PitchRate, flight.YawRate} {
		c := f.find(q)
		if c == nil {
			continue
		}
		const limit = 0.3 * math.Pi / 180
		if m := f.meanOver(c, rest); math.Abs(m) > limit {
			f.add(flight.CodeRateBias, flight.Note, c.header, span,
				fmt.Sprintf("%q reads %+.2f deg/s while the aircraft stands still", c.header, m*180/math.Pi),
				"let the logger stand still while it starts; answers that use changes of rate are not affected")
		}
	}
}

func (f *logFile) gravityCheck(rest []flight.Span, span flight.Span) {
	x, y, z := f.find(flight.AccelX), f.find(flight.AccelY), f.find(flight.AccelZ)
	if x == nil || y == nil || z == nil {
		return
	}
	ax, ay, az := f.meanOver(x, rest), f.meanOver(y, rest), f.meanOver(z, rest)
	g := math.Sqrt(ax*ax+ay*ay+az*az) / flight.StandardGravity
	switch {
	case math.IsNaN(g) || math.Abs(g-1) <= 0.03:
	case math.Abs(g*flight.StandardGravity-1) < 0.1 || math.Abs(g/flight.StandardGravity-1) < 0.1:
		f.add(flight.CodeUnitContradiction, flight.Caution, z.header, span,
			fmt.Sprintf("accelerations are said to be in %s, but at rest they add up to %.3g g: the unit is wrong", z.unit, g),
			"give the right unit in hop.toml")
	default:
		f.add(flight.CodeGravity, flight.Caution, z.header, span,
			fmt.Sprintf("at rest the accelerations add up to %.3f g instead of 1", g), "calibrate the accelerometer; its scale or bias is off")
	}
}

// fixGuessedUnits settles a guessed unit of attitude or rate by physics: the rate is
// the derivative of attitude, so a factor of 57.3 between them is a wrong guess.
func (f *logFile) fixGuessedUnits() {
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		angle, rate := f.find(axis.Attitude()), f.find(axis.Rate())
		if angle == nil || rate == nil {
			continue
		}
		k, ok := f.plainSlope(axis)
		if !ok || (k.Low <= 0 && k.High >= 0) {
			continue
		}
		f.fixUnit(angle, rate, math.Abs(k.Value))
	}
}

func (f *logFile) fixUnit(angle, rate *column, k float64) {
	const perRad = 180 / math.Pi
	high, low := k > perRad/1.5 && k < perRad*1.5, k > 1/(1.5*perRad) && k < 1.5/perRad
	if !high && !low {
		return
	}
	c, u := rate, flight.DegPerS
	if high {
		u = flight.RadPerS
	}
	if !rate.guessed && !angle.guessed {
		withholdPair(angle, rate, k)
		f.rest = nil // may be taken from that rate
		f.add(flight.CodeUnitContradiction, flight.Stop, rate.header, flight.Span{},
			fmt.Sprintf("the derivative of %q is %.3g times %q: degrees and radians are mixed up in one of them; %s and %s are withheld",
				angle.header, k, rate.header, angle.quantity, rate.quantity), unitAdvice(angle, rate, high))
		return
	}
	if !rate.guessed || (angle.guessed && angle.sure < rate.sure) {
		c, u = angle, flight.Rad
		if high {
			u = flight.Deg
		}
	}
	if c.unit == u {
		return
	}
	was := c.unit
	c.unit = u
	c.scale, _, _ = u.Scale()
	f.turns, f.rest = nil, nil // both were taken in the wrong unit
	f.add(flight.CodeUnitGuessed, flight.Note, c.header, flight.Span{},
		fmt.Sprintf("%q is in %s, not %s: only so is the rate the derivative of the attitude", c.header, u, was), "")
}

// withholdPair keeps an attitude and a rate that contradict each other by the factor k out
// of the analysis: nothing says which of the two is right.
func withholdPair(angle, rate *column, k float64) {
	why := fmt.Sprintf("the derivative of %q is %.3g times %q, and should be equal to it", angle.header, k, rate.header)
	angle.withheld, rate.withheld = why, why
}

// unitAdvice says which unit in hop.toml would make the two fit: high tells that the
// attitude moves some 57 times too much beside the rate, otherwise too little.
func unitAdvice(angle, rate *column, high bool) string {
	var ways []string
	may := func(c *column, said, is flight.Unit) {
		if c.unit == said && !c.derived {
			ways = append(ways, fmt.Sprintf("unit = %q for column %q", is, c.header))
		}
	}
	if high {
		may(angle, flight.Rad, flight.Deg)
		may(rate, flight.DegPerS, flight.RadPerS)
	} else {
		may(angle, flight.Deg, flight.Rad)
		may(rate, flight.RadPerS, flight.DegPerS)
	}
	if len(ways) == 0 {
		return "give the right units in hop.toml, or correct the logger: a factor of 57.3 is applied once too often"
	}
	return "look at what the logger writes, and set " + strings.Join(ways, " or ") + " in hop.toml"
}
