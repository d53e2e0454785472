package tui

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

func channelOf(v []float64) *flight.Channel {
	c := &flight.Channel{Quantity: flight.RollRate, Value: v, TimeS: make([]float64, len(v))}
	for i := range v {
		c.TimeS[i] = float64(i) * 0.01
	}
	return c
}

// The pyramid gives what reading every sample gives.
func TestExtentEqualsBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3000).Draw(t, "n")
		seed := rapid.Uint64().Draw(t, "seed")
		v := make([]float64, n)
		for i := range v {
			seed = seed*6364136223846793005 + 1442695040888963407
			v[i] = float64(int64(seed>>33)) / (1 << 30)
			if seed>>60 == 0 {
				v[i] = math.NaN()
			}
		}
		tr := newTrack(channelOf(v))
		i0 := rapid.IntRange(0, n).Draw(t, "i0")
		i1 := rapid.IntRange(i0, n).Draw(t, "i1")
		want := none()
		for _, x := range v[i0:i1] {
			want = want.with(x)
		}
		if got := tr.extent(i0, i1); got != want {
			t.Fatalf("extent(%d, %d) of %d = %v, want %v", i0, i1, n, got, want)
		}
	})
}

// patterns reads the grid back as dots.
func patterns(d *dots) func(x, y int) bool {
	rows := d.grid.BraillePatterns()
	bit := [4][2]rune{{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}
	return func(x, y int) bool { return (rows[y/4][x/2]-dotsBlank)&bit[y%4][x%2] != 0 }
}

// One sample among a hundred thousand reaches the top of its column at every zoom that
// shows it.
func TestNoSpikeIsLost(t *testing.T) {
	v := make([]float64, 100000)
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.IntRange(0, len(v)-1).Draw(t, "at")
		v[at] = 1
		defer func() { v[at] = 0 }()
		tr := newTrack(channelOf(v))
		tS := tr.timeS[at]
		length := math.Pow(10, rapid.Float64Range(-1, 3).Draw(t, "log window"))
		from := tS - length*rapid.Float64Range(0.01, 0.99).Draw(t, "where")
		d := newDots(rapid.IntRange(1, 100).Draw(t, "columns"), 3, bounds{0, 1})
		d.trace(tr, flight.Span{FromS: from, ToS: from + length})
		on := patterns(d)
		x := int((tS - from) / length * float64(d.w))
		for c := max(x-1, 0); c <= min(x+1, d.w-1); c++ {
			if on(c, 0) {
				return
			}
		}
		t.Fatalf("the spike at sample %d is not drawn near column %d of %d", at, x, d.w)
	})
}

// A gap in time and a run of NaN stay empty; a steady record has no holes.
func TestGapsStayEmpty(t *testing.T) {
	for _, n := range []int{400, 40000} { // sample by sample, and by the pyramid
		c := &flight.Channel{Quantity: flight.Roll}
		for i := range n {
			tS := 100 * float64(i) / float64(n)
			if tS > 30 && tS < 40 { // no samples
				continue
			}
			v := 0.5
			if tS > 60 && tS < 70 {
				v = math.NaN()
			}
			c.TimeS, c.Value = append(c.TimeS, tS), append(c.Value, v)
		}
		d := newDots(50, 2, bounds{0, 1})
		d.trace(newTrack(c), flight.Span{FromS: 0, ToS: 100})
		on := patterns(d)
		for x := range d.w {
			drawn := false
			for y := range d.h {
				drawn = drawn || on(x, y)
			}
			inGap := x > 31 && x < 39 || x > 61 && x < 69
			if clear := x < 29 || x > 41 && x < 59 || x > 71; drawn && inGap || !drawn && clear {
				t.Errorf("%d samples, column %d (s): drawn %v", n, x, drawn)
			}
		}
	}
}

// Values no chart can hold and scales no value can reach end in time and draw nothing
// outside the grid.
func TestDrawingExtremes(t *testing.T) {
	v := make([]float64, 2000)
	for i := range v {
		v[i] = []float64{0, 1e300, -1e300, math.NaN(), math.Inf(1), math.Inf(-1), 1e-300}[i%7]
	}
	tr := newTrack(channelOf(v))
	for _, y := range []bounds{{-1, 1}, {1e-12, 2e-12}, {-1e300, 1e300}, {0, 0}, {5, 4}} {
		for _, length := range []float64{1e-9, 0.1, 20, 1e9} {
			d := newDots(40, 4, y)
			d.trace(tr, flight.Span{FromS: 1, ToS: 1 + length})
		}
	}
	newDots(0, 0, bounds{0, 1}).trace(tr, flight.Span{FromS: 0, ToS: 1})
	newDots(5, 2, bounds{0, 1}).trace(newTrack(&flight.Channel{}), flight.Span{FromS: 0, ToS: 1})
}

// A line between two samples far outside a tiny window crosses it from edge to edge.
func TestLineAcrossWindow(t *testing.T) {
	c := &flight.Channel{Quantity: flight.Roll, TimeS: []float64{0, 1, 2}, Value: []float64{0, 1, 0}}
	d := newDots(20, 5, bounds{0.5, 0.6})
	d.trace(newTrack(c), flight.Span{FromS: 0.5, ToS: 0.6})
	on := patterns(d)
	if !on(0, d.h-1) || !on(d.w-1, 0) {
		t.Error("the line should run from the lower left to the upper right corner")
	}
}

// countTo is a search of sorted times, whatever the guess.
func TestCountTo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		steps := rapid.SliceOfN(rapid.Float64Range(0.001, 1), 1, 300).Draw(t, "steps")
		tr := &track{}
		now := 0.0
		for _, s := range steps {
			now += s
			tr.timeS = append(tr.timeS, now)
		}
		i := rapid.IntRange(0, len(steps)).Draw(t, "i")
		guess := rapid.IntRange(0, 400).Draw(t, "guess")
		tS := rapid.Float64Range(-1, now+1).Draw(t, "t")
		want := max(tr.index(tS)-i, 0)
		if got := tr.countTo(i, guess, tS); got != want {
			t.Fatalf("countTo(%d, %d, %g) = %d, want %d", i, guess, tS, got, want)
		}
	})
}

// The last sample before a gap is drawn before the gap, not behind it.
func TestSpikeBeforeGap(t *testing.T) {
	c := &flight.Channel{Quantity: flight.Roll}
	for i := range 100000 {
		tS := float64(i) * 0.001
		if i >= 50010 {
			tS += 50 // a gap from 50 to 100 s
		}
		c.TimeS, c.Value = append(c.TimeS, tS), append(c.Value, 0)
	}
	c.Value[50009] = 1
	d := newDots(50, 2, bounds{0, 1})
	d.trace(newTrack(c), flight.Span{FromS: 0, ToS: 150})
	on := patterns(d)
	for x := range d.w {
		if want := x == 33; on(x, 0) != want { // 50.009 s of 150 s in 100 columns
			t.Errorf("column %d: top dot %v, want %v", x, on(x, 0), want)
		}
	}
}
