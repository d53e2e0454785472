package report

import (
	"math"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// z95 turns a standard deviation into the half width of a 95 % interval.
const z95 = 1.96

// responseFigure draws gain, phase and coherence of attitude to stick, of rate to stick
// if there is no other, with 95 % intervals. It is nil if the axis has neither.
func responseFigure(d *debrief.Debrief, axis flight.Axis, room room) *drawing {
	r := drawnResponse(d, axis)
	if r == nil {
		return nil
	}
	width := room.widthPt - smallLeftPt - 4
	f := &drawing{title: "Stick to " + string(axis) + " " + string(r.Output), widthPt: room.widthPt}
	xs := frequencyScale(r)
	marks := responseMarks(d, axis)
	withheld := TimingWithheld(d, r)
	y := 1 + float64(len(marks))*8
	top := y
	for _, s := range []struct {
		name, unit  string
		value, sd   []float64
		high, least float64
	}{
		{"gain", "dB", r.GainDB, r.GainSDDB, 44, 10},
		{"phase", "deg", r.PhaseDeg, r.PhaseSDDeg, 44, 90},
		{"coher-", "ence", r.Coherence, nil, 24, 1},
	} {
		p := panel{f: f, x: smallLeftPt, y: y, w: width, h: s.high * room.tall, xs: xs, ys: valueScale(r, s.value, s.sd, s.least)}
		if s.sd == nil {
			p.ys = scale{hi: 1, step: 0.5}
		}
		if withheld && s.name == "phase" {
			p.border()
			f.label(p.x+p.w/2, p.y+p.h/2, textPt, middleAnchor, "not drawn: timing withheld")
		} else {
			p.frame(5)
			p.responseCurve(r.FrequencyRadS, s.value, s.sd)
		}
		p.stripName(s.name, s.unit)
		y += s.high*room.tall + stripGapPt
		if s.sd == nil {
			p.numbers("rad/s")
		}
	}
	drawMarks(f, marks, panel{f: f, x: smallLeftPt, y: top, w: width, h: y - stripGapPt - top, xs: xs})
	f.highPt = y + 9
	if withheld {
		f.title += ": phase withheld"
	}
	f.caption = "Bars: 95 %. Gain in " + gainName(r) + " of stick travel."
	return f
}

func gainName(r *response.Result) string {
	if r.Output == response.Rate {
		return "dB of deg/s per %"
	}
	return "dB of deg per %"
}

// drawnResponse is the result with a curve: that of attitude before that of rate.
func drawnResponse(d *debrief.Debrief, axis flight.Axis) *response.Result {
	var found *response.Result
	for _, r := range onAxis(d, axis) {
		n := len(r.FrequencyRadS)
		if n < 2 || len(r.GainDB) != n || len(r.PhaseDeg) != n || len(r.Coherence) != n || !(r.FrequencyRadS[0] > 0) {
			continue
		}
		if found == nil || r.Output == response.Attitude && found.Output != response.Attitude {
			found = r
		}
	}
	return found
}

func frequencyScale(r *response.Result) scale {
	lo, hi := r.FrequencyRadS[0], r.FrequencyRadS[len(r.FrequencyRadS)-1]
	if !finite(hi) || hi <= lo {
		hi = 10 * lo
	}
	return scale{lo: lo * 0.93, hi: hi * 1.07, log: true}
}

// valueScale holds the points that are known well enough to be drawn.
func valueScale(r *response.Result, value, sd []float64, least float64) scale {
	low, high := math.Inf(1), math.Inf(-1)
	for i, v := range value {
		if shown(v, sd, i) {
			low, high = min(low, v), max(high, v)
		}
	}
	s := roundScale(low, high, least)
	if least == 90 { // phases: steps of 45 deg
		s = scale{lo: 45 * math.Floor(low/45), hi: 45 * math.Ceil(high/45), step: 45}
		if !finite(s.lo) || !finite(s.hi) || s.hi-s.lo < 90 {
			s.lo, s.hi = -180, 0
		}
		if s.hi-s.lo > 5*45 {
			s.step = 90
		}
	}
	return s
}

// shown tells points that are numbers and whose deviation, if there is one, is.
func shown(v float64, sd []float64, i int) bool {
	return finite(v) && (sd == nil || i < len(sd) && finite(sd[i]))
}

// responseCurve draws points, the line through them and their 95 % bars.
func (p panel) responseCurve(omega, value, sd []float64) {
	var runs [][]point
	var run []point
	for i, v := range value {
		if !shown(v, sd, i) || !(omega[i] > 0) {
			runs, run = append(runs, run), nil
			continue
		}
		run = append(run, point{omega[i], v})
		x := p.atX(omega[i])
		if sd != nil {
			p.f.line(errorPen(), point{x, p.atY(v - z95*sd[i])}, point{x, p.atY(v + z95*sd[i])})
		}
		p.f.dot(x, p.atY(v), 0.9)
	}
	p.curve(pen{widthPt: 0.6}, append(runs, run))
}

// mark is a frequency to be drawn into a response.
type mark struct {
	at   float64
	name string
	pen  pen
}

func responseMarks(d *debrief.Debrief, axis flight.Axis) []mark {
	var out []mark
	add := func(e *flight.Estimate, name string, p pen) {
		if e != nil && e.Value > 0 && finite(e.Value) {
			out = append(out, mark{e.Value, name + " " + significant(e.Value, 3), p})
		}
	}
	add(firstOf(onAxis(d, axis), func(r *response.Result) *flight.Estimate { return r.BandwidthRadS }), "bandwidth", dashedPen())
	add(firstOf(onAxis(d, axis), func(r *response.Result) *flight.Estimate { return r.W180RadS }), "180° behind, ω", dottedPen())
	return out
}

// drawMarks draws each mark as a line over all panels, its name in a row of its own.
func drawMarks(f *drawing, marks []mark, p panel) {
	row := func(i int) float64 { return p.y - 8*float64(len(marks)-i) }
	within := func(m mark) bool { x := p.atX(m.at); return x >= p.x && x <= p.x+p.w }
	for i, m := range marks {
		if x := p.atX(m.at); within(m) {
			f.line(m.pen, point{x, row(i) + 1}, point{x, p.y + p.h})
		}
	}
	for i, m := range marks {
		if !within(m) {
			continue
		}
		x := p.atX(m.at)
		text, a, textX := m.name+" rad/s", startAnchor, x+2
		if x+roomPt(text, smallPt) > p.x+p.w {
			a, textX = endAnchor, x-2
		}
		// On white: the line of another mark may run through its row.
		left, room := textX-1, 0.9*roomPt(text, smallPt)
		if a == endAnchor {
			left = textX - room + 1
		}
		f.box(1, left, row(i)+0.5, room, smallPt+0.8)
		f.label(textX, row(i)+smallPt, smallPt, a, text)
	}
}

// gustPt is the height of the mean answer to gusts.
const gustPt = 58.0

// gustFigure draws the mean answer of the axis to the gusts that were met. It is nil if
// there were too few.
func gustFigure(d *debrief.Debrief, axis flight.Axis, r room) *drawing {
	e := answerTo(d, axis)
	if e == nil {
		return nil
	}
	var middle, low, high []point
	for i, t := range e.TimeS {
		a := e.AttitudePerMS[i].Times(degPerRad)
		if !finite(a.Value) || !finite(t) {
			continue
		}
		middle = append(middle, point{t, a.Value})
		if finite(a.Low) && finite(a.High) {
			low, high = append(low, point{t, a.Low}), append(high, point{t, a.High})
		}
	}
	if len(middle) < 2 {
		return nil
	}
	middle, low, high = thin(middle, 150), thin(low, 150), thin(high, 150)
	lo, hi := reach([][]point{middle, low, high})
	tall := gustPt * r.tall
	f := &drawing{
		title:   "Mean answer of " + string(axis) + " to gusts, deg per m/s",
		caption: "Grey: 95 %. Zero is the peak of the gust.",
		widthPt: r.widthPt, highPt: 1 + tall + 10,
	}
	p := panel{f: f, x: numbersPt, y: 1, w: r.widthPt - numbersPt - 4, h: tall,
		xs: scale{lo: middle[0].x, hi: middle[len(middle)-1].x}, ys: roundScale(lo, hi, 0.5)}
	p.between(low, high)
	p.frame(3)
	p.curve(pen{widthPt: 1}, [][]point{middle})
	p.numbers("time, s")
	return f
}

// between fills what lies between two curves.
func (p panel) between(low, high []point) {
	if len(low) < 2 {
		return
	}
	var corners []point
	for _, q := range high {
		corners = append(corners, point{p.atX(q.x), p.atY(q.y)})
	}
	for i := len(low) - 1; i >= 0; i-- {
		corners = append(corners, point{p.atX(low[i].x), p.atY(low[i].y)})
	}
	p.f.area(bandGrey, corners...)
}

func answerTo(d *debrief.Debrief, axis flight.Axis) *wind.Events {
	for i := range d.Wind.Events {
		e := &d.Wind.Events[i]
		if e.Axis == axis && len(e.TimeS) > 1 && len(e.AttitudePerMS) == len(e.TimeS) && e.TimeS[len(e.TimeS)-1] > e.TimeS[0] {
			return e
		}
	}
	return nil
}

// thin takes at most n points of a smooth curve, evenly, the last among them.
func thin(points []point, n int) []point {
	if len(points) <= n {
		return points
	}
	out := make([]point, n)
	for i := range out {
		out[i] = points[i*(len(points)-1)/(n-1)]
	}
	return out
}
