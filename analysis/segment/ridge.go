package segment

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

const (
	ridgeHopS      = 0.5  // time from one column of the map to the next
	ridgeFromRadS  = 0.35 // lowest frequency of the map
	ridgeBins      = 23   // a quarter of an octave apart, up to 16 rad/s
	perOctave      = 4
	ridgeStepS     = 0.06 // of the samples that the highest octave is looked at with
	cyclesAcross   = 3.0  // the window is a Gaussian with a standard deviation of this over the frequency
	leastRidgeSI   = 0.01 // amplitudes below this are nobody's sweep
	ridgeBias      = 0.55 // natural logarithm by which a sweep stands above the usual work
	mostRidgeScore = 1.2
	// leastRidgeScore is the least sum of what is above ridgeBias over a sweep.
	leastRidgeScore = 15
	shortestSweepS  = 8
)

// ridgeMap holds the amplitude of the stick at each time (every ridgeHopS in body) and
// frequency, by a constant-Q Gaussian window (Gabor, J. IEE 93, 1946; Goupillaud, Grossmann
// and Morlet, Geoexploration 23, 1984).
type ridgeMap struct {
	body  flight.Span
	size  [][]float64          // by frequency, then time
	above [][ridgeBins]float64 // by time: ln of size over the usual one, less ridgeBias
}

func ridgeOmega(j int) float64 { return ridgeFromRadS * math.Exp2(float64(j)/perOctave) }

func (m *ridgeMap) timeS(i int) float64 { return m.body.FromS + float64(i)*ridgeHopS }

// newRidgeMap looks at each octave on samples just dense enough for it.
func (s *stickTrace) newRidgeMap(body flight.Span) *ridgeMap {
	m := &ridgeMap{body: body, size: make([][]float64, ridgeBins)}
	n := int(body.LengthS()/ridgeHopS) + 1
	x, stepS := s.blocks(body)
	for j := ridgeBins - 1; j >= 0; j-- {
		w := ridgeOmega(j)
		for w*2*stepS <= 1.01 {
			x, stepS = halved(x), 2*stepS
		}
		m.size[j] = amplitudes(x, stepS, w, n)
	}
	m.above = make([][ridgeBins]float64, n)
	for j, x := range m.size {
		usual := max(series.Percentile(x, 0.5), leastRidgeSI)
		for i, v := range x {
			m.above[i][j] = min(math.Log(max(v, 1e-6)/usual)-ridgeBias, mostRidgeScore)
		}
	}
	return m
}

// blocks returns the means of the stick over ridgeStepS in body, from its start.
func (s *stickTrace) blocks(body flight.Span) (x []float64, stepS float64) {
	per := s.grid.Steps(ridgeStepS)
	for i, end := s.grid.Index(body.FromS), s.grid.Index(body.ToS); i+per <= end; i += per {
		sum := 0.0
		for _, v := range s.x[i : i+per] {
			sum += v
		}
		x = append(x, sum/float64(per))
	}
	return x, float64(per) * s.grid.StepS
}

// halved returns every other sample of x under the weights 1 2 1.
func halved(x []float64) []float64 {
	out := make([]float64, (len(x)+1)/2)
	for i := range out {
		k := 2 * i
		out[i] = (x[max(k-1, 0)] + 2*x[k] + x[min(k+1, len(x)-1)]) / 4
	}
	return out
}

// amplitudes returns the amplitude of x at omega around n times ridgeHopS apart. The mean
// under the window is taken off, so that trim does not count.
func amplitudes(x []float64, stepS, omega float64, n int) []float64 {
	half := int(2.5*cyclesAcross/omega/stepS) + 1
	weight, co, si := make([]float64, 2*half+1), make([]float64, 2*half+1), make([]float64, 2*half+1)
	for k := range weight {
		t := float64(k-half) * stepS
		u := t * omega / cyclesAcross
		weight[k] = math.Exp(-u * u / 2)
		sin, cos := math.Sincos(omega * t)
		co[k], si[k] = weight[k]*cos, weight[k]*sin
	}
	allW, allC, allS := floats.Sum(weight), floats.Sum(co), floats.Sum(si)
	out := make([]float64, n)
	for i := range out {
		mid := int(math.Round(float64(i) * ridgeHopS / stepS))
		lo, hi := max(mid-half, 0), min(mid+half+1, len(x))
		if lo >= hi {
			continue
		}
		from, to := lo-mid+half, hi-mid+half
		w, c, s, v := weight[from:to], co[from:to], si[from:to], x[lo:hi]
		sw, sc, ss := allW, allC, allS
		if len(v) < len(weight) {
			sw, sc, ss = floats.Sum(w), floats.Sum(c), floats.Sum(s)
		}
		sx, sxc, sxs := floats.Dot(w, v), floats.Dot(c, v), floats.Dot(s, v)
		if sw > 0 {
			mean := sx / sw
			out[i] = 2 * math.Hypot(sxc-mean*sc, sxs-mean*ss) / sw
		}
	}
	return out
}

// ridge is a path through the map along which the frequency rises (or falls): one bin per
// time from i on.
type ridge struct {
	from  int
	bin   []int
	size  []float64
	score float64
}

// best returns the path in direction dir that stands most above the usual work, by dynamic
// programming with local start and end (Smith and Waterman, J. Mol. Biol. 147, 1981). Times
// in taken are left out.
func (m *ridgeMap) best(dir int, taken []bool) ridge {
	n := len(m.above)
	score, moved := make([][ridgeBins]float64, n), make([][ridgeBins]bool, n)
	var top float64
	ti, tj := -1, -1
	for i := range n {
		if taken[i] {
			continue
		}
		for j := range ridgeBins {
			var before float64
			if i > 0 {
				before = score[i-1][j]
				if k := j - dir; k >= 0 && k < ridgeBins && score[i-1][k] > before {
					before, moved[i][j] = score[i-1][k], true
				}
			}
			score[i][j] = max(before+m.above[i][j], 0)
			if score[i][j] > top {
				top, ti, tj = score[i][j], i, j
			}
		}
	}
	if ti < 0 {
		return ridge{}
	}
	return m.path(dir, score, moved, ti, tj)
}

// path follows the best path back from its end, to where the stick does no more than usual
// for 2.5 s: before that was something else.
func (m *ridgeMap) path(dir int, score [][ridgeBins]float64, moved [][ridgeBins]bool, i, j int) ridge {
	const longestLapse = int(2.5 / ridgeHopS)
	r := ridge{score: score[i][j]}
	lapse := 0
	for ; i >= 0 && score[i][j] > 0; i-- {
		if lapse++; m.above[i][j] > 0 {
			lapse = 0
		}
		if lapse == longestLapse {
			keep := len(r.bin) - lapse + 1
			r.from, r.bin, r.size, r.score = r.from+lapse-1, r.bin[:keep], r.size[:keep], r.score-score[i][j]
			break
		}
		r.from = i
		r.bin = append(r.bin, j)
		r.size = append(r.size, m.size[j][i])
		if moved[i][j] {
			j -= dir
		}
	}
	slices.Reverse(r.bin)
	slices.Reverse(r.size)
	return r
}

// sweep returns the longest end of r that is a sweep almost as clearly as the clearest one:
// what the pilot did before may look like its beginning. ok is false if none is.
func (m *ridgeMap) sweep(r ridge, dir int) (ridge, bool) {
	best := 0.0
	fit := make([]float64, len(r.bin))
	for i := range fit {
		fit[i] = m.clear(r.after(i), dir)
		best = max(best, fit[i])
	}
	for i, f := range fit {
		if f > 0 && f >= best-0.02 {
			return r.after(i), true
		}
	}
	return r, false
}

func (r ridge) after(i int) ridge {
	return ridge{from: r.from + i, bin: r.bin[i:], size: r.size[i:], score: r.score}
}

// clear returns how much of the log frequency a straight line over time explains (R squared;
// all of it in a logarithmic sweep), or 0 if r is no sweep: too few cycles, less than fivefold
// between the ends, or too uneven in size. Doublets and fights with the aircraft swell and
// fade by more than a third of themselves in two seconds, sweeps by a fifth. A growth taken
// for a sweep would be hidden, so that a narrow sweep is rather left unnamed.
func (m *ridgeMap) clear(r ridge, dir int) float64 {
	const leastR2, leastFold, mostUnlike, mostRough, leastCycles = 0.85, 5, 6, 0.33, 14
	n := len(r.bin)
	if float64(dir*(r.bin[n-1]-r.bin[0])) < perOctave*math.Log2(leastFold) || r.cycles() < leastCycles || r.rough() > mostRough {
		return 0
	}
	// The window blurs the ends.
	inner := r.size[n/10 : n-n/10]
	if series.Percentile(inner, 0.95) > mostUnlike*series.Percentile(inner, 0.05) {
		return 0
	}
	if l := m.line(r); l.r2 > leastR2 {
		return l.r2
	}
	return 0
}

// cycles is the number of full swings along r.
func (r ridge) cycles() float64 {
	sum := 0.0
	for _, j := range r.bin {
		sum += ridgeOmega(j) * ridgeHopS / (2 * math.Pi)
	}
	return sum
}

// rough is the mean change of the logarithm of size in two seconds.
func (r ridge) rough() float64 {
	const apart = int(2 / ridgeHopS)
	sum, n := 0.0, 0
	for i := apart; i < len(r.size); i, n = i+1, n+1 {
		sum += math.Abs(math.Log(max(r.size[i], 1e-6) / max(r.size[i-apart], 1e-6)))
	}
	return sum / float64(max(n, 1))
}

// course is a straight line of log frequency over time.
type course struct{ atS, mean, slope, r2 float64 }

func (c course) at(tS float64) float64 { return c.mean + c.slope*(tS-c.atS) }

// line fits the course of r.
func (m *ridgeMap) line(r ridge) course {
	n := float64(len(r.bin))
	var sx, sy, sxx, sxy, syy float64
	for i, j := range r.bin {
		x, y := float64(i)*ridgeHopS, math.Log(ridgeOmega(j))
		sx, sy, sxx, sxy, syy = sx+x, sy+y, sxx+x*x, sxy+x*y, syy+y*y
	}
	vx, vy, vxy := sxx-sx*sx/n, syy-sy*sy/n, sxy-sx*sy/n
	c := course{atS: m.timeS(r.from) + sx/n, mean: sy / n}
	if vx > 0 && vy > 0 {
		c.slope, c.r2 = vxy/vx, vxy*vxy/(vx*vy)
	}
	return c
}

// edges returns when the amplitude along r passes half of what it is beside its ends: a
// window half filled shows half.
func (m *ridgeMap) edges(r ridge) flight.Span {
	n := len(r.bin)
	near := max(n/5, 1)
	i, k := 0, n-1
	for level := series.Percentile(r.size[:near], 0.75) / 2; i < near && r.size[i] < level; i++ {
	}
	for level := series.Percentile(r.size[n-near:], 0.75) / 2; k > n-near && r.size[k] < level; k-- {
	}
	return flight.Span{FromS: m.timeS(r.from + i), ToS: min(m.timeS(r.from+k)+ridgeHopS, m.body.ToS)}
}
