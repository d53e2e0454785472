package importers

import (
	"bytes"
	"math"
)

// rowParser parses rows into their place in the columns.
type rowParser struct {
	spec     *tableSpec
	cols     [][]float64
	faults   *tableFaults
	inQuotes bool // a line end within quotes is part of the cell
	// Room to take back what was counted in a line that turns out to be text.
	blank, badCount []int
}

// row parses the row that starts at b[i], which ends in a line end, and returns the
// index of the next row.
func (w *rowParser) row(b []byte, i, row int) int {
	c := b[i]
	if c-'0' <= 9 || c == '-' || c == '.' {
		next, _ := w.cells(b, i, row)
		return next
	}
	if next, odd := w.oddLine(b, i, row); odd {
		return next
	}
	if c |= 0x20; c < 'a' || c > 'z' {
		next, _ := w.cells(b, i, row)
		return next
	}
	return w.letterRow(b, i, row)
}

// cells parses the cells of a row and counts those that hold a value.
func (w *rowParser) cells(b []byte, i, row int) (next, good int) {
	start, s := i, w.spec
	last := len(s.kinds) - 1
	k, ended := 0, false
	if k, i, ended = w.plainCells(b, i, row); ended {
		return i, k
	}
	for good = k; k <= last; k++ {
		kind := s.kinds[k]
		if s.delim == ' ' {
			for b[i] == ' ' || b[i] == '\t' {
				i++
			}
		}
		ok := false
		if kind == numberCell {
			var v float64
			if v, next, ok = w.number(b, i); ok {
				w.cols[k][row] = v
			}
		}
		if !ok {
			next, ok = w.slowCell(b, i, row, k, kind)
		}
		if ok {
			good++
		}
		i = next
		if b[i] == '\n' {
			if k < last {
				return w.shortRow(b, start, i, row, k+1), good
			}
			return i + 1, good
		}
		i++
	}
	return w.rowEnd(b, start, i, row), good
}

// plainCells reads cells as long as they are nothing but digits, sign and decimal mark.
// It returns the first column that it did not read and where that starts; ended is true
// if the row ended with the last column. This is the loop that a big log spends its time
// in: no calls, a signed conversion, and no branch on the sign, which is as good as
// random. At most 15 digits stay below 2^53 (see fastNumber).
//
// Digit by digit on purpose: eight digits at a time in a word was 1.5 times slower, for
// then each cell waits for the length of the one before, where a loop lets the processor
// run ahead.
func (w *rowParser) plainCells(b []byte, i, row int) (k, next int, ended bool) {
	delim, dec := w.spec.delim, w.spec.dec
	for k, col := range w.cols {
		if col == nil || w.spec.kinds[k] != numberCell {
			return k, i, false
		}
		var neg uint64
		if b[i] == '-' {
			neg = 1 << 63
		}
		j := i + int(neg>>63)
		first, m := j, int64(0)
		for b[j]-'0' <= 9 {
			m = m*10 + int64(b[j]-'0')
			j++
		}
		digits, frac := j-first, 0
		if b[j] == dec {
			j++
			point := j
			for b[j]-'0' <= 9 {
				m = m*10 + int64(b[j]-'0')
				j++
			}
			frac = j - point
			digits += frac
		}
		c := b[j]
		if digits == 0 || digits > 15 || (c != delim && c != '\n') {
			return k, i, false
		}
		col[row] = math.Float64frombits(math.Float64bits(float64(m)/exactPow10[frac]) | neg)
		if c == '\n' {
			if k+1 < len(w.cols) {
				return k, i, false // a short row
			}
			return k + 1, j + 1, true
		}
		i = j + 1
	}
	return len(w.cols), i, false
}

// number reads a cell that holds nothing but a number, bare or in quotes, and returns
// the index of the delimiter or line end after it.
func (w *rowParser) number(b []byte, i int) (v float64, next int, ok bool) {
	s := w.spec
	if b[i] == '"' {
		v, next, ok = fastNumber(b, i+1, s.dec)
		if !ok || b[next] != '"' {
			return 0, 0, false
		}
		next++
	} else {
		v, next, ok = fastNumber(b, i, s.dec)
	}
	c := b[next]
	if c == '\r' && b[next+1] == '\n' {
		next++
		c = '\n'
	}
	return v, next, ok && (c == s.delim || c == '\n')
}

// letterRow parses a row that starts with a letter: either its first column is text, or
// the line as a whole is, and then it is no row.
func (w *rowParser) letterRow(b []byte, i, row int) int {
	f := w.faults
	w.blank = append(w.blank[:0], f.blank...)
	w.badCount = append(w.badCount[:0], f.badCount...)
	bad, short, shortN, long, longN := len(f.bad), len(f.short), f.shortN, len(f.long), f.longN
	next, good := w.cells(b, i, row)
	if good > 0 {
		return next
	}
	copy(f.blank, w.blank)
	copy(f.badCount, w.badCount)
	f.bad, f.short, f.shortN, f.long, f.longN = f.bad[:bad], f.short[:short], shortN, f.long[:long], longN
	f.textCount++
	if len(f.texts) < maxKept {
		f.texts = append(f.texts, badCell{row, -1, clip(b[i : next-1])})
	}
	f.skip = append(f.skip, row)
	return next
}

// rowEnd finishes a row whose columns are all read. A delimiter at the end of each row
// is harmless; more cells are not.
func (w *rowParser) rowEnd(b []byte, start, i, row int) int {
	if b[i] == '\n' {
		return i + 1
	}
	end := lineEnd(b, i, w.inQuotes)
	if len(bytes.TrimSpace(b[i:end])) > 0 {
		w.faults.longN++
		if len(w.faults.long) < maxKept {
			w.faults.long = append(w.faults.long, badCell{row, -1, clip(b[start:end])})
		}
	}
	return end + 1
}

// lineEnd returns the index of the line end at or after i; with quotes, the last one of
// b, for then b ends with the row.
func lineEnd(b []byte, i int, inQuotes bool) int {
	if inQuotes {
		return len(b) - 1
	}
	return i + bytes.IndexByte(b[i:], '\n')
}

// shortRow fills the columns that a row does not reach with NaN.
func (w *rowParser) shortRow(b []byte, start, i, row, from int) int {
	for k := from; k < len(w.cols); k++ {
		if w.cols[k] != nil {
			w.cols[k][row] = nan
		}
	}
	w.faults.shortN++
	if len(w.faults.short) < maxKept {
		w.faults.short = append(w.faults.short, badCell{row, from, clip(b[start:i])})
	}
	return i + 1
}

// oddLine takes lines that cannot be rows: blank lines, comments, a repeated header.
func (w *rowParser) oddLine(b []byte, i, row int) (next int, odd bool) {
	f := w.faults
	switch c := b[i]; {
	case c == '#' || (c == '/' && b[i+1] == '/'):
		f.comments++
	case isBlankLine(b, i):
	case len(w.spec.header) > 0 && bytes.HasPrefix(b[i:], w.spec.header):
		f.restarts = append(f.restarts, row)
	default:
		return i, false
	}
	f.skip = append(f.skip, row)
	return i + bytes.IndexByte(b[i:], '\n') + 1, true
}

// slowCell reads any cell the fast path does not: text, quotes, blanks, times, empty.
// It returns the index of the delimiter or line end after it.
func (w *rowParser) slowCell(b []byte, i, row, k int, kind cellKind) (next int, ok bool) {
	cell, next := w.cut(b, i)
	if kind == skipCell {
		return next, false
	}
	v := nan
	switch {
	case len(cell) == 0:
		w.faults.blank[k]++
	case kind == numberCell:
		v, ok = slowNumber(cell, w.spec.dec)
	case kind == isoCell:
		v, _, ok = parseISO(cell, w.spec.baseDay)
	case kind == clockCell:
		v, ok = parseClock(cell)
	case kind == dateCell:
		v, ok = parseDate(cell, w.spec.baseDay)
	}
	if v-v != 0 { // infinite or NaN: no measurement
		v, ok = nan, false
	}
	if !ok && len(cell) > 0 {
		w.faults.badCount[k]++
		if len(w.faults.bad) < maxKept {
			w.faults.bad = append(w.faults.bad, badCell{row, k, clip(cell)})
		}
	}
	w.cols[k][row] = v
	return next, ok
}

// cut returns the cell that starts at b[i] without blanks and quotes around it, and the
// index of the byte that ends it.
func (w *rowParser) cut(b []byte, i int) (cell []byte, next int) {
	delim := w.spec.delim
	for b[i] == ' ' || (b[i] == '\t' && delim != '\t') {
		i++
	}
	if b[i] == '"' {
		for n := i + 1; b[n] != '\n' || (w.inQuotes && n < len(b)-1); n++ {
			if b[n] != '"' {
				continue
			}
			if b[n+1] == '"' {
				n++
				continue
			}
			next = n + 1
			for b[next] == ' ' || b[next] == '\r' {
				next++
			}
			if b[next] == delim || b[next] == '\n' || delim == ' ' {
				if delim == ' ' && b[next] != '\n' {
					next = n + 1
				}
				return bytes.TrimSpace(b[i+1 : n]), next
			}
			break
		}
		w.faults.open = w.faults.open || !w.inQuotes
	}
	next = i
	for b[next] != delim && b[next] != '\n' && (delim != ' ' || b[next] != '\t') {
		next++
	}
	return bytes.Trim(b[i:next], " \t\r"), next
}

// clip returns at most the first 40 bytes of a text for a message.
func clip(b []byte) string {
	b = bytes.TrimSpace(b)
	if len(b) > 40 {
		return string(bytes.ToValidUTF8(b[:37], nil)) + "..."
	}
	return string(bytes.ToValidUTF8(b, []byte("?")))
}
