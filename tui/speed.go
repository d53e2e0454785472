package tui

import "hopcard/flight"

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
