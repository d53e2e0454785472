package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// tiltTimeS is the time over which the tilt that the accelerometer shows pulls the
// integrated rates back. In flight an accelerometer shows the true tilt on the mean only,
// for the thrust goes along with the airframe: the time must be long beside the motion,
// and short beside the drift of a cheap gyro (some deg a minute). This project's own
// choice.
const tiltTimeS = 20.0

// tiltColumns are what attitude is worked out from where no log holds it.
type tiltColumns struct{ p, q, r, x, y, z *column }

// attitudeFromRates adds roll and pitch to a log that holds rates and accelerations
// alone: rates integrated, with the bias that they show at rest taken off, and pulled to
// the accelerometer's tilt by a complementary filter (Mahony et al. 2008, "Nonlinear
// complementary filters on the special orthogonal group", here one angle at a time).
func (f *logFile) attitudeFromRates() {
	c := tiltColumns{f.find(flight.RollRate), f.find(flight.PitchRate), f.trusted(flight.YawRate),
		f.find(flight.AccelX), f.find(flight.AccelY), f.find(flight.AccelZ)}
	if c.p == nil || c.q == nil || c.x == nil || c.y == nil || c.z == nil || len(f.stamps) < 100 {
		return
	}
	roll, pitch, pull := f.tilt(c, 1)
	if _, _, other := f.tilt(c, -1); other < 0.7*pull {
		f.add(flight.CodeSign, flight.Caution, c.x.header, flight.Span{},
			"no attitude is worked out from rates and accelerations: they contradict each other, as if one of them were turned round",
			"set sign of the accelerations or of the rates in hop.toml")
		return
	}
	f.add(flight.CodeMissing, flight.Caution, "", flight.Span{},
		fmt.Sprintf("no attitude is logged: roll and pitch are worked out from rates and accelerations, and follow the rates for %.0f s only; "+
			"mean attitude and anything slower than that is the accelerometer's and may be off by degrees", tiltTimeS),
		"log attitude if the logger can")
	for k, v := range [2][]float64{roll, pitch} {
		f.columns = append(f.columns, &column{
			figures: look(v), header: "rates and accelerations", quantity: [2]flight.Quantity{flight.Roll, flight.Pitch}[k],
			unit: flight.Rad, values: v, sign: 1, scale: 1, sure: 0.6, derived: true,
		})
	}
}

// tilt runs the filter, with the accelerations across the mast multiplied by sense, and
// returns the mean square by which they pull it.
func (f *logFile) tilt(c tiltColumns, sense float64) (roll, pitch []float64, pull float64) {
	n := len(f.stamps)
	roll, pitch = make([]float64, n), make([]float64, n)
	bias := f.rateBias(c)
	rate := func(c *column, k, i int) float64 {
		if c == nil {
			return 0
		}
		if v := c.signed(i) - bias[k]; v == v {
			return v
		}
		return 0
	}
	shown := func(i int) (phi, theta float64) {
		x, y, z := sense*c.x.signed(i), sense*c.y.signed(i), c.z.signed(i)
		return math.Atan2(-y, -z), math.Atan2(x, math.Hypot(y, z))
	}
	phi, theta := f.meanTilt(shown)
	for i := range n {
		if i > 0 {
			dt := f.stamps[i] - f.stamps[i-1]
			s, co := math.Sincos(phi)
			p, q, r := (rate(c.p, 0, i)+rate(c.p, 0, i-1))/2, (rate(c.q, 1, i)+rate(c.q, 1, i-1))/2, (rate(c.r, 2, i)+rate(c.r, 2, i-1))/2
			phi, theta = phi+dt*(p+math.Tan(theta)*(q*s+r*co)), theta+dt*(q*co-r*s)
			theta = math.Max(-1.5, math.Min(1.5, theta))
			if a, b := shown(i); a == a && b == b {
				k := 1 - math.Exp(-dt/tiltTimeS)
				da, db := math.Remainder(a-phi, 2*math.Pi), b-theta
				pull += da*da + db*db
				phi, theta = math.Remainder(phi+k*da, 2*math.Pi), theta+k*db
			}
		}
		roll[i], pitch[i] = phi, theta
	}
	return roll, pitch, pull / float64(n)
}

// meanTilt returns the tilt shown over the first second.
func (f *logFile) meanTilt(shown func(i int) (phi, theta float64)) (phi, theta float64) {
	n := 0.0
	for i := 0; i < len(f.stamps) && (f.stamps[i] < f.stamps[0]+1 || n == 0); i++ {
		if a, b := shown(i); a == a && b == b {
			phi, theta, n = phi+a, theta+b, n+1
		}
	}
	return phi / math.Max(n, 1), theta / math.Max(n, 1)
}

// rateBias returns what the rates read at rest, 0 where the aircraft never stood still.
func (f *logFile) rateBias(c tiltColumns) (bias [3]float64) {
	rest := f.atRest()
	if len(rest) < 2 {
		return bias
	}
	for k, col := range []*column{c.p, c.q, c.r} {
		if m := f.meanOver(col, rest); m == m {
			bias[k] = float64(col.sign) * m
		}
	}
	return bias
}
