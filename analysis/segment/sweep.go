package segment

import (
	"math"

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
	trim := series.MovingMean(s.x, g.Steps(trimS))
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

// sweeps returns the runs of strokes whose length falls (or rises) steadily at least
// threefold while their size stays within a factor of six.
func (s *stickTrace) sweeps(body flight.Span) []flight.Span {
	least := max(0.02, 2*s.work(body))
	all := s.strokes(body, least)
	var out []flight.Span
	for _, dir := range []float64{1, -1} {
		for i := 0; i < len(all); i++ {
			k := i
			for {
				if k+1 < len(all) && leadsOn(all[k], all[k+1], dir) {
					k++
				} else if k+2 < len(all) && leadsOn(all[k], all[k+2], dir) {
					k += 2 // one stroke spoilt by the pilot's own work
				} else {
					break
				}
			}
			run := fitRun(trimRun(all[i:k+1], dir), dir)
			if run == nil {
				continue
			}
			// The last stroke fades out below the level at which strokes are seen.
			last := run[len(run)-1]
			span := flight.Span{FromS: run[0].fromS, ToS: min(last.toS+last.lengthS(), body.ToS)}
			if len(out) == 0 || len(clipAll(out, span)) == 0 {
				out = append(out, span)
			}
			i = k
		}
	}
	return out
}

// leadsOn reports whether b may follow a in a sweep with rising (dir 1) or falling (-1)
// frequency: next to it, a little shorter (longer), of like size.
func leadsOn(a, b stroke, dir float64) bool {
	ratio := math.Pow(b.lengthS()/a.lengthS(), dir)
	size := math.Abs(b.peak / a.peak)
	// A trim a little off makes fast strokes long and short in turn.
	most := 1.2 + 0.12/a.lengthS()
	return b.fromS-a.toS < 1.5*a.lengthS() && ratio > 0.5 && ratio < most && size > 0.4 && size < 2.5
}

// work is the pilot's usual movement of the stick about its trim, as a standard
// deviation that strong inputs do not move much.
func (s *stickTrace) work(body flight.Span) float64 {
	g := s.grid
	trim := series.MovingMean(s.x, g.Steps(trimS))
	d := make([]float64, 0, g.N)
	for i := g.Index(body.FromS); i < g.Index(body.ToS); i += g.Steps(0.1) {
		d = append(d, s.x[i]-trim[i])
	}
	if len(d) == 0 {
		return 0
	}
	return series.Spread(d)
}

// fitRun returns the longest end of run that is a sweep in direction dir almost as
// clearly as the clearest one, nil if none is: what the pilot did before the sweep may
// look like its first strokes.
func fitRun(run []stroke, dir float64) []stroke {
	best := 0.0
	fit := make([]float64, len(run))
	for i := range run {
		fit[i] = sweepFit(run[i:], dir)
		best = max(best, fit[i])
	}
	for i := range run {
		if fit[i] > 0 && fit[i] >= best-0.05 {
			return run[i:]
		}
	}
	return nil
}

// sweepFit returns how much of the log length of the strokes a straight line over time
// explains (R squared; all of it in a logarithmic sweep), or 0 if the run is not a sweep: fewer than eight
// strokes, less than threefold between the ends, the wrong way, or sizes too unlike.
func sweepFit(run []stroke, dir float64) float64 {
	n := float64(len(run))
	var sx, sy, sxx, sxy, syy float64
	least, most := math.Inf(1), 0.0
	for _, r := range run {
		if r.lengthS() <= 0 {
			return 0
		}
		x, y := (r.fromS+r.toS)/2-run[0].fromS, math.Log(r.lengthS())
		sx, sy, sxx, sxy, syy = sx+x, sy+y, sxx+x*x, sxy+x*y, syy+y*y
		least, most = min(least, math.Abs(r.peak)), max(most, math.Abs(r.peak))
	}
	vx, vy, vxy := sxx-sx*sx/n, syy-sy*sy/n, sxy-sx*sy/n
	if len(run) < 8 || vy <= 0 || -dir*vxy/vx*(run[len(run)-1].toS-run[0].fromS) < math.Log(3) || most > 6*least {
		return 0
	}
	if r2 := vxy * vxy / (vx * vy); r2 > 0.85 {
		return r2
	}
	return 0
}

// trimRun drops strokes at the start and the end that do not fit their neighbours.
func trimRun(run []stroke, dir float64) []stroke {
	for len(run) > 1 && !leadsOn(run[0], run[1], dir) {
		run = run[1:]
	}
	for len(run) > 1 && !leadsOn(run[len(run)-2], run[len(run)-1], dir) {
		run = run[:len(run)-1]
	}
	return run
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
	mean := prefixMean(s.x)(lo, hi)
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
