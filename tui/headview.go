package tui

import (
	"errors"
	"fmt"
	"math"

	"hopcard/analysis/response"
	"hopcard/analysis/rotor"
	"hopcard/flight"
	"hopcard/report"
)

// The places of the head screen.
const (
	headListTop   = 2  // first row of the list of dimensions
	headListWidth = 37 // columns of it
	headFootRows  = 2  // what the model assumes
	headNameWidth = 20 // of a number, with its unit
)

func (v *headView) listRows() int { return v.h - headListTop - headFootRows }

func (v *headView) View() string {
	v.ready()
	p := newPaper(v.w, v.h)
	if len(v.configurations()) == 0 {
		p.text(2, 1, "aircraft.toml names no configuration.", strong)
		paragraph(p, 2, 3, v.w-4, "", "Give the dimensions of the rotor head there, one [[configuration]] for each state of it. hopcard predict --help says more.", ink)
		return p.render(&v.desk.theme)
	}
	p.text(2, 0, clip("rotor head "+clean(v.turned.Name)+" on paper, "+v.delayText(), v.w-4), strong)
	if v.asIs == nil {
		v.drawMissing(p)
		return p.render(&v.desk.theme)
	}
	v.drawDimensions(p)
	x := headListWidth + 2
	switch {
	case v.now == nil:
		paragraph(p, x, headListTop, v.w-x-1, "", "turned like this it is no head: "+v.err.Error(), warn)
	case v.curve:
		v.drawCurve(p, x)
	default:
		v.drawNumbers(p, x)
	}
	v.drawFoot(p)
	return p.render(&v.desk.theme)
}

func (v *headView) delayText() string {
	if v.delayS == 0 {
		return "dead time of controls: none measured"
	}
	return fmt.Sprintf("dead time of controls %.0f ms as measured", v.delayS*1e3)
}

// drawMissing says which dimensions the model needs.
func (v *headView) drawMissing(p *paper) {
	text := v.err.Error()
	var missing *rotor.MissingError
	if errors.As(v.err, &missing) {
		text += "; give them in aircraft.toml"
	}
	y := paragraph(p, 2, headListTop, v.w-4, "", clean(text), warn)
	p.text(2, y+1, "c: next configuration", faint)
}

// drawDimensions lists the dimensions, the one in hand marked, with what they are turned to.
func (v *headView) drawDimensions(p *paper) {
	p.text(2, 1, "dimension", faint)
	p.textRight(28, 1, "as is", faint)
	p.textRight(headListWidth, 1, "turned", faint)
	asIs := copied(v.configurations()[v.config])
	for row := range min(v.listRows(), len(v.dims)-v.top) {
		i, y := v.top+row, headListTop+row
		d := v.dims[i]
		was, is := *d.Of(&asIs), *d.Of(&v.turned)
		if d.Key == "advance_angle_deg" && was == 0 {
			was = v.asIs.Head.AdvanceRad * degPerRad
		}
		pn := ink
		if i == v.at {
			p.text(0, y, ">", accent)
			pn = strong
		}
		p.textTo(2, y, 21, d.Key, pn)
		p.textRight(28, y, number(was), faint)
		if !same(was, is) {
			p.textRight(headListWidth, y, number(is), accent)
		}
	}
	if v.top+v.listRows() < len(v.dims) {
		p.textRight(headListWidth, v.h-headFootRows-1, "more ↓", faint)
	}
}

// same reports whether two values are one but for rounding.
func same(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(math.Abs(a), math.Abs(b)) }

// drawNumbers sets the head as it is, as turned and as measured side by side.
func (v *headView) drawNumbers(p *paper, x int) {
	ends, hop := [2]int{x + 26, x + 33}, x+35
	p.text(x, 1, string(v.axis), strong)
	p.textRight(ends[0], 1, "as is", faint)
	p.textRight(ends[1], 1, "turned", faint)
	p.text(hop, 1, "hop", faint)
	y := headListTop
	for _, n := range v.numbers() {
		was, is := n.of(v.asIs), n.of(v.now)
		if math.IsNaN(was) && math.IsNaN(is) && n.measured == nil {
			continue
		}
		if y >= v.h-headFootRows {
			p.textRight(v.w-1, y-1, "more on a higher window", faint)
			break
		}
		end := p.textTo(x, y, x+headNameWidth, n.name, ink)
		if end+1+textWidth(n.unit) <= x+headNameWidth { // else the line below the list says it
			p.text(end+1, y, n.unit, faint)
		}
		p.textRight(ends[0], y, headValue(was), faint)
		pn := ink
		if !same(was, is) {
			pn = accent
		}
		p.textRight(ends[1], y, headValue(is), pn)
		if n.measured != nil {
			s := number(n.measured.Value)
			if room := v.w - hop - 1; n.measured.HasInterval() && textWidth(s+" "+interval(n.measured))+2 <= room {
				s += " (" + interval(n.measured) + ")"
			}
			p.text(hop, y, s, ink)
		}
		y++
	}
}

func headValue(v float64) string {
	if math.IsNaN(v) {
		return "none"
	}
	return number(v)
}

// drawCurve draws the attitude's answer to the stick: as is dotted, as turned full, as
// measured in crosses.
func (v *headView) drawCurve(p *paper, x int) {
	in, out := rotor.LatStick, rotor.Roll
	if v.axis == flight.PitchAxis {
		in, out = rotor.LonStick, rotor.Pitch
	}
	ws := rotor.LogSpace(0.3, 20, 120)
	was, is := v.asIs.Model.Response(in, out, ws), v.now.Model.Response(in, out, ws)
	var mw, mGain, mPhase []float64
	phaseTitle := "phase, deg"
	if r := v.measuredResponse(); r != nil {
		withheld := report.TimingWithheld(v.desk.current.d, r)
		if withheld {
			phaseTitle += " (of the hop: timing withheld, not drawn)"
		}
		for i, w := range r.FrequencyRadS {
			if r.Coherence[i] >= coherenceGuide {
				phase := r.PhaseDeg[i]
				if withheld {
					phase = math.NaN()
				}
				mw, mGain, mPhase = append(mw, w), append(mGain, r.GainDB[i]), append(mPhase, phase)
			}
		}
	}
	const anchorRadS = 2 // where package response fixes the branch of the phase
	h := (v.h - headFootRows - 1) / 2
	freq := axis{name: "rad/s", b: bounds{0.3, 20}, log: true}
	draw := func(y int, title string, a, b, measured []float64, least float64) {
		scale := none()
		for _, list := range [][]float64{a, b, measured} {
			for _, s := range list {
				scale = scale.with(s)
			}
		}
		c := newChart(v.w-x, h, title, freq, axis{b: scale}.round(least))
		c.line(ws, a, true, faint)
		c.line(ws, b, false, strong)
		c.points(mw, measured, '×', accent2)
		paste(p, c.p, x, y)
	}
	gains := func(hs []complex128) []float64 {
		out := make([]float64, len(hs))
		for i, s := range hs {
			out[i] = rotor.GainDB(s)
		}
		return out
	}
	draw(1, string(v.axis)+": gain, dB of deg per % stick", gains(was), gains(is), mGain, 10)
	draw(1+h, phaseTitle, rotor.UnwrapDeg(ws, was, anchorRadS), rotor.UnwrapDeg(ws, is, anchorRadS), mPhase, 90)
}

// paste draws a paper onto another.
func paste(on, p *paper, x, y int) {
	for i, c := range p.cells {
		on.set(x+i%p.w, y+i/p.w, c.r, c.p)
	}
}

// measuredResponse is that of the hop on show, nil if it flew another configuration.
func (v *headView) measuredResponse() *response.Result {
	if v.desk.current == nil || v.desk.current.d.Hop.Configuration != v.configurations()[v.config].Name {
		return nil
	}
	return onAxis(v.desk.current.d, v.axis, response.Attitude)
}

func (v *headView) drawFoot(p *paper) {
	y := v.h - headFootRows
	legend := "gust: deg per m/s; room: % of stick per deg before swings grow"
	if v.curve {
		legend = "dotted as is, full as turned, × measured in the hop on show"
	}
	p.text(2, y, clip(legend, v.w-4), faint)
	p.text(2, y+1, clip("On paper: hover, small angles, rigid blades. No number here clears a flight.", v.w-4), warn)
}
