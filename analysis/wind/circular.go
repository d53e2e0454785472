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
	var s, c float64
	sorted := make([]float64, 0, len(dirRad))
	for _, d := range dirRad {
		if math.IsNaN(d) || math.IsInf(d, 0) {
			continue
		}
		sin, cos := math.Sincos(d)
		s += sin
		c += cos
		sorted = append(sorted, wrap2Pi(d))
	}
	n := len(sorted)
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
	d.FromRad, d.ToRad = smallestArc(sorted)
	return d
}

// smallestArc returns the ends of the arc left when the widest empty one is taken away.
// It sorts its argument.
func smallestArc(dir []float64) (from, to float64) {
	sort.Float64s(dir)
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
