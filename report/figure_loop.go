package report

import (
	"math"

	"hopcard/analysis/debrief"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// loopPt is the height of the loop's gain, and of its phase.
const loopPt = 46.0

// bandGrey fills 95 % bands: a curve, and a grid line through it, stand out on it.
const bandGrey = 0.86

// loopFigure draws gain and phase of the open loop of pilot and aircraft over frequency,
// each with its 95 % band: the gain's height over 0 dB ends at the crossover, where what
// the phase has left to -180 deg is the phase margin; where the phase goes through -180 deg,
// what the gain is below 0 dB is the gain margin. It is nil if the loop was not measured.
func loopFigure(d *debrief.Debrief, axis flight.Axis, r room) *drawing {
	m := loopOf(d, axis)
	if m == nil {
		return nil
	}
	var c loopCurve
	for _, l := range loopPoints(m) {
		c.add(l)
	}
	if len(c.omega) < 2 {
		return nil
	}
	const topPt = 9.0
	width, highPt := r.widthPt-smallLeftPt-4, loopPt*r.tall
	f := &drawing{title: "Pilot and aircraft in " + string(axis) + ", open loop", widthPt: r.widthPt}
	xs := scale{lo: c.omega[0] * 0.93, hi: c.omega[len(c.omega)-1] * 1.07, log: true}
	gain := panel{f: f, x: smallLeftPt, y: topPt, w: width, h: highPt, xs: xs, ys: c.scale(c.gain, c.gainSD, 0, 5)}
	phase := panel{f: f, x: smallLeftPt, y: topPt + highPt + stripGapPt, w: width, h: highPt, xs: xs, ys: c.scale(c.phase, c.phaseSD, -180, 45)}
	gain.band(c.omega, c.gain, c.gainSD)
	phase.band(c.omega, c.phase, c.phaseSD)
	gain.frame(4)
	phase.frame(4)
	level := pen{widthPt: 0.8}
	gain.across(level, 0)
	phase.across(level, -180)
	gain.line(tracePen(), c.omega, c.gain)
	phase.line(tracePen(), c.omega, c.phase)
	gain.stripName("gain", "dB")
	phase.stripName("phase", "deg")
	phase.numbers("rad/s")
	marginMarks(f, m, gain, phase, &c)
	f.highPt = phase.y + highPt + 12
	f.caption = "Grey: 95 %. Dashed: crossover. Thick bars: the margins."
	if m.Pilot != nil && m.Pilot.Biased {
		f.caption += " Biased pilot: a hint only."
	}
	return f
}

func loopOf(d *debrief.Debrief, axis flight.Axis) *stability.Margin {
	for i := range d.Stability.Margins {
		if m := &d.Stability.Margins[i]; m.Axis == axis && len(m.Loop) > 1 {
			return m
		}
	}
	return nil
}

// loopCurve is the open loop at the frequencies where it is a number.
type loopCurve struct{ omega, gain, phase, gainSD, phaseSD []float64 }

func (c *loopCurve) add(l stability.LoopPoint) {
	last := 0.0
	if n := len(c.omega); n > 0 {
		last = c.omega[n-1]
	}
	if !(l.FrequencyRadS > last) || !finite(l.FrequencyRadS) || !finite(l.GainDB) || !finite(l.PhaseDeg) || !finite(l.GainSDDB) || !finite(l.PhaseSDDeg) {
		return
	}
	c.omega, c.gain, c.phase = append(c.omega, l.FrequencyRadS), append(c.gain, l.GainDB), append(c.phase, l.PhaseDeg)
	c.gainSD, c.phaseSD = append(c.gainSD, math.Abs(l.GainSDDB)), append(c.phaseSD, math.Abs(l.PhaseSDDeg))
}

// scale holds the curve and the level that its margin counts from, in whole steps. Bands
// may leave it: one wide end would flatten the rest.
func (c *loopCurve) scale(value, sd []float64, level, step float64) scale {
	lo, hi := level, level
	for i, v := range value {
		more := min(z95*sd[i], 2*step)
		lo, hi = min(lo, v-more), max(hi, v+more)
	}
	s := scale{lo: step * math.Floor(lo/step), hi: step * math.Ceil(hi/step)}
	if s.hi <= s.lo {
		s.hi = s.lo + step
	}
	for s.step = step; (s.hi-s.lo)/s.step > 5; s.step *= 2 {
		s.lo = 2 * s.step * math.Floor(s.lo/(2*s.step))
		s.hi = 2 * s.step * math.Ceil(s.hi/(2*s.step))
	}
	return s
}

// band fills value plus and minus 95 %.
func (p panel) band(x, value, sd []float64) {
	var corners []point
	for i := range x {
		corners = append(corners, point{p.atX(x[i]), p.atY(value[i] + z95*sd[i])})
	}
	for i := len(x) - 1; i >= 0; i-- {
		corners = append(corners, point{p.atX(x[i]), p.atY(value[i] - z95*sd[i])})
	}
	p.f.area(bandGrey, corners...)
}

func (p panel) line(with pen, x, y []float64) {
	run := make([]point, len(x))
	for i := range x {
		run[i] = point{x[i], y[i]}
	}
	p.curve(with, [][]point{run})
}

// across draws a level over the whole width.
func (p panel) across(with pen, level float64) {
	if part := p.ys.part(level); part >= 0 && part <= 1 {
		p.f.line(with, point{p.x, p.atY(level)}, point{p.x + p.w, p.atY(level)})
	}
}

// marginMarks draws what is left of phase at the crossover and of gain where the phase goes
// through -180 deg. Their lengths are the margins of the card.
func marginMarks(f *drawing, m *stability.Margin, gain, phase panel, c *loopCurve) {
	thick := pen{widthPt: 2}
	within := func(w float64) bool { return w >= gain.xs.lo && w <= gain.xs.hi }
	if e := m.CrossoverRadS; e != nil && within(e.Value) {
		x := gain.atX(e.Value)
		f.line(dashedPen(), point{x, gain.y}, point{x, phase.y + phase.h})
		text := "crossover " + significant(e.Value, 2) + " rad/s"
		f.label(min(max(x, gain.x+roomPt(text, smallPt)/2), gain.x+gain.w-roomPt(text, smallPt)/2), gain.y-2.5, smallPt, middleAnchor, text)
		if pm := m.PhaseMarginDeg; pm != nil && finite(pm.Value) {
			f.line(thick, point{x, phase.atY(-180)}, point{x, phase.atY(pm.Value - 180)})
			phase.note(x, phase.atY(pm.Value/2-180), significant(pm.Value, 2)+"°")
		}
	}
	gm := m.GainMarginDB
	if gm == nil || !finite(gm.Value) {
		return
	}
	if w, ok := c.goesThrough(-180, -gm.Value); ok {
		x := gain.atX(w)
		f.line(thick, point{x, gain.atY(0)}, point{x, gain.atY(-gm.Value)})
		f.line(dottedPen(), point{x, gain.atY(-gm.Value)}, point{x, phase.atY(-180)})
		gain.note(x, gain.atY(-gm.Value/2), significant(gm.Value, 2)+" dB")
	}
}

// goesThrough is where the phase falls through a level; of several places that at which
// the gain is nearest gainDB.
func (c *loopCurve) goesThrough(level, gainDB float64) (omega float64, ok bool) {
	best := math.Inf(1)
	for i := 1; i < len(c.omega); i++ {
		a, b := c.phase[i-1], c.phase[i]
		if !(a >= level && b < level) {
			continue
		}
		part := (a - level) / (a - b)
		gain := c.gain[i-1] + part*(c.gain[i]-c.gain[i-1])
		if off := math.Abs(gain - gainDB); off < best {
			best, ok = off, true
			omega = c.omega[i-1] * math.Pow(c.omega[i]/c.omega[i-1], part)
		}
	}
	return omega, ok
}

// note writes a number beside a mark, on white so that it is legible over curve and grid.
func (p panel) note(x, y float64, text string) {
	room, a, left := 0.95*roomPt(text, smallPt), startAnchor, x+3
	if left+room > p.x+p.w {
		a, left = endAnchor, x-3
	}
	y = min(p.y+p.h-1, max(p.y+smallPt, y+smallPt*0.36))
	box := left - 0.5
	if a == endAnchor {
		box = left - room + 0.5
	}
	p.f.box(1, box, y-smallPt*0.8, room, smallPt)
	p.f.boldLabel(left, y, smallPt, a, text)
}
