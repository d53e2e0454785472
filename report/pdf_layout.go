package report

import "strings"

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
	if part.isEmpty() || s.inGap(part) {
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
			if n == 2 && s.tablesBeside(blocks[0].rows, blocks[1].rows) {
				break
			}
			n = 1
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
		high := 0.0
		for _, b := range blocks[:min(len(blocks), max(1, b.row))] {
			if f := b.draw(room{s.figureWidth(max(1, b.row)), s.tall()}); f != nil {
				high = max(high, s.drawingHigh(f))
			}
		}
		return high
	}
	return 3 * bodyPt * leadPart
}

func (s *sheet) heading(text string, below float64) {
	s.need(headingPt + 9 + below)
	s.headingAt(text, marginPt, s.contentPt())
}

const headingPt = 10

func (s *sheet) headingAt(text string, x, width float64) {
	if s.tight {
		s.y -= 3
	}
	s.y += headingPt + 1
	s.font(headingPt, true)
	s.doc.Text(x, s.y, s.fit(s.clean(text), width))
	s.y += 3
	s.line(pen{widthPt: 0.5}, point{x, s.y}, point{x + width, s.y})
	s.y += 4
	s.headedAt = s.y
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
	if b.fine {
		c.sizePt = finePt
	}
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
	for lines := s.flow(blocks, left); len(lines) > 0; {
		fits := int((s.bottom() - s.y) / left.leadPt())
		// A few lines at the foot would tear points apart; a heading left alone there is worse.
		torn := fits < 7 && len(lines) > 2*fits && s.y != s.headedAt
		if s.y > marginPt && (fits < 3 || torn) {
			s.newPage()
			continue
		}
		lines = s.twoColumns(lines, left, fits)
	}
	s.y += 3
}

// twoColumns sets as many lines as two columns of most lines hold, the left one given,
// and returns the rest.
func (s *sheet) twoColumns(lines []textLine, left column, most int) []textLine {
	here, half := len(lines), 0
	if here <= 2*most {
		half = balance(lines, most)
	} else {
		half = upTo(lines, most)
		here = half + upTo(lines[half:], most)
	}
	right := left
	right.x += left.width + gutterPt
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
	return lines[here:]
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

// signatures sets the crew's remarks and leaves room for more, at least three lines and what
// is left of the page, and for the crew's names.
func (s *sheet) signatures(said ...string) {
	const least, most = 3, 12
	rulePt, namePt := 16.0, 22.0
	if s.tight {
		rulePt, namePt = 14, 19
	}
	var blocks []block
	for _, l := range said {
		blocks = append(blocks, block{kind: paragraphBlock, text: l})
	}
	c := column{marginPt, s.contentPt(), bodyPt}
	lines := s.flow(blocks, c)
	s.need(24 + float64(len(lines))*c.leadPt() + least*rulePt + 2*namePt + 2)
	s.heading("Remarks", 0)
	for _, l := range lines {
		s.need(c.leadPt())
		s.put(l, c)
	}
	rules := min(most, int((s.bottom()-s.y-2*namePt-2)/rulePt))
	for range max(least, rules) {
		s.y += rulePt
		s.line(pen{widthPt: 0.4}, point{marginPt, s.y}, point{s.width - marginPt, s.y})
	}
	right := s.width - marginPt
	for _, who := range []string{"Pilot", "Inspector"} {
		s.y += namePt
		s.font(bodyPt, false)
		s.doc.Text(marginPt, s.y, who)
		s.doc.Text(right-150, s.y, "Date")
		s.line(pen{widthPt: 0.4}, point{marginPt + 45, s.y + 1}, point{right - 165, s.y + 1})
		s.line(pen{widthPt: 0.4}, point{right - 125, s.y + 1}, point{right, s.y + 1})
	}
}
