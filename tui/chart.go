package tui

import (
	"math"

	"hopcard/flight"
)

// chart is a small plot on a paper of its own: a scale on the left, round numbers below,
// curves, bands and points between. Either axis may be logarithmic.
type chart struct {
	p     *paper
	x, y  axis
	h     int // rows of the plot
	plotW int // columns of it
}

// axis is one axis of a chart, in the values it is labelled with.
type axis struct {
	name string
	b    bounds
	log  bool
}

// chartGutter is the space left of a chart for its scale.
const chartGutter = 8

// at is v as a coordinate: itself or its logarithm, NaN where it has none.
func (a axis) at(v float64) float64 {
	if !a.log {
		return v
	}
	if !(v > 0) {
		return math.NaN()
	}
	return math.Log10(v)
}

// span is the axis's bounds as coordinates.
func (a axis) span() bounds { return bounds{a.at(a.b.lo), a.at(a.b.hi)} }

// round widens the axis to round ends and gives it some length.
func (a axis) round(least float64) axis {
	if !a.log {
		a.b = roundBounds(a.b, least)
		return a
	}
	if a.b.empty() || !(a.b.lo > 0) {
		a.b = bounds{0.1, 10}
	}
	hi := roundStep(a.b.hi) // the next of 1, 2, 5 times a power of ten
	lo := 1 / roundStep(1/a.b.lo)
	if hi < 2*lo {
		lo, hi = lo/2, 2*hi
	}
	a.b = bounds{lo, hi}
	return a
}

// newChart draws the frame of a chart under its title. The height includes title, plot,
// and two rows for the numbers and the name of the x axis.
func newChart(w, h int, title string, x, y axis) *chart {
	c := &chart{p: newPaper(w, h), x: x, y: y, h: max(h-3, 1), plotW: max(w-chartGutter-1, 1)}
	c.p.text(0, 0, title, strong)
	for r := range c.h {
		c.p.set(chartGutter-1, 1+r, '┤', faint)
	}
	c.yNumber(y.b.hi)
	c.yNumber(y.b.lo)
	if y.log {
		for e := math.Ceil(math.Log10(y.b.lo)); e <= math.Log10(y.b.hi); e++ {
			c.yNumber(math.Pow(10, e))
		}
	}
	if !y.log && y.b.lo < 0 && y.b.hi > 0 {
		c.level(0, '┄', faint)
		c.yNumber(0)
	}
	var at []float64
	var step float64
	if x.log {
		at = decadeTicks(x.b.lo, x.b.hi)
	} else {
		at, step = ticks(x.b.lo, x.b.hi, max(c.plotW/12, 1))
	}
	next := 0
	for _, v := range at {
		label := "╵" + plainText(v)
		if !x.log {
			label = "╵" + stepText(v, step)
		}
		if col := c.column(v); col >= next && col+textWidth(label) <= w {
			next = c.p.text(col, 1+c.h, label, faint) + 1
		}
	}
	c.p.text(chartGutter, 2+c.h, clip(x.name, c.plotW), faint)
	return c
}

// yNumber writes a value of the y axis beside its row.
func (c *chart) yNumber(v float64) {
	y := 1 + int(c.dots().row(c.y.at(v)))/4
	c.p.textRight(chartGutter-1, min(max(y, 1), c.h), plainText(v), faint)
}

// column is the cell column of x, possibly outside the plot.
func (c *chart) column(x float64) int { return chartGutter + int(c.dot(x))/2 }

// dot is the dot column of x as a whole number, just outside the grid if it lies outside,
// -1 if it has no place.
func (c *chart) dot(x float64) float64 {
	s := c.x.span()
	d := math.Round((c.x.at(x) - s.lo) / (s.hi - s.lo) * float64(2*c.plotW-1))
	if math.IsNaN(d) {
		return -1
	}
	return min(max(d, -1), float64(2*c.plotW))
}

func (c *chart) dots() *dots { return newDots(c.plotW, c.h, c.y.span()) }

func (c *chart) put(d *dots, pn pen) { d.draw(c.p, chartGutter, 1, pn) }

// level draws a value of the y axis across the plot.
func (c *chart) level(v float64, r rune, pn pen) {
	if row := int(c.dots().row(c.y.at(v))); row >= 0 && row < 4*c.h {
		c.p.fill(chartGutter, chartGutter+c.plotW, 1+row/4, r, pn)
	}
}

// upright draws a column of cells at x between two values of y, as far as it lies in the
// plot.
func (c *chart) upright(x, from, to float64, r rune, pn pen) {
	col := c.column(x)
	if !finite(c.x.at(x)) || col < chartGutter || col >= chartGutter+c.plotW || !finite(from) || !finite(to) {
		return
	}
	d := c.dots()
	a, b := d.row(c.y.at(max(from, to))), d.row(c.y.at(min(from, to)))
	for y := max(int(a)/4, 0); y <= min(int(b)/4, c.h-1); y++ {
		c.p.set(col, 1+y, r, pn)
	}
}

// words writes beside a point of the plot, on its left where there is no room.
func (c *chart) words(x, y float64, s string, pn pen) {
	col, row := c.column(x)+1, int(c.dots().row(c.y.at(y)))/4
	if row < 0 || row >= c.h || col < chartGutter {
		return
	}
	if col+textWidth(s) > chartGutter+c.plotW {
		col -= 1 + textWidth(s)
	}
	c.p.text(col, 1+row, s, pn)
}

// line joins points in the order given; NaN breaks it. A dotted line has every other dot
// column left out, so that it is told from a full one without colour.
func (c *chart) line(xs, ys []float64, dotted bool, pn pen) {
	d := c.dots()
	for i := 1; i < len(xs) && i < len(ys); i++ {
		xa, xb, ya, yb := c.dot(xs[i-1]), c.dot(xs[i]), c.y.at(ys[i-1]), c.y.at(ys[i])
		if finite(ya) && finite(yb) && xa <= xb && finite(c.x.at(xs[i-1])) {
			d.line(xa, ya, xb, yb)
		}
	}
	d.dotted = dotted
	c.put(d, pn)
}

// band shades the cells between two curves. Whole cells, so that a line drawn over them
// is told from them without colour.
func (c *chart) band(xs, lows, highs []float64, pn pen) {
	d := c.dots()
	type rows struct{ top, bottom float64 }
	at := make([]rows, c.plotW)
	for x := range at {
		at[x] = rows{math.Inf(1), math.Inf(-1)}
	}
	for i := range xs {
		x := int(c.dot(xs[i]))
		lo, hi := c.y.at(lows[i]), c.y.at(highs[i])
		if x < 0 || x >= d.w || !finite(lo) || !finite(hi) {
			continue
		}
		r := &at[x/2]
		r.top, r.bottom = min(r.top, d.row(hi)), max(r.bottom, d.row(lo))
	}
	for x, r := range at {
		for y := max(r.top, 0); y <= min(r.bottom, float64(d.h-1)); y++ {
			c.p.set(chartGutter+x, 1+int(y)/4, '░', pn)
		}
	}
}

// bars draws the intervals of estimates as upright bars.
func (c *chart) bars(xs []float64, es []flight.Estimate, pn pen) {
	d := c.dots()
	for i, e := range es {
		if i >= len(xs) || !e.HasInterval() {
			continue
		}
		lo, hi := c.y.at(e.Low), c.y.at(e.High)
		if c.y.log && !(e.Low > 0) {
			lo = c.y.span().lo
		}
		if x := c.dot(xs[i]); x >= 0 && finite(lo) && finite(hi) {
			d.bar(int(min(x, float64(d.w-1))), d.row(lo), d.row(hi))
		}
	}
	c.put(d, pn)
}

// points puts a mark on every point that lies in the plot.
func (c *chart) points(xs, ys []float64, r rune, pn pen) {
	d := c.dots()
	for i := range xs {
		row := int(d.row(c.y.at(ys[i])))
		x := c.dot(xs[i])
		if x >= 0 && x < float64(d.w) && row >= 0 && row < d.h && finite(ys[i]) {
			c.p.set(c.column(xs[i]), 1+row/4, r, pn)
		}
	}
}

// lines turns papers that stand side by side into lines of a page.
func linesOf(gap int, ps ...*paper) []line {
	h := 0
	for _, p := range ps {
		h = max(h, p.h)
	}
	ls := make([]line, h)
	for y := range ls {
		for i, p := range ps {
			if i > 0 {
				ls[y].row = append(ls[y].row, newPaper(gap, 1).cells...)
			}
			if y < p.h {
				ls[y].row = append(ls[y].row, p.cells[y*p.w:(y+1)*p.w]...)
			} else {
				ls[y].row = append(ls[y].row, newPaper(p.w, 1).cells...)
			}
		}
	}
	return ls
}

// values, lows and highs take estimates apart.
func parts(es []flight.Estimate, k float64) (values, lows, highs []float64) {
	for _, e := range es {
		values, lows, highs = append(values, e.Value*k), append(lows, e.Low*k), append(highs, e.High*k)
	}
	return values, lows, highs
}

// boundsOf are the bounds of all finite values.
func boundsOf(vs ...[]float64) bounds {
	b := none()
	for _, s := range vs {
		for _, v := range s {
			b = b.with(v)
		}
	}
	return b
}

// positive leaves out what a logarithmic axis cannot show.
func positive(vs []float64) []float64 {
	out := make([]float64, 0, len(vs))
	for _, v := range vs {
		if v > 0 {
			out = append(out, v)
		}
	}
	return out
}
