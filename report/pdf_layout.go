package report

import (
	"strings"

	"codeberg.org/go-pdf/fpdf"
)

// wrapWords splits at plain blanks only: others keep words together.
func wrapWords(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return r == ' ' })
}

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
	if s.inGap(part) {
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
			if left, right := splitTable(blocks[0].rows); right != nil {
				s.tablePair(left, right)
				break
			}
			n = s.tableAndText(blocks)
		case figureBlock:
			s.figures(blocks[:n])
		case bulletBlock:
			s.list(blocks[:n], finePt)
		default:
			s.paragraph(blocks[0])
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
		t := s.table(b.rows)
		return min(t.high, 8*t.rowHigh[0])
	case figureBlock:
		if f := b.draw(s.figureWidth(b.half)); f != nil {
			return s.drawingHigh(f)
		}
	}
	return 3 * bodyPt * leadPart
}

func (s *sheet) heading(text string, below float64) {
	s.need(headingPt + 9 + below)
	s.headingAt(text, marginPt, s.contentPt())
}

const headingPt = 10

func (s *sheet) headingAt(text string, x, width float64) {
	s.y += headingPt + 1
	s.font(headingPt, true)
	s.doc.Text(x, s.y, s.fit(s.clean(text), width))
	s.y += 3
	s.line(pen{widthPt: 0.5}, point{x, s.y}, point{x + width, s.y})
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
	full := headPt + float64(len(lines))*inner.leadPt() + 3 + padPt
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
	gap    bool // the next block is of another kind
}

const bulletIndentPt = 7.0

// flow breaks paragraphs and points of lists into lines of a column.
func (s *sheet) flow(blocks []block, c column) []textLine {
	s.font(c.sizePt, false)
	var out []textLine
	var kind blockKind
	for _, b := range blocks {
		indent := 0.0
		if b.kind == bulletBlock {
			indent = bulletIndentPt
		}
		lines := s.lines(unescaped(b.text), c.width-indent)
		if n := len(out); n > 0 && b.kind != kind {
			out[n-1].gap = true
		}
		kind = b.kind
		for i, l := range lines {
			out = append(out, textLine{l, b.kind == bulletBlock && i == 0, indent, i == len(lines)-1, false})
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
	if l.gap {
		s.y += 3
	}
}

func (s *sheet) paragraph(b block) {
	c := column{marginPt, s.contentPt(), bodyPt}
	for _, l := range s.flow([]block{b}, c) {
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
		// A few lines at the foot would tear points apart.
		if s.y > marginPt && (fits < 3 || fits < 7 && len(lines) > 2*fits) {
			s.newPage()
			continue
		}
		here, half := len(lines), 0
		if here <= 2*fits {
			half = balance(lines, fits)
		} else {
			half = upTo(lines, fits)
			here = half + upTo(lines[half:], fits)
		}
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

// upTo is how many of the lines go into a column that holds most: as many as there is
// room for, or a few less so that it ends with a point.
func upTo(lines []textLine, most int) int {
	for n := most; n > max(0, most-4); n-- {
		if lines[n-1].last {
			return n
		}
	}
	return most
}

// balance is how many of the lines go into the left of two columns that hold most lines
// each: half, or about half so that the right one starts with a point of its own.
func balance(lines []textLine, most int) int {
	half := (len(lines) + 1) / 2
	for off := range 4 {
		for _, n := range []int{half + off, half - off} {
			if n > 0 && n <= most && len(lines)-n <= most && n <= len(lines) && lines[n-1].last {
				return n
			}
		}
	}
	return half
}

// tableAndText sets a table and, to its right, as many of the blocks of text after it as
// fit beside it. It returns how many blocks it set.
func (s *sheet) tableAndText(blocks []block) int {
	used := 1
	for t := s.table(blocks[0].rows); len(t.cells) > 0; {
		here := t.rowsIn(s.bottom() - s.y)
		if here < len(t.cells) && here < fewRows && s.y > marginPt {
			s.newPage()
			continue
		}
		now, rest := t.cut(here)
		top := s.y
		s.drawTable(now)
		used += s.beside(now, top, blocks[used:])
		if t = rest; len(t.cells) > 0 {
			s.newPage()
		}
	}
	return used
}

// fewRows is how many rows of a table at least stand before a page ends.
const fewRows = 8

// beside sets text to the right of a table that was set from top on, as many blocks as
// fit beside it, and returns how many.
func (s *sheet) beside(t tablePlan, top float64, blocks []block) int {
	c := column{marginPt + t.width + gutterPt, s.contentPt() - t.width - gutterPt, finePt}
	if c.width < 150 {
		return 0
	}
	end, used := s.y, 0
	s.y = top
	for _, b := range blocks {
		if b.kind != bulletBlock && b.kind != paragraphBlock {
			break
		}
		lines := s.flow([]block{b}, c)
		if s.y+float64(len(lines))*c.leadPt() > end {
			break
		}
		for _, l := range lines {
			s.put(l, c)
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
		if blocks[0].half && len(row) == 1 {
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
	half := s.figureWidth(true)
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

// signatures leaves room for remarks, at least three lines and what is left of the page,
// and for the crew's names.
func (s *sheet) signatures() {
	const rulePt, least, most = 16.0, 3, 12
	s.need(24 + least*rulePt + 46)
	s.heading("Remarks", 0)
	rules := min(most, int((s.bottom()-s.y-46)/rulePt))
	for range max(least, rules) {
		s.y += rulePt
		s.line(pen{widthPt: 0.4}, point{marginPt, s.y}, point{s.width - marginPt, s.y})
	}
	right := s.width - marginPt
	for _, who := range []string{"Pilot", "Inspector"} {
		s.y += 22
		s.font(bodyPt, false)
		s.doc.Text(marginPt, s.y, who)
		s.doc.Text(right-150, s.y, "Date")
		s.line(pen{widthPt: 0.4}, point{marginPt + 45, s.y + 1}, point{right - 165, s.y + 1})
		s.line(pen{widthPt: 0.4}, point{right - 125, s.y + 1}, point{right, s.y + 1})
	}
}
