package report

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// pageWidth is how many characters of a card's line fit an A4 page printed as plain
// text: 170 mm between margins at twelve characters an inch.
const pageWidth = 80

// Lengths that texts from outside are cut to on cards and in tables.
const (
	nameLength = 40
	textLength = 400
)

// page collects the lines of a card or table, and beside them the same as blocks, for
// writers that lay out a page of their own.
type page struct {
	b      strings.Builder
	blocks []block
}

// blockKind says what a block of a page is.
type blockKind int

const (
	headingBlock blockKind = iota
	paragraphBlock
	bulletBlock
	tableBlock
	figureBlock // in no page of text
)

// block is one part of a page. Its texts carry the escapes of Markdown; see unescaped.
type block struct {
	kind blockKind
	text string
	rows [][]string // of a table; the first is its heading
	draw func(room) *drawing
	row  int  // of a figure: at most that many stand side by side; 0 takes the whole width
	fine bool // of a paragraph: explains, set in small letters
	when when // in which cards it stands
}

// when says in which cards with figures a block stands.
type when int

const (
	always    when = iota
	roomyOnly      // not where room is short
	tightOnly      // only there; not in a page of text
)

// room is what a figure is given: how wide it is, and what part of its usual height it takes.
type room struct{ widthPt, tall float64 }

// figure adds a figure to the blocks. Draw is told its width, and returns nil if there
// is nothing to show.
func (p *page) figure(row int, draw func(room) *drawing) {
	p.blocks = append(p.blocks, block{kind: figureBlock, draw: draw, row: row})
}

// drawn draws the figures of a group that have something to show, as many in a row as are
// best read: two or four in rows of two, others in as many rows as it takes. Width is told
// the number in a row and returns that of each; tall is the part of the usual height.
func drawn(blocks []block, width func(row int) float64, tall float64) (figures []*drawing, row int) {
	if blocks[0].row == 0 {
		row = 1
	} else {
		n := 0
		for _, b := range blocks {
			if b.draw(room{width(2), 1}) != nil {
				n++
			}
		}
		row = min(n, blocks[0].row)
		if n <= 2 || n == 4 && blocks[0].row == 3 {
			row = 2
		}
	}
	for _, b := range blocks {
		if f := b.draw(room{width(row), tall}); f != nil {
			figures = append(figures, f)
		}
	}
	return figures, row
}

func (p *page) line(format string, args ...any) {
	fmt.Fprintf(&p.b, format, args...)
	p.b.WriteByte('\n')
}

func (p *page) blank() { p.b.WriteByte('\n') }

func (p *page) heading(level int, text string) {
	p.blocks = append(p.blocks, block{kind: headingBlock, text: text})
	p.blank()
	p.line("%s %s", strings.Repeat("#", level), text)
	p.blank()
}

// wrapped writes text in lines of the page's width; first starts the first line, and
// the others are indented by as much.
func (p *page) wrapped(first, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(first))
	for i, l := range wrap(text, pageWidth-len(indent)) {
		if i == 0 {
			p.line("%s%s", first, l)
		} else {
			p.line("%s%s", indent, l)
		}
	}
}

func (p *page) bullet(text string) {
	p.blocks = append(p.blocks, block{kind: bulletBlock, text: text})
	p.wrapped("- ", text)
}

func (p *page) paragraph(text string) {
	p.blocks = append(p.blocks, block{kind: paragraphBlock, text: text})
	p.wrapped("", text)
}

// note is a paragraph that explains what stands above it.
func (p *page) note(text string) {
	p.paragraph(text)
	p.blocks[len(p.blocks)-1].fine = true
}

// table writes a Markdown table whose columns are padded, so that it is one in plain
// text as well. The first row is the heading.
func (p *page) table(rows [][]string) {
	p.blocks = append(p.blocks, block{kind: tableBlock, rows: rows})
	widths := columnWidths(rows)
	for i, row := range rows {
		cells := make([]string, len(widths))
		for c := range widths {
			cells[c] = pad(cell(row, c), widths[c])
		}
		p.line("| %s |", strings.Join(cells, " | "))
		if i == 0 {
			for c := range widths {
				cells[c] = strings.Repeat("-", widths[c]+2)
			}
			p.line("|%s|", strings.Join(cells, "|"))
		}
	}
}

// columns writes rows as plain columns for the terminal, the first one as the heading.
func (p *page) columns(rows [][]string) {
	widths := columnWidths(rows)
	for _, row := range rows {
		var b strings.Builder
		for c := range widths {
			b.WriteString(pad(cell(row, c), widths[c]))
			b.WriteString("  ")
		}
		p.line("%s", strings.TrimRight("  "+b.String(), " "))
	}
}

func columnWidths(rows [][]string) []int {
	var widths []int
	for _, row := range rows {
		for c := range row {
			if c == len(widths) {
				widths = append(widths, 1)
			}
			widths[c] = max(widths[c], utf8.RuneCountInString(row[c]))
		}
	}
	return widths
}

func cell(row []string, c int) string {
	if c < len(row) {
		return row[c]
	}
	return ""
}

func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// wrap breaks text at blanks into lines of at most width characters; a longer word
// keeps a line to itself.
func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= width:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	return append(lines, line)
}
