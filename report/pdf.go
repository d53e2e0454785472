package report

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/sfnt"

	"hopcard/analysis/debrief"
)

// Paper is a paper size that a card can be printed on.
type Paper string

// The papers.
const (
	A4     Paper = "a4"
	Letter Paper = "letter"
)

// sizePt returns the paper's size in points: ISO 216 A4, ANSI/ASME Y14.1 A.
func (p Paper) sizePt() (width, high float64) {
	if p == Letter {
		return 612, 792
	}
	return 595.28, 841.89
}

// Measures of a printed page, in points.
const (
	marginPt = 30.0
	footPt   = 14.0 // foot line, above the margin
	bodyPt   = 8.4  // usual letters
	finePt   = 7.1  // tables, lists in two columns
	leadPart = 1.2  // line over letter
	gutterPt = 15.0 // between columns
)

// PDF writes the card to be printed and filed: black on white, on one or two pages, more
// only if very much was flagged. It holds what Markdown's card holds, and the figures.
// Same debrief, same bytes: its date is that of the hop. Letters that the embedded face
// has not are printed as question marks. Errors are those of w and of fpdf.
func PDF(w io.Writer, d *debrief.Debrief, paper Paper) error {
	parts := sections(describe(d).blocks)
	var best *sheet
	for _, f := range fits() {
		s, err := newSheet(d, paper, f.size)
		if err != nil {
			return err
		}
		s.tight = f.tight
		s.card(unescaped(cardTitle(d)), parts)
		s.signatures(remarks(d.Hop.Notes)...)
		s.endPage()
		if best == nil || s.doc.PageNo() < best.doc.PageNo() {
			best = s
		}
		if best.doc.PageNo() <= fewPages {
			break
		}
	}
	return best.doc.Output(w)
}

// card sets the title and the sections, small ones side by side.
func (s *sheet) card(title string, parts []section) {
	s.title(title)
	for i := 0; i < len(parts); i++ {
		part := parts[i].printed(s.tight)
		if i+1 < len(parts) && s.gap.page != s.doc.PageNo() && s.pair(part, parts[i+1].printed(s.tight)) {
			i++
			continue
		}
		s.section(part)
	}
}

// fewPages is on how many pages a card should fit.
const fewPages = 2

// fits are the ways in which a card is tried, usual first, until it fits on few pages. What
// fits in none is printed in the first that takes the fewest. In the smallest, letters of
// tables are 6 pt high and numbers on axes 5.2 pt.
func fits() []fit {
	return []fit{{size: 1}, {size: 0.95}, {size: 0.9}, {0.95, true}, {0.9, true}, {0.87, true}, {0.84, true}, {0.82, true}}
}

// fit is how a card is set: everything so much smaller and, if tight, figures less high and
// mere notes left to the list of the check.
type fit struct {
	size  float64
	tight bool
}

// tall is the part of their usual height that figures take.
func (s *sheet) tall() float64 {
	if s.tight {
		return tightTall
	}
	return 1
}

const tightTall = 0.6

// crowded tells a card that is printed tight. Letter is the smaller paper.
func crowded(d *debrief.Debrief, parts []section) bool {
	s, err := newSheet(d, Letter, 1)
	if err != nil {
		return true
	}
	s.card(unescaped(cardTitle(d)), parts)
	s.signatures(remarks(d.Hop.Notes)...)
	return s.doc.PageNo() > fewPages
}

// sizes are the sizes that a plan is tried in, usual first, until it fits on few pages.
func sizes() []float64 { return []float64{1, 0.95, 0.9, 0.87} }

const face = "sans"

// sheet lays blocks out on the pages of a PDF, from the top down.
type sheet struct {
	doc         *fpdf.Fpdf
	glyphs      *sfnt.Font
	known       map[rune]bool
	name        string  // of the card
	width, high float64 // of the paper, as what is printed smaller sees it
	y           float64 // where the next block goes
	gap         gap
	size        float64 // everything is printed that much smaller
	tight       bool
	headedAt    float64 // y below the last heading
}

func newSheet(d *debrief.Debrief, paper Paper, size float64) (*sheet, error) {
	glyphs, err := sfnt.Parse(liberationsansregular.TTF)
	if err != nil {
		return nil, fmt.Errorf("report: embedded face: %w", err)
	}
	s := &sheet{glyphs: glyphs, known: map[rune]bool{}, size: size}
	s.width, s.high = paper.sizePt()
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: s.width, Ht: s.high}})
	s.doc = doc
	s.width, s.high = s.width/size, s.high/size
	doc.SetCatalogSort(true)
	when := d.Hop.StartedAt.UTC()
	if when.IsZero() || when.Year() < 1970 || when.Year() > 9999 {
		when = time.Unix(0, 0).UTC()
	}
	doc.SetCreationDate(when)
	doc.SetModificationDate(when)
	doc.SetProducer("hopcard", true)
	s.name = s.clean(unescaped(cardTitle(d)))
	doc.SetTitle(s.name, true)
	doc.SetLang("en")
	doc.SetAutoPageBreak(false, 0)
	doc.SetMargins(0, 0, 0)
	doc.AddUTF8FontFromBytes(face, "", liberationsansregular.TTF)
	doc.AddUTF8FontFromBytes(face, "B", liberationsansbold.TTF)
	doc.AliasNbPages("{pages}")
	s.newPage()
	return s, doc.Error()
}

func (s *sheet) newPage() {
	if s.doc.PageNo() > 0 {
		s.endPage()
	}
	s.doc.AddPage()
	s.doc.TransformBegin()
	s.doc.TransformScale(100*s.size, 100*s.size, 0, 0)
	s.y = marginPt
}

// endPage writes the foot line.
func (s *sheet) endPage() {
	s.font(6.5, false)
	y := s.high - marginPt + 2
	s.line(pen{widthPt: 0.3}, point{marginPt, y - 8}, point{s.width - marginPt, y - 8})
	s.doc.Text(marginPt, y, s.fit(s.name, s.contentPt()-80))
	s.doc.Text(s.width-marginPt-42, y, fmt.Sprintf("page %d of {pages}", s.doc.PageNo()))
	s.doc.TransformEnd()
}

// bottom is where a page's room ends.
func (s *sheet) bottom() float64 { return s.high - marginPt - footPt }

// need starts a new page if less than high is left on this one.
func (s *sheet) need(high float64) {
	if s.y+high > s.bottom() && s.y > marginPt {
		s.newPage()
	}
}

func (s *sheet) font(sizePt float64, bold bool) {
	style := ""
	if bold {
		style = "B"
	}
	s.doc.SetFont(face, style, sizePt)
}

func (s *sheet) contentPt() float64 { return s.width - 2*marginPt }

// clean leaves only characters that the embedded face can print.
func (s *sheet) clean(text string) string {
	out := make([]rune, 0, len(text))
	for _, r := range text {
		if !s.has(r) {
			r = '?'
		}
		out = append(out, r)
	}
	return string(out)
}

func (s *sheet) has(r rune) bool {
	if r >= ' ' && r <= '~' {
		return true
	}
	if r > 0xfffd { // fpdf's tables of widths end there
		return false
	}
	ok, seen := s.known[r]
	if !seen {
		i, err := s.glyphs.GlyphIndex(nil, r)
		ok = err == nil && i != 0
		s.known[r] = ok
	}
	return ok
}

// fit cuts a text to a width, in the font that is set.
func (s *sheet) fit(text string, widthPt float64) string {
	if s.doc.GetStringWidth(text) <= widthPt {
		return text
	}
	runes := []rune(text)
	for len(runes) > 0 && s.doc.GetStringWidth(string(runes)+"…") > widthPt {
		runes = runes[:len(runes)-1]
	}
	return string(runes) + "…"
}

// lines breaks a text to a width, in the font that is set; words that are wider than a
// line are broken inside.
func (s *sheet) lines(text string, widthPt float64) []string {
	var out []string
	line := ""
	for _, word := range splitWide(s, wrapWords(s.clean(text)), widthPt) {
		switch {
		case line == "":
			line = word
		case s.doc.GetStringWidth(line+" "+word) <= widthPt:
			line += " " + word
		default:
			out = append(out, line)
			line = word
		}
	}
	return append(out, line)
}

func splitWide(s *sheet, words []string, widthPt float64) []string {
	var out []string
	for _, word := range words {
		for s.doc.GetStringWidth(word) > widthPt {
			runes := []rune(word)
			n := len(runes) - 1
			for n > 1 && s.doc.GetStringWidth(string(runes[:n])) > widthPt {
				n--
			}
			if n < 1 {
				break
			}
			out, word = append(out, string(runes[:n])), string(runes[n:])
		}
		out = append(out, word)
	}
	return out
}

func (s *sheet) line(p pen, points ...point) {
	s.doc.SetLineWidth(p.widthPt)
	grey := int(255*p.grey + 0.5)
	s.doc.SetDrawColor(grey, grey, grey)
	s.doc.SetDashPattern(p.dashPt, 0)
	s.doc.MoveTo(points[0].x, points[0].y)
	for _, q := range points[1:] {
		s.doc.LineTo(q.x, q.y)
	}
	s.doc.DrawPath("D")
	s.doc.SetDashPattern(nil, 0)
}
