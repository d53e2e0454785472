package tui

import "strings"

// tableLines sets rows of cells in columns under a head. What does not fit the width goes
// below, with the first column repeated, so that no number is cut off.
func tableLines(head []string, rows [][]string, w int) []line {
	widths := make([]int, len(head))
	for _, row := range append([][]string{head}, rows...) {
		for i, s := range row {
			widths[i] = max(widths[i], textWidth(s))
		}
	}
	var ls []line
	for from := 1; from < len(head); {
		to, used := from, 2+widths[0]
		for to < len(head) && (to == from || used+2+widths[to] <= w) {
			used += 2 + widths[to]
			to++
		}
		ls = append(ls, line{lead: tableRow(head, widths, from, to), pen: faint})
		for _, row := range rows {
			ls = append(ls, plainLine(tableRow(row, widths, from, to)))
		}
		from = to
	}
	return ls
}

func tableRow(row []string, widths []int, from, to int) string {
	var b strings.Builder
	cell := func(i int) {
		b.WriteString("  ")
		s := ""
		if i < len(row) {
			s = row[i]
		}
		b.WriteString(s)
		b.WriteString(strings.Repeat(" ", widths[i]-textWidth(s)))
	}
	cell(0)
	for i := from; i < to; i++ {
		cell(i)
	}
	return strings.TrimRight(b.String(), " ")
}
