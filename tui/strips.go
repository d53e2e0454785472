package tui

import (
	"slices"

	"hopcard/flight"
)

// stripSet says which strips are on show.
type stripSet int

const (
	rollSet stripSet = iota
	pitchSet
	bothSet
	otherSet
	ownSet // what the user chose by name
	stripSets
)

// quantities lists what a set would show; what was not logged is left out.
func (v *hopView) quantities(s stripSet) []flight.Quantity {
	switch s {
	case ownSet:
		return v.chosen
	case rollSet:
		return []flight.Quantity{flight.LatStick, flight.Roll, flight.RollRate, flight.WindSpeed}
	case pitchSet:
		return []flight.Quantity{flight.LonStick, flight.Pitch, flight.PitchRate, flight.WindSpeed}
	case bothSet:
		return []flight.Quantity{flight.LatStick, flight.Roll, flight.RollRate,
			flight.LonStick, flight.Pitch, flight.PitchRate, flight.WindSpeed}
	}
	return []flight.Quantity{flight.RotorSpeed, flight.Collective, flight.Height, flight.Pedal, flight.Heading,
		flight.YawRate, flight.WindDirectionFrom, flight.WindNorth, flight.WindEast,
		flight.AccelX, flight.AccelY, flight.AccelZ, flight.Knock}
}

// strips lists what the set shows of this hop.
func (v *hopView) strips(s stripSet) []*track {
	var ts []*track
	if v.desk.current == nil {
		return nil
	}
	for _, q := range v.quantities(s) {
		if t := v.desk.current.tracks[q]; t != nil {
			ts = append(ts, t)
		}
	}
	return ts
}

// choose puts a channel on show in the user's own set, or takes it off.
func (v *hopView) choose(q flight.Quantity) {
	if i := slices.Index(v.chosen, q); i >= 0 {
		v.chosen = slices.Delete(v.chosen, i, i+1)
	} else {
		v.chosen = append(v.chosen, q)
	}
	v.base, v.set = nil, ownSet
	if len(v.strips(ownSet)) == 0 {
		v.set = v.firstSet()
	}
}

// firstSet is both axes where they fit at three rows each, else one.
func (v *hopView) firstSet() stripSet {
	n := len(v.strips(bothSet))
	switch {
	case n > 0 && (v.h-plainRows-2)/n >= 3: // two rows of damping
		return bothSet
	case len(v.strips(rollSet)) > 0:
		return rollSet
	case len(v.strips(pitchSet)) > 0:
		return pitchSet
	}
	return otherSet
}

// nextSet is the next set that has something to show.
func (v *hopView) nextSet() stripSet {
	for k := stripSet(1); k <= stripSets; k++ {
		if s := (v.set + k) % stripSets; len(v.strips(s)) > 0 {
			return s
		}
	}
	return v.set
}

// axisOf is the axis a quantity belongs to, empty for none.
func axisOf(q flight.Quantity) flight.Axis {
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		if q == a.Attitude() || q == a.Rate() || q == a.Stick() {
			return a
		}
	}
	return ""
}

// leastScale is the least height of a scale in SI, so that the noise of a quiet record
// is not blown up to look like motion.
func leastScale(q flight.Quantity) float64 {
	switch q.Dimension() {
	case flight.Angle:
		return 4 / degPerRad
	case flight.AngularRate:
		return 10 / degPerRad
	case flight.StickTravel:
		return 0.1
	case flight.Speed, flight.Length, flight.Acceleration:
		return 1
	case flight.RotationSpeed:
		return 1
	}
	return 1e-3
}

// scaleOf is the scale of a strip, in SI, with round ends in shown units. It is that of
// the flight wherever the view is, so that full stick in a control check on the ground
// does not make the flight look small; what lies beyond it is marked at the edge.
func (v *hopView) scaleOf(t *track) bounds {
	of := v.flown
	if v.fitted || v.window.ToS < v.flown.FromS || v.window.FromS > v.flown.ToS {
		of = v.window
	}
	b := t.visible(of)
	if b.empty() {
		b = t.all
	}
	if !b.empty() {
		b = bounds{b.lo * t.scale, b.hi * t.scale}
	}
	b = roundBounds(b, leastScale(t.quantity)*t.scale)
	b = bounds{b.lo / t.scale, b.hi / t.scale}
	if t.quantity.Dimension() == flight.StickTravel {
		b = withinTravel(b)
	}
	return b
}

// withinTravel ends the scale of a stick at its stops: there is no travel beyond them, and
// a calibration that says so must not make the rest look small.
func withinTravel(b bounds) bounds {
	if b.hi > -1 && b.lo < 1 {
		b = bounds{max(b.lo, -1), min(b.hi, 1)}
	}
	return b
}
