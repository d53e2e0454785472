package tui

import (
	"fmt"

	"hopcard/analysis/stability"
	"hopcard/flight"
)

// Damping over time is drawn as one row of characters for each axis, since what counts is
// its sign and whether the interval leaves any doubt: both are told without colour.
const (
	dampGrows  = '-' // the whole interval is below zero
	dampDecays = '+' // the whole interval is above zero
	dampOpen   = '~' // the interval holds zero, or there is none
)

// dampingMark is the character of a damping ratio, and its pen.
func dampingMark(e flight.Estimate) (rune, pen) {
	switch {
	case e.HasInterval() && e.High < 0:
		return dampGrows, danger
	case e.HasInterval() && e.Low > 0:
		return dampDecays, good
	}
	return dampOpen, faint
}

// dampingAxes lists the axes whose damping belongs under a set of strips.
func (v *hopView) dampingAxes() []flight.Axis {
	var axes []flight.Axis
	if len(v.damped.roll) > 0 && (v.set == bothSet || v.set == rollSet) {
		axes = append(axes, flight.RollAxis)
	}
	if len(v.damped.pitch) > 0 && (v.set == bothSet || v.set == pitchSet) {
		axes = append(axes, flight.PitchAxis)
	}
	return axes
}

// damped is the damping of the hop on show by axis, sorted out once for each hop.
type damped struct{ roll, pitch []stability.DampingPoint }

func newDamped(all []stability.DampingPoint) damped {
	return damped{dampingOf(all, flight.RollAxis), dampingOf(all, flight.PitchAxis)}
}

func (d *damped) of(a flight.Axis) []stability.DampingPoint {
	if a == flight.PitchAxis {
		return d.pitch
	}
	return d.roll
}

func dampingOf(all []stability.DampingPoint, a flight.Axis) []stability.DampingPoint {
	var ps []stability.DampingPoint
	for _, p := range all {
		if p.Axis == a {
			ps = append(ps, p)
		}
	}
	return ps
}

// dampingHalfS is how far either way a value holds: values come once a second.
const dampingHalfS = 0.5

// drawDamping draws the row of one axis. Where a column holds several values the worst is
// drawn.
func (v *hopView) drawDamping(p *paper, y int, a flight.Axis) {
	p.text(1, y, "damping "+string(a), faint)
	p.set(gutterWidth-1, y, '┤', faint)
	worst := map[int]float64{}
	for _, dp := range v.damped.of(a) {
		x0, x1, ok := v.columns(flight.Span{FromS: dp.TimeS - dampingHalfS, ToS: dp.TimeS + dampingHalfS})
		if !ok {
			continue
		}
		r, pn := dampingMark(dp.Ratio)
		for x := x0; x <= x1; x++ {
			// The upper end decides: the lower it is, the surer the swings grow.
			level := dp.Ratio.High
			if !dp.Ratio.HasInterval() {
				level = dp.Ratio.Value
			}
			if was, drawn := worst[x]; !drawn || level < was {
				worst[x] = level
				p.set(x, y, r, pn)
			}
		}
	}
}

// dampingAt is the damping of an axis at the cursor, nil if none is known there.
func (v *hopView) dampingAt(a flight.Axis) *stability.DampingPoint {
	ps := v.damped.of(a)
	for i := range ps {
		if dp := &ps[i]; v.cursor >= dp.TimeS-dampingHalfS && v.cursor < dp.TimeS+dampingHalfS {
			return dp
		}
	}
	return nil
}

// dampingReading is that in words, empty if there is none.
func (v *hopView) dampingReading(a flight.Axis) string {
	dp := v.dampingAt(a)
	if dp == nil {
		return ""
	}
	s := fmt.Sprintf("damping %s %+.2f", a, dp.Ratio.Value)
	if dp.Ratio.HasInterval() {
		s += fmt.Sprintf(" (%+.2f to %+.2f)", dp.Ratio.Low, dp.Ratio.High)
	}
	return s + fmt.Sprintf(" at %s rad/s", number(dp.FrequencyRadS))
}

// dampingChart draws the damping of one axis over the flight.
func dampingChart(ps []stability.DampingPoint, a flight.Axis, over flight.Span, w, h int) *paper {
	xs := make([]float64, 0, len(ps))
	es := make([]flight.Estimate, 0, len(ps))
	for _, dp := range ps {
		xs, es = append(xs, dp.TimeS), append(es, dp.Ratio)
	}
	values, lows, highs := parts(es, 1)
	b := boundsOf(values, lows, highs, []float64{0})
	// Beyond critical damping, either way, a swing is none.
	b = bounds{max(b.lo, -0.5), min(b.hi, 1)}
	c := newChart(w, h, string(a)+": apparent damping ratio, below 0 the swings grow", axis{name: "hop time, s", b: bounds{over.FromS, over.ToS}}, axis{b: b}.round(0.2))
	c.bars(xs, es, faint)
	for i, dp := range ps {
		_, pn := dampingMark(dp.Ratio)
		c.points(xs[i:i+1], values[i:i+1], '•', pn)
	}
	return c.p
}
