package tui

import (
	"math"
	"sort"

	"hopcard/flight"
)

// bounds is a pair of bounds of values.
type bounds struct{ lo, hi float64 }

func none() bounds { return bounds{math.Inf(1), math.Inf(-1)} }

func (b bounds) empty() bool { return b.lo > b.hi }

func (b bounds) with(v float64) bounds {
	if finite(v) {
		b.lo, b.hi = min(b.lo, v), max(b.hi, v)
	}
	return b
}

func (b bounds) union(o bounds) bounds { return bounds{min(b.lo, o.lo), max(b.hi, o.hi)} }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// A pyramid's lowest level holds the bounds of this many samples each, every further
// level the bounds of fanOut entries of the level below.
const (
	leaf   = 32
	fanOut = 4
)

// track is one channel made ready to be drawn at any zoom: its samples in shown units
// and a pyramid of bounds, so that the least and greatest value of any run of samples
// are found without reading them all and no spike is lost.
type track struct {
	quantity flight.Quantity
	unit     string
	timeS    []float64
	value    []float64
	scale    float64 // from SI to shown units
	levels   [][]bounds
	all      bounds
	// gapS is the longest step between samples that a line may cross.
	gapS  float64
	stepS float64
}

// newTrack builds the pyramid of c. It only reads c.
func newTrack(c *flight.Channel) *track {
	unit, scale := c.Quantity.ShownUnit()
	t := &track{quantity: c.Quantity, unit: unitText(unit), scale: scale,
		timeS: c.TimeS, value: c.Value[:min(len(c.Value), len(c.TimeS))]}
	t.timeS = t.timeS[:len(t.value)]
	t.stepS = typicalStep(t.timeS)
	t.gapS = 4 * t.stepS
	t.buildLevels()
	t.all = t.extent(0, len(t.value))
	return t
}

// typicalStep is the median of up to a thousand steps spread over the record.
func typicalStep(timeS []float64) float64 {
	const most = 1000
	every := max((len(timeS)-1)/most, 1)
	var steps []float64
	for i := 1; i < len(timeS); i += every {
		steps = append(steps, timeS[i]-timeS[i-1])
	}
	if len(steps) == 0 {
		return 0
	}
	sort.Float64s(steps)
	return steps[len(steps)/2]
}

func (t *track) buildLevels() {
	level := make([]bounds, 0, len(t.value)/leaf+1)
	for i := 0; i < len(t.value); i += leaf {
		b := none()
		for _, v := range t.value[i:min(i+leaf, len(t.value))] {
			b = b.with(v)
		}
		level = append(level, b)
	}
	for {
		t.levels = append(t.levels, level)
		if len(level) <= fanOut {
			return
		}
		next := make([]bounds, 0, len(level)/fanOut+1)
		for i := 0; i < len(level); i += fanOut {
			b := none()
			for _, o := range level[i:min(i+fanOut, len(level))] {
				b = b.union(o)
			}
			next = append(next, b)
		}
		level = next
	}
}

// extent returns the bounds, in SI, of samples i0 to i1-1.
func (t *track) extent(i0, i1 int) bounds {
	b := none()
	for i0 < i1 && i0%leaf != 0 {
		b = b.with(t.value[i0])
		i0++
	}
	for i1 > i0 && i1%leaf != 0 {
		i1--
		b = b.with(t.value[i1])
	}
	lo, hi := i0/leaf, i1/leaf
	for k := 0; lo < hi; k++ {
		level := t.levels[k]
		top := k == len(t.levels)-1
		for lo < hi && (top || lo%fanOut != 0) {
			b = b.union(level[lo])
			lo++
		}
		for hi > lo && hi%fanOut != 0 {
			hi--
			b = b.union(level[hi])
		}
		lo, hi = lo/fanOut, hi/fanOut
	}
	return b
}

// index returns the first sample at or after tS.
func (t *track) index(tS float64) int { return sort.SearchFloat64s(t.timeS, tS) }

// visible returns the bounds in SI of what lies in s, both ends included.
func (t *track) visible(s flight.Span) bounds {
	return t.extent(t.index(s.FromS), t.index(math.Nextafter(s.ToS, math.Inf(1))))
}

// joined reports whether a line may run from sample i-1 to sample i.
func (t *track) joined(i int) bool {
	return i > 0 && i < len(t.value) && finite(t.value[i]) && finite(t.value[i-1]) &&
		t.timeS[i]-t.timeS[i-1] <= t.gapS
}

// at returns the sample nearest to tS in shown units; ok is false in a gap and outside
// the record.
func (t *track) at(tS float64) (v float64, ok bool) {
	i := t.index(tS)
	if i > 0 && (i == len(t.timeS) || tS-t.timeS[i-1] < t.timeS[i]-tS) {
		i--
	}
	if i >= len(t.timeS) || math.Abs(t.timeS[i]-tS) > max(t.gapS/2, t.stepS) || !finite(t.value[i]) {
		return 0, false
	}
	return t.value[i] * t.scale, true
}

// tracksOf builds the tracks of every quantity of the hop that a strip can show.
func tracksOf(h *flight.Hop) map[flight.Quantity]*track {
	m := map[flight.Quantity]*track{}
	for _, q := range flight.Quantities() {
		if c := h.Channel(q); c != nil && c.Len() > 0 {
			m[q] = newTrack(c)
		}
	}
	return m
}
