package report

import "codeberg.org/go-pdf/fpdf"

// figureWidth is the width of a figure of which that many stand in a row.
func (s *sheet) figureWidth(row int) float64 {
	return (s.contentPt() - gutterPt*float64(row-1)) / float64(row)
}

// figures draws a group of figures in rows.
func (s *sheet) figures(blocks []block) {
	all, columns := drawn(blocks, s.figureWidth)
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
		if columns == 2 && len(row) == 1 {
			s.gap = gap{page: s.doc.PageNo(), top: s.y - high, bottom: s.y}
		}
		all = all[len(row):]
	}
}

// gap is the empty place to the right of a single figure of half the width.
type gap struct {
	page        int
	top, bottom float64
}

// inGap sets a small section into the gap that the figure just set has left, if it fits.
// It reports whether it did.
func (s *sheet) inGap(part section) bool {
	g := s.gap
	s.gap = gap{}
	const headPt = 22.0
	if g.page != s.doc.PageNo() || s.y-g.bottom > 4 || len(part.blocks) == 0 || part.blocks[0].kind != tableBlock {
		return false
	}
	half := s.figureWidth(2)
	t, c := s.table(part.blocks[0].rows), column{marginPt + half + gutterPt, half, finePt}
	for _, b := range part.blocks[1:] {
		if b.kind != bulletBlock && b.kind != paragraphBlock {
			return false
		}
	}
	lines := s.flow(part.blocks[1:], c)
	if t.width > half || headPt+t.high+float64(len(lines))*c.leadPt() > g.bottom-g.top {
		return false
	}
	end := s.y
	s.y = g.top
	s.headingAt(part.heading, c.x, half)
	t.x = half + gutterPt
	s.drawTable(t)
	for _, l := range lines {
		s.put(l, c)
	}
	s.y = end
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
