package importers

import (
	"bytes"
	"context"
)

// sequential reads the file again in one go, joining lines until their quotes close.
func (r *tableReader) sequential(ctx context.Context) error {
	t := r.table
	lines := t.rows
	t.tableFaults = tableFaults{
		blank: make([]int, len(r.spec.kinds)), badCount: make([]int, len(r.spec.kinds)),
	}
	w := rowParser{spec: &r.spec, cols: t.cols, faults: &t.tableFaults, inQuotes: true}
	buf := make([]byte, 0, 2*maxLine+2)
	at, row := r.from, 0
	for at < r.in.size || len(buf) > 0 {
		if err := ctx.Err(); err != nil {
			return err
		}
		more, err := r.read(buf[len(buf):cap(buf)-2], at)
		if err != nil {
			return err
		}
		buf = buf[:len(buf)+len(more)]
		at += int64(len(more))
		if at >= r.in.size && (len(buf) == 0 || buf[len(buf)-1] != '\n') {
			buf = append(buf, '\n')
		}
		used := 0
		for row < lines {
			end, n := quotedRow(buf[used:], at >= r.in.size)
			if n == 0 {
				break
			}
			w.row(buf[:used+end], used, row)
			for extra := 1; extra < n; extra++ {
				t.skip = append(t.skip, row+extra)
			}
			if n > 1 {
				t.joined++
			}
			row += n
			used += end
		}
		if used == 0 && len(more) == 0 {
			return lineTooLong(row)
		}
		buf = buf[:copy(buf, buf[used:])]
		if row >= lines {
			break
		}
	}
	t.open = false
	return nil
}

// quotedRow returns the length of the row at the start of b and the lines it covers, 0
// if b does not hold all of it and is not the final part. A quote that does not close
// within a few lines is taken for a stray one, so that it cannot swallow the rest.
func quotedRow(b []byte, final bool) (length, lines int) {
	const most = 20
	first := bytes.IndexByte(b, '\n') + 1
	for end := first; end > 0 && lines < most; {
		lines++
		if bytes.Count(b[:end], []byte{'"'})%2 == 0 {
			return end, lines
		}
		next := bytes.IndexByte(b[end:], '\n') + 1
		if next == 0 {
			if !final && len(b) <= maxLine {
				return 0, 0
			}
			break
		}
		end += next
	}
	return first, min(first, 1)
}
