package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// attitudeFromQuaternion adds roll, pitch and heading to a log that writes the attitude
// as a quaternion only (Stevens and Lewis 2003, eq. 1.3-33, from memory): rotation from
// north-east-down to body axes, scalar part w.
func (f *logFile) attitudeFromQuaternion() {
	var c [4]*column
	for k, q := range [4]flight.Quantity{flight.QuaternionW, flight.QuaternionX, flight.QuaternionY, flight.QuaternionZ} {
		if c[k] = f.find(q); c[k] == nil {
			return
		}
	}
	if f.find(flight.Roll) != nil || f.find(flight.Pitch) != nil {
		return
	}
	sure := 0.9
	if numbered(c) {
		if c, sure = f.quaternionOrder(c); sure == 0 {
			return
		}
	}
	n := len(f.stamps)
	angles, off := eulerAngles(c, n)
	if off > 0 {
		f.add(flight.CodeNotANumber, flight.Caution, c[0].header, flight.Span{},
			fmt.Sprintf("%d of %d quaternions are not of length one", off, n), "their attitude is left out; check the order of the parts in hop.toml")
	}
	if off > n/10 {
		return
	}
	for k, v := range angles {
		f.columns = append(f.columns, &column{
			figures: look(v), header: "quaternion", quantity: [3]flight.Quantity{flight.Roll, flight.Pitch, flight.Heading}[k],
			unit: flight.Rad, values: v, sign: 1, scale: 1, sure: sure, derived: true,
		})
	}
}

// eulerAngles turns the parts w, x, y, z into roll, pitch and heading in rad, and counts
// the rows that are not of length one; their angles are NaN.
func eulerAngles(c [4]*column, n int) (angles [3][]float64, off int) {
	for k := range angles {
		angles[k] = make([]float64, n)
	}
	for i := range n {
		w, x, y, z := c[0].values[i], c[1].values[i], c[2].values[i], c[3].values[i]
		norm := math.Sqrt(w*w + x*x + y*y + z*z)
		if !(math.Abs(norm-1) < 0.05) {
			angles[0][i], angles[1][i], angles[2][i] = nan, nan, nan
			if norm == norm {
				off++
			}
			continue
		}
		w, x, y, z = w/norm, x/norm, y/norm, z/norm
		angles[0][i] = math.Atan2(2*(w*x+y*z), 1-2*(x*x+y*y))
		angles[1][i] = math.Asin(math.Max(-1, math.Min(1, 2*(w*y-z*x))))
		angles[2][i] = math.Atan2(2*(w*z+x*y), 1-2*(y*y+z*z))
	}
	return angles, off
}

// numbered reports whether the parts of a quaternion are only numbered, so that their
// names do not say whether w comes first or last.
func numbered(c [4]*column) bool {
	for _, part := range c {
		if !part.numbered || part.user != nil && part.user.Quantity != "" {
			return false
		}
	}
	return true
}

// quaternionOrder finds out whether four numbered parts are w x y z or x y z w. A light
// helicopter stays near level, so that x and y are small beside w and z: that alone tells
// the two apart unless the heading is near north or south throughout. Then the rates
// tell: only in the right order is the roll rate the derivative of roll. If neither does,
// sure is 0.
func (f *logFile) quaternionOrder(c [4]*column) (ordered [4]*column, sure float64) {
	last := [4]*column{c[3], c[0], c[1], c[2]}
	first, firstLevel := f.levelQuaternion(c)
	other, otherLevel := f.levelQuaternion(last)
	wFirst, why := firstLevel, "in the other order the aircraft would stand or fly on its side"
	switch {
	case firstLevel != otherLevel:
		sure = 0.95
	case math.Abs(first-other) > 0.5:
		wFirst, sure, why = first > other, 0.9, "in the other order the rates are not those of the attitude"
	default:
		f.add(flight.CodeUnrecognised, flight.Stop, c[0].header, flight.Span{},
			"the parts of the quaternion are numbered only, and nothing tells whether w comes first or last: no attitude is taken from them",
			"name their quantities in hop.toml, or log rates too")
		return c, 0
	}
	ordered, text := c, "w x y z"
	if !wFirst {
		ordered, text = last, "x y z w"
	}
	for k, q := range [4]flight.Quantity{flight.QuaternionW, flight.QuaternionX, flight.QuaternionY, flight.QuaternionZ} {
		ordered[k].quantity = q
		ordered[k].sure = math.Min(ordered[k].sure, sure)
	}
	f.add(flight.CodeUnitGuessed, guessSeverity(sure), c[0].header, flight.Span{},
		fmt.Sprintf("the parts of the quaternion are numbered only: taken for %s, %.0f %% sure: %s", text, 100*sure, why),
		"name their quantities in hop.toml if this is wrong")
	return ordered, sure
}

// levelQuaternion reports whether an order of the parts gives the attitude of an aircraft
// that keeps near level, and how well the derivative of attitude then follows the rates:
// the sum of the squared correlations of both axes, 0 without rates.
func (f *logFile) levelQuaternion(c [4]*column) (follows float64, level bool) {
	angles, _ := eulerAngles(c, len(f.stamps))
	const limit = 0.35 // rad, 20 deg, for the median of either tilt
	level = true
	for k, q := range []flight.Quantity{flight.RollRate, flight.PitchRate} {
		size := make([]float64, 0, len(angles[k]))
		for _, a := range angles[k] {
			size = append(size, math.Abs(a))
		}
		level = level && medianOf(size) < limit
		if rate := f.find(q); rate != nil {
			rho := correlate(angles[k], rate.values, f.stamps)
			follows += rho * rho
		}
	}
	return follows, level
}

// correlate returns the correlation of the change of an angle from row to row with the
// rate over the same step.
func correlate(angle, rate, stamps []float64) float64 {
	var n, sx, sy, sxx, syy, sxy float64
	for i := 1; i < len(stamps); i++ {
		x, y := math.Remainder(angle[i]-angle[i-1], 2*math.Pi)/(stamps[i]-stamps[i-1]), (rate[i]+rate[i-1])/2
		if x-x != 0 || y-y != 0 {
			continue
		}
		n, sx, sy, sxx, syy, sxy = n+1, sx+x, sy+y, sxx+x*x, syy+y*y, sxy+x*y
	}
	vx, vy := sxx-sx*sx/n, syy-sy*sy/n
	if !(vx > 0 && vy > 0) {
		return 0
	}
	return (sxy - sx*sy/n) / math.Sqrt(vx*vy)
}

// numberQuaternion marks the parts of a quaternion that are numbered only, from 0 or
// from 1, and takes them for w x y z for the time being.
func numberQuaternion(columns []*column) {
	var at [5]*column
	for _, c := range columns {
		base, _ := cutBracket(c.header)
		if w := words(splitWords(base)); len(w) <= 3 {
			for k, digit := range []string{"0", "1", "2", "3", "4"} {
				if w.is("q"+digit) || w.has("q", "quat", "quaternion", "quaternions") && w.has(digit) {
					at[k] = c
				}
			}
		}
	}
	from := 0
	if at[0] == nil {
		from = 1
	}
	for k, q := range [4]flight.Quantity{flight.QuaternionW, flight.QuaternionX, flight.QuaternionY, flight.QuaternionZ} {
		if at[from+k] == nil {
			return
		}
		at[from+k].reading = nameReading{quantity: q, sure: 0.95}
	}
	for k := range 4 {
		at[from+k].numbered = true
	}
}
