package importers

import (
	"context"
	"errors"
	"io"
	"runtime"
	"strings"
	"testing"
)

// endless is a text of one start and then digits without a line end, made as it is read.
type endless struct {
	start string
	size  int64
	block []byte
}

func (e *endless) ReadAt(p []byte, off int64) (int, error) {
	n := int(min(int64(len(p)), e.size-off))
	if n <= 0 {
		return 0, io.EOF
	}
	for i := 0; i < n; {
		if at := off + int64(i); at < int64(len(e.start)) {
			i += copy(p[i:n], e.start[at:])
			continue
		}
		i += copy(p[i:n], e.block)
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// TestHugeLine: two gigabytes without a line end are refused, from the first row on or
// after a header, in little memory.
func TestHugeLine(t *testing.T) {
	const size = 2 << 30
	block := []byte(strings.Repeat("1.25,", 1<<16))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	in := &input{name: "one.csv", r: &endless{"", size, block}, size: size}
	if _, err := sniff(in); err == nil || !strings.Contains(err.Error(), "longer than") {
		t.Errorf("a file of one line: %v", err)
	}
	head := "time_s,roll_deg\n0.01,1\n0.02,2\n"
	in = &input{name: "two.csv", r: &endless{head, size, block}, size: size}
	d, err := sniff(in)
	if err != nil {
		t.Fatal(err)
	}
	_, err = readTable(context.Background(), in, d.dataAt, tableSpec{delim: d.delim, dec: d.dec, kinds: d.kinds}, nil)
	var line *lineError
	if !errors.As(err, &line) || line.row != 2 {
		t.Errorf("rows and then one endless line: %v", err)
	}
	sentences := "$WIMWV,214.8,R,7.2,K,A*1E\n$WIMWV,214.8,R,7.2,K,A*1E\n"
	in = &input{name: "wind.nmea", r: &endless{sentences, size, block}, size: size}
	f := &logFile{dress: &dress{nmea: true}}
	if err := f.readSentences(context.Background(), in); !errors.As(err, &line) {
		t.Errorf("sentences and then one endless line: %v", err)
	}
	runtime.ReadMemStats(&after)
	if used := (after.TotalAlloc - before.TotalAlloc) >> 20; used > 24 {
		t.Errorf("%d MiB were allocated", used)
	}
}
