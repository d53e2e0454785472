package tui

import (
	"regexp"
	"strconv"
	"strings"

	"hopcard/flight"
)

// speedUnit is the unit that wind is shown in, and the factor from m/s to it.
type speedUnit struct {
	name  string
	scale float64
}

func metresPerSecond() speedUnit { return speedUnit{string(flight.MPerS), 1} }

// knots is exact by definition of the knot.
func knots() speedUnit {
	toSI, _, _ := flight.Knot.Scale()
	return speedUnit{string(flight.Knot), 1 / toSI}
}

// of converts an estimate in m/s that may be absent.
func (s speedUnit) of(e *flight.Estimate) *flight.Estimate { return times(e, s.scale) }

// per converts an estimate per m/s that may be absent.
func (s speedUnit) per(e *flight.Estimate) *flight.Estimate { return times(e, 1/s.scale) }

// show makes the wind strips of a hop use the unit.
func (s speedUnit) show(o *opened) {
	for _, t := range o.tracks {
		if t.quantity.Dimension() == flight.Speed {
			t.unit, t.scale = s.name, s.scale
		}
	}
}

// inText puts a sentence of the verdict into the unit: every number that stands before
// m/s. A sentence with an m/s that is no such number stays as it is, which is right too,
// since it names its unit.
func (s speedUnit) inText(text string) string {
	if s == metresPerSecond() {
		return text
	}
	speed := regexp.MustCompile(`(\d+(?:\.\d+)?) m/s([^²2/\pL]|$)`)
	if len(speed.FindAllString(text, -1)) != strings.Count(text, "m/s") || strings.Contains(text, "per m/s") {
		return text
	}
	return speed.ReplaceAllStringFunc(text, func(found string) string {
		parts := speed.FindStringSubmatch(found)
		v, err := strconv.ParseFloat(parts[1], 64)
		if err != nil {
			return found
		}
		_, decimals, _ := strings.Cut(parts[1], ".")
		return strconv.FormatFloat(v*s.scale, 'f', len(decimals), 64) + " " + s.name + parts[2]
	})
}
