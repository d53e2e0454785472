package tui

import (
	"fmt"
	"math"

	"hopcard/analysis/response"
	"hopcard/flight"
	"hopcard/report"
)

// coherenceGuide is drawn as a line: below it a response is mostly noise and the points
// are not joined. 0.6 is the usual floor in handling-qualities work (Tischler and
// Remple, Aircraft and Rotorcraft System Identification, 2006; from memory).
const coherenceGuide = 0.6

// chartsAt says where the three charts are.
type chartsAt struct {
	plotX, plotW     int
	gain, phase, coh box // of box only y and h are used
	axis             int
	panel            int // column where the numbers start
}

func (v *responseView) charts() chartsAt {
	const gutter = 7
	panel := min(max(v.w*2/5, 41), 56)
	g := chartsAt{plotX: gutter, panel: v.w - panel, axis: v.h - 1}
	g.plotW = max(g.panel-gutter-1, 1)
	const top = 2
	room := max(g.axis-top, 3)
	hg, hc := room*2/5, max(room/5, 1)
	g.gain = box{y: top, h: hg}
	g.phase = box{y: top + hg, h: room - hg - hc}
	g.coh = box{y: top + room - hc, h: hc}
	return g
}

func (v *responseView) View() string {
	r := v.shown()
	if r == nil {
		return v.nothing()
	}
	if v.base == nil {
		v.base = newPaper(v.w, v.h)
		if v.plane {
			v.drawPlane(v.base)
		} else {
			v.drawCharts(v.base, r)
		}
		v.drawNumbers(v.base, r)
	}
	p := v.base.clone()
	if !v.plane {
		v.drawCursor(p, r)
	}
	return p.render(&v.desk.theme)
}

// nothing says why there is no response.
func (v *responseView) nothing() string {
	if v.desk.current == nil {
		return emptyPage(v.w, v.h, v.desk)
	}
	p := newPaper(v.w, v.h)
	p.text(2, 1, "This hop gives no response to the stick.", strong)
	y := 3
	for _, f := range v.desk.current.d.Findings {
		if withheldBy(f.Code) {
			word, pn := severityWord(f.Severity)
			y = paragraph(p, 2, y, v.w-4, word+": ", clean(report.Sentences(f.Text, f.Advice)), pn)
		}
	}
	if y == 3 {
		p.text(2, y, "The findings on the data screen say what was missing.", ink)
	}
	return p.render(&v.desk.theme)
}

func (v *responseView) drawCharts(p *paper, r *response.Result) {
	g := v.charts()
	p.text(1, 0, clip(fmt.Sprintf("%s to %s %s", clean(string(r.Input)), clean(string(r.Axis)), clean(string(r.Output))), g.panel-2), strong)
	unit, withheld := "dB of deg per % stick", v.timingWithheld(r)
	if r.Output == response.Rate {
		unit = "dB of deg/s per % stick"
	}
	if !withheld {
		unit += ", phase deg"
	}
	p.text(1, 1, clip("gain "+unit, g.panel-2), faint)
	v.curve(p, g, g.gain, scaleFor(r, r.GainDB, 10), r, r.GainDB, r.GainSDDB)
	v.drawPhase(p, g, r)
	v.curve(p, g, g.coh, bounds{0, 1}, r, r.Coherence, nil)
	guide(p, g, g.coh, bounds{0, 1}, coherenceGuide)
	gutterName(p, g.gain, "gain")
	gutterName(p, g.phase, "phase")
	gutterName(p, g.coh, "coher.")
	v.drawFrequencies(p, g)
	v.drawMarker(p, g, r.BandwidthRadS, 'B')
	v.drawMarker(p, g, r.W180RadS, 'W')
}

// timingWithheld reports whether the phase of a response must not be used, and so not be
// seen either.
func (v *responseView) timingWithheld(r *response.Result) bool {
	return report.TimingWithheld(v.desk.current.d, r)
}

// drawPhase draws the phase, or says in its place that there is none to use.
func (v *responseView) drawPhase(p *paper, g chartsAt, r *response.Result) {
	if v.timingWithheld(r) {
		p.text(g.plotX, g.phase.y+g.phase.h/2, clip("not drawn: timing withheld", g.plotW), danger)
		return
	}
	phase := scaleFor(r, r.PhaseDeg, 90)
	v.curve(p, g, g.phase, phase, r, r.PhaseDeg, r.PhaseSDDeg)
	guide(p, g, g.phase, phase, -180)
}

// gutterName writes the name of a chart into the first free row left of it.
func gutterName(p *paper, at box, name string) {
	for y := at.y; y < at.y+at.h; y++ {
		free := true
		for x := range len(name) + 1 {
			free = free && p.cells[y*p.w+x].r == ' '
		}
		if free { // and a blank behind it
			p.text(0, y, name, faint)
			return
		}
	}
}

// scaleFor fits a scale to the points that can be trusted, with ends at multiples of
// step.
func scaleFor(r *response.Result, ys []float64, step float64) bounds {
	b, all := none(), none()
	for i, y := range ys {
		all = all.with(y)
		if i < len(r.Coherence) && r.Coherence[i] >= coherenceGuide {
			b = b.with(y)
		}
	}
	if b.empty() {
		b = all
	}
	if b.empty() {
		return bounds{-step, step}
	}
	b = bounds{math.Floor(b.lo/step) * step, math.Ceil(b.hi/step) * step}
	if b.hi-b.lo < step {
		b.hi = b.lo + step
	}
	return b
}

// curve draws one chart: bars of two standard deviations, then the points, joined where
// both ends are above the guide of coherence.
func (v *responseView) curve(p *paper, g chartsAt, at box, scale bounds, r *response.Result, ys, sd []float64) {
	p.textRight(g.plotX-1, at.y, plainText(scale.hi), faint)
	if at.h > 1 {
		p.textRight(g.plotX-1, at.y+at.h-1, plainText(scale.lo), faint)
	}
	for y := at.y; y < at.y+at.h; y++ {
		p.set(g.plotX-1, y, '┤', faint)
	}
	bars := newDots(g.plotW, at.h, scale)
	line := newDots(g.plotW, at.h, scale)
	lastX, lastY, joined := 0.0, 0.0, false
	for i, w := range r.FrequencyRadS {
		if i >= len(ys) || !(w > 0) || !finite(ys[i]) {
			joined = false
			continue
		}
		x := (math.Log10(w) - v.window.lo) / (v.window.hi - v.window.lo) * float64(bars.w-1)
		dot := int(math.Round(min(max(x, -1), float64(bars.w))))
		if i < len(sd) && finite(sd[i]) {
			bars.bar(dot, bars.row(ys[i]-2*sd[i]), bars.row(ys[i]+2*sd[i]))
		}
		line.bar(dot, line.row(ys[i]), line.row(ys[i]))
		trusted := i < len(r.Coherence) && r.Coherence[i] >= coherenceGuide
		if joined && trusted {
			line.line(lastX, lastY, x, ys[i])
		}
		lastX, lastY, joined = x, ys[i], trusted
	}
	bars.draw(p, g.plotX, at.y, faint)
	line.draw(p, g.plotX, at.y, strong)
}

// guide draws a level as a dashed line with its value.
func guide(p *paper, g chartsAt, at box, scale bounds, level float64) {
	if level <= scale.lo || level >= scale.hi {
		return
	}
	d := dots{h: at.h * 4, y: scale}
	y := at.y + int(d.row(level))/4
	if y > at.y && y < at.y+at.h-1 {
		p.textRight(g.plotX-1, y, plainText(level), faint)
	}
	for x := g.plotX; x < g.plotX+g.plotW; x++ {
		if p.cells[y*p.w+x].r == ' ' {
			p.set(x, y, '┄', faint)
		}
	}
}

// column is the column of a frequency; ok is false outside the window.
func (v *responseView) column(g chartsAt, w float64) (x int, ok bool) {
	f := (math.Log10(w) - v.window.lo) / (v.window.hi - v.window.lo)
	if !(f >= 0 && f <= 1) {
		return 0, false
	}
	return g.plotX + int(math.Round(f*float64(g.plotW*2-1)))/2, true
}

func (v *responseView) drawFrequencies(p *paper, g chartsAt) {
	p.text(1, g.axis, "rad/s", faint)
	next := g.plotX
	for _, w := range decadeTicks(math.Pow(10, v.window.lo), math.Pow(10, v.window.hi)) {
		x, ok := v.column(g, w)
		label := "╵" + plainText(w)
		if !ok || x < next || x+textWidth(label) > g.panel {
			continue
		}
		next = p.text(x, g.axis, label, faint) + 1
	}
}

// drawMarker draws a frequency that was found as a vertical line under its letter.
func (v *responseView) drawMarker(p *paper, g chartsAt, e *flight.Estimate, letter rune) {
	if e == nil {
		return
	}
	x, ok := v.column(g, e.Value)
	if !ok {
		return
	}
	for y := g.gain.y; y < g.coh.y; y++ {
		if r := p.cells[y*p.w+x].r; r == ' ' || r == '┄' {
			p.set(x, y, '┊', accent2)
		}
	}
	p.set(x, g.gain.y, letter, accent2)
}

// drawCursor draws the cursor and what is measured at its frequency.
func (v *responseView) drawCursor(p *paper, r *response.Result) {
	g := v.charts()
	i := v.cursor
	if i >= len(r.FrequencyRadS) {
		return
	}
	w := r.FrequencyRadS[i]
	if x, ok := v.column(g, w); ok {
		for y := g.gain.y; y < g.axis; y++ {
			if r := p.cells[y*p.w+x].r; isDots(r) || r == 'B' || r == 'W' {
				p.repen(x, y, marked)
			} else {
				p.set(x, y, '│', accent)
			}
		}
		p.set(x, g.axis, '▲', accent)
	}
	x := g.panel + 1
	p.text(x, 0, fmt.Sprintf("at %s rad/s (%s Hz)", number(w), number(w/(2*math.Pi))), accent)
	at := func(ys []float64) string {
		if i < len(ys) {
			return number(ys[i])
		}
		return "?"
	}
	p.text(x, 1, fmt.Sprintf("gain %s dB (sd %s)", at(r.GainDB), at(r.GainSDDB)), accent)
	phase := fmt.Sprintf("phase %s deg (sd %s)", at(r.PhaseDeg), at(r.PhaseSDDeg))
	if v.timingWithheld(r) {
		phase = "phase withheld"
	}
	p.text(x, 2, phase+", coh. "+at(r.Coherence), accent)
}
