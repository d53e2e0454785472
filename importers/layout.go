package importers

// layout is one way to cut the lines of a file into cells.
type layout struct {
	delim, dec byte
	columns    int
	score      float64 // share of lines that agree, times share of cells with values
}

// bestLayout tries the delimiters in order of how seldom they occur inside cells, so
// that of equal ones the surest wins.
func bestLayout(lines []headLine) layout {
	var best layout
	for _, delim := range []byte{';', '\t', ',', '|', ' '} {
		rows := cutLines(lines, delim)
		for _, dec := range []byte{'.', ','} {
			if l := tryLayout(rows, delim, dec); l.score > best.score+0.02 {
				best = l
			}
		}
	}
	return best
}

// layoutLines is how many lines are looked at to find the layout.
const layoutLines = 100

// cutLines cuts the first lines into cells: some from the start, where there may be a
// preamble, the others evenly from what follows.
func cutLines(lines []headLine, delim byte) [][]string {
	var rows [][]string
	stride := 1
	for i := 0; i < len(lines) && len(rows) < layoutLines; i += stride {
		if isComment(lines[i].text) {
			continue
		}
		rows = append(rows, splitCells(lines[i].text, delim))
		if len(rows) == layoutLines/2 {
			stride = max(1, min(len(lines), 300)*2/layoutLines)
		}
	}
	return rows
}

func tryLayout(rows [][]string, delim, dec byte) layout {
	counts := map[int]int{}
	values := map[int]int{}
	for _, cells := range rows {
		counts[len(cells)]++
		for _, c := range cells {
			if _, ok := kindOf(c, dec); ok && c != "" {
				values[len(cells)]++
			}
		}
	}
	l := layout{delim: delim, dec: dec}
	for n, c := range counts {
		if n >= 2 && n < maxColumns && (c > counts[l.columns] || (c == counts[l.columns] && n > l.columns)) {
			l.columns = n
		}
	}
	if l.columns > 0 {
		agree := float64(counts[l.columns]) / float64(len(rows))
		l.score = agree * float64(values[l.columns]) / float64(counts[l.columns]*l.columns)
	}
	return l
}
