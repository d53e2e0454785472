package importers

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

// memory makes an input over text.
func memory(text string) *input {
	return &input{name: "text", r: bytes.NewReader([]byte(text)), size: int64(len(text))}
}

// TestTableEqualsCSV reads a table of several blocks, with cells of every kind mixed,
// and compares each cell with encoding/csv and strconv, bit for bit.
func TestTableEqualsCSV(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	const columns = 5
	var b strings.Builder
	for b.Len() < 5*minBlock {
		for k := range columns {
			if k > 0 {
				b.WriteByte(',')
			}
			x := (rng.Float64() - 0.5) * math.Pow(10, float64(rng.IntN(9)))
			switch rng.IntN(12) {
			case 0:
				fmt.Fprintf(&b, "%q", strconv.FormatFloat(x, 'f', 3, 64))
			case 1:
				fmt.Fprintf(&b, "%e", x)
			case 2:
				b.WriteString(strconv.FormatFloat(x, 'g', -1, 64))
			case 3: // empty
			default:
				fmt.Fprintf(&b, "%.*f", rng.IntN(7), x)
			}
		}
		b.WriteString([]string{"\n", "\n", "\r\n"}[rng.IntN(3)])
	}
	spec := numberSpec(',', '.')
	spec.kinds = spec.kinds[:columns]
	got, err := readTable(context.Background(), memory(b.String()), 0, spec, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(strings.NewReader(b.String()))
	want, err := r.ReadAll()
	if err != nil || got.rows != len(want) {
		t.Fatalf("%d rows, want %d (%v)", got.rows, len(want), err)
	}
	blanks := 0
	for i, row := range want {
		for k, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				v = nan
				blanks++
			}
			if g := got.cols[k][i]; math.Float64bits(g) != math.Float64bits(v) && (g == g || v == v) {
				t.Fatalf("row %d, column %d: %v, want %v from %q", i, k, g, v, cell)
			}
		}
	}
	sum := 0
	for _, n := range got.blank {
		sum += n
	}
	if sum != blanks {
		t.Errorf("%d empty cells counted, want %d", sum, blanks)
	}
}

// TestTableRaggedRows: rows that are short, long, empty, comments or repeated headers
// must not move the others.
func TestTableRaggedRows(t *testing.T) {
	spec := tableSpec{delim: ',', dec: '.', kinds: []cellKind{numberCell, skipCell, numberCell}, header: []byte("a,b,c")}
	text := "1,x,10\n2,y\n\n# remark\n3,z,30,extra\na,b,c\n4,,40,\n,,50\nstopped by hand\n6,w,60"
	got, err := readTable(context.Background(), memory(text), 0, spec, nil)
	if err != nil {
		t.Fatal(err)
	}
	wantA, wantC := []float64{1, 2, 3, 4, nan, 6}, []float64{10, nan, 30, 40, 50, 60}
	if got.rows != len(wantA) || got.cols[1] != nil {
		t.Fatalf("%d rows, want %d", got.rows, len(wantA))
	}
	for i := range wantA {
		a, c := got.cols[0][i], got.cols[2][i]
		if a != wantA[i] && (a == a || wantA[i] == wantA[i]) || c != wantC[i] && (c == c || wantC[i] == wantC[i]) {
			t.Errorf("row %d: %v, %v; want %v, %v", i, a, c, wantA[i], wantC[i])
		}
	}
	if got.shortN != 1 || got.longN != 1 || got.comments != 1 || got.textCount != 1 || len(got.restarts) != 1 || got.restarts[0] != 3 {
		t.Errorf("faults %+v", got.tableFaults)
	}
}

// TestStrayQuote: a quote that never closes must not swallow the rest of the file.
func TestStrayQuote(t *testing.T) {
	var b strings.Builder
	for i := range 3000 {
		if i == 1000 {
			b.WriteString("1000,\"7\n")
			continue
		}
		fmt.Fprintf(&b, "%d,2\n", i)
	}
	spec := numberSpec(',', '.')
	spec.kinds = spec.kinds[:2]
	got, err := readTable(context.Background(), memory(b.String()), 0, spec, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got.rows != 3000 || got.cols[0][2999] != 2999 || got.cols[1][2999] != 2 {
		t.Errorf("%d rows, the last %v", got.rows, got.cols[0][got.rows-1])
	}
}

// TestProgressAscends: workers report one at a time and never backwards.
func TestProgressAscends(t *testing.T) {
	text := strings.Repeat("1,2\n", 20*minBlock/4)
	spec := numberSpec(',', '.')
	spec.kinds = spec.kinds[:2]
	last := 0.0
	if _, err := readTable(context.Background(), memory(text), 0, spec, func(done float64) {
		if done <= last || done > 1 {
			t.Errorf("%v after %v", done, last)
		}
		last = done
	}); err != nil {
		t.Fatal(err)
	}
	if last != 1 {
		t.Errorf("ended at %v", last)
	}
}
