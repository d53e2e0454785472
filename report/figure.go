package report

import "math"

// drawing is a figure as a list of shapes, in points (1/72 inch) from its top left
// corner. It is drawn in black and greys, and told apart by line styles, so that it can
// be printed. SVG and PDF are written from the same list.
type drawing struct {
	title   string // one line, stands above it
	caption string // what the styles mean, stands below it
	widthPt float64
	highPt  float64
	shapes  []shape
}

// point is a place in a figure.
type point struct{ x, y float64 }

// pen is how a line is drawn; grey 0 is black.
type pen struct {
	widthPt float64
	grey    float64
	dashPt  []float64
}

// shape is a line, an area or a text.
type shape struct {
	points []point
	pen    pen // no line if its width is 0
	filled bool
	grey   float64 // of the filling

	text   string
	sizePt float64
	anchor anchor
	bold   bool
}

// anchor says which part of a text stands at its point.
type anchor int

const (
	startAnchor anchor = iota
	middleAnchor
	endAnchor
)

// The pens of all figures.
func framePen() pen  { return pen{widthPt: 0.5, grey: 0.35} }
func gridPen() pen   { return pen{widthPt: 0.3, grey: 0.75} }
func zeroPen() pen   { return pen{widthPt: 0.4, grey: 0.45} }
func tracePen() pen  { return pen{widthPt: 0.7} }
func errorPen() pen  { return pen{widthPt: 0.4, grey: 0.3} }
func dashedPen() pen { return pen{widthPt: 0.8, dashPt: []float64{4, 2}} }
func dottedPen() pen { return pen{widthPt: 0.6, grey: 0.2, dashPt: []float64{1, 1.8}} }

// flagGrey fills what was flagged: seen on a copy, and traces stand out on it.
const flagGrey = 0.84

// textPt is the usual size of letters in figures, smallPt that of numbers on axes.
const (
	textPt  = 7.0
	smallPt = 6.2
)

func (f *drawing) line(p pen, points ...point) {
	if len(points) > 1 {
		f.shapes = append(f.shapes, shape{points: points, pen: p})
	}
}

func (f *drawing) area(grey float64, points ...point) {
	f.shapes = append(f.shapes, shape{points: points, filled: true, grey: grey})
}

func (f *drawing) box(grey float64, x, y, w, h float64) {
	f.area(grey, point{x, y}, point{x + w, y}, point{x + w, y + h}, point{x, y + h})
}

func (f *drawing) label(x, y, sizePt float64, a anchor, text string) {
	f.shapes = append(f.shapes, shape{points: []point{{x, y}}, text: text, sizePt: sizePt, anchor: a})
}

func (f *drawing) boldLabel(x, y, sizePt float64, a anchor, text string) {
	f.label(x, y, sizePt, a, text)
	f.shapes[len(f.shapes)-1].bold = true
}

// dot is a filled mark of a measured point.
func (f *drawing) dot(x, y, radiusPt float64) {
	const corners = 8
	points := make([]point, corners)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
		points[i] = point{x + radiusPt*cos, y + radiusPt*sin}
	}
	f.area(0, points...)
}

// roomPt is about as wide as text will be, rather more: letters of the usual sans serif
// faces are 0.5 to 0.56 of their size wide on average.
func roomPt(text string, sizePt float64) float64 {
	return 0.56 * sizePt * float64(len([]rune(text)))
}

// scale maps values from lo to hi, on a log axis if log is set.
type scale struct {
	lo, hi float64
	log    bool
	step   float64 // between ticks; 0: round numbers
}

// part is where v lies between the ends, 0 to 1, beyond them as much as there is.
func (s scale) part(v float64) float64 {
	if s.log {
		return math.Log(v/s.lo) / math.Log(s.hi/s.lo)
	}
	return (v - s.lo) / (s.hi - s.lo)
}

// ticks lists round numbers on the scale, about most at the most.
func (s scale) ticks(most int) []float64 {
	if s.log {
		return s.logTicks()
	}
	if s.step > 0 {
		return s.multiples(s.step)
	}
	out := s.multiples(roundStep((s.hi - s.lo) / float64(max(1, most))))
	if len(out) < 2 { // one number says nothing of the scale
		out = s.multiples(roundStep((s.hi - s.lo) / float64(2*most)))
	}
	return out
}

func (s scale) multiples(step float64) []float64 {
	var out []float64
	for k := math.Ceil(s.lo/step - 1e-9); k*step <= s.hi+1e-9*step && len(out) < 50; k++ {
		out = append(out, k*step)
	}
	return out
}

func (s scale) logTicks() []float64 {
	marks := []float64{1, 2, 5}
	if s.hi/s.lo < 30 {
		marks = []float64{1, 2, 3, 4, 6, 8}
	}
	var out []float64
	for e := math.Floor(math.Log10(s.lo)); e <= math.Ceil(math.Log10(s.hi)); e++ {
		for _, m := range marks {
			if v := m * math.Pow(10, e); v >= s.lo*(1-1e-9) && v <= s.hi*(1+1e-9) {
				out = append(out, v)
			}
		}
	}
	return out
}

// roundStep is the least of 1, 2 and 5 times a power of ten that is not below x.
func roundStep(x float64) float64 {
	if !(x > 0) || math.IsInf(x, 0) {
		return 1
	}
	base := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*base >= x*(1-1e-9) {
			return m * base
		}
	}
	return 10 * base
}

// roundScale is a scale with round ends that holds lo to hi and is at least least wide.
func roundScale(lo, hi, least float64) scale {
	if !finite(lo) || !finite(hi) || lo > hi {
		lo, hi = 0, 0
	}
	if gap := least - (hi - lo); gap > 0 {
		lo, hi = lo-gap/2, hi+gap/2
	}
	step := roundStep((hi - lo) / 4)
	return scale{lo: math.Floor(lo/step+1e-9) * step, hi: math.Ceil(hi/step-1e-9) * step}
}

// travelScale is roundScale for percent of stick travel. A log's hundred is rarely 100.0:
// what is a little beyond the stop is drawn at the stop.
func travelScale(lo, hi, least float64) scale {
	const little = 110
	if lo < -100 && lo > -little {
		lo = -100
	}
	if hi > 100 && hi < little {
		hi = 100
	}
	return roundScale(lo, hi, least)
}

// tickText words a tick: as many decimals as its scale's step needs.
func tickText(v, step float64) string {
	return fixed(v, max(0, int(math.Ceil(-math.Log10(step)-1e-9))))
}

// panel is an area with axes in a figure.
type panel struct {
	f          *drawing
	x, y, w, h float64
	xs, ys     scale
}

func (p panel) atX(v float64) float64 { return p.x + p.w*p.xs.part(v) }

// atY keeps what is beyond the ends at the ends.
func (p panel) atY(v float64) float64 {
	return p.y + p.h*(1-min(1, max(0, p.ys.part(v))))
}

// frame draws the panel's border, grid and the numbers on its left.
func (p panel) frame(yTicks int) {
	ticks := p.ys.ticks(yTicks)
	step := p.ys.hi - p.ys.lo
	if len(ticks) > 1 {
		step = ticks[1] - ticks[0]
	}
	last := math.Inf(1)
	for _, v := range ticks {
		y := p.atY(v)
		grid := gridPen()
		if v == 0 {
			grid = zeroPen()
		}
		p.f.line(grid, point{p.x, y}, point{p.x + p.w, y})
		// The numbers at the ends stay inside, clear of the next panel's.
		base := min(p.y+p.h-0.3, max(p.y+smallPt*0.75, y+smallPt*0.36))
		if last-base >= smallPt*0.95 {
			p.f.label(p.x-3, base, smallPt, endAnchor, tickText(v, step))
			last = base
		}
	}
	for _, v := range p.xs.ticks(p.xTicks()) {
		x := p.atX(v)
		p.f.line(gridPen(), point{x, p.y}, point{x, p.y + p.h})
	}
	p.border()
}

// xTicks is how many numbers have room below the panel.
func (p panel) xTicks() int { return max(3, min(10, int(p.w/38))) }

func (p panel) border() {
	p.f.line(framePen(), point{p.x, p.y}, point{p.x + p.w, p.y}, point{p.x + p.w, p.y + p.h}, point{p.x, p.y + p.h}, point{p.x, p.y})
}

// numbers writes the x axis below the panel, and what it is.
func (p panel) numbers(what string) {
	ticks := p.xs.ticks(p.xTicks())
	step := 1.0
	if len(ticks) > 1 {
		step = ticks[1] - ticks[0]
	}
	for _, v := range ticks {
		text := tickText(v, step)
		if p.xs.log {
			text = significant(v, 1)
		}
		x := p.atX(v)
		p.f.line(framePen(), point{x, p.y + p.h}, point{x, p.y + p.h + 2})
		// At the right end a number keeps inside the figure.
		x = min(x, p.f.widthPt-roomPt(text, smallPt)/2)
		p.f.label(x, p.y+p.h+2+smallPt, smallPt, middleAnchor, text)
	}
	p.f.label(0, p.y+p.h+2+smallPt, textPt, startAnchor, what)
}

// curve draws runs of points given in the panel's units.
func (p panel) curve(with pen, runs [][]point) {
	for _, run := range runs {
		points := make([]point, 0, len(run))
		for _, q := range run {
			points = append(points, point{p.atX(q.x), p.atY(q.y)})
		}
		if len(points) == 1 {
			p.f.dot(points[0].x, points[0].y, 0.5)
			continue
		}
		p.f.line(with, points...)
	}
}

// shade fills an interval of x over the whole height, wide enough to be seen.
func (p panel) shade(fromX, toX float64) {
	a, b := max(p.x, p.atX(fromX)), min(p.x+p.w, p.atX(toX))
	if b < p.x || a > p.x+p.w {
		return
	}
	if b-a < 1.2 {
		a, b = (a+b)/2-0.6, (a+b)/2+0.6
	}
	p.f.box(flagGrey, a, p.y, b-a, p.h)
}
