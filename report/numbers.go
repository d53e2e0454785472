package report

import (
	"fmt"
	"math"
	"strconv"

	"hopcard/flight"
)

const degPerRad = 180 / math.Pi

// notMeasured is what stands in the place of a number that there is none of.
const notMeasured = "not measured"

// withInterval words an estimate, multiplied by k: "118.2 ms (112.1 to 124.3)". The
// interval has two significant digits of its half width and the value as many decimals.
// A nil estimate and a value that is no number are not measured.
func withInterval(e *flight.Estimate, k float64, unit string) string {
	return worded(e, k, unit, maxDecimals)
}

// worded is withInterval with at most finest decimals.
func worded(e *flight.Estimate, k float64, unit string, finest int) string {
	if e == nil || !finite(e.Value*k) {
		return notMeasured
	}
	s := e.Times(k)
	if unit != "" {
		unit = " " + unit
	}
	lowOpen, highOpen := math.IsInf(s.Low, 0), math.IsInf(s.High, 0)
	switch {
	case !s.HasInterval() || lowOpen && highOpen:
		return significant(s.Value, 3) + unit + ", no interval"
	case lowOpen:
		d := min(finest, decimals(s.High-s.Value))
		return fmt.Sprintf("%s%s (below %s)", fixed(s.Value, d), unit, fixed(s.High, d))
	case highOpen:
		d := min(finest, decimals(s.Value-s.Low))
		return fmt.Sprintf("%s%s (above %s)", fixed(s.Value, d), unit, fixed(s.Low, d))
	}
	d := min(finest, decimals((s.High-s.Low)/2))
	return fmt.Sprintf("%s%s (%s to %s)", fixed(s.Value, d), unit, fixed(s.Low, d), fixed(s.High, d))
}

// maxDecimals: more would be digits nobody can have measured.
const maxDecimals = 9

// decimals is how many decimals show two significant digits of a half width; negative
// numbers mean tens and hundreds.
func decimals(halfWidth float64) int {
	halfWidth = math.Abs(halfWidth)
	if halfWidth == 0 || !finite(halfWidth) {
		return 3
	}
	// Rounded first, so that 0.0999 counts as 0.10 and not as 0.0999.
	mantissa := strconv.FormatFloat(halfWidth, 'e', 1, 64)
	exponent, err := strconv.Atoi(mantissa[len("1.2e"):])
	if err != nil {
		return 3
	}
	return min(maxDecimals, 1-exponent)
}

// fixed words x with d decimals; a negative d rounds to tens, hundreds and so on. What
// is no number is worded as a question mark.
func fixed(x float64, d int) string {
	switch {
	case !finite(x):
		return "?"
	case math.Abs(x) >= 1e15:
		return strconv.FormatFloat(x, 'g', 3, 64)
	}
	if d < 0 {
		p := math.Pow(10, float64(-d))
		x, d = math.Round(x/p)*p, 0
	}
	s := strconv.FormatFloat(x, 'f', d, 64)
	if v, err := strconv.ParseFloat(s, 64); err == nil && v == 0 && s[0] == '-' {
		return s[1:]
	}
	return s
}

// significant words x with n significant digits.
func significant(x float64, n int) string {
	if x == 0 || !finite(x) {
		return fixed(x, 0)
	}
	exponent := int(math.Floor(math.Log10(math.Abs(x))))
	return fixed(x, min(maxDecimals, n-1-exponent))
}

// seconds words a time on the hop clock.
func seconds(tS float64) string { return fixed(tS, 1) }

// spanText words an interval of hop time, "whole hop" for the zero span.
func spanText(s flight.Span) string {
	if s == (flight.Span{}) {
		return "whole hop"
	}
	return seconds(s.FromS) + " s to " + seconds(s.ToS) + " s"
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
