package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// increments are the changes of attitude over short windows beside the integral of the
// rate over the same windows.
type increments struct {
	angle, turned, lengthS []float64
	// noise is the share of the sum of squares of turned that white noise of the rate
	// sensor makes; it pulls the slope towards zero (regression dilution).
	noise float64
}

// incrementWindowS is long enough for attitude noise to fade beside the change and
// short enough for many windows in a hop.
const incrementWindowS = 0.25

// collect pairs the changes of attitude with the integral of rate(i), skipping windows
// with gaps or missing values.
func collect(stamps []float64, angle, rate func(i int) float64, wrap bool) increments {
	var inc increments
	step := medianStep(stamps)
	for i := 0; i < len(stamps)-1; {
		j, turned := i, 0.0
		whole := true
		for j+1 < len(stamps) && stamps[j]-stamps[i] < incrementWindowS {
			d := stamps[j+1] - stamps[j]
			whole = whole && d < 3*step
			turned += d * (rate(j) + rate(j+1)) / 2
			j++
		}
		change := angle(j) - angle(i)
		if wrap {
			change = math.Remainder(change, 2*math.Pi)
		}
		if whole && !math.IsNaN(change+turned) && j > i+1 {
			inc.angle = append(inc.angle, change)
			inc.turned = append(inc.turned, turned)
			inc.lengthS = append(inc.lengthS, stamps[j]-stamps[i])
		}
		i = max(j, i+1)
	}
	inc.noise = float64(len(inc.turned)) * noiseVariance(rate, len(stamps)) * step * incrementWindowS
	return inc
}

// noiseVariance estimates the variance of white noise on a signal from the median
// magnitude of its second differences, which the motion itself hardly reaches.
func noiseVariance(v func(i int) float64, n int) float64 {
	var d []float64
	for i := 1; i+1 < n; i += max(1, n/20000) {
		d = append(d, math.Abs(v(i-1)-2*v(i)+v(i+1)))
	}
	m := medianOf(d)
	if m != m {
		return 0
	}
	sd := m / 0.6745 / math.Sqrt(6) // of a normal distribution
	return sd * sd
}

// slope fits angle = k turned + bias length by least squares and gives k a 95 %
// interval from a jackknife over 20 blocks, which allows for what neighbouring windows
// have in common (Efron and Tibshirani 1993, chapter 11, from memory).
func (inc increments) slope() (flight.Estimate, bool) {
	const blocks = 20
	n := len(inc.angle)
	if n < 4*blocks {
		return flight.Estimate{}, false
	}
	var all sums
	part := make([]sums, blocks)
	for b := range part {
		part[b].xx = -inc.noise / blocks
	}
	for i := range inc.angle {
		part[i*blocks/n].add(inc.turned[i], inc.lengthS[i], inc.angle[i])
	}
	for _, p := range part {
		all = all.plus(p, 1)
	}
	k, ok := all.solve()
	if !ok {
		return flight.Estimate{}, false
	}
	mean, leave := 0.0, make([]float64, blocks)
	for b := range part {
		if leave[b], ok = all.plus(part[b], -1).solve(); !ok {
			return flight.Estimate{}, false
		}
		mean += leave[b] / blocks
	}
	ss := 0.0
	for _, l := range leave {
		ss += (l - mean) * (l - mean)
	}
	const t19 = 2.093 // 97.5 % of Student's t with 19 degrees of freedom
	half := t19 * math.Sqrt(ss*(blocks-1)/blocks)
	return flight.Estimate{Value: k, Low: k - half, High: k + half}, true
}

// sums are those of the normal equations of two regressors.
type sums struct{ xx, xw, ww, xy, wy float64 }

func (s *sums) add(x, w, y float64) {
	s.xx += x * x
	s.xw += x * w
	s.ww += w * w
	s.xy += x * y
	s.wy += w * y
}

func (s sums) plus(o sums, sign float64) sums {
	return sums{s.xx + sign*o.xx, s.xw + sign*o.xw, s.ww + sign*o.ww, s.xy + sign*o.xy, s.wy + sign*o.wy}
}

func (s sums) solve() (float64, bool) {
	det := s.xx*s.ww - s.xw*s.xw
	if !(s.xx > 0 && det > 1e-12*s.xx*s.ww) {
		return 0, false
	}
	return (s.xy*s.ww - s.wy*s.xw) / det, true
}

// eulerRate returns the rate of change of the attitude of an axis that the body rates
// make (Etkin 1972, "Dynamics of Atmospheric Flight", eq. 5.2,10, from memory); terms
// of channels that are not logged are left out.
func (f *logFile) eulerRate(axis flight.Axis) func(i int) float64 {
	get := func(q flight.Quantity) func(int) float64 {
		if c := f.find(q); c != nil {
			return c.signed
		}
		return func(int) float64 { return 0 }
	}
	phi, theta := get(flight.Roll), get(flight.Pitch)
	p, q, r := get(flight.RollRate), get(flight.PitchRate), get(flight.YawRate)
	switch axis {
	case flight.RollAxis:
		return func(i int) float64 {
			s, c := math.Sincos(phi(i))
			return p(i) + math.Tan(theta(i))*(q(i)*s+r(i)*c)
		}
	case flight.PitchAxis:
		return func(i int) float64 {
			s, c := math.Sincos(phi(i))
			return q(i)*c - r(i)*s
		}
	}
	return func(i int) float64 {
		s, c := math.Sincos(phi(i))
		return (q(i)*s + r(i)*c) / math.Cos(theta(i))
	}
}

// rateFactors compares the change of attitude with the integrated rates, axis by axis.
func (f *logFile) rateFactors() {
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		angle, rate := f.find(axis.Attitude()), f.find(axis.Rate())
		if angle == nil || rate == nil || angle.derived && rate.derived {
			continue
		}
		inc := collect(f.stamps, angle.signed, f.eulerRate(axis), axis == flight.YawAxis)
		k, ok := inc.slope()
		inc.noise = 0
		plain, ok2 := inc.slope()
		if !ok || !ok2 || k.High-k.Low > 0.3 || math.Abs(plain.Value/k.Value-1) > 0.1 {
			continue // too little motion to tell
		}
		low, high := math.Min(k.Low, plain.Low), math.Max(k.High, plain.High)
		if math.Abs(k.Value-1) < 0.04 || (low <= 1 && high >= 1) {
			continue
		}
		f.add(flight.CodeRateFactor, flight.Caution, rate.header, flight.Span{},
			fmt.Sprintf("the derivative of %s is %.3f (%.3f to %.3f) of %s, and should be 1: the time base or the scale of the rates is wrong",
				axis.Attitude(), k.Value, k.Low, k.High, rate.header),
			"check sample time and sensor range; delays and frequencies are wrong by this factor if it is the time base, rates if it is their scale")
	}
}
