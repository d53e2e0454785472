package segment

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// trimS is the time over which the mean of the stick counts as its trim.
const trimS = 12

// stroke is one swing of the stick to one side of its trim.
type stroke struct {
	fromS, toS float64
	peak       float64 // with sign
}

func (s stroke) lengthS() float64 { return s.toS - s.fromS }

// strokes cuts the stick, less its mean over 12 s, into swings whose peak is larger than
// least on alternating sides.
func (s *stickTrace) strokes(body flight.Span, least float64) []stroke {
	g := s.grid
	trim := s.trim
	smooth := series.MovingMean(s.x, g.Steps(0.1))
	var out []stroke
	first := g.Index(body.FromS)
	cross, end := first, -1 // last change of sign, and the first one after the stroke's top
	start, side, peak := 0, 0.0, 0.0
	finish := func(at int) {
		if end < 0 {
			end = at
		}
		if side != 0 {
			out = append(out, stroke{g.TimeS(start), g.TimeS(end), peak})
		}
	}
	for i := first + 1; i < g.Index(body.ToS); i++ {
		v, before := smooth[i]-trim[i], smooth[i-1]-trim[i-1]
		if v*before <= 0 {
			cross = i
			if end < 0 {
				end = i
			}
		}
		if math.Abs(v) <= least {
			continue
		}
		if v*side <= 0 {
			finish(i)
			start, side, peak = cross, v, 0
		}
		end = -1
		if math.Abs(v) > math.Abs(peak) {
			peak = v
		}
	}
	finish(g.Index(body.ToS))
	return out
}

// sweeps returns the spans along which the frequency of the stick rises (or falls) steadily
// at least fivefold while its size stays within a factor of six.
func (s *stickTrace) sweeps(body flight.Span) []flight.Span {
	const mostTries = 8
	if body.LengthS() < shortestSweepS {
		return nil
	}
	m := s.newRidgeMap(body)
	taken := make([]bool, len(m.above))
	var out []flight.Span
	for _, dir := range []int{1, -1} {
		tried := slices.Clone(taken)
		for range mostTries {
			r := m.best(dir, tried)
			if r.score < leastRidgeScore {
				break
			}
			for i := range r.bin {
				tried[r.from+i] = true
			}
			r, ok := m.sweep(r, dir)
			if !ok {
				continue
			}
			span := m.edges(r)
			span, ok = s.slowEnd(m, r, dir, span, freeAround(span, body, out))
			if !ok && dir > 0 {
				span.FromS = s.tracedBack(m, r, span.FromS)
			}
			out = append(out, span)
			for i := range taken {
				taken[i] = taken[i] || span.Contains(m.timeS(i))
				tried[i] = tried[i] || taken[i]
			}
		}
	}
	return out
}

// freeAround returns the part of body about span that no other span of taken reaches into.
func freeAround(span, body flight.Span, taken []flight.Span) flight.Span {
	for _, o := range taken {
		if o.ToS <= span.FromS {
			body.FromS = max(body.FromS, o.ToS)
		}
		if o.FromS >= span.ToS {
			body.ToS = min(body.ToS, o.FromS)
		}
	}
	return body
}

// tracedBack follows a sweep back from fromS over slow strokes that do not stand above the
// pilot's usual work but lie where the sweep's course wants them: each of about the length
// and size that the later ones draw. Frequencies below slowestRadS are nobody's sweep.
func (s *stickTrace) tracedBack(m *ridgeMap, r ridge, fromS float64) float64 {
	const slowestRadS = 0.35 // the mean over a stroke; a sweep from 0.3 rad/s starts with it
	l := m.line(r)
	early := series.Percentile(r.size[:max(len(r.size)/3, 1)], 0.5)
	all := s.strokes(m.body, max(leastRidgeSI, 0.35*early))
	fits := func(a stroke) bool {
		omega := math.Exp(l.at((a.fromS + a.toS) / 2))
		length, size := a.lengthS()*omega/math.Pi, math.Abs(a.peak)/early
		return omega > slowestRadS && length > 0.7 && length < 1.4 && size < 1.8
	}
	// The ridge's edge is blurred by about half a stroke.
	k := 0
	for k < len(all) && (all[k].fromS+all[k].toS)/2 < fromS {
		k++
	}
	if k == len(all) {
		return fromS
	}
	for k > 0 && fits(all[k-1]) && all[k].fromS-all[k-1].toS < 0.5*all[k-1].lengthS() {
		k--
	}
	fromS = s.tightened(all[k]).fromS
	// The trim runs ahead of the stick: a stick at rest is off it before the first stroke.
	for i := s.grid.Index(fromS); i < s.grid.Index(all[k].toS); i++ {
		if s.reachIn(flight.Span{FromS: fromS, ToS: s.grid.TimeS(i)}) > 0.25*early {
			return max(s.grid.TimeS(i)-0.3, fromS)
		}
	}
	return fromS
}

// work is the pilot's usual movement of the stick about its trim, as a standard
// deviation that strong inputs do not move much.
func (s *stickTrace) work(body flight.Span) float64 {
	g := s.grid
	d := make([]float64, 0, g.N)
	for i := g.Index(body.FromS); i < g.Index(body.ToS); i += g.Steps(0.1) {
		d = append(d, s.x[i]-s.trim[i])
	}
	if len(d) == 0 {
		return 0
	}
	return series.Spread(d)
}

// band returns the lowest and the highest frequency that hold 90 % of the input's
// energy, 5 % lying below and 5 % above; the span is looked at with half its length of
// quiet on each side, so that a lone pulse shows its whole spectrum.
func (s *stickTrace) band(span flight.Span) [2]float64 {
	g := s.grid
	pad := max(span.LengthS()/2, 0.5)
	lo, hi := g.Index(span.FromS-pad), g.Index(span.ToS+pad)+1
	n := 1
	for n < 2*(hi-lo) {
		n *= 2
	}
	x := make([]float64, n)
	mean := s.mean(lo, hi)
	for i := lo; i < hi; i++ {
		x[i-lo] = s.x[i] - mean
	}
	c := fourier.NewFFT(n).Coefficients(nil, x)
	energy := make([]float64, len(c))
	var total float64
	for i := 1; i < len(c); i++ {
		energy[i] = real(c[i])*real(c[i]) + imag(c[i])*imag(c[i])
		total += energy[i]
	}
	if total == 0 {
		return [2]float64{}
	}
	var band [2]float64
	var sum float64
	for i := 1; i < len(c); i++ {
		w := 2 * math.Pi * float64(i) / (float64(n) * g.StepS)
		if sum < 0.05*total {
			band[0] = w
		}
		if sum < 0.95*total {
			band[1] = w
		}
		sum += energy[i]
	}
	return band
}
