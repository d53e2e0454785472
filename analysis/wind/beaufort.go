package wind

import (
	"math"

	"hopcard/flight"
)

// beaufortFrom returns the least wind speed of each Beaufort number in tenths of m/s
// (WMO code table 1100).
func beaufortFrom() [13]int {
	return [13]int{0, 3, 16, 34, 55, 80, 108, 139, 172, 208, 245, 285, 327}
}

// beaufortFromKnots returns the same in whole knots (AIM, table 10-2-3).
func beaufortFromKnots() [13]int {
	return [13]int{0, 1, 4, 7, 11, 17, 22, 28, 34, 41, 48, 56, 64}
}

// Beaufort returns the Beaufort number, 0 to 12, of a mean wind speed in m/s, rounded to
// the tenth in which the table is written. It returns -1 for a speed that is negative or
// not a number.
func Beaufort(speedMS float64) int { return beaufort(10*speedMS, beaufortFrom()) }

// BeaufortKnots is Beaufort by the table in knots, for a speed in knots, rounded to the
// whole knot. Near a limit the two tables can differ by one.
func BeaufortKnots(speedKt float64) int { return beaufort(speedKt, beaufortFromKnots()) }

func beaufort(x float64, from [13]int) int {
	if math.IsNaN(x) || x < 0 {
		return -1
	}
	x = math.Floor(x + 0.5 + 1e-9) // 5.45 m/s is not exact in binary
	for b := len(from) - 1; b > 0; b-- {
		if x >= float64(from[b]) {
			return b
		}
	}
	return 0
}

// BeaufortSpeedMS returns the mean speed in m/s that goes with a Beaufort number by the
// formula of 1946, 0.836 B^1.5.
func BeaufortSpeedMS(b float64) float64 { return 0.836 * math.Pow(b, 1.5) }

// GustReportedUS reports whether United States weather reports would mention gusts: 10 kt
// or more between peaks and lulls (AFMAN 15-111, 2019, 7.4.1; FMH-1, chapter 5).
func GustReportedUS(peakMS, lullMS float64) bool {
	return atLeast(peakMS-lullMS, 10*knot())
}

// GustReportedICAO reports the same by ICAO Annex 3: the peak 5 m/s or more above the
// mean.
func GustReportedICAO(peakMS, meanMS float64) bool { return atLeast(peakMS-meanMS, 5) }

// CalmReportedICAO reports whether a mean wind is reported as calm by ICAO Annex 3.
func CalmReportedICAO(meanMS float64) bool { return meanMS < 0.5 }

// DirectionRule says how weather reports word the direction.
type DirectionRule string

// The ways to word the direction.
const (
	DirectionMean     DirectionRule = "mean"     // one direction
	DirectionExtremes DirectionRule = "varying"  // the mean and two extremes
	DirectionVariable DirectionRule = "variable" // no direction (VRB)
	DirectionUnknown  DirectionRule = ""
)

// DirectionRuleUS applies the rule of United States weather reports to a mean speed and
// the arc that the direction swept, in radians: at 60 degrees or more, two extremes above
// 6 kt, variable at 6 kt or less (AIM, 7-1-28; FMH-1, chapter 5).
func DirectionRuleUS(meanMS, arcRad float64) DirectionRule {
	switch {
	case math.IsNaN(arcRad):
		return DirectionUnknown
	case !atLeast(arcRad, math.Pi/3):
		return DirectionMean
	case meanMS > 6*knot()*(1+1e-12):
		return DirectionExtremes
	}
	return DirectionVariable
}

// DirectionRuleICAO applies the rule of ICAO Annex 3, appendix 3: below 60 degrees the
// mean; from 60 to 180 degrees variable if the mean is below 1.5 m/s, else two extremes;
// from 180 degrees variable.
func DirectionRuleICAO(meanMS, arcRad float64) DirectionRule {
	switch {
	case math.IsNaN(arcRad):
		return DirectionUnknown
	case !atLeast(arcRad, math.Pi/3):
		return DirectionMean
	case meanMS < 1.5 || atLeast(arcRad, math.Pi):
		return DirectionVariable
	}
	return DirectionExtremes
}

func knot() float64 {
	k, _, _ := flight.Knot.Scale()
	return k
}

// atLeast forgives the last bits of a sum of decimal numbers.
func atLeast(x, limit float64) bool { return x >= limit*(1-1e-12) }
