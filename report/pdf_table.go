package report

// tablePlan is a table with its cells broken into lines.
type tablePlan struct {
	cells       [][][]string // row, column, line
	widths      []float64
	rowHigh     []float64
	width, high float64
}

const cellGapPt = 9.0

// table plans a table. Columns are as wide as their texts; if the page is too narrow the
// widest give way and their texts are broken.
func (s *sheet) table(rows [][]string) tablePlan {
	t := tablePlan{widths: make([]float64, len(columnWidths(rows)))}
	for i, row := range rows {
		s.font(finePt, i == 0)
		for c := range row {
			t.widths[c] = max(t.widths[c], s.doc.GetStringWidth(s.clean(unescaped(row[c])))+0.5)
		}
	}
	t.narrow(s.contentPt() - cellGapPt*float64(len(t.widths)))
	for i, row := range rows {
		s.font(finePt, i == 0)
		most := 1
		var cells [][]string
		for c := range t.widths {
			lines := s.lines(unescaped(cell(row, c)), t.widths[c])
			most = max(most, len(lines))
			cells = append(cells, lines)
		}
		t.cells = append(t.cells, cells)
		t.rowHigh = append(t.rowHigh, float64(most)*finePt*leadPart+1.2)
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

// drawTable sets a table; its heading comes again on each page that it runs over.
func (s *sheet) drawTable(t tablePlan) {
	for i := range t.cells {
		if s.y+t.rowHigh[i] > s.bottom() {
			s.newPage()
			if i > 0 {
				s.tableRow(t, 0)
			}
		}
		s.tableRow(t, i)
	}
	s.y += 3
}

func (s *sheet) tableRow(t tablePlan, i int) {
	s.font(finePt, i == 0)
	x := marginPt
	for c, lines := range t.cells[i] {
		for k, l := range lines {
			s.doc.Text(x, s.y+float64(k+1)*finePt*leadPart-1.6, l)
		}
		x += t.widths[c] + cellGapPt
	}
	s.y += t.rowHigh[i]
	p := pen{widthPt: 0.25, grey: 0.6}
	if i == 0 {
		p = pen{widthPt: 0.6}
	}
	s.line(p, point{marginPt, s.y}, point{marginPt + t.width, s.y})
}
