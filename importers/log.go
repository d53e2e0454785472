package importers

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"hopcard/flight"
)

// logFile is one log of a hop on its way to channels.
type logFile struct {
	name     string // base name
	path     string
	settings *flight.FileSettings // from hop.toml, nil without any
	hash     chan hashed          // holds the one result when it is there
	dress    *dress
	columns  []*column
	rows     int
	time     timeForm
	stamps   []float64 // seconds as written, ascending; parts after a restart moved on
	stepS    float64   // median step of stamps
	turns    *turns    // nil before they are needed
	rest     *restSpans
	clock    flight.Clock
	findings []flight.Finding // spans in stamp seconds until the clock is known
	role     flight.Role
	special  bool // wind notes, event marks or sentences: no wide log
	marks    []flight.Mark
}

// hashed is the SHA-256 of a file in hex, or why there is none.
type hashed struct {
	sum string
	err error
}

// column is one column of a log.
type column struct {
	header  string // as written
	index   int
	reading nameReading
	kind    cellKind
	values  []float64 // as written; one per stamp, NaN where there is none
	figures figures   // of the values
	user    *flight.ColumnSettings

	quantity    flight.Quantity
	unit        flight.Unit
	guessed     bool // the unit comes from the data
	scale, zero float64
	sign        int
	sure        float64
	derived     bool
	numbered    bool   // a part of a quaternion whose name is only its number
	withheld    string // why nothing may be worked out from it, empty if it may
}

// add notes a finding about the file; channel may be empty.
func (f *logFile) add(code flight.Code, sev flight.Severity, channel string, span flight.Span, text, advice string) {
	f.findings = append(f.findings, flight.Finding{
		Code: code, Severity: sev, File: f.name, Channel: channel, Span: span, Text: text, Advice: advice,
	})
}

// find returns the surest column of q, nil without one.
func (f *logFile) find(q flight.Quantity) *column {
	var best *column
	for _, c := range f.columns {
		if c.quantity == q && (best == nil || c.sure > best.sure) {
			best = c
		}
	}
	return best
}

// trusted is find without the columns that are withheld.
func (f *logFile) trusted(q flight.Quantity) *column {
	if c := f.find(q); c != nil && c.withheld == "" {
		return c
	}
	return nil
}

// readLog reads one file up to columns in written units and stamps in seconds.
func readLog(ctx context.Context, path string, settings *flight.FileSettings, progress func(float64)) (*logFile, error) {
	in, err := openInput(path)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	f := &logFile{name: filepath.Base(path), path: path, settings: settings}
	if f.dress, err = sniff(in); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	f.hash = make(chan hashed, 1)
	go func() {
		sum, err := hashFile(path)
		f.hash <- hashed{sum, err}
	}()
	err = f.readAny(ctx, in, progress)
	if err != nil {
		if line, ok := err.(*lineError); ok {
			return nil, fmt.Errorf("%s:%d: %w", path, f.dress.dataLine+line.row, err)
		}
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return f, nil
}

func (f *logFile) readAny(ctx context.Context, in *input, progress func(float64)) error {
	if f.dress.nmea {
		return f.readSentences(ctx, in)
	}
	if handled, err := f.readFixed(ctx, in); handled || err != nil {
		return err
	}
	return f.readWide(ctx, in, progress)
}

// readWide reads a log of rows and columns.
func (f *logFile) readWide(ctx context.Context, in *input, progress func(float64)) error {
	if err := f.nameColumns(); err != nil {
		return err
	}
	if err := f.timeColumns(); err != nil {
		return err
	}
	if f.usable() == 0 {
		return fmt.Errorf("line %d: none of the columns (%s) is known; name them in hop.toml",
			f.dress.headerLine, strings.Join(f.dress.header, ", "))
	}
	t, err := readTable(ctx, in, f.dress.dataAt, f.spec(), progress)
	if err != nil {
		return err
	}
	if t.rows == 0 {
		return fmt.Errorf("line %d is a header but no row of values follows; copy the file from the logger again", f.dress.headerLine)
	}
	f.rows = t.rows
	f.tableFindings(t)
	if err := f.checkTail(in, t); err != nil {
		return err
	}
	for _, c := range f.columns {
		c.values = t.cols[c.index]
	}
	return f.orderRows(t)
}

// nameColumns says what each column is called and what its name means.
func (f *logFile) nameColumns() error {
	d := f.dress
	header := d.header
	if f.settings != nil && len(f.settings.Header) > 0 {
		if len(f.settings.Header) != len(d.kinds) {
			return fmt.Errorf("hop.toml names %d columns for this file, but line %d has %d",
				len(f.settings.Header), d.dataLine, len(d.kinds))
		}
		header = f.settings.Header
	}
	if header == nil {
		return fmt.Errorf("line %d: no header with the names of the %d columns; name them in hop.toml with header = [\"time\", ...]",
			d.dataLine, len(d.kinds))
	}
	d.header = header
	for k, name := range header {
		c := &column{header: name, index: k, kind: d.kinds[k], sign: 1, scale: 1}
		c.reading = readName(name)
		if d.units != nil && c.reading.unitText == "" && d.units[k] != "" && d.units[k] != "-" {
			c.reading.unitText = strings.Trim(d.units[k], "[](){}")
			if u, ok := fittingUnit(c.reading.unitText, c.reading.quantity); ok {
				c.reading.unit = u
			}
		}
		f.columns = append(f.columns, c)
	}
	windContext(f.columns, f.name)
	numberQuaternion(f.columns)
	if err := f.applyColumnSettings(); err != nil {
		return err
	}
	for _, c := range f.columns {
		f.decideColumn(c)
		if err := c.checkUserUnit(); err != nil {
			return err
		}
	}
	return nil
}

// windContext lets plain names (speed, direction) mean the wind where the file or
// another column says that it is about wind.
func windContext(columns []*column, file string) {
	about := words(splitWords(strings.TrimSuffix(file, filepath.Ext(file)))).has("wind", "anemo", "anemometer", "anem", "wx")
	for _, c := range columns {
		switch c.reading.quantity {
		case flight.WindSpeed, flight.WindDirectionFrom, flight.WindNorth, flight.WindEast:
			about = true
		case flight.Roll, flight.Pitch, flight.RollRate, flight.PitchRate:
			return
		}
	}
	if !about {
		return
	}
	for _, c := range columns {
		if c.reading.quantity != "" {
			continue
		}
		base, unit := cutBracket(c.header)
		w := words(splitWords(base))
		if r := readName("wind " + c.header); r.quantity != "" &&
			w.has("speed", "spd", "vel", "velocity", "mean", "dir", "direction", "north", "east", "n", "e") {
			r.sure = 0.85
			if unit != "" && r.unitText == "" {
				r.unitText = unit
			}
			c.reading = r
		}
	}
}

// decideColumn settles the quantity of a column and notes every column that is not used.
func (f *logFile) decideColumn(c *column) {
	r := c.reading
	c.quantity, c.unit, c.sure = r.quantity, r.unit, r.sure
	if c.user != nil {
		if c.user.Quantity != "" {
			c.quantity, c.sure = c.user.Quantity, 1
			c.unit, _ = fittingUnit(r.unitText, c.quantity)
		}
		if c.user.Unit != "" {
			c.unit, c.sure = c.user.Unit, 1
		}
		if c.user.Skip {
			c.quantity, c.kind = "", skipCell
			return
		}
	}
	switch {
	case c.quantity == "":
		why := r.why
		if why == "" {
			why = "the name is not known"
		}
		f.add(flight.CodeUnrecognised, flight.Note, c.header, flight.Span{},
			fmt.Sprintf("column %d (%q) is not used: %s", c.index+1, c.header, why),
			"if it is needed, name its quantity and unit in hop.toml")
		c.kind = skipCell
	case c.kind == skipCell && c.quantity != flight.Time:
		f.add(flight.CodeUnrecognised, flight.Caution, c.header, flight.Span{},
			fmt.Sprintf("column %d (%q) is called a %s but holds text", c.index+1, c.header, c.quantity),
			"check the logger's settings")
		c.quantity = ""
	case r.unitText != "" && c.unit == flight.NoUnit && c.quantity != flight.Time:
		f.add(flight.CodeUnitContradiction, flight.Caution, c.header, flight.Span{},
			fmt.Sprintf("column %q: %q is no unit of %s that is known here; the unit is worked out from the data",
				c.header, r.unitText, c.quantity), "name the unit in hop.toml")
		c.sure *= 0.7
	}
}

// usable counts the columns that carry a quantity other than time.
func (f *logFile) usable() int {
	n := 0
	for _, c := range f.columns {
		if c.quantity != "" && c.quantity != flight.Time {
			n++
		}
	}
	return n
}

func (f *logFile) spec() tableSpec {
	s := tableSpec{
		delim: f.dress.delim, dec: f.dress.dec, header: f.dress.headerText, baseDay: f.time.baseDay,
		kinds: make([]cellKind, len(f.columns)),
	}
	for k, c := range f.columns {
		s.kinds[k] = c.kind
	}
	return s
}

// checkTail looks at a last line without a line end: if its last cell is shorter or has
// fewer decimals than those above it, the logger was cut off within the number.
func (f *logFile) checkTail(in *input, t *table) error {
	tail := make([]byte, min(maxLine, in.size-f.dress.dataAt))
	if _, err := in.r.ReadAt(tail, in.size-int64(len(tail))); err != nil && err != io.EOF {
		return err
	}
	k := len(f.columns) - 1
	values := t.cols[k]
	if tail[len(tail)-1] == '\n' || values == nil || t.rows == 0 || f.columns[k].kind != numberCell {
		return nil
	}
	line := string(tail[bytes.LastIndexByte(tail, '\n')+1:])
	cells := splitCells(line, f.dress.delim)
	if len(cells) != k+1 || len(f.dress.sample) < 10 {
		return nil
	}
	least, shortest := math.MaxInt, math.MaxInt
	for _, row := range f.dress.sample[:len(f.dress.sample)-1] {
		least, shortest = min(least, decimals(row[k], f.dress.dec)), min(shortest, len(row[k]))
	}
	if decimals(cells[k], f.dress.dec) >= least && len(cells[k]) >= shortest {
		return nil
	}
	values[t.rows-1] = nan
	f.add(flight.CodeTruncated, flight.Note, f.columns[k].header, flight.Span{},
		fmt.Sprintf("the last line (%d) is cut off: its last number is %q, shorter than the ones above", f.dress.dataLine+t.linesRead-1, cells[k]),
		"that value is left out")
	return nil
}

// decimals counts the digits after the decimal mark.
func decimals(cell string, dec byte) int {
	i := strings.IndexByte(cell, dec)
	if i < 0 {
		return 0
	}
	return len(cell) - i - 1
}

// tableFindings reports lines and cells that could not be read.
func (f *logFile) tableFindings(t *table) {
	line := func(row int) int { return f.dress.dataLine + row }
	for k, n := range t.badCount {
		if n == 0 {
			continue
		}
		for _, b := range t.bad {
			if b.col == k {
				f.add(flight.CodeNotANumber, flight.Caution, f.columns[k].header, flight.Span{},
					fmt.Sprintf("%d cells of column %q hold no number; the first is %q in line %d",
						n, f.columns[k].header, b.text, line(b.row)), "these values are left out")
				break
			}
		}
	}
	if t.shortN > 0 {
		first := t.short[0]
		if last := t.short[len(t.short)-1]; t.shortN == 1 && last.row == t.linesRead-1 {
			f.add(flight.CodeTruncated, flight.Note, "", flight.Span{},
				fmt.Sprintf("the last line (%d) is cut off: %q", line(last.row), last.text), "its missing values are left out")
		} else {
			f.add(flight.CodeTruncated, flight.Caution, "", flight.Span{},
				fmt.Sprintf("%d rows end early; the first is line %d: %q", t.shortN, line(first.row), first.text),
				"their missing values are left out")
		}
	}
	if t.longN > 0 {
		f.add(flight.CodeNotANumber, flight.Caution, "", flight.Span{},
			fmt.Sprintf("%d rows have more cells than the header has columns; the first is line %d: %q",
				t.longN, line(t.long[0].row), t.long[0].text), "the cells beyond the last column are left out")
	}
	if t.textCount > 0 {
		f.add(flight.CodeNotANumber, flight.Note, "", flight.Span{},
			fmt.Sprintf("%d lines of text between the rows are skipped; the first is line %d: %q",
				t.textCount, line(t.texts[0].row), t.texts[0].text), "")
	}
}
