package wind

import "math"

// flow is the air at the anemometer and where the nose points, on a grid of hop times.
//
// Air that an anemometer away from the aircraft felt is carried to it, the nose is the
// aircraft's own at the moment: a mean wind turns into a cross wind with the nose at once,
// wherever the anemometer stands. So the mean wind against the nose stays where it is in
// time when gusts are moved.
type flow struct {
	north, east         []float64 // the wind comes from
	meanNorth, meanEast float64
	sin, cos            []float64 // of the heading
}

// newFlow puts the readings and the heading on the grid.
func newFlow(g grid, th thinned, heading func(float64) float64) flow {
	n := len(th.cells.t)
	north, east := make([]float64, n), make([]float64, n)
	for i := range n {
		north[i], east[i] = th.against(i, 0)
	}
	f := flow{north: g.values(th.cells.t, north), east: g.values(th.cells.t, east)}
	f.sin, f.cos = make([]float64, g.n), make([]float64, g.n)
	count := 0.0
	for i, v := range f.north {
		f.sin[i], f.cos[i] = math.Sincos(heading(g.at(i)))
		if !math.IsNaN(v) {
			f.meanNorth += v
			f.meanEast += f.east[i]
			count++
		}
	}
	f.meanNorth /= count
	f.meanEast /= count
	return f
}

// later returns f with the air moved later by shift places, on the places where both it
// and the nose are known.
func (f flow) later(shift, n int) flow {
	air, nose := max(-shift, 0), max(shift, 0)
	f.north, f.east = f.north[air:air+n], f.east[air:air+n]
	f.sin, f.cos = f.sin[nose:nose+n], f.cos[nose:nose+n]
	return f
}

// against returns head wind and wind from the right, and the part of them that the mean
// wind makes.
func (f flow) against() (whole, mean [2][]float64) {
	for j := range whole {
		whole[j], mean[j] = make([]float64, len(f.cos)), make([]float64, len(f.cos))
	}
	for i, c := range f.cos {
		s := f.sin[i]
		whole[0][i] = f.north[i]*c + f.east[i]*s
		whole[1][i] = f.east[i]*c - f.north[i]*s
		mean[0][i] = f.meanNorth*c + f.meanEast*s
		mean[1][i] = f.meanEast*c - f.meanNorth*s
	}
	return whole, mean
}
