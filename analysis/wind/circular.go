package wind

import (
	"math"
	"sort"
)

// Directions sums up directions in radians. NaN are left out.
type Directions struct {
	N int
	// MeanRad is the direction of the mean unit vector, in [0, 2 pi), R its length.
	MeanRad, R float64
	// SDRad is the circular standard deviation sqrt(-2 ln R) (Mardia and Jupp 2000,
	// eq. 2.3.11), +Inf if the unit vectors cancel.
	SDRad float64
	// YamartinoRad is the standard deviation of Yamartino (1984), J. Climate Appl.
	// Meteor. 23, 1362, which loggers compute in one pass.
	YamartinoRad float64
	// FromRad to ToRad, clockwise, is the smallest arc that holds all directions.
	FromRad, ToRad float64
}

// ArcRad returns the length of the arc swept.
func (d Directions) ArcRad() float64 {
	if d.N == 0 {
		return math.NaN()
	}
	return wrap2Pi(d.ToRad - d.FromRad)
}

// SumUpDirections returns the circular statistics of directions in radians. All numbers
// are NaN if there is none.
func SumUpDirections(dirRad []float64) Directions {
	s := series{dir: dirRad}.turned()
	return sumUp(dirRad, s.sin, s.cos)
}

// sumUp is SumUpDirections of directions whose sines and cosines are known.
func sumUp(dirRad, sin, cos []float64) Directions {
	var s, c float64
	n := 0
	for i, x := range sin {
		if x != x { // of NaN and Inf
			continue
		}
		s += x
		c += cos[i]
		n++
	}
	nan := math.NaN()
	if n == 0 {
		return Directions{0, nan, nan, nan, nan, nan, nan}
	}
	s /= float64(n)
	c /= float64(n)
	r := math.Min(math.Hypot(s, c), 1)
	d := Directions{N: n, R: r, MeanRad: wrap2Pi(math.Atan2(s, c))}
	// Rounding leaves R a few 1e-16 below 1 for equal directions.
	miss := math.Max(0, 1-r*r)
	if miss < 1e-14 {
		miss = 0
	}
	d.SDRad = math.Sqrt(-math.Log1p(-miss))
	eps := math.Sqrt(miss)
	d.YamartinoRad = math.Asin(math.Min(eps, 1)) * (1 + (2/math.Sqrt(3)-1)*eps*eps*eps)
	d.FromRad, d.ToRad = smallestArc(dirRad)
	return d
}

// smallestArc returns the ends of the arc left when the widest empty one is taken away.
//
// The least and the greatest direction of each of many narrow sectors decide, unless the
// widest empty arc is narrower than a sector: only then are all directions put in order.
func smallestArc(dirRad []float64) (from, to float64) {
	const sectors = 1024
	var low, high [sectors]float64
	var used [sectors]bool
	for _, d := range dirRad {
		if math.IsNaN(d) || math.IsInf(d, 0) {
			continue
		}
		d = wrap2Pi(d)
		k := min(sectors-1, int(d*(sectors/(2*math.Pi))))
		if !used[k] {
			used[k], low[k], high[k] = true, d, d
		}
		low[k], high[k] = min(low[k], d), max(high[k], d)
	}
	var ends []float64
	for k := range sectors {
		if used[k] {
			ends = append(ends, low[k], high[k])
		}
	}
	if from, to = gapEnds(ends); wrap2Pi(to-from) < 2*math.Pi*(1-1.0/sectors) {
		return from, to
	}
	var all []float64
	for _, d := range dirRad {
		if !math.IsNaN(d) && !math.IsInf(d, 0) {
			all = append(all, wrap2Pi(d))
		}
	}
	sort.Float64s(all)
	return gapEnds(all)
}

// gapEnds returns the ends of the widest arc between neighbours of dir, in order, and
// across north.
func gapEnds(dir []float64) (from, to float64) {
	n := len(dir)
	widest := dir[0] + 2*math.Pi - dir[n-1]
	from, to = dir[0], dir[n-1]
	for i := 1; i < n; i++ {
		if gap := dir[i] - dir[i-1]; gap > widest {
			widest, from, to = gap, dir[i], dir[i-1]
		}
	}
	return from, to
}

// wrap2Pi puts an angle into [0, 2 pi).
func wrap2Pi(a float64) float64 {
	if a >= 0 && a < 2*math.Pi {
		return a
	}
	a = math.Mod(a, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	if a >= 2*math.Pi { // -1e-17 + 2 pi
		a = 0
	}
	return a
}

// wrapPi puts an angle into [-pi, pi).
func wrapPi(a float64) float64 { return wrap2Pi(a+math.Pi) - math.Pi }

// Components returns head wind and wind from the right for a wind FROM dirRad and a
// heading, both in radians from the same north.
func Components(speedMS, dirRad, headingRad float64) (headMS, crossMS float64) {
	s, c := math.Sincos(dirRad - headingRad)
	return speedMS * c, speedMS * s
}
