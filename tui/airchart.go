package tui

import (
	"fmt"
	"math"
	"strconv"

	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Heights of the charts, title and numbers included.
const (
	windChartHeight = 11
	airChartHeight  = 14
)

// windChart draws the wind over the hop, as bounds of every column, and the classes of
// its phases below, if they are known on the hop clock.
func windChart(o *opened, w int, speed speedUnit) []line {
	t := o.tracks[flight.WindSpeed]
	if t == nil || t.all.empty() {
		return nil
	}
	over := flight.Span{FromS: t.timeS[0], ToS: t.timeS[len(t.timeS)-1]}
	if !(over.LengthS() > 0) {
		return nil
	}
	y := axis{b: bounds{max(t.all.lo, 0) * speed.scale, t.all.hi * speed.scale}}.round(speed.scale)
	c := newChart(w, windChartHeight, "Wind, "+speed.name+", and its class", axis{b: bounds{over.FromS, over.ToS}}, y)
	d := newDots(c.plotW, c.h, bounds{y.b.lo / speed.scale, y.b.hi / speed.scale})
	d.trace(t, over)
	c.put(d, accent2)
	for i := range o.d.Wind.Phases {
		p := &o.d.Wind.Phases[i]
		if p.Span == (flight.Span{}) {
			continue
		}
		x0, x1 := max(c.column(p.Span.FromS), chartGutter), min(c.column(p.Span.ToS), chartGutter+c.plotW-1)
		if x0 <= x1 {
			drawSegment(c.p, x0, x1, 2+c.h, string(p.Class), accent)
		}
	}
	c.p.text(0, 2+c.h, "class", faint)
	c.p.text(0, 1+c.h, "time s", faint)
	return linesOf(0, c.p)
}

// spectrumChart draws the spectrum of the gusts in bands, with the fitted form.
func spectrumChart(tb *wind.Turbulence, title string, ps []wind.SpectrumPoint, w int) *paper {
	if tb == nil || len(ps) == 0 {
		return nil
	}
	var fs, fit []float64
	var es []flight.Estimate
	for _, p := range ps {
		fs, es, fit = append(fs, p.FrequencyHz), append(es, p.Density), append(fit, p.Fit)
	}
	values, _, _ := parts(es, 1)
	y := axis{b: boundsOf(positive(values), positive(fit)), log: true}.round(0)
	c := newChart(w, airChartHeight, title, axis{name: "Hz; o and bars: measured, 95 %; line: Dryden fit", b: boundsOf(positive(fs)), log: true}.round(0), y)
	c.bars(fs, es, faint)
	c.line(fs, fit, false, accent2)
	c.points(fs, values, 'o', strong)
	return c.p
}

// eventChart draws the averaged answer of an axis to a gust of one unit of speed.
func eventChart(e *wind.Events, w int, speed speedUnit) *paper {
	if len(e.TimeS) == 0 || len(e.AttitudePerMS) != len(e.TimeS) {
		return nil
	}
	values, lows, highs := parts(e.AttitudePerMS, degPerRad/speed.scale)
	y := axis{b: boundsOf(values, lows, highs, []float64{0})}.round(0.5)
	title := fmt.Sprintf("%s after %s gusts, deg per %s, mean of %d", e.Axis, e.Input, speed.name, len(e.PeakTimesS))
	c := newChart(w, airChartHeight, title, axis{name: "s after the gust's peak; shaded: 95 %", b: boundsOf(e.TimeS)}, y)
	c.band(e.TimeS, lows, highs, faint)
	c.level(0, '┄', faint)
	if x := c.column(0); x >= chartGutter && x < chartGutter+c.plotW {
		for r := range c.h {
			c.p.set(x, 1+r, '┊', faint)
		}
	}
	c.line(e.TimeS, values, false, strong)
	return c.p
}

// airCharts are the charts of the air screen that the hop has the numbers for.
func airCharts(o *opened, w int, speed speedUnit) []line {
	r := &o.d.Wind
	var ps []*paper
	add := func(p *paper) {
		if p != nil {
			ps = append(ps, p)
		}
	}
	cw := chartWidth(w)
	if r.Whole != nil {
		for _, s := range spectraOf(r) {
			add(spectrumChart(s.of, s.title, s.points, cw))
		}
	}
	for i := range r.Events {
		add(eventChart(&r.Events[i], cw, speed))
	}
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		add(activityChart(r.Minutes, a, cw, speed))
	}
	return sideBySide(ps, w)
}

// spectrumOf is one spectrum of the hop.
type spectrumOf struct {
	of     *wind.Turbulence
	title  string
	points []wind.SpectrumPoint
}

// spectraOf lists the spectra of the whole flight, or else of the longest phase that has
// one.
func spectraOf(r *wind.Result) []spectrumOf {
	tb, where := r.Whole.Turbulence, ""
	longest := 0.0
	for i := range r.Phases {
		p := &r.Phases[i]
		if r.Whole.Turbulence == nil && p.Turbulence != nil && p.Span.LengthS() > longest {
			tb, longest, where = p.Turbulence, p.Span.LengthS(), ", "+spanText(p.Span)
		}
	}
	if tb == nil {
		return nil
	}
	return []spectrumOf{{tb, "Gusts along the wind, (m/s)²/Hz" + where, tb.Spectrum}}
}

// turbulenceLines are the numbers of the fitted form and what the standard expects.
func turbulenceLines(tb *wind.Turbulence, speed speedUnit) []line {
	ls := []line{
		figureLine("intensity along", speed.of(tb.AlongSDMS), speed.name),
		figureLine("length along", tb.AlongLengthM, "m"),
		figureLine("intensity across", speed.of(tb.AcrossSDMS), speed.name),
		figureLine("length across", tb.AcrossLengthM, "m"),
	}
	if e := tb.Expected; e.SDMS > 0 && !math.IsNaN(tb.HeightM) {
		ls = append(ls, line{lead: fmt.Sprintf("  %-22s", "MIL-F-8785C expects"), pen: faint,
			text: fmt.Sprintf("%s %s and %s m at %s m above ground", number(e.SDMS*speed.scale), speed.name, number(e.LengthM), number(tb.HeightM))})
	}
	return ls
}

// classTable is the hop by class of air: wind, motion and stick work, growing oscillations
// and what a gust does.
func classTable(rows []wind.ClassRow, w int, speed speedUnit) []line {
	if len(rows) == 0 {
		return nil
	}
	head := append([]string{"class", "time s", "mean", "sd", "spread", "flags"}, motionHead()[1:]...)
	var cells, answers [][]string
	for i := range rows {
		r := &rows[i]
		row := []string{plain(r.TimeS), plain(r.MeanMS * speed.scale), plain(r.SDMS * speed.scale), plain(r.SpreadMS * speed.scale), flagCount(r.Flags)}
		for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			named := append([]string{string(r.Class) + " " + string(a)}, row...)
			cells = append(cells, append(named, motionCells(r, a)...))
			row = make([]string, len(row)) // the second axis belongs to the same class
		}
		for _, g := range r.Answers {
			answers = append(answers, []string{string(r.Class) + " " + string(g.Axis), string(g.Input),
				number(g.BandRadS[0]) + " to " + number(g.BandRadS[1]), orNone(times(speed.per(g.RadPerMS), degPerRad))})
		}
	}
	ls := append([]line{section('c', "classes", "By class of air, speeds in "+speed.name)}, tableLines(head, cells, w)...)
	ls = append(ls, wrapped("  ", faint, motionWords+"; flags: growing oscillations that began in that air", w, nil)...)
	if answers != nil {
		ls = append(ls, heading("Answer to gusts in each class, stick held, 95 % intervals in brackets"))
		ls = append(ls, tableLines([]string{"class", "gust", "rad/s", "deg per " + speed.name}, answers, w)...)
	}
	return ls
}

const motionWords = "attitude, rate and stick: rms about the mean; rev.: changes of direction of the stick"

func motionHead() []string {
	return []string{"axis", "att. deg", "rate deg/s", "stick %", "rev./min", "left %"}
}

func flagCount(n int) string {
	if n < 0 {
		return "-"
	}
	return strconv.Itoa(n)
}

// activityLines are motion and stick work of a flight whose air nobody measured.
func activityLines(r *wind.ClassRow, w int) []line {
	if r == nil {
		return nil
	}
	var cells [][]string
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		cells = append(cells, append([]string{string(a)}, motionCells(r, a)...))
	}
	ls := []line{plainLine(""), heading("Motion and stick work of the flight; growing oscillations: " + flagCount(r.Flags))}
	ls = append(ls, tableLines(motionHead(), cells, w)...)
	return append(ls, wrapped("  ", faint, motionWords+". Lively numbers hint at rough air, but a lively pilot looks alike: this is no wind.", w, nil)...)
}

// plain is a number that need not be there.
func plain(v float64) string {
	if math.IsNaN(v) {
		return "-"
	}
	return number(v)
}

func motionCells(r *wind.ClassRow, a flight.Axis) []string {
	out := []string{"-", "-", "-", "-", "-"}
	for _, m := range r.Motion {
		if m.Axis == a {
			out[0], out[1] = plain(m.AttitudeRMS*degPerRad), plain(m.RateRMS*degPerRad)
		}
	}
	for _, k := range r.Work {
		if k.Axis == a {
			out[2], out[3], out[4] = plain(100*k.RMS), plain(k.ReversalsPerMin), plain(100*k.LeftFraction)
		}
	}
	return out
}

// activityChart draws motion in an axis against the spread of the wind, a letter for
// each block of time: its class of air.
func activityChart(ms []wind.Minute, a flight.Axis, w int, speed speedUnit) *paper {
	var xs, ys []float64
	for _, m := range ms {
		rms := m.RollRMS
		if a == flight.PitchAxis {
			rms = m.PitchRMS
		}
		xs, ys = append(xs, m.SDMS*speed.scale), append(ys, rms*degPerRad)
	}
	if boundsOf(xs).empty() || boundsOf(ys).empty() {
		return nil
	}
	c := newChart(w, airChartHeight, fmt.Sprintf("%s activity, rms deg, against gusts", a),
		axis{name: "sd of wind, " + speed.name + "; blocks of 20 s: c calm, s steady, g gusty", b: boundsOf(xs, []float64{0})}.round(speed.scale),
		axis{b: boundsOf(ys, []float64{0})}.round(1))
	for i := range xs {
		r := '?'
		if s := string(ms[i].Class); s != "" {
			r = rune(s[0])
		}
		c.points(xs[i:i+1], ys[i:i+1], r, strong)
	}
	return c.p
}
