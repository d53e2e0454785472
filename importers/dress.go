package importers

import (
	"bytes"
	"fmt"
	"io"
	"strings"
)

// headSize is how much of a file is looked at to find out how it is written, in bytes.
const headSize = 256 << 10

// maxColumns bounds the columns of a log; a real one has some dozens.
const maxColumns = 1000

// dress says how a file is written.
type dress struct {
	encoding   string
	delim, dec byte
	header     []string // names as written, one per column; nil without a header
	headerLine int      // counted from 1
	headerText []byte   // the line as it stands in the file
	units      []string // the units row; nil without one
	unitsLine  int
	dataAt     int64 // place of the first row
	dataLine   int   // its line, counted from 1
	kinds      []cellKind
	sample     [][]string // cells of the first rows
	preamble   int        // lines before the header that are neither header nor comment
	comments   int        // comment lines before the first row
	quoted     bool
	crlf       bool
	nmea       bool
}

// headLine is one line of the head of a file.
type headLine struct {
	at   int64
	no   int // counted from 1
	text string
}

// sniff finds out how in is written. The errors say what the file is instead of a log.
func sniff(in *input) (*dress, error) {
	head := make([]byte, min(headSize, in.size-in.start))
	n, err := in.r.ReadAt(head, in.start)
	if err != nil && err != io.EOF {
		return nil, err
	}
	head = head[:n]
	if err := textOnly(head); err != nil {
		return nil, err
	}
	lines := splitHead(head, in.start, in.start+int64(n) >= in.size)
	if len(lines) == 0 {
		if n == headSize {
			return nil, fmt.Errorf("line 1 is longer than %d kB: this is no log of rows and columns", headSize>>10)
		}
		return nil, fmt.Errorf("the file holds nothing but blanks; copy it from the logger again")
	}
	d := &dress{encoding: in.encoding, crlf: bytes.Contains(head, []byte("\r\n"))}
	if looksNMEA(lines) {
		d.nmea = true
		return d, nil
	}
	return d, d.findTable(lines)
}

// textOnly refuses binary files.
func textOnly(head []byte) error {
	control := 0
	for i, c := range head {
		if c == 0 {
			return fmt.Errorf("byte %d is zero: this is a binary file; export it as CSV with the logger's own software", i+1)
		}
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\f' {
			control++
		}
	}
	if control > len(head)/50 {
		return fmt.Errorf("%d of the first %d bytes are control codes: this is a binary file; export it as CSV", control, len(head))
	}
	return nil
}

func splitHead(head []byte, start int64, whole bool) []headLine {
	var lines []headLine
	if whole {
		head = append(head[:len(head):len(head)], '\n')
	}
	for at, no := 0, 1; at < len(head); {
		length, n := quotedRow(head[at:], whole)
		if length == 0 {
			break
		}
		text := strings.TrimRight(string(head[at:at+length]), "\r\n")
		if strings.TrimSpace(text) != "" {
			lines = append(lines, headLine{start + int64(at), no, text})
		}
		at += length
		no += n
	}
	return lines
}

func isComment(text string) bool {
	t := strings.TrimSpace(text)
	return strings.HasPrefix(t, "#") || strings.HasPrefix(t, "//")
}

// splitCells cuts a line into cells, without blanks and quotes around them.
func splitCells(text string, delim byte) []string {
	w := rowParser{spec: &tableSpec{delim: delim}, faults: &tableFaults{}, inQuotes: strings.Contains(text, "\n")}
	b := append([]byte(text), '\n')
	var cells []string
	for i := 0; len(cells) < maxColumns; i++ {
		if delim == ' ' {
			for b[i] == ' ' || b[i] == '\t' {
				i++
			}
			if b[i] == '\n' {
				break
			}
		}
		cell, next := w.cut(b, i)
		cells = append(cells, oneLine(string(cell)))
		if i = next; b[i] == '\n' {
			break
		}
	}
	return cells
}

// oneLine joins the lines of a quoted cell.
func oneLine(cell string) string {
	if !strings.ContainsAny(cell, "\r\n") {
		return cell
	}
	return strings.Join(strings.FieldsFunc(cell, func(r rune) bool { return r == '\n' || r == '\r' }), " ")
}

// kindOf says what a cell holds; ok is false for text. Empty cells pass as numbers.
func kindOf(cell string, dec byte) (kind cellKind, ok bool) {
	b := []byte(cell)
	if len(b) == 0 {
		return numberCell, true
	}
	if _, ok := slowNumber(b, dec); ok {
		return numberCell, true
	}
	if _, _, ok := parseISO(b, 0); ok {
		return isoCell, true
	}
	if _, ok := parseClock(b); ok {
		return clockCell, true
	}
	if _, ok := parseDate(b, 0); ok {
		return dateCell, true
	}
	return numberCell, false
}

// findTable finds delimiter, header, units row and first row.
func (d *dress) findTable(lines []headLine) error {
	l := bestLayout(lines)
	if l.columns == 0 || l.score == 0 {
		return d.noTable(lines)
	}
	d.delim, d.dec = l.delim, l.dec
	first := d.firstRow(lines, l.columns)
	if first < 0 {
		return d.noTable(lines)
	}
	d.dataAt, d.dataLine = lines[first].at, lines[first].no
	d.findHeader(lines[:first], l.columns)
	for _, line := range lines[first:min(first+300, len(lines))] {
		if isComment(line.text) {
			continue
		}
		d.quoted = d.quoted || strings.Contains(line.text, `"`)
		if cells := splitCells(line.text, d.delim); len(cells) == l.columns {
			d.sample = append(d.sample, cells)
		}
	}
	d.kinds = make([]cellKind, l.columns)
	for k := range d.kinds {
		d.kinds[k] = d.columnKind(k)
	}
	d.fitHeader()
	return nil
}

// firstRow returns the index of the first line that is a row of values.
func (d *dress) firstRow(lines []headLine, columns int) int {
	for i, line := range lines {
		if isComment(line.text) {
			continue
		}
		cells := splitCells(line.text, d.delim)
		if len(cells) != columns {
			continue
		}
		values, filled := 0, 0
		for _, c := range cells {
			if c == "" {
				continue
			}
			filled++
			if _, ok := kindOf(c, d.dec); ok {
				values++
			}
		}
		if values > 0 && 2*values >= filled {
			return i
		}
	}
	return -1
}

// noTable says what a file without rows is.
func (d *dress) noTable(lines []headLine) error {
	for _, delim := range []byte{';', '\t', ',', '|'} {
		cells := splitCells(lines[0].text, delim)
		known := 0
		for _, c := range cells {
			if n := readName(c); n.quantity != "" {
				known++
			}
		}
		if len(cells) >= 2 && known >= 2 {
			return fmt.Errorf("line %d is a header but no row of values follows; copy the file from the logger again", lines[0].no)
		}
	}
	return fmt.Errorf("line %d (%q): text without rows of values; this is no log", lines[0].no, clip([]byte(lines[0].text)))
}

// findHeader looks for the header, and a units row after it, in the lines before the
// first row; if they are all comments, in the last comments.
func (d *dress) findHeader(before []headLine, columns int) {
	var plain, comments []headLine
	for _, l := range before {
		if isComment(l.text) {
			t := strings.TrimSpace(l.text)
			l.text = strings.TrimLeft(strings.TrimPrefix(t, "//"), "#")
			comments = append(comments, l)
		} else {
			plain = append(plain, l)
		}
	}
	d.comments = len(comments)
	for n := len(plain); n > 0 && d.emptyCells(plain[n-1].text); n-- {
		plain = plain[:n-1] // a units row that nobody filled in
	}
	used := d.takeHeader(plain, columns, false)
	d.preamble = len(plain) - used
	if used == 0 {
		d.takeHeader(comments, columns, true)
	}
}

// emptyCells reports whether a line is nothing but delimiters and empty cells.
func (d *dress) emptyCells(text string) bool {
	for _, c := range splitCells(text, d.delim) {
		if c != "" && c != "-" {
			return false
		}
	}
	return true
}

// takeHeader takes the last line, or the last two if the last holds units, for the
// header and returns how many lines it took.
func (d *dress) takeHeader(lines []headLine, columns int, comment bool) (used int) {
	n := len(lines)
	if n == 0 {
		return 0
	}
	last := splitCells(lines[n-1].text, d.delim)
	if n > 1 && areUnits(last) {
		names := splitCells(lines[n-2].text, d.delim)
		if nearly(len(names), columns) {
			d.units, d.unitsLine = last, lines[n-1].no
			d.setHeader(names, lines[n-2], comment)
			return 2
		}
	}
	if nearly(len(last), columns) && !comment || len(last) == columns {
		d.setHeader(last, lines[n-1], comment)
		return 1
	}
	return 0
}

func nearly(a, b int) bool { return a >= b-1 && a <= b+1 }

func (d *dress) setHeader(names []string, line headLine, comment bool) {
	d.header, d.headerLine = names, line.no
	if !comment {
		d.headerText = []byte(line.text)
	}
}

// areUnits reports whether most cells of a row are units, and none a value.
func areUnits(cells []string) bool {
	units, filled := 0, 0
	for _, c := range cells {
		if c == "" || c == "-" {
			continue
		}
		filled++
		if len(parseUnits(strings.Trim(c, "[](){}"))) > 0 {
			units++
		}
	}
	return units > 0 && 10*units >= 6*filled
}

// columnKind says how the cells of column k are read, by the sample.
func (d *dress) columnKind(k int) cellKind {
	var votes [dateCell + 1]int
	text := 0
	for _, row := range d.sample {
		if row[k] == "" {
			continue
		}
		if kind, ok := kindOf(row[k], d.dec); ok {
			votes[kind]++
		} else {
			text++
		}
	}
	best := numberCell
	for kind := numberCell; kind <= dateCell; kind++ {
		if votes[kind] > votes[best] {
			best = kind
		}
	}
	if text > 2*votes[best] {
		return skipCell
	}
	return best
}

// fitHeader makes the header as long as the rows.
func (d *dress) fitHeader() {
	n := len(d.kinds)
	if len(d.header) == n-1 && n >= 2 && d.delim == ' ' && d.kinds[0] == dateCell && d.kinds[1] == clockCell {
		// Date and time of one stamp, cut in two by the blank between them.
		d.header = append([]string{"date"}, d.header...)
		if d.units != nil {
			d.units = append([]string{""}, d.units...)
		}
	}
	d.header = resize(d.header, n)
	d.units = resize(d.units, n)
}

func resize(cells []string, n int) []string {
	if cells == nil {
		return nil
	}
	for len(cells) < n {
		cells = append(cells, "")
	}
	return cells[:n]
}
