package tui

import (
	"fmt"
	"math"
	"strconv"

	"hopcard/analysis/debrief"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

const degPerRad = 180 / math.Pi

// unknown is what stands where a number cannot be given; the findings say why.
const unknown = "not known"

// unitText is a unit as screens write it.
func unitText(u flight.Unit) string {
	switch u {
	case flight.Percent:
		return "%"
	case flight.MPerS2:
		return "m/s²"
	}
	return string(u)
}

// number writes v with about three significant figures and no exponent.
func number(v float64) string {
	a := math.Abs(v)
	switch {
	case math.IsNaN(v):
		return "?"
	case math.IsInf(v, 1):
		return "no limit"
	case math.IsInf(v, -1):
		return "-no limit"
	case a >= 99.95 || a == 0:
		return strconv.FormatFloat(v, 'f', 0, 64)
	case a >= 9.995:
		return strconv.FormatFloat(v, 'f', 1, 64)
	case a < 0.0005:
		return strconv.FormatFloat(v, 'g', 1, 64)
	case a < 0.0995:
		return strconv.FormatFloat(v, 'f', 3, 64)
	}
	return strconv.FormatFloat(v, 'f', 2, 64)
}

// value writes an estimate without its interval.
func value(e *flight.Estimate, unit string) string {
	if e == nil || math.IsNaN(e.Value) {
		return unknown
	}
	return withUnit(number(e.Value), unit)
}

// interval writes the 95 % interval of an estimate.
func interval(e *flight.Estimate) string {
	switch {
	case e == nil || math.IsNaN(e.Value):
		return ""
	case !e.HasInterval():
		return "no interval"
	}
	return number(e.Low) + " to " + number(e.High)
}

// estimate writes an estimate with its interval in one piece.
func estimate(e *flight.Estimate, unit string) string {
	if s := interval(e); s != "" {
		return value(e, unit) + " (" + s + ")"
	}
	return value(e, unit)
}

func withUnit(s, unit string) string {
	if unit == "" {
		return s
	}
	return s + " " + unit
}

// times converts an estimate that may be absent.
func times(e *flight.Estimate, k float64) *flight.Estimate {
	if e == nil {
		return nil
	}
	scaled := e.Times(k)
	return &scaled
}

// seconds writes a time of the hop clock.
func seconds(tS float64) string { return strconv.FormatFloat(tS, 'f', 1, 64) }

// spanText writes an interval of hop time.
func spanText(s flight.Span) string {
	if s == (flight.Span{}) {
		return "whole hop"
	}
	return fmt.Sprintf("%s to %s s", seconds(s.FromS), seconds(s.ToS))
}

// proceedWord is a verdict as screens write it, and its pen.
func proceedWord(p debrief.Proceed) (string, pen) {
	switch p {
	case debrief.Yes:
		return "go on", good
	case debrief.Caution:
		return "CAUTION", warn
	case debrief.No:
		return "STOP", danger
	}
	return "no verdict", faint
}

// severityWord is a severity as screens write it, and its pen.
func severityWord(s flight.Severity) (string, pen) {
	switch s {
	case flight.Caution:
		return "CAUTION", warn
	case flight.Stop:
		return "STOP", danger
	}
	return "note", faint
}

// flagLetter is the letter that stands for a kind of unstable segment.
func flagLetter(k stability.Kind) rune {
	switch k {
	case stability.Airframe:
		return 'A'
	case stability.PilotCoupled:
		return 'P'
	case stability.Limit:
		return 'L'
	case stability.ControlStop:
		return 'C'
	case stability.Unattributed:
		return 'U'
	}
	return '?'
}

// shortName is a quantity as the gutter of a strip writes it.
func shortName(q flight.Quantity) string {
	switch q {
	case flight.LatStick:
		return "lat stick"
	case flight.LonStick:
		return "lon stick"
	case flight.Roll:
		return "roll"
	case flight.Pitch:
		return "pitch"
	case flight.WindSpeed:
		return "wind"
	case flight.WindDirectionFrom:
		return "wind from"
	case flight.AccelX, flight.AccelY, flight.AccelZ:
		return "accel " + string(q[len(q)-1:])
	case flight.Knock:
		return "knocks"
	}
	return string(q)
}

func hopsText(n int) string {
	if n == 1 {
		return "1 hop"
	}
	return strconv.Itoa(n) + " hops"
}
