package report

import (
	_ "embed"
	"fmt"
	"html"
	"io"
	"strings"

	"hopcard/analysis/debrief"
)

// cardStyle is the look of the card, on screen and printed on A4 or Letter.
//
//go:embed html.css
var cardStyle string

// Widths that figures are drawn for, and the space between those in a row. Printed on A4 or
// Letter they come out smaller, so that a full card takes two pages.
const (
	htmlWidthPt = 580.0
	htmlFullPt  = 640.0
	htmlGapPt   = 15.0
)

// HTML writes the card as one page that needs nothing else: style and figures are in it,
// and it runs no script. It holds what Markdown's card holds, and the figures. The only
// error is one of w.
func HTML(w io.Writer, d *debrief.Debrief) error {
	var b strings.Builder
	parts := sections(describe(d).blocks)
	cards := htmlWriter{&b, 1, htmlWidthPt}
	class := ""
	if crowded(d, parts) {
		cards.tall, cards.widthPt, class = tightTall, htmlFullPt, "full"
	}
	htmlHead(&b, unescaped(cardTitle(d)), class)
	for i := 0; i < len(parts); i++ {
		if i+1 == len(parts) || !parts[i].isSmall() || !parts[i+1].isSmall() {
			cards.section(parts[i])
			continue
		}
		b.WriteString("<div class=\"beside\">\n")
		cards.section(parts[i])
		cards.section(parts[i+1])
		b.WriteString("</div>\n")
		i++
	}
	b.WriteString(htmlCrew(remarks(d.Hop.Notes)))
	b.WriteString("</main>\n</body>\n</html>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// htmlCrew is the crew's remarks, and room for more and for their names.
func htmlCrew(said []string) string {
	const heading = "<h2>Remarks</h2>\n"
	var b strings.Builder
	b.WriteString(heading)
	for _, l := range said {
		fmt.Fprintf(&b, "<p>%s</p>\n", htmlText(l))
	}
	return strings.Replace(htmlSignatures, heading, b.String(), 1)
}

// htmlSignatures is the room for the crew.
const htmlSignatures = `<section class="crew">
<h2>Remarks</h2>
<div class="rule"></div>
<div class="rule"></div>
<div class="rule"></div>
<div class="rule"></div>
<div class="sign"><span>Pilot</span><i></i><span>Date</span><i class="date"></i></div>
<div class="sign"><span>Inspector</span><i></i><span>Date</span><i class="date"></i></div>
</section>
`

// section is a heading with what stands under it; the first of a card may have none.
type section struct {
	heading string
	blocks  []block
}

func sections(blocks []block) []section {
	out := []section{{}}
	for _, k := range blocks {
		if k.kind == headingBlock {
			out = append(out, section{heading: unescaped(k.text)})
			continue
		}
		last := &out[len(out)-1]
		if k.kind == bulletBlock && last.heading == flagsHeading {
			k.text = fmt.Sprintf("%d: %s", len(last.blocks)+1, k.text) // as in the figures
		}
		last.blocks = append(last.blocks, k)
	}
	return inReadingOrder(out)
}

// inReadingOrder puts what went wrong and the control that was left right behind the
// verdict: on a page with figures they belong to its reasons.
func inReadingOrder(all []section) []section {
	var first, next, rest []section
	seen := false
	for _, s := range all {
		switch {
		case s.heading == flagsHeading || s.heading == controlHeading:
			next = append(next, s)
		case seen:
			rest = append(rest, s)
		default:
			first = append(first, s)
		}
		seen = seen || s.isVerdict()
	}
	return append(append(first, next...), rest...)
}

// isSmall tells a section that may stand beside another: of at most a table, and text.
func (s section) isSmall() bool {
	if len(s.blocks) == 0 || s.heading == "" || s.isVerdict() || len(s.blocks) > 4 {
		return false
	}
	length := 0
	for i, k := range s.blocks {
		if k.kind == figureBlock || k.kind == tableBlock && (i > 0 || len(k.rows) > 10) {
			return false
		}
		length += len(k.text)
	}
	return length < longList/2
}

// isEmpty tells a section of figures none of which has anything to show.
func (s section) isEmpty() bool {
	for _, k := range s.blocks {
		if k.kind != figureBlock || k.draw(room{htmlWidthPt / 3, 1}) != nil {
			return false
		}
	}
	return s.heading == chartsHeading
}

// isVerdict tells the section that must be seen first.
func (s section) isVerdict() bool { return strings.HasPrefix(s.heading, "Verdict:") }

// htmlWriter writes the sections of a page, its figures tall times as high as usual.
type htmlWriter struct {
	b       *strings.Builder
	tall    float64
	widthPt float64 // that of the page
}

// htmlSection writes a section of a page that is not crowded.
func htmlSection(b *strings.Builder, s section) { htmlWriter{b, 1, htmlWidthPt}.section(s) }

func (w htmlWriter) section(s section) {
	b := w.b
	if s.isEmpty() {
		return
	}
	b.WriteString("<section>\n")
	if s.isVerdict() {
		b.WriteString("<div class=\"verdict\">\n")
	}
	framed := s.isVerdict()
	if s.heading != "" {
		fmt.Fprintf(b, "<h2>%s</h2>\n", html.EscapeString(s.heading))
	}
	for i := 0; i < len(s.blocks); {
		if framed && s.blocks[i].kind == figureBlock {
			b.WriteString("</div>\n")
			framed = false
		}
		n := sameKind(s.blocks[i:])
		w.blocks(s.blocks[i:i+n], framed)
		i += n
	}
	if framed {
		b.WriteString("</div>\n")
	}
	b.WriteString("</section>\n")
}

// printed is the section as it is in a card where room is short or is not.
func (s section) printed(tight bool) section {
	not := tightOnly
	if tight {
		not = roomyOnly
	}
	var kept []block
	for _, k := range s.blocks {
		if k.when != not {
			k.when = always
			kept = append(kept, k)
		}
	}
	s.blocks = kept
	return s
}

// sameKind counts the blocks at the start that are written together: points of a list,
// figures of a row, two tables.
func sameKind(blocks []block) int {
	n := 1
	for first := blocks[0]; n < len(blocks); n++ {
		k := blocks[n]
		together := first.kind == bulletBlock || first.kind == figureBlock || first.kind == tableBlock && n < 2
		if !together || k.kind != first.kind || k.row != first.row {
			break
		}
	}
	return n
}

// longList is from how many characters on a list is set in two columns.
const longList = 700

func (w htmlWriter) blocks(blocks []block, oneColumn bool) {
	b := w.b
	switch blocks[0].kind {
	case paragraphBlock:
		class := ""
		if blocks[0].fine {
			class = ` class="note"`
		}
		fmt.Fprintf(b, "<p%s>%s</p>\n", class, htmlText(blocks[0].text))
	case tableBlock:
		left, right := splitTable(blocks[0].rows)
		if len(blocks) > 1 {
			left, right = blocks[0].rows, blocks[1].rows
		}
		if right == nil {
			htmlTable(b, left)
			break
		}
		b.WriteString("<div class=\"halves\">\n")
		htmlTable(b, left)
		htmlTable(b, right)
		b.WriteString("</div>\n")
	case bulletBlock:
		length := 0
		for _, k := range blocks {
			length += len(k.text)
		}
		class := ""
		switch {
		case oneColumn:
		case length > longList:
			class = ` class="columns"`
		case length > longList/2:
			class = ` class="printed-columns"`
		}
		fmt.Fprintf(b, "<ul%s>\n", class)
		for _, k := range blocks {
			in := [...]string{always: "", roomyOnly: ` class="roomy"`, tightOnly: ` class="tight"`}[k.when]
			fmt.Fprintf(b, "<li%s>%s</li>\n", in, htmlText(k.text))
		}
		b.WriteString("</ul>\n")
	case figureBlock:
		w.figures(blocks)
	}
}

func htmlText(s string) string { return html.EscapeString(unescaped(s)) }

func htmlTable(b *strings.Builder, rows [][]string) {
	b.WriteString("<div class=\"wide\"><table>\n")
	columns := len(columnWidths(rows))
	for i, row := range rows {
		tag := "td"
		if i == 0 {
			tag = "th"
		}
		b.WriteString("<tr>")
		for c := range columns {
			fmt.Fprintf(b, "<%s>%s</%s>", tag, html.EscapeString(cellText(row, c)), tag)
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</table></div>\n")
}

// cellText is a cell's text; blanks at its start, which indent it, cannot get lost.
func cellText(row []string, c int) string {
	s := unescaped(cell(row, c))
	inner := strings.TrimLeft(s, " ")
	return strings.Repeat("\u00a0", len(s)-len(inner)) + inner
}

func (w htmlWriter) figures(blocks []block) {
	b := w.b
	figures, row := drawn(blocks, w.figureWidth, w.tall)
	if len(figures) == 0 {
		return
	}
	if row > 1 {
		fmt.Fprintf(b, "<div class=\"row row%d\">\n", row)
	}
	for _, f := range figures {
		fmt.Fprintf(b, "<figure>\n<h3>%s</h3>\n%s\n", html.EscapeString(f.title), f.svg())
		if f.caption != "" {
			fmt.Fprintf(b, "<figcaption>%s</figcaption>\n", html.EscapeString(f.caption))
		}
		b.WriteString("</figure>\n")
	}
	if row > 1 {
		b.WriteString("</div>\n")
	}
}

// figureWidth is how wide a figure is drawn of which that many stand in a row.
func (w htmlWriter) figureWidth(row int) float64 {
	return (w.widthPt - htmlGapPt*float64(row-1)) / float64(row)
}

// unescaped takes Markdown's escapes and its marks of code off a text of the card. In
// such a text every backslash stands before a character of its own.
func unescaped(s string) string {
	var b strings.Builder
	escaped := false
	for _, r := range s {
		if !escaped && (r == '\\' || r == '`') {
			escaped = r == '\\'
			continue
		}
		b.WriteRune(r)
		escaped = false
	}
	return b.String()
}
