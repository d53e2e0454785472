package tui

import (
	"fmt"

	"hopcard/analysis/response"
	"hopcard/flight"
)

// figure is one named number of a page.
type figure struct {
	name string
	e    *flight.Estimate
	unit string
}

// nameWidth is the space for the name of a number beside the charts.
const nameWidth = 13

// figuresOf lists the numbers of a stick and axis. Bandwidth and phase delay belong to
// the attitude response, correlation lag to the rate response; they stand together
// because they describe one aircraft.
func figuresOf(att, rate *response.Result) []figure {
	const ms = 1000
	var fs []figure
	if att != nil {
		fs = append(fs,
			figure{"B bandwidth", att.BandwidthRadS, "rad/s"},
			figure{"  by phase", att.BandwidthPhaseRadS, "rad/s"},
			figure{"  by gain", att.BandwidthGainRadS, "rad/s"},
			figure{"W w180", att.W180RadS, "rad/s"},
			figure{"phase delay", times(att.PhaseDelayS, ms), "ms"})
	}
	if rate != nil {
		fs = append(fs,
			figure{"corr. lag", times(rate.CorrelationLagS, ms), "ms"},
			figure{"  weighted", times(rate.WeightedCorrelationLagS, ms), "ms"})
		if e := rate.Revolutions(rate.CorrelationLagS); e != nil {
			fs = append(fs, figure{"  of rotor", e, "rev"})
		}
		if rate.DoubletLagS != nil { // the lag to compare hops by
			fs = append(fs, figure{"doublet lag", times(rate.DoubletLagS, ms), "ms"})
		}
	}
	for _, r := range []*response.Result{att, rate} {
		if r == nil {
			continue
		}
		if r.TransportDelayS != nil {
			fs = append(fs, figure{"transport", times(r.TransportDelayS, ms), "ms"})
		}
		if r.EffectiveDelayS != nil {
			fs = append(fs, figure{"eff. delay", times(r.EffectiveDelayS, ms), "ms"})
		}
		if r.DiscFollowingS != nil {
			fs = append(fs, figure{"disc follows", times(r.DiscFollowingS, ms), "ms"})
		}
		if r.BarFollowingS != nil {
			fs = append(fs, figure{"bar follows", times(r.BarFollowingS, ms), "ms"})
		}
		if r.TransportDelayS != nil || r.EffectiveDelayS != nil {
			break // both outputs share one control path
		}
	}
	for _, r := range []*response.Result{att, rate} {
		if r != nil && r.Coupling != nil {
			fs = append(fs, figure{"coupling", r.Coupling, ""})
			break
		}
	}
	for _, r := range []*response.Result{att, rate} {
		if r != nil && r.StepCoupling != nil {
			fs = append(fs, figure{"  by a step", r.StepCoupling, ""})
			break
		}
	}
	for _, r := range []*response.Result{att, rate} {
		if r != nil && r.AnsweringShare != nil { // of the stick's power, what answers gusts
			return append(fs, figure{"answers air", times(r.AnsweringShare, 100), "% of stick"})
		}
	}
	return fs
}

// pair returns the attitude and the rate response of the stick and axis on show.
func (v *responseView) pair(r *response.Result) (att, rate *response.Result) {
	rs := v.responses()
	if i := v.find(*r, response.Attitude); i >= 0 {
		att = &rs[i]
	}
	if i := v.find(*r, response.Rate); i >= 0 {
		rate = &rs[i]
	}
	return att, rate
}

// numbersTop is the row below the readings at the cursor, where the numbers start.
const numbersTop = 4

// drawNumbers writes the numbers with their intervals beside the charts. What does not
// fit is reached by moving the numbers up.
func (v *responseView) drawNumbers(p *paper, r *response.Result) {
	g := v.charts()
	for y := numbersTop; y < p.h; y++ {
		p.set(g.panel-1, y, '│', faint)
	}
	x := g.panel + 1
	p.text(x, numbersTop-1, "95 % intervals in brackets", faint)
	const most = 200 // rows, more than any response has
	long := newPaper(p.w-x-1, most)
	used := v.writeNumbers(long, r)
	room := p.h - numbersTop
	v.numbersMost = max(used-room, 0)
	v.numbers = min(v.numbers, v.numbersMost)
	for y := range room {
		copy(p.cells[(numbersTop+y)*p.w+x:(numbersTop+y+1)*p.w-1], long.cells[(v.numbers+y)*long.w:(v.numbers+y+1)*long.w])
	}
	if v.numbers < v.numbersMost {
		p.set(p.w-1, p.h-1, '↓', accent)
	}
	if v.numbers > 0 {
		p.set(p.w-1, numbersTop, '↑', accent)
	}
}

// writeNumbers writes all numbers on a paper and returns how many rows they take.
func (v *responseView) writeNumbers(p *paper, r *response.Result) int {
	y := 0
	if v.timingWithheld(r) {
		y = paragraph(p, 0, y, p.w-1, "timing withheld ", "no phase to use", danger)
	}
	att, rate := v.pair(r)
	missing := false
	for _, f := range figuresOf(att, rate) {
		y = drawFigure(p, 0, y, p.w, nameWidth, f)
		missing = missing || f.e == nil
	}
	for _, l := range r.Lag {
		name := l.At
		switch name {
		case "":
			name = plainText(l.FrequencyRadS)
		case "crossover":
			name = "x-over" // the whole word finds no room
		}
		y = drawFigure(p, 0, y, p.w, nameWidth, figure{clip("lag "+clean(name), nameWidth-1), times(&l.TimeS, 1000), "ms"})
		y = drawFigure(p, 0, y, p.w, nameWidth, figure{"  " + number(l.FrequencyRadS) + " rad/s", &l.PhaseDeg, "deg"})
	}
	if e := v.desk.current.d.PhasingErrorRad; e != nil {
		y = drawFigure(p, 0, y, p.w, nameWidth, figure{"phasing off", times(e, degPerRad), "deg"})
	}
	for _, o := range []*response.Result{r, att, rate} {
		if o != nil && o.Model != nil {
			y = drawModel(p, 0, y+1, o.Model)
			break
		}
	}
	p.text(0, y, "bars: two standard deviations", faint)
	y++
	if missing {
		y = v.writeWhy(p, y+1, r.Axis)
	}
	return y
}

// writeWhy says why numbers of an axis are not known, worst finding first.
func (v *responseView) writeWhy(p *paper, y int, axis flight.Axis) int {
	for _, f := range v.desk.current.d.Findings {
		if of := axisOf(flight.Quantity(f.Channel)); of != "" && of != axis {
			continue
		}
		if withheldBy(f.Code) {
			word, pn := severityWord(f.Severity)
			y = paragraph(p, 0, y, p.w-1, word+" ", clean(f.Text), pn)
		}
	}
	return y
}

// withheldBy reports whether a finding of that code can be why a number of the response
// is not there.
func withheldBy(c flight.Code) bool {
	switch c {
	case flight.CodeNoResponse, flight.CodeNoClock, flight.CodeMissing, flight.CodeLeadsStick,
		flight.CodeStickStill, flight.CodeNotMeasurable, flight.CodeLowCoherence:
		return true
	}
	return false
}

func drawModel(p *paper, x, y int, m *response.Model) int {
	y = paragraph(p, x, y, p.w-x-1, "model ", fmt.Sprintf("%s, fits %s %%", clean(m.Form), number(m.FitPercent)), strong)
	for i := range m.Parameters {
		q := &m.Parameters[i]
		y = drawFigure(p, x, y, p.w, nameWidth, figure{clip(clean(q.Name), nameWidth-1), &q.Estimate, ""})
	}
	return y
}

// drawFigure writes one number and returns the next row.
func drawFigure(p *paper, x, y, end, nameWidth int, f figure) int {
	p.textTo(x, y, x+nameWidth, f.name, ink)
	pn := strong
	if f.e == nil {
		pn = faint
	}
	at := p.textTo(x+nameWidth, y, end, value(f.e, f.unit), pn)
	if s := interval(f.e); s != "" {
		p.textTo(at+1, y, end, "("+s+")", ink)
	}
	return y + 1
}
