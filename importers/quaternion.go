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
	n := len(f.stamps)
	roll, pitch, heading := make([]float64, n), make([]float64, n), make([]float64, n)
	off := 0
	for i := range n {
		w, x, y, z := c[0].values[i], c[1].values[i], c[2].values[i], c[3].values[i]
		norm := math.Sqrt(w*w + x*x + y*y + z*z)
		if !(math.Abs(norm-1) < 0.05) {
			roll[i], pitch[i], heading[i] = nan, nan, nan
			if norm == norm {
				off++
			}
			continue
		}
		w, x, y, z = w/norm, x/norm, y/norm, z/norm
		roll[i] = math.Atan2(2*(w*x+y*z), 1-2*(x*x+y*y))
		pitch[i] = math.Asin(math.Max(-1, math.Min(1, 2*(w*y-z*x))))
		heading[i] = math.Atan2(2*(w*z+x*y), 1-2*(y*y+z*z))
	}
	if off > 0 {
		f.add(flight.CodeNotANumber, flight.Caution, c[0].header, flight.Span{},
			fmt.Sprintf("%d of %d quaternions are not of length one", off, n), "their attitude is left out; check the order of the parts in hop.toml")
	}
	if off > n/10 {
		return
	}
	for k, v := range [3][]float64{roll, pitch, heading} {
		f.columns = append(f.columns, &column{
			figures: look(v), header: "quaternion", quantity: [3]flight.Quantity{flight.Roll, flight.Pitch, flight.Heading}[k],
			unit: flight.Rad, values: v, sign: 1, scale: 1, sure: 0.9, derived: true,
		})
	}
}
