package report

import "codeberg.org/go-pdf/fpdf"

// figureWidth is the width of a figure of which that many stand in a row.
func (s *sheet) figureWidth(row int) float64 {
	return (s.contentPt() - gutterPt*float64(row-1)) / float64(row)
}

// figures draws a group of figures in rows.
func (s *sheet) figures(blocks []block) {
	all, columns := drawn(blocks, s.figureWidth, s.tall())
	if len(all) == 0 {
		return
	}
	width := s.figureWidth(columns)
	for len(all) > 0 {
		row := all[:min(columns, len(all))]
		high := 0.0
		for _, f := range row {
			high = max(high, s.drawingHigh(f))
		}
		s.need(high)
		for i, f := range row {
			s.drawing(f, marginPt+float64(i)*(width+gutterPt), s.y)
		}
		s.y += high
		if n := len(row); columns > 1 && n < columns {
			x := float64(n) * (width + gutterPt)
			s.gap = gap{page: s.doc.PageNo(), top: s.y - high, bottom: s.y, x: marginPt + x, width: s.contentPt() - x}
		}
		all = all[len(row):]
	}
}

// gap is the empty place to the right of figures that do not fill their row.
type gap struct {
	page        int
	top, bottom float64
	x, width    float64
}

// inGap sets a small section into the gap that the figures just set have left, if it fits.
// It reports whether it did.
func (s *sheet) inGap(part section) bool {
	g := s.gap
	s.gap = gap{}
	if g.page != s.doc.PageNo() || s.y-g.bottom > 4 {
		return false
	}
	p, ok := s.small(part, g.x, g.width)
	if !ok || p.high > g.bottom-g.top {
		return false
	}
	end := s.y
	s.y = g.top
	s.setSmall(p)
	s.y = end
	return true
}

// smallPlan is a section of a table or text or both, planned for a column.
type smallPlan struct {
	heading string
	table   *tablePlan
	lines   []textLine
	column  column
	high    float64
}

// small plans a section for a column. It reports whether the section is one of at most a
// table with text below, and fits in width.
func (s *sheet) small(part section, x, width float64) (smallPlan, bool) {
	const headPt = headingPt + 12
	p := smallPlan{heading: part.heading, column: column{x, width, finePt}, high: headPt}
	if !part.isSmall() {
		return p, false
	}
	blocks := part.blocks
	if blocks[0].kind == tableBlock {
		t := s.table(blocks[0].rows)
		t.x = x - marginPt
		p.table, blocks = &t, blocks[1:]
		p.high += t.high + 3
	}
	p.lines = s.flow(blocks, p.column)
	p.high += float64(len(p.lines)) * p.column.leadPt()
	return p, p.table == nil || p.table.width <= width
}

// setSmall sets a planned section at the height reached.
func (s *sheet) setSmall(p smallPlan) {
	s.headingAt(p.heading, p.column.x, p.column.width)
	if p.table != nil {
		s.drawTable(*p.table)
	}
	for _, l := range p.lines {
		s.put(l, p.column)
	}
}

// pair sets two small sections side by side if both are. It reports whether it did. Two
// tables share the width as they need it, else each section takes half.
func (s *sheet) pair(a, b section) bool {
	const most = 120.0
	if !a.isSmall() || !b.isSmall() {
		return false
	}
	width := s.figureWidth(2)
	if a.blocks[0].kind == tableBlock && b.blocks[0].kind == tableBlock {
		room := s.contentPt() - gutterPt - s.table(a.blocks[0].rows).width - s.table(b.blocks[0].rows).width
		width = s.table(a.blocks[0].rows).width + room/2
	}
	left, ok := s.small(a, marginPt, width)
	right, too := s.small(b, marginPt+width+gutterPt, s.contentPt()-width-gutterPt)
	high := max(left.high, right.high)
	if !ok || !too || high > most {
		return false
	}
	s.need(high)
	top := s.y
	s.setSmall(left)
	s.y = top
	s.setSmall(right)
	s.y = top + high + 3
	return true
}

const captionPt = 6.4

// drawingHigh is how much room a figure needs with its title and caption.
func (s *sheet) drawingHigh(f *drawing) float64 {
	s.font(captionPt, false)
	lines := 0
	if f.caption != "" {
		lines = len(s.lines(f.caption, f.widthPt))
	}
	return 11 + f.highPt + float64(lines)*captionPt*leadPart + 4
}

func (s *sheet) drawing(f *drawing, x, y float64) {
	s.font(textPt+1, true)
	s.doc.Text(x, y+8, s.fit(s.clean(f.title), f.widthPt))
	y += 11
	for _, sh := range f.shapes {
		s.shape(sh, x, y)
	}
	y += f.highPt
	if f.caption == "" {
		return
	}
	s.font(captionPt, false)
	for _, l := range s.lines(f.caption, f.widthPt) {
		y += captionPt * leadPart
		s.doc.Text(x, y, l)
	}
}

func (s *sheet) shape(sh shape, x, y float64) {
	if sh.text != "" {
		s.font(sh.sizePt, sh.bold)
		text := s.clean(sh.text)
		at := point{x + sh.points[0].x, y + sh.points[0].y}
		switch width := s.doc.GetStringWidth(text); sh.anchor {
		case middleAnchor:
			at.x -= width / 2
		case endAnchor:
			at.x -= width
		}
		s.doc.Text(at.x, at.y, text)
		return
	}
	points := make([]point, len(sh.points))
	for i, p := range sh.points {
		points[i] = point{x + p.x, y + p.y}
	}
	if !sh.filled {
		s.line(sh.pen, points...)
		return
	}
	grey := int(255*sh.grey + 0.5)
	s.doc.SetFillColor(grey, grey, grey)
	corners := make([]fpdf.PointType, len(points))
	for i, p := range points {
		corners[i] = fpdf.PointType{X: p.x, Y: p.y}
	}
	s.doc.Polygon(corners, "F")
}
