package importers

import (
	"math"

	"hopcard/flight"
)

// si returns the values of a column in SI with the sense of the file.
func (c *column) si(i int) float64 { return c.scale * (c.values[i] - c.zero) }

// signed returns the values of a column in SI with this project's sense.
func (c *column) signed(i int) float64 { return float64(c.sign) * c.scale * (c.values[i] - c.zero) }

// restSpans are the seconds in which the aircraft stood still.
type restSpans struct{ spans []flight.Span }

// atRest lists the seconds of a log in which the aircraft stood still: rates and
// accelerations keep within what sensor noise does. A rotor that turns shakes more.
func (f *logFile) atRest() []flight.Span {
	if f.rest == nil {
		f.rest = &restSpans{f.findRest()}
	}
	return f.rest.spans
}

func (f *logFile) findRest() []flight.Span {
	const (
		rateSD  = 0.012 // rad/s
		rateMax = 0.05  // rad/s, mean
		accelSD = 0.25  // m/s2
	)
	p, q, z := f.trusted(flight.RollRate), f.trusted(flight.PitchRate), f.find(flight.AccelZ)
	if p == nil && q == nil && z == nil {
		return nil
	}
	var rest []flight.Span
	for i := 0; i < len(f.stamps); {
		j := i
		for j < len(f.stamps) && f.stamps[j] < f.stamps[i]+1 {
			j++
		}
		still := j-i >= 8
		for _, c := range []*column{p, q} {
			if c != nil && still {
				m, sd := meanSD(c, i, j)
				still = sd < rateSD && math.Abs(m) < rateMax
			}
		}
		if z != nil && still {
			_, sd := meanSD(z, i, j)
			still = sd < accelSD
		}
		if still {
			rest = append(rest, flight.Span{FromS: f.stamps[i], ToS: f.stamps[j-1]})
		}
		i = max(j, i+1)
	}
	return rest
}

func meanSD(c *column, i, j int) (mean, sd float64) {
	first := c.values[i] // taken off before squaring, which would lose digits
	if first != first {
		first = 0
	}
	var sum, sum2 float64
	n := 0.0
	for _, v := range c.values[i:j] {
		if v == v {
			v -= first
			sum, sum2, n = sum+v, sum2+v*v, n+1
		}
	}
	if n == 0 {
		return nan, nan
	}
	mean = sum / n
	return c.scale * (mean + first - c.zero), math.Abs(c.scale) * math.Sqrt(math.Max(0, sum2/n-mean*mean))
}

// meanOver returns the mean of a column over spans of stamps, NaN without values.
func (f *logFile) meanOver(c *column, spans []flight.Span) float64 {
	if c == nil {
		return nan
	}
	sum, n := 0.0, 0.0
	k := 0
	for _, s := range spans {
		for k < len(f.stamps) && f.stamps[k] < s.FromS {
			k++
		}
		for ; k < len(f.stamps) && f.stamps[k] <= s.ToS; k++ {
			if v := c.si(k); v == v {
				sum, n = sum+v, n+1
			}
		}
	}
	if n == 0 {
		return nan
	}
	return sum / n
}
