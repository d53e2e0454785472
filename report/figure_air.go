package report

import (
	"math"

	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Measures of small figures: height of the field, room above it for a legend.
const (
	smallHighPt   = 60.0
	smallLegendPt = 9.0
)

// fieldOf is a field with numbers left of it and nothing else.
func fieldOf(f *drawing, highPt float64) panel {
	return panel{f: f, x: numbersPt, y: smallLegendPt, w: f.widthPt - numbersPt - 4, h: highPt}
}

// activityFigure sets how lively the aircraft was against how lively the air was, a mark
// for each 20 s and axis. It is nil with fewer than four.
func activityFigure(d *debrief.Debrief, r room) *drawing {
	const fewest = 4
	var roll, pitch []point
	highX, highY := 0.0, 0.0
	add := func(list *[]point, m wind.Minute, rms float64) {
		if finite(m.SDMS) && finite(rms) {
			*list = append(*list, point{m.SDMS, rms * degPerRad})
			highX, highY = max(highX, m.SDMS), max(highY, rms*degPerRad)
		}
	}
	for _, m := range d.Wind.Minutes {
		add(&roll, m, m.RollRMS)
		add(&pitch, m, m.PitchRMS)
	}
	if len(roll)+len(pitch) < fewest {
		return nil
	}
	f := &drawing{title: "Attitude against gusts", widthPt: r.widthPt, highPt: smallLegendPt + smallHighPt*r.tall + 10,
		caption: "A mark for 20 s: rms in deg over the wind's standard deviation. Dots roll, squares pitch."}
	p := fieldOf(f, smallHighPt*r.tall)
	p.xs, p.ys = scale{hi: roundScale(0, highX, 0.5).hi}, scale{hi: roundScale(0, highY, 1).hi}
	p.frame(4)
	for _, q := range pitch {
		f.square(p.atX(q.x), p.atY(q.y), 1.6)
	}
	for _, q := range roll {
		f.dot(p.atX(q.x), p.atY(q.y), 1.5)
	}
	p.numbers("m/s")
	p.name("deg")
	return f
}

// name writes what a field shows above its upper left corner.
func (p panel) name(text string) { p.f.label(0, p.y-2, textPt, startAnchor, text) }

// turbulenceOf is the fitted turbulence that a card shows, and the seconds it holds for: that
// of the whole flight, of the longest phase that has one if the air changed.
func turbulenceOf(d *debrief.Debrief) (*wind.Turbulence, flight.Span) {
	if w := d.Wind.Whole; w != nil && w.Turbulence != nil {
		return w.Turbulence, w.Span
	}
	var found *wind.Turbulence
	var span flight.Span
	for _, ph := range d.Wind.Phases {
		if ph.Turbulence != nil && (found == nil || ph.Span.LengthS() > span.LengthS()) {
			found, span = ph.Turbulence, ph.Span
		}
	}
	return found, span
}

// spectrumFigure draws the spectrum of the gusts along the wind with its intervals, and the
// Dryden form fitted to it. It is nil if there is none.
func spectrumFigure(d *debrief.Debrief, r room) *drawing {
	tb, span := turbulenceOf(d)
	if tb == nil {
		return nil
	}
	var points []wind.SpectrumPoint
	lowX, highX, lowY, highY := math.Inf(1), 0.0, math.Inf(1), 0.0
	for _, s := range tb.Spectrum {
		if !(s.FrequencyHz > 0) || !(s.Density.Value > 0) || !finite(s.Density.Value) {
			continue
		}
		points = append(points, s)
		lowX, highX = min(lowX, s.FrequencyHz), max(highX, s.FrequencyHz)
		lowY, highY = min(lowY, s.Density.Value), max(highY, s.Density.Value)
		if s.Fit > 0 && finite(s.Fit) {
			lowY, highY = min(lowY, s.Fit), max(highY, s.Fit)
		}
	}
	if len(points) < 3 || !(highX > lowX) {
		return nil
	}
	f := &drawing{title: "Spectrum of the gusts", widthPt: r.widthPt, highPt: smallLegendPt + smallHighPt*r.tall + 10,
		caption: "Along the wind, " + spanText(span) + ". Bars: 95 %. Line: Dryden form fitted" + drydenText(tb) + "."}
	p := fieldOf(f, smallHighPt*r.tall)
	p.xs, p.ys = scale{lo: lowX * 0.9, hi: highX * 1.1, log: true}, decades(lowY, highY)
	p.frame(4)
	var fit []point
	for _, s := range points {
		x := p.atX(s.FrequencyHz)
		if s.Density.HasInterval() && s.Density.Low > 0 && finite(s.Density.High) {
			f.line(errorPen(), point{x, p.atY(s.Density.Low)}, point{x, p.atY(s.Density.High)})
		}
		f.dot(x, p.atY(s.Density.Value), 1)
		if s.Fit > 0 && finite(s.Fit) {
			fit = append(fit, point{s.FrequencyHz, s.Fit})
		}
	}
	p.curve(pen{widthPt: 0.9}, [][]point{fit})
	p.numbers("Hz")
	p.name("(m/s)²/Hz")
	return f
}

// drydenText words the fitted form.
func drydenText(tb *wind.Turbulence) string {
	text := ""
	if tb.AlongSDMS != nil {
		text += ", intensity " + withInterval(tb.AlongSDMS, 1, "m/s")
	}
	if tb.AlongLengthM != nil {
		text += ", length " + withInterval(tb.AlongLengthM, 1, "m")
	}
	return text
}

// decades is a log scale of whole decades that holds lo to hi.
func decades(lo, hi float64) scale {
	s := scale{lo: math.Pow(10, math.Floor(math.Log10(lo))), hi: math.Pow(10, math.Ceil(math.Log10(hi))), log: true}
	if s.hi <= s.lo {
		s.hi = 10 * s.lo
	}
	return s
}

// bandwidthFigure sets phase delay against bandwidth, a cross of 95 % intervals for each
// axis that has both. It draws no boundaries of handling qualities: those of ADS-33E hold
// for other aircraft and tasks. It is nil if no axis has both.
func bandwidthFigure(d *debrief.Debrief, r room) *drawing {
	type cross struct {
		axis       flight.Axis
		band, late flight.Estimate
	}
	var crosses []cross
	highX, highY := 0.0, 0.0
	for _, a := range answeredAxes(d) {
		late := firstOf(onAxis(d, a), phaseDelayOf)
		band := firstOf(onAxis(d, a), bandwidthOf)
		if late == nil || band == nil || !finite(late.Value) || !finite(band.Value) {
			continue
		}
		c := cross{a, *band, late.Times(1e3)}
		crosses = append(crosses, c)
		highX, highY = max(highX, c.band.Value, finiteOr(c.band.High, 0)), max(highY, c.late.Value, finiteOr(c.late.High, 0))
	}
	if len(crosses) == 0 {
		return nil
	}
	const highPt = 104.0
	f := &drawing{title: "Phase delay over bandwidth", widthPt: r.widthPt, highPt: smallLegendPt + highPt*r.tall + 10,
		caption: "Of attitude, ADS-33E-PRF. Crosses: 95 %. Quick is right, prompt is low."}
	p := fieldOf(f, highPt*r.tall)
	p.xs, p.ys = scale{hi: roundScale(0, 1.15*highX, 1).hi}, scale{hi: roundScale(0, 1.15*highY, 50).hi}
	p.frame(5)
	for _, c := range crosses {
		x, y := p.atX(c.band.Value), p.atY(c.late.Value)
		if c.band.HasInterval() {
			f.line(pen{widthPt: 0.9}, point{p.within(c.band.Low), y}, point{p.within(c.band.High), y})
		}
		if c.late.HasInterval() {
			f.line(pen{widthPt: 0.9}, point{x, p.atY(c.late.Low)}, point{x, p.atY(c.late.High)})
		}
		if c.axis == flight.RollAxis {
			f.dot(x, y, 1.8)
		} else {
			f.square(x, y, 1.8)
		}
		p.note(x+2, y-6, string(c.axis))
	}
	p.numbers("rad/s")
	p.name("phase delay, ms")
	return f
}

// within is atX kept inside the field.
func (p panel) within(v float64) float64 { return min(p.x+p.w, max(p.x, p.atX(v))) }

// finiteOr is x, or otherwise if x is no number or has no end.
func finiteOr(x, otherwise float64) float64 {
	if !finite(x) {
		return otherwise
	}
	return x
}
