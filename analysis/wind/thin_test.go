package wind

import (
	"math"
	"sort"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

// TestSmallestArcAgainstSorting: sectors find the arc that putting all in order finds.
func TestSmallestArcAgainstSorting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3000).Draw(t, "n")
		width := rapid.Float64Range(0, 7).Draw(t, "width")
		from := rapid.Float64Range(-10, 10).Draw(t, "from")
		dir := make([]float64, n)
		sorted := make([]float64, n)
		for i := range dir {
			dir[i] = from + width*math.Mod(float64(i)*0.6180339887, 1)
			sorted[i] = wrap2Pi(dir[i])
		}
		dir = append(dir, math.NaN())
		sort.Float64s(sorted)
		a, b := smallestArc(dir)
		c, d := gapEnds(sorted)
		if math.Abs(wrap2Pi(b-a)-wrap2Pi(d-c)) > 1e-12 {
			t.Fatalf("arc %g to %g, sorted %g to %g", a, b, c, d)
		}
	})
}

// TestThinning: wind at 200 Hz gives, from its cells, what the same wind at 20 Hz gives,
// and from its readings what no cell can know.
func TestThinning(t *testing.T) {
	slow := gustySeries(3, 6000, 0.05, 5, 20, 0)
	var ts, speed, dir []float64
	for i, v := range slow.speed {
		for k := range 10 {
			ts = append(ts, float64(10*i+k)*0.005)
			speed = append(speed, v)
			dir = append(dir, slow.dir[i])
		}
	}
	fast := analyse(t, windHop(ts, speed, dir), flight.Span{})
	thin := analyse(t, windHop(slow.t, slow.speed, slow.dir), flight.Span{})
	if fast.Whole.Readings != 60000 || len(fast.Phases) != len(thin.Phases) {
		t.Fatalf("%d readings, %d and %d phases", fast.Whole.Readings, len(fast.Phases), len(thin.Phases))
	}
	for what, x := range map[string][2]*flight.Estimate{
		"mean": {fast.Whole.MeanMS, thin.Whole.MeanMS}, "sd": {fast.Whole.SDMS, thin.Whole.SDMS},
		"gust": {fast.Whole.Gust3sMS, thin.Whole.Gust3sMS}, "direction": {fast.Whole.DirectionRad, thin.Whole.DirectionRad},
		"spread of direction": {fast.Whole.DirectionSDRad, thin.Whole.DirectionSDRad},
		"turbulence":          {fast.Phases[0].Turbulence.AlongSDMS, thin.Phases[0].Turbulence.AlongSDMS},
	} {
		closeTo(t, what, x[0].Value/x[1].Value, 1, 2e-3)
		if x[1].HasInterval() {
			closeTo(t, "low end of "+what, x[0].Low, x[1].Low, 0.01*math.Abs(x[1].Value))
		}
	}
	// Single readings let more fold down than steps do.
	closeTo(t, "length", fast.Phases[0].Turbulence.AcrossLengthM.Value/thin.Phases[0].Turbulence.AcrossLengthM.Value, 1, 0.05)
	// Alternating readings cancel within a cell, but count in the spread.
	for i := range speed {
		speed[i] = 4 + math.Cos(float64(i)*math.Pi)
	}
	w := analyse(t, windHop(ts, speed, dir), flight.Span{}).Whole
	closeTo(t, "spread of all readings", w.SDMS.Value, math.Sqrt(60000.0/59999), 1e-9)
}

// TestThinCells: lost readings leave cells with fewer, a gap none; still air has no
// direction, and a cell takes that of the readings that have one.
func TestThinCells(t *testing.T) {
	s := series{}
	for i := range 40 {
		if i == 3 || i >= 12 && i < 33 {
			continue
		}
		d := math.Pi / 2 // from the east
		if i == 1 {
			d = math.NaN()
		}
		s.add(float64(i)*0.01, 2, d)
	}
	th := s.finish(true).thin()
	if len(th.cells.t) != 5 || th.first[1] != 4 || th.first[5] != len(s.t) {
		t.Fatalf("cells at %v, first %v", th.cells.t, th.first)
	}
	closeTo(t, "stamp", th.cells.t[0], (0+0.01+0.02+0.04)/4, 1e-12)
	for k := range th.cells.t {
		closeTo(t, "from east", th.fromEast[k], 2, 1e-12)
		closeTo(t, "from north", th.fromNorth[k], 0, 1e-12)
	}
	p := th.part(1, 3)
	if from, to := p.span(1); from != 5 || to != len(p.all.t) {
		t.Errorf("second cell of a part %d to %d of %d", from, to, len(p.all.t))
	}
}
