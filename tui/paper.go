package tui

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
)

// cell is one character cell. The rune 0 marks the right half of a wide character.
type cell struct {
	r rune
	p pen
}

// paper is a grid of cells to draw on. Whatever falls outside is cut off.
type paper struct {
	w, h  int
	cells []cell
}

func newPaper(w, h int) *paper {
	w, h = max(w, 0), max(h, 0)
	p := &paper{w: w, h: h, cells: make([]cell, w*h)}
	for i := range p.cells {
		p.cells[i].r = ' '
	}
	return p
}

// clone returns a copy that can be drawn on without touching p.
func (p *paper) clone() *paper {
	return &paper{w: p.w, h: p.h, cells: append([]cell(nil), p.cells...)}
}

func (p *paper) set(x, y int, r rune, pn pen) {
	if x >= 0 && x < p.w && y >= 0 && y < p.h {
		p.cells[y*p.w+x] = cell{r, pn}
	}
}

// repen changes the pen of a cell and keeps its rune.
func (p *paper) repen(x, y int, pn pen) {
	if x >= 0 && x < p.w && y >= 0 && y < p.h {
		p.cells[y*p.w+x].p = pn
	}
}

// text writes s from (x, y) on, cut at the right edge, and returns the column after it.
func (p *paper) text(x, y int, s string, pn pen) int {
	return p.textTo(x, y, p.w, s, pn)
}

// textTo writes s from (x, y) on, cut before column end, and returns the column after it.
// Whatever s is, nothing drawn can carry an order to the terminal.
func (p *paper) textTo(x, y, end int, s string, pn pen) int {
	end = min(end, p.w)
	for _, r := range safe(s) {
		w := runeWidth(r)
		if w == 0 {
			continue
		}
		if x+w > end {
			break
		}
		p.set(x, y, r, pn)
		if w == 2 {
			p.set(x+1, y, 0, pn)
		}
		x += w
	}
	return x
}

// textRight writes s so that it ends before column end.
func (p *paper) textRight(end, y int, s string, pn pen) {
	p.text(end-textWidth(s), y, s, pn)
}

// fill sets a run of cells of one row.
func (p *paper) fill(x0, x1, y int, r rune, pn pen) {
	for x := max(x0, 0); x < min(x1, p.w); x++ {
		p.set(x, y, r, pn)
	}
}

// render turns the grid into rows of runs, one pen each, without trailing blanks.
func (p *paper) render(t *theme) string {
	var b strings.Builder
	b.Grow(p.w * p.h * 2)
	for y := range p.h {
		if y > 0 {
			b.WriteByte('\n')
		}
		renderRow(&b, t, p.cells[y*p.w:(y+1)*p.w])
	}
	return b.String()
}

func renderRow(b *strings.Builder, t *theme, row []cell) {
	end := len(row)
	for end > 0 && row[end-1].r == ' ' && row[end-1].p != marked {
		end--
	}
	for i := 0; i < end; {
		pn := row[i].p
		b.WriteString(t.before[pn])
		for ; i < end && row[i].p == pn; i++ {
			if row[i].r != 0 {
				b.WriteRune(row[i].r)
			}
		}
		b.WriteString(t.after[pn])
	}
}

// runeWidth is the number of cells a rune takes. Plain ASCII and the frames and dots of
// our own charts, which are most of a screen, are known without looking.
func runeWidth(r rune) int {
	if r >= 0x20 && r < 0x7f || r >= 0x2500 && r < 0x2900 {
		return 1
	}
	return lipgloss.Width(string(r))
}

func textWidth(s string) int {
	w := 0
	for _, r := range s {
		w += runeWidth(r)
	}
	return w
}

// clip cuts s to w cells and ends it with a dot leader if anything was lost.
func clip(s string, w int) string {
	if textWidth(s) <= w {
		return s
	}
	if w < 2 {
		return ""
	}
	n := 0
	for i, r := range s {
		if n+runeWidth(r) > w-1 {
			return s[:i] + "…"
		}
		n += runeWidth(r)
	}
	return s
}

// wrap breaks s at blanks into lines of at most w cells; a longer word is cut.
func wrap(s string, w int) []string {
	if w < 1 {
		return nil
	}
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		for textWidth(word) > w {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			head := cutCells(word, w)
			lines, word = append(lines, head), word[len(head):]
		}
		switch {
		case line == "":
			line = word
		case textWidth(line)+1+textWidth(word) <= w:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// cutCells returns the head of s that fits w cells, at least one rune.
func cutCells(s string, w int) string {
	n := 0
	for i, r := range s {
		n += runeWidth(r)
		if n > w && i > 0 {
			return s[:i]
		}
	}
	return s
}
