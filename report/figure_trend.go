package report

import (
	"math"

	"hopcard/analysis/compare/trend"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// trendHighPt is the height of a key number's chart.
const trendHighPt = 74.0

// trendFigureMeaning says once what all the charts show.
func trendFigureMeaning() string {
	return "Across: the hops by number. Bars: each hop's 95 % interval; no bar: no interval. Dashed, with a letter: a change of configuration. Grey with a line: the mean of a configuration's hops and its interval. Where the air matters a mark shows its class, and only equal marks compare: open circle calm, square steady, dot gusty, cross not logged."
}

// trendFigure draws one number over the hops. It is nil if no hop has it.
func trendFigure(t *trend.Trend, s *trend.Series, r room) *drawing {
	low, high := rangeOf(s)
	if !(low <= high) {
		return nil
	}
	f := &drawing{title: seriesTitle(s), caption: Short(s.Warning, textLength), widthPt: r.widthPt, highPt: smallLegendPt + trendHighPt*r.tall + 10}
	p := fieldOf(f, trendHighPt*r.tall)
	p.xs = scale{lo: 0.5, hi: float64(len(t.Hops)) + 0.5, step: math.Max(1, roundStep(float64(len(t.Hops))/6))}
	p.ys = roundScale(low, high, leastRange(s.Unit))
	trendLevels(t, s, p)
	p.frame(4)
	for i, h := range t.Hops {
		if h.Change != nil {
			x := p.atX(float64(i) + 0.5)
			f.line(dashedPen(), point{x, p.y}, point{x, p.y + p.h})
			f.boldLabel(x, p.y-2, textPt, middleAnchor, changeLetter(t, i))
		}
	}
	for i, q := range s.Points[:min(len(s.Points), len(t.Hops))] {
		if q.Estimate == nil || !finite(q.Estimate.Value) {
			continue
		}
		x := p.atX(float64(i + 1))
		p.interval(x, q.Estimate)
		p.airMark(x, p.atY(q.Estimate.Value), s.Air, t.Hops[i].Air)
	}
	p.numbers("hop")
	return f
}

// leastRange keeps a number that hardly moves from looking as if it did.
func leastRange(u flight.Unit) float64 {
	switch u {
	case "ms", flight.Percent:
		return 20
	case flight.Deg:
		return 5
	case "dB":
		return 3
	case flight.RadPerS:
		return 0.5
	}
	return 0.1
}

// interval draws the bar of an estimate; an open end runs to the edge.
func (p panel) interval(x float64, e *flight.Estimate) {
	if !e.HasInterval() {
		return
	}
	top, bottom := p.y, p.y+p.h
	if finite(e.High) {
		top = p.atY(e.High)
	}
	if finite(e.Low) {
		bottom = p.atY(e.Low)
	}
	p.f.line(pen{widthPt: 0.9}, point{x, top}, point{x, bottom})
}

// airMark is a value's mark; where the air matters its shape tells which it was.
func (p panel) airMark(x, y float64, matters bool, air wind.Class) {
	const size = 1.9
	switch {
	case !matters || air == wind.Gusty:
		p.f.dot(x, y, size)
	case air == wind.Calm:
		p.f.dot(x, y, size+0.4)
		hole := len(p.f.shapes)
		p.f.dot(x, y, size-0.6)
		p.f.shapes[hole].grey = 1
	case air == wind.Steady:
		p.f.square(x, y, size)
	default:
		p.f.line(pen{widthPt: 0.7}, point{x - size, y - size}, point{x + size, y + size})
		p.f.line(pen{widthPt: 0.7}, point{x - size, y + size}, point{x + size, y - size})
	}
}

// trendLevels draws the mean of each configuration over its hops in a row, and its interval.
func trendLevels(t *trend.Trend, s *trend.Series, p panel) {
	for _, l := range s.Levels {
		if l.Hops < 2 || !finite(l.Mean.Value) {
			continue
		}
		for from := 0; from < len(t.Hops); from++ {
			to := from
			for to < len(t.Hops) && t.Hops[to].Configuration == l.Configuration {
				to++
			}
			if to == from {
				continue
			}
			x, end := p.atX(float64(from)+0.6), p.atX(float64(to)+0.4)
			if finite(l.Mean.Low) && finite(l.Mean.High) {
				p.f.box(bandGrey, x, p.atY(l.Mean.High), end-x, p.atY(l.Mean.Low)-p.atY(l.Mean.High))
			}
			p.f.line(pen{widthPt: 0.8, grey: 0.3}, point{x, p.atY(l.Mean.Value)}, point{end, p.atY(l.Mean.Value)})
			from = to - 1
		}
	}
}
