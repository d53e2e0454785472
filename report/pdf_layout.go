package report

import (
	"strings"

	"codeberg.org/go-pdf/fpdf"
)

func wrapWords(text string) []string { return strings.Fields(text) }

func (s *sheet) title(text string) {
	const size = 15
	s.font(size, true)
	for _, l := range s.lines(text, s.contentPt()) {
		s.y += size
		s.doc.Text(marginPt, s.y, l)
		s.y += 4
	}
	s.line(pen{widthPt: 1.2}, point{marginPt, s.y}, point{s.width - marginPt, s.y})
	s.y += 5
}

// section sets a heading and what stands under it. A table takes the text after it to
// its right if there is room.
func (s *sheet) section(part section) {
	if part.isVerdict() {
		s.verdict(part)
		return
	}
	blocks := part.blocks
	if part.heading != "" {
		s.heading(part.heading, s.firstHigh(blocks))
	}
	for len(blocks) > 0 {
		n := sameKind(blocks)
		switch blocks[0].kind {
		case tableBlock:
			n = s.tableAndText(blocks)
		case figureBlock:
			s.figures(blocks[:n])
		case bulletBlock:
			s.list(blocks[:n], finePt)
		default:
			s.paragraph(unescaped(blocks[0].text))
		}
		blocks = blocks[n:]
	}
	s.y += 3
}

// firstHigh is the room that a heading needs below it, so that it never stands alone at
// the foot of a page.
func (s *sheet) firstHigh(blocks []block) float64 {
	if len(blocks) == 0 {
		return 0
	}
	switch b := blocks[0]; b.kind {
	case tableBlock:
		return min(s.table(b.rows).high, 150)
	case figureBlock:
		if f := b.draw(s.figureWidth(b.half)); f != nil {
			return s.drawingHigh(f)
		}
	}
	return 3 * bodyPt * leadPart
}

func (s *sheet) heading(text string, below float64) {
	const size = 10
	s.need(size + 9 + below)
	s.y += size + 1
	s.font(size, true)
	s.doc.Text(marginPt, s.y, s.fit(s.clean(text), s.contentPt()))
	s.y += 3
	s.line(pen{widthPt: 0.5}, point{marginPt, s.y}, point{s.width - marginPt, s.y})
	s.y += 4
}

// verdict sets the verdict in a frame, so that it is seen first.
func (s *sheet) verdict(part section) {
	const size, padPt = 14.0, 6.0
	var texts, figures []block
	for _, b := range part.blocks {
		if b.kind == figureBlock {
			figures = append(figures, b)
		} else {
			texts = append(texts, b)
		}
	}
	inner := column{x: marginPt + padPt, width: s.contentPt() - 2*padPt, sizePt: bodyPt}
	lines := s.flow(texts, inner)
	const headPt = padPt + size + 4
	full := headPt + float64(len(lines))*inner.leadPt() + padPt
	if full < s.high/2 { // a longer one may run over pages, without frame
		s.need(full)
	}
	top := s.y
	s.y += padPt + size - 2
	s.font(size, true)
	s.doc.Text(inner.x, s.y, s.clean(part.heading))
	s.y += 6
	for _, l := range lines {
		s.need(inner.leadPt())
		s.put(l, inner)
	}
	s.y += padPt - 2
	if s.y > top {
		s.line(pen{widthPt: 1.6}, point{marginPt, top}, point{s.width - marginPt, top}, point{s.width - marginPt, s.y}, point{marginPt, s.y}, point{marginPt, top})
	}
	s.y += 5
	for len(figures) > 0 {
		n := sameKind(figures)
		s.figures(figures[:n])
		figures = figures[n:]
	}
}

// column is where text flows: its left edge, width and size of letters.
type column struct{ x, width, sizePt float64 }

func (c column) leadPt() float64 { return c.sizePt * leadPart }

// textLine is one line of flowing text.
type textLine struct {
	text   string
	bullet bool // starts a point of a list
	indent float64
	last   bool // ends its block
}

const bulletIndentPt = 7.0

// flow breaks paragraphs and points of lists into lines of a column.
func (s *sheet) flow(blocks []block, c column) []textLine {
	s.font(c.sizePt, false)
	var out []textLine
	for _, b := range blocks {
		indent := 0.0
		if b.kind == bulletBlock {
			indent = bulletIndentPt
		}
		lines := s.lines(unescaped(b.text), c.width-indent)
		for i, l := range lines {
			out = append(out, textLine{l, b.kind == bulletBlock && i == 0, indent, i == len(lines)-1})
		}
	}
	return out
}

// put sets one line and moves down.
func (s *sheet) put(l textLine, c column) {
	s.font(c.sizePt, false)
	s.y += c.leadPt()
	base := s.y - 0.25*c.sizePt
	if l.bullet {
		s.doc.Text(c.x+1, base, "•")
	}
	s.doc.Text(c.x+l.indent, base, l.text)
}

func (s *sheet) paragraph(text string) {
	c := column{marginPt, s.contentPt(), bodyPt}
	for _, l := range s.flow([]block{{kind: paragraphBlock, text: strings.ReplaceAll(text, `\`, `\\`)}}, c) {
		s.need(c.leadPt())
		s.put(l, c)
	}
	s.y += 2
}

// list sets points in two columns if they are many, otherwise over the whole width.
func (s *sheet) list(blocks []block, sizePt float64) {
	length := 0
	for _, b := range blocks {
		length += len(b.text)
	}
	if length < longList/2 {
		c := column{marginPt, s.contentPt(), bodyPt}
		for _, l := range s.flow(blocks, c) {
			s.need(c.leadPt())
			s.put(l, c)
		}
		s.y += 2
		return
	}
	left := column{marginPt, (s.contentPt() - gutterPt) / 2, sizePt}
	right := left
	right.x += left.width + gutterPt
	lines := s.flow(blocks, left)
	for len(lines) > 0 {
		fits := int((s.bottom() - s.y) / left.leadPt())
		if fits < 3 && s.y > marginPt {
			s.newPage()
			continue
		}
		here := min(len(lines), 2*fits)
		half := balance(lines[:here], fits)
		top := s.y
		for _, l := range lines[:half] {
			s.put(l, left)
		}
		end := s.y
		s.y = top
		for _, l := range lines[half:here] {
			s.put(l, right)
		}
		s.y = max(end, s.y)
		lines = lines[here:]
	}
	s.y += 3
}

// balance is how many of the lines go into the left of two columns that hold most lines
// each: the least that leaves no more for the right, at the end of a point if one ends
// near.
func balance(lines []textLine, most int) int {
	half := (len(lines) + 1) / 2
	for n := half; n <= min(most, half+3, len(lines)); n++ {
		if lines[n-1].last {
			return n
		}
	}
	return half
}

// tableAndText sets a table and, to its right, as many of the blocks of text after it as
// fit beside it. It returns how many blocks it set.
func (s *sheet) tableAndText(blocks []block) int {
	t := s.table(blocks[0].rows)
	if t.high < s.bottom()-marginPt {
		s.need(t.high)
	}
	top, page := s.y, s.doc.PageNo()
	s.drawTable(t)
	used := 1
	beside := column{marginPt + t.width + gutterPt, s.contentPt() - t.width - gutterPt, finePt}
	if beside.width < 150 || s.doc.PageNo() != page {
		return used
	}
	end := s.y
	s.y = top
	for _, b := range blocks[1:] {
		if b.kind != bulletBlock && b.kind != paragraphBlock {
			break
		}
		lines := s.flow([]block{b}, beside)
		if s.y+float64(len(lines))*beside.leadPt() > end {
			break
		}
		for _, l := range lines {
			s.put(l, beside)
		}
		s.y++
		used++
	}
	s.y = end + 2
	return used
}

func (s *sheet) figureWidth(half bool) float64 {
	if half {
		return (s.contentPt() - gutterPt) / 2
	}
	return s.contentPt()
}

// figures draws figures one below the other, or two in a row if they are half as wide.
func (s *sheet) figures(blocks []block) {
	width := s.figureWidth(blocks[0].half)
	var all []*drawing
	for _, b := range blocks {
		if f := b.draw(width); f != nil {
			all = append(all, f)
		}
	}
	for len(all) > 0 {
		row := all[:1]
		if blocks[0].half && len(all) > 1 {
			row = all[:2]
		}
		high := 0.0
		for _, f := range row {
			high = max(high, s.drawingHigh(f))
		}
		s.need(high)
		for i, f := range row {
			s.drawing(f, marginPt+float64(i)*(width+gutterPt), s.y)
		}
		s.y += high
		all = all[len(row):]
	}
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

// signatures leaves room for remarks, at least four lines and what is left of the page,
// and for the crew's names.
func (s *sheet) signatures() {
	const rulePt, least, most = 17.0, 4, 10
	s.need(22 + least*rulePt + 50)
	s.heading("Remarks", 0)
	rules := min(most, int((s.bottom()-s.y-50)/rulePt))
	for range max(least, rules) {
		s.y += rulePt
		s.line(pen{widthPt: 0.4}, point{marginPt, s.y}, point{s.width - marginPt, s.y})
	}
	right := s.width - marginPt
	for _, who := range []string{"Pilot", "Inspector"} {
		s.y += 23
		s.font(bodyPt, false)
		s.doc.Text(marginPt, s.y, who)
		s.doc.Text(right-150, s.y, "Date")
		s.line(pen{widthPt: 0.4}, point{marginPt + 45, s.y + 1}, point{right - 165, s.y + 1})
		s.line(pen{widthPt: 0.4}, point{right - 125, s.y + 1}, point{right, s.y + 1})
	}
}
