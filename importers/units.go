package importers

import (
	"strings"

	"hopcard/flight"
)

// parseUnits returns the units a text can mean, most likely first; nil if it is none.
// Some texts mean different units for different quantities ("ms", "us", "m").
func parseUnits(text string) []flight.Unit {
	t := strings.ToLower(strings.TrimSpace(text))
	t = strings.NewReplacer("°", "deg", "²", "2", "^", "", "µ", "u", "μ", "u", "·", "", "*", "",
		" per ", "/", "_per_", "/", " ", "", "⁻¹", "-1", "⁻²", "-2", "**", "").Replace(t)
	switch t {
	case "deg", "degs", "degree", "degrees":
		return []flight.Unit{flight.Deg}
	case "rad", "rads", "radian", "radians":
		return []flight.Unit{flight.Rad}
	case "deg/s", "deg/sec", "dps", "degs-1", "deg_s", "degree/s", "degrees/s", "degrees/sec", "degree/sec",
		"degrees/second", "deg/second", "degpers":
		return []flight.Unit{flight.DegPerS}
	case "rad/s", "rad/sec", "rads-1", "rad_s", "radian/s", "radians/s", "radians/sec", "radians/second", "radps",
		"rps", "radpers":
		return []flight.Unit{flight.RadPerS}
	case "m/s", "mps", "m/sec", "ms-1", "m_s", "metres/s", "meters/s", "metre/s", "metres/second":
		return []flight.Unit{flight.MPerS}
	case "kt", "kts", "kn", "knot", "knots":
		return []flight.Unit{flight.Knot}
	case "km/h", "kmh", "kph", "km_h", "kmh-1":
		return []flight.Unit{flight.KmPerH}
	case "mph", "mile/h", "miles/h", "mi/h":
		return []flight.Unit{flight.MilePerH}
	case "m/s2", "mps2", "m/s/s", "ms-2", "m_s2", "m/sec2", "mss", "m/ss", "mpss", "ms2":
		return []flight.Unit{flight.MPerS2}
	case "g", "gee", "gs", "gn", "g0":
		return []flight.Unit{flight.G}
	case "%", "pct", "percent", "percents", "perc", "prc":
		return []flight.Unit{flight.Percent}
	case "unit", "norm", "normalised", "normalized", "-1..1", "-1...1", "-1to1", "+-1", "±1", "frac", "fraction", "0..1", "-1/1", "-1..+1":
		return []flight.Unit{flight.UnitTravel}
	case "us", "usec", "usecs", "microsecond", "microseconds", "micros":
		return []flight.Unit{flight.MicroS, flight.PulseUs}
	case "pwm", "pulse", "pulse_us", "pulseus", "pwmus", "pwm_us":
		return []flight.Unit{flight.PulseUs}
	case "counts", "count", "cnt", "cts", "adc", "raw", "lsb", "adccounts", "digits", "ticks":
		return []flight.Unit{flight.Counts}
	case "rpm", "1/min", "rev/min", "r/min", "min-1", "u/min":
		return []flight.Unit{flight.RPM}
	case "m", "metre", "metres", "meter", "meters":
		return []flight.Unit{flight.Metre}
	case "ft", "feet", "foot":
		return []flight.Unit{flight.Foot}
	case "s", "sec", "secs", "second", "seconds":
		return []flight.Unit{flight.Second}
	case "ms", "msec", "msecs", "millisecond", "milliseconds", "millis":
		return []flight.Unit{flight.MilliS, flight.MPerS}
	case "ns", "nsec", "nanosecond", "nanoseconds", "nanos":
		return []flight.Unit{flight.NanoS}
	case "iso", "iso8601", "utc":
		return []flight.Unit{flight.ISO8601}
	case "hh:mm:ss", "hms", "h:m:s", "hh:mm:ss.sss", "hh:mm:ss.fff":
		return []flight.Unit{flight.ClockTime}
	}
	return nil
}

// unitFits reports whether u can be a unit of q.
func unitFits(u flight.Unit, q flight.Quantity) bool {
	if _, dim, ok := u.Scale(); ok {
		if dim == q.Dimension() {
			return true
		}
	}
	switch u {
	case flight.PulseUs, flight.Counts:
		return q.Dimension() == flight.StickTravel
	case flight.Percent:
		return q.Dimension() == flight.StickTravel
	case flight.ISO8601, flight.ClockTime:
		return q == flight.Time
	case flight.RadPerS, flight.DegPerS:
		return q.Dimension() == flight.RotationSpeed && u == flight.RadPerS
	case flight.UnitTravel:
		return q.Dimension() == flight.Pure
	}
	return false
}

// fittingUnit returns the first of the units that a text can mean which fits q.
func fittingUnit(text string, q flight.Quantity) (flight.Unit, bool) {
	for _, u := range parseUnits(text) {
		if unitFits(u, q) {
			return u, true
		}
	}
	return flight.NoUnit, false
}
