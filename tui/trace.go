package tui

import (
	"math"

	"github.com/NimbleMarkets/ntcharts/canvas"
	"github.com/NimbleMarkets/ntcharts/canvas/graph"

	"hopcard/flight"
)

// dots is a braille grid with a window of values on it. Lines are clipped to the grid
// before they are drawn.
type dots struct {
	grid *graph.BrailleGrid
	w, h int // in dots
	y    bounds
	// dotted leaves out every other dot column, to tell a second trace from the first.
	dotted bool
}

func newDots(cols, rows int, y bounds) *dots {
	return &dots{
		grid: graph.NewBrailleGrid(cols, rows, 0, 1, 0, 1),
		w:    cols * 2, h: rows * 4, y: y,
	}
}

// row returns the dot row of value v as a real number, clamped to just outside the grid
// so that it can be turned into an int whatever v is.
func (d *dots) row(v float64) float64 {
	r := (d.y.hi - v) / (d.y.hi - d.y.lo) * float64(d.h-1)
	if math.IsNaN(r) {
		return -1
	}
	return math.Round(min(max(r, -1), float64(d.h)))
}

// bar sets the dots of column x between two rows, if any of them lies on the grid.
func (d *dots) bar(x int, ra, rb float64) {
	if ra > rb {
		ra, rb = rb, ra
	}
	if rb < 0 || ra > float64(d.h-1) {
		return
	}
	for y := int(max(ra, 0)); y <= int(min(rb, float64(d.h-1))); y++ {
		d.grid.Set(canvas.Point{X: x, Y: y})
	}
}

// line joins (xa, va) and (xb, vb), xa <= xb in dot columns and possibly far outside.
func (d *dots) line(xa, va, xb, vb float64) {
	if xb-xa < 1 {
		d.bar(int(math.Round(min(max(xb, -1), float64(d.w)))), d.row(va), d.row(vb))
		return
	}
	at := func(x float64) float64 {
		f := min(max((x-xa)/(xb-xa), 0), 1)
		return d.row(va + f*(vb-va))
	}
	from, to := math.Ceil(max(xa, 0)), math.Floor(min(xb, float64(d.w-1)))
	for x := from; x <= to; x++ {
		ra, rb := at(x-0.5), at(x+0.5)
		// Half a step each way joins neighbours; whole rows shared by both are drawn once.
		switch {
		case rb > ra+1:
			ra++
		case ra > rb+1:
			ra--
		}
		d.bar(int(x), ra, rb)
	}
}

// The characters with one to eight dots; the offset from blank is a bit per dot
// (Unicode chapter 21.1).
const (
	dotsBlank = 0x2800
	dotsEnd   = 0x2900
	rightDots = 0xb8 // the four of the right column
)

func isDots(r rune) bool { return r >= dotsBlank && r < dotsEnd }

// draw puts the grid on a paper at (x, y). Cells without dots keep what is there; dots
// that are there already stay, in the new pen.
func (d *dots) draw(p *paper, x, y int, pn pen) {
	for j, line := range d.grid.BraillePatterns() {
		for i, r := range line {
			if d.dotted {
				r &^= rightDots
			}
			if r == dotsBlank || x+i < 0 || x+i >= p.w || y+j < 0 || y+j >= p.h {
				continue
			}
			if c := p.cells[(y+j)*p.w+x+i]; isDots(c.r) {
				r |= c.r
			}
			p.set(x+i, y+j, r, pn)
		}
	}
}

// trace draws the part of t that lies in window. Values are in SI, as the bounds of d.
func (d *dots) trace(t *track, window flight.Span) {
	if d.w == 0 || !(window.LengthS() > 0) || len(t.value) == 0 {
		return
	}
	i0, i1 := t.index(window.FromS), t.index(window.ToS)
	// One sample more on either side, so that lines run to the edge.
	i0, i1 = max(i0-1, 0), min(i1+1, len(t.value))
	perDot := window.LengthS() / float64(d.w)
	column := func(i int) float64 { return (t.timeS[i]-window.FromS)/perDot - 0.5 }
	if i1-i0 <= 2*d.w {
		d.samples(t, i0, i1, column)
		return
	}
	d.columns(t, window.FromS, perDot, column)
}

// columns draws what is too much to be seen sample by sample: for every dot column the
// bounds of its samples, and lines from column to column.
func (d *dots) columns(t *track, fromS, perDot float64, column func(int) float64) {
	i, n := t.index(fromS), 0
	drawn := i // up to here samples are on the grid
	upTo := func(x, to int) {
		if b := t.extent(drawn, to); !b.empty() {
			d.bar(x, d.row(b.lo), d.row(b.hi))
		}
		drawn = to
	}
	for x := range d.w {
		n = t.countTo(i, n, fromS+float64(x+1)*perDot)
		if n == 0 {
			upTo(x-1, i)
			continue
		}
		end := i + n
		// A column that holds many leaves of the pyramid ends at a whole one, or at a whole
		// entry of a higher level, an eighth of a dot early at most, so that only a few
		// entries need to be read. The next column takes the rest, unless it is in a gap.
		to := end
		if whole := wholeEntry(n); whole > 0 && x < d.w-1 {
			to = end / whole * whole
		}
		upTo(x, to)
		if t.joined(i) {
			d.line(column(i-1), t.value[i-1], float64(x), t.value[i])
		}
		i = end
	}
	if i < len(t.value) && t.joined(i) {
		d.line(column(i-1), t.value[i-1], column(i), t.value[i])
	}
}

// wholeEntry is how many samples the largest entry of the pyramid holds that is no more
// than an eighth of n samples, 0 if there is none.
func wholeEntry(n int) int {
	if n < 8*leaf {
		return 0
	}
	whole := leaf
	for 8*whole*fanOut <= n {
		whole *= fanOut
	}
	return whole
}

// samples draws sample by sample: few enough that each may be seen.
func (d *dots) samples(t *track, i0, i1 int, column func(int) float64) {
	for i := i0; i < i1; i++ {
		v := t.value[i]
		if !finite(v) {
			continue
		}
		x := column(i)
		if r := math.Round(x); r >= 0 && r < float64(d.w) {
			d.bar(int(r), d.row(v), d.row(v))
		}
		if i > i0 && t.joined(i) {
			d.line(column(i-1), t.value[i-1], x, v)
		}
	}
}

// countTo returns how many samples from i on lie before tS. It looks around guess first,
// in doubling steps, since neighbouring columns hold about the same number and every
// look far away waits for the memory.
func (t *track) countTo(i, guess int, tS float64) int {
	n := len(t.timeS)
	lo, hi := i, n // the answer, as an index, lies in [lo, hi]
	at := min(i+guess, n)
	for step := 1; ; step *= 2 {
		if at < n && t.timeS[at] < tS {
			lo = at + 1
			at += step
			if at >= hi {
				break
			}
			continue
		}
		hi = at
		at -= step
		if at <= lo {
			break
		}
	}
	for lo < hi {
		mid := int(uint(lo+hi) >> 1)
		if t.timeS[mid] < tS {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo - i
}
