package report

// tablePlan is a table with its cells broken into lines.
type tablePlan struct {
	cells       [][][]string // row, column, line
	widths      []float64
	rowHigh     []float64
	width, high float64
	x           float64 // from the margin
}

const cellGapPt = 9.0

// table plans a table. Columns are as wide as their texts; if the page is too narrow the
// widest give way and their texts are broken.
func (s *sheet) table(rows [][]string) tablePlan {
	t := tablePlan{widths: make([]float64, len(columnWidths(rows)))}
	for i, row := range rows {
		s.font(finePt, i == 0)
		for c := range row {
			t.widths[c] = max(t.widths[c], s.doc.GetStringWidth(s.clean(cellText(row, c)))+0.5)
		}
	}
	t.narrow(s.contentPt() - cellGapPt*float64(len(t.widths)))
	for i, row := range rows {
		s.font(finePt, i == 0)
		most := 1
		var cells [][]string
		for c := range t.widths {
			lines := s.lines(cellText(row, c), t.widths[c])
			most = max(most, len(lines))
			cells = append(cells, lines)
		}
		t.cells = append(t.cells, cells)
		t.rowHigh = append(t.rowHigh, float64(most)*finePt*leadPart+0.9)
		t.high += t.rowHigh[i]
	}
	for _, w := range t.widths {
		t.width += w + cellGapPt
	}
	t.width -= cellGapPt
	t.high += 3
	return t
}

// narrow takes from the widest columns until all fit into room.
func (t *tablePlan) narrow(room float64) {
	for range 500 {
		sum, widest := 0.0, 0
		for c, w := range t.widths {
			sum += w
			if w > t.widths[widest] {
				widest = c
			}
		}
		if sum <= room || t.widths[widest] < 25 {
			return
		}
		t.widths[widest] -= min(4, sum-room+0.1)
	}
}

// rowsIn is how many rows have room in high; a row without a name stays with the one it
// belongs to.
func (t tablePlan) rowsIn(high float64) int {
	n := 0
	for n < len(t.cells) && high >= t.rowHigh[n] {
		high -= t.rowHigh[n]
		n++
	}
	for n > 1 && n < len(t.cells) && t.cells[n][0][0] == "" {
		n--
	}
	return n
}

// cut parts a table after n rows, at least the heading and one more; the rest begins with
// the heading again.
func (t tablePlan) cut(n int) (now, rest tablePlan) {
	n = max(n, 2)
	if n >= len(t.cells) {
		return t, tablePlan{}
	}
	now, rest = t, t
	now.cells, now.rowHigh = t.cells[:n], t.rowHigh[:n]
	rest.cells = append([][][]string{t.cells[0]}, t.cells[n:]...)
	rest.rowHigh = append([]float64{t.rowHigh[0]}, t.rowHigh[n:]...)
	return now, rest
}

// drawTable sets a table that has room.
func (s *sheet) drawTable(t tablePlan) {
	for i := range t.cells {
		s.tableRow(t, i)
	}
	s.y += 3
}

func (s *sheet) tableRow(t tablePlan, i int) {
	s.font(finePt, i == 0)
	x := marginPt + t.x
	for c, lines := range t.cells[i] {
		for k, l := range lines {
			s.doc.Text(x, s.y+float64(k+1)*finePt*leadPart-1.8, l)
		}
		x += t.widths[c] + cellGapPt
	}
	s.y += t.rowHigh[i]
	p := pen{widthPt: 0.25, grey: 0.6}
	if i == 0 {
		p = pen{widthPt: 0.6}
	}
	s.line(p, point{marginPt + t.x, s.y}, point{marginPt + t.x + t.width, s.y})
}

// splitTable halves a long table of names and values, at the row nearest the middle that has
// a name. Right is
// nil if the table is no such one.
func splitTable(rows [][]string) (left, right [][]string) {
	const long = 9
	if len(rows) <= long || len(columnWidths(rows)) != 2 {
		return rows, nil
	}
	best, off := 0, len(rows)
	for n := 2; n < len(rows); n++ {
		// The right one repeats the heading.
		if d := max(2*n-len(rows)-1, len(rows)+1-2*n); rows[n][0] != "" && d < off {
			best, off = n, d
		}
	}
	if best > 0 {
		return rows[:best], append([][]string{rows[0]}, rows[best:]...)
	}
	return rows, nil
}

// tablesBeside sets two tables side by side if they fit in the width of the page. It reports
// whether they do.
func (s *sheet) tablesBeside(left, right [][]string) bool {
	a, b := s.table(left), s.table(right)
	if a.width+gutterPt+b.width > s.contentPt() {
		return false
	}
	b.x = a.width + gutterPt
	s.setBeside(a, b)
	return true
}

// setBeside sets two tables at one height.
func (s *sheet) setBeside(a, b tablePlan) {
	s.need(max(a.high, b.high))
	top := s.y
	s.drawTable(a)
	end := s.y
	s.y = top
	s.drawTable(b)
	s.y = max(end, s.y)
}

// tablePair sets two tables side by side.
func (s *sheet) tablePair(left, right [][]string) {
	a, b := s.table(left), s.table(right)
	half := (s.contentPt() - gutterPt) / 2
	if a.width > half || b.width > half {
		s.tableAndText([]block{{kind: tableBlock, rows: append(left[:len(left):len(left)], right[1:]...)}})
		return
	}
	b.x = half + gutterPt
	s.setBeside(a, b)
}
