package importers

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/sourcegraph/conc"
)

const (
	// maxLine is the longest line in bytes that is taken for a row.
	maxLine = 1 << 18
	// maxBlock is the share of a file that one worker reads at a time, in bytes: little
	// enough to stay in the processor's cache between reading and parsing.
	maxBlock = 1 << 19
	minBlock = 1 << 16
	// usualTail is how much of the next block is read to complete the last row. A longer
	// row makes the whole block be read again.
	usualTail = 1 << 13
	// maxKept bounds how many single faults of one kind are kept with their place; more
	// are only counted.
	maxKept = 200
)

// cellKind says how the cells of a column are read.
type cellKind uint8

const (
	skipCell   cellKind = iota
	numberCell          // a decimal number
	isoCell             // date and time in one cell, as seconds after tableSpec.baseDay
	clockCell           // time of day, as seconds after midnight
	dateCell            // a date, as seconds after tableSpec.baseDay
)

// tableSpec says how the rows of a file are written.
type tableSpec struct {
	delim   byte // ',' ';' '|' tab, or ' ' for runs of blanks and tabs
	dec     byte // '.' or ','
	kinds   []cellKind
	header  []byte // the header line, to know it when a restarted logger writes it again
	baseDay int64  // days since 1970 from which isoCell and dateCell count
}

// table holds the rows of a file, column by column.
type table struct {
	cols      [][]float64 // one per kind, nil where skipped; NaN where no value was read
	rows      int
	linesRead int // lines of the file from the first row on
	tableFaults
}

// tableFaults are the places where rows are not what they should be. Rows count from 0
// at the first line of data, over all lines, until the table is compacted.
type tableFaults struct {
	skip      []int // lines that are no rows, ascending
	restarts  []int // of those, repeated headers
	comments  int   // of those, comment lines
	texts     []badCell
	textCount int
	blank     []int // empty cells per column
	badCount  []int // cells per column that hold something else than a value
	bad       []badCell
	short     []badCell // rows that end early
	shortN    int
	long      []badCell // rows with more cells than columns
	longN     int
	joined    int // rows that quoted line breaks spread over several lines
	open      bool
}

// badCell is a cell, or with col -1 a line, that was not understood.
type badCell struct {
	row, col int
	text     string
}

// readTable reads the rows of in from byte from on. Two passes: the first counts line
// ends block by block, so that the second, also on all cores, knows each block's first
// row and parses straight into the final columns.
func readTable(ctx context.Context, in *input, from int64, spec tableSpec, progress func(float64)) (*table, error) {
	r := &tableReader{in: in, from: from, spec: spec, progress: progress}
	size := in.size - from
	r.block = min(max(size/int64(4*runtime.GOMAXPROCS(0)), minBlock), maxBlock)
	r.blocks = int((size + r.block - 1) / r.block)
	if err := r.run(ctx, r.count); err != nil {
		return nil, err
	}
	lines := r.prefix()
	kept, columns := 0, len(spec.kinds)
	for _, k := range spec.kinds {
		if k != skipCell {
			kept++
		}
	}
	if int64(lines)*int64(columns) > size+int64(columns)+maxLine {
		return nil, fmt.Errorf("most lines hold fewer than %d cells, the number in the header", columns)
	}
	t := &table{cols: make([][]float64, columns), rows: lines, linesRead: lines}
	for k, kind := range spec.kinds {
		if kind != skipCell {
			t.cols[k] = make([]float64, lines)
		}
	}
	r.table = t
	r.faults = make([]tableFaults, r.blocks)
	if err := r.run(ctx, r.parse); err != nil {
		return nil, err
	}
	t.merge(r.faults, columns)
	if t.open { // a quoted line break: rows do not start where lines start
		if err := r.sequential(ctx); err != nil {
			return nil, err
		}
	}
	t.compact()
	return t, nil
}

// tableReader is one reading of a file.
type tableReader struct {
	in       *input
	from     int64
	spec     tableSpec
	progress func(float64)
	block    int64
	blocks   int
	ends     []int // line ends per block, then in all blocks before
	table    *table
	faults   []tableFaults
	bufs     [][]byte // one for each worker
	telling  sync.Mutex
	done     int // blocks parsed, for progress
}

// run calls work for every block, on all cores, each worker with a buffer of its own.
func (r *tableReader) run(ctx context.Context, work func(block int, buf []byte) error) error {
	if r.ends == nil {
		r.ends = make([]int, r.blocks+1)
	}
	workers := min(runtime.GOMAXPROCS(0), r.blocks)
	for len(r.bufs) < workers {
		r.bufs = append(r.bufs, make([]byte, min(r.block+maxLine, r.in.size)+2))
	}
	var next atomic.Int64
	errs := make([]error, r.blocks)
	var wg conc.WaitGroup
	var failed atomic.Bool
	for i := range workers {
		wg.Go(func() {
			buf := r.bufs[i]
			for !failed.Load() {
				k := int(next.Add(1)) - 1
				if k >= r.blocks {
					return
				}
				if errs[k] = ctx.Err(); errs[k] == nil {
					errs[k] = work(k, buf)
				}
				if errs[k] != nil {
					failed.Store(true)
				}
			}
		})
	}
	wg.Wait()
	return firstError(errs)
}

func firstError(errs []error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// read fills buf from offset at, as far as the file goes.
func (r *tableReader) read(buf []byte, at int64) ([]byte, error) {
	if rest := r.in.size - at; int64(len(buf)) > rest {
		buf = buf[:max(rest, 0)]
	}
	n, err := r.in.r.ReadAt(buf, at)
	if err != nil && err != io.EOF {
		return nil, err
	}
	return buf[:n], nil
}

func (r *tableReader) count(k int, buf []byte) error {
	b, err := r.read(buf[:min(r.block, int64(len(buf)))], r.from+int64(k)*r.block)
	r.ends[k] = bytes.Count(b, []byte{'\n'})
	return err
}

// prefix turns counts into sums and returns the number of lines.
func (r *tableReader) prefix() int {
	sum := 0
	for k, n := range r.ends {
		r.ends[k] = sum
		sum += n
	}
	var last [1]byte
	if r.in.size > r.from {
		if _, err := r.in.r.ReadAt(last[:], r.in.size-1); err == nil && last[0] != '\n' {
			sum++
		}
	}
	return sum
}

// parse reads the rows that start in block k.
func (r *tableReader) parse(k int, buf []byte) error {
	at := r.from + int64(k)*r.block
	b, err := r.read(buf[:min(int(r.block)+usualTail, len(buf)-2)], at)
	if err == nil && len(b) > int(r.block) && bytes.IndexByte(b[r.block-1:], '\n') < 0 {
		b, err = r.read(buf[:len(buf)-2], at)
	}
	if err != nil {
		return err
	}
	end := min(int64(len(b)), r.block) // rows that start before here are ours
	i, row := 0, r.ends[k]
	if k > 0 {
		// The row that reaches in from the block before belongs to that block.
		var before [1]byte
		if _, err := r.in.r.ReadAt(before[:], at-1); err != nil {
			return err
		}
		if before[0] != '\n' {
			nl := bytes.IndexByte(b, '\n')
			if nl < 0 || int64(nl) >= end {
				return r.noLineEnd(nl, b, at, row)
			}
			i = nl + 1
			row++
		}
	}
	atEOF := at+int64(len(b)) >= r.in.size
	if atEOF && (len(b) == 0 || b[len(b)-1] != '\n') {
		b = append(b, '\n') // the buffer has room; every loop may count on a line end
	}
	w := rowParser{spec: &r.spec, cols: r.table.cols, faults: &r.faults[k]}
	w.faults.blank = make([]int, len(r.spec.kinds))
	w.faults.badCount = make([]int, len(r.spec.kinds))
	if !atEOF {
		nl := bytes.LastIndexByte(b, '\n')
		if int64(nl) < end-1 {
			return lineTooLong(row + bytes.Count(b[i:max(nl+1, i)], []byte{'\n'}))
		}
		b = b[:nl+1]
	}
	for int64(i) < end {
		i = w.row(b, i, row)
		row++
	}
	r.tell()
	return nil
}

// tell reports progress, one worker at a time and never backwards.
func (r *tableReader) tell() {
	if r.progress == nil {
		return
	}
	r.telling.Lock()
	defer r.telling.Unlock()
	r.done++
	r.progress(float64(r.done) / float64(r.blocks))
}

// noLineEnd handles a block in which no row starts: fine at the end of a row that
// began shortly before, otherwise the line is too long.
func (r *tableReader) noLineEnd(nl int, b []byte, at int64, row int) error {
	if nl < 0 && at+int64(len(b)) < r.in.size {
		return lineTooLong(row)
	}
	r.faults[r.blockOf(at)].blank = make([]int, len(r.spec.kinds))
	r.faults[r.blockOf(at)].badCount = make([]int, len(r.spec.kinds))
	return nil
}

func (r *tableReader) blockOf(at int64) int { return int((at - r.from) / r.block) }

// lineError carries the row, counted from the first line of data, for the message.
type lineError struct {
	row  int
	text string
}

func (e *lineError) Error() string { return e.text }

func lineTooLong(row int) error {
	return &lineError{row, fmt.Sprintf("a line is longer than %d kB: this is no log of rows and columns", maxLine>>10)}
}

// merge adds up what the blocks found, in their order.
func (t *table) merge(blocks []tableFaults, columns int) {
	t.blank, t.badCount = make([]int, columns), make([]int, columns)
	for k := range blocks {
		f := &blocks[k]
		t.skip = append(t.skip, f.skip...)
		t.restarts = append(t.restarts, f.restarts...)
		t.texts = keep(t.texts, f.texts)
		t.bad = keep(t.bad, f.bad)
		t.short = keep(t.short, f.short)
		t.long = keep(t.long, f.long)
		t.comments += f.comments
		t.textCount += f.textCount
		t.shortN += f.shortN
		t.longN += f.longN
		t.open = t.open || f.open
		for c := range f.blank {
			t.blank[c] += f.blank[c]
			t.badCount[c] += f.badCount[c]
		}
	}
}

func keep(all, more []badCell) []badCell {
	return append(all, more[:min(len(more), maxKept-len(all))]...)
}

// compact removes the lines that are no rows. Restarts then hold the index of the first
// row after each repeated header; the places of other faults keep their line.
func (t *table) compact() {
	if len(t.skip) == 0 {
		return
	}
	for i, at := range t.restarts {
		before := 0
		for before < len(t.skip) && t.skip[before] < at {
			before++
		}
		t.restarts[i] = at - before
	}
	for k, col := range t.cols {
		if col == nil {
			continue
		}
		to, from := 0, 0
		for _, s := range append(t.skip[:len(t.skip):len(t.skip)], t.rows) {
			to += copy(col[to:], col[from:s])
			from = s + 1
		}
		t.cols[k] = col[:to]
	}
	t.rows -= len(t.skip)
}

// isBlankLine reports whether b[i] ends the line after nothing but blanks.
func isBlankLine(b []byte, i int) bool {
	for b[i] == ' ' || b[i] == '\t' || b[i] == '\r' {
		i++
	}
	return b[i] == '\n'
}

var nan = math.NaN()
