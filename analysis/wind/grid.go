package wind

import (
	"math"

	"hopcard/flight"
)

// grid is an even set of hop times, fromS + i*stepS.
type grid struct {
	fromS, stepS float64
	n            int
}

func newGrid(span flight.Span, stepS float64) grid {
	return grid{span.FromS, stepS, max(0, int(span.LengthS()/stepS))}
}

func (g grid) at(i int) float64 { return g.fromS + float64(i)*g.stepS }

// values puts readings x at stamps t on the grid: means over one step around each grid
// time where readings are closer together than that, else straight lines between them.
// It is NaN where the readings leave a gap.
func (g grid) values(t, x []float64) []float64 {
	out := make([]float64, g.n)
	step := medianStep(t)
	j := 0
	for i := range out {
		at := g.at(i)
		if step <= g.stepS/2 {
			for j < len(t) && t[j] < at-g.stepS/2 {
				j++
			}
			sum, count := 0.0, 0
			for ; j < len(t) && t[j] < at+g.stepS/2; j++ {
				sum += x[j]
				count++
			}
			out[i] = sum / float64(count) // NaN without readings
			continue
		}
		for j < len(t) && t[j] < at {
			j++
		}
		out[i] = between(t, x, j, at, 2.5*step)
	}
	return out
}

// between interpolates x at a time whose next stamp is t[j].
func between(t, x []float64, j int, at, gap float64) float64 {
	switch {
	case j == len(t):
		return math.NaN()
	case t[j] == at:
		return x[j]
	case j == 0 || t[j]-t[j-1] > gap:
		return math.NaN()
	}
	f := (at - t[j-1]) / (t[j] - t[j-1])
	return x[j-1] + f*(x[j]-x[j-1])
}

// channel puts a channel on the grid; all NaN if it is nil.
func (g grid) channel(c *flight.Channel) []float64 {
	if c == nil {
		out := make([]float64, g.n)
		for i := range out {
			out[i] = math.NaN()
		}
		return out
	}
	return g.values(c.TimeS, c.Value)
}

// exclude writes NaN over what the crew ruled out.
func (g grid) exclude(x []float64, spans []flight.Span) {
	for i := range x {
		for _, e := range spans {
			if e.Contains(g.at(i)) {
				x[i] = math.NaN()
			}
		}
	}
}

// runs cuts channels of equal length into the stretches where none of them is NaN.
func runs(channels [][]float64) [][][]float64 {
	var out [][][]float64
	n := len(channels[0])
	from := 0
	for i := 0; i <= n; i++ {
		whole := i < n
		for _, c := range channels {
			whole = whole && !math.IsNaN(c[i])
		}
		if whole {
			continue
		}
		if i > from {
			var run [][]float64
			for _, c := range channels {
				run = append(run, c[from:i])
			}
			out = append(out, run)
		}
		from = i + 1
	}
	return out
}
