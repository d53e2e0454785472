package segment

import (
	"math"
	"slices"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

const (
	// rowStepS is the time between two rows of the fit to the slow end of a sweep.
	rowStepS = 0.1
	// surelyRadS and fastRadS bound the strokes that the law of a sweep is first fitted to:
	// slower ones drown in the pilot's work, faster ones do not tell more of the slow end.
	surelyRadS = 2.0
	fastRadS   = 8.0
	// slowestRadS is the lowest frequency that a sweep is followed to. The usual ones begin at
	// 0.3 rad/s (Tischler and Remple, Aircraft and Rotorcraft System Identification, ch. 5;
	// from memory); one more stroke below would take half as long as all others.
	slowestRadS = 0.17
	// longestReachS is how far from the certain part its slow end is looked for.
	longestReachS = 45
	// leastExplained is the share of the stick, whitened and less what the pilot does about
	// the aircraft, that a law must explain over its certain part to be believed.
	leastExplained   = 0.2
	clearlyExplained = 0.5
)

// slowEnd returns span with its slow end, the start of a rising sweep or the end of a falling
// one, where the stick ceases to follow the law that the later strokes draw. The slow
// strokes drown in what the pilot does about the aircraft they move, so the stick is taken
// as the sum of the two: a sine of the law's phase and a linear answer to attitude, its
// change and its integrals, a reaction time earlier, fitted together by generalised least
// squares (Aitken, Proc. R. Soc. Edinburgh 55, 1935) with a rest that is a first-order
// Markov process. ok is false if the stick follows no such law.
func (s *stickTrace) slowEnd(m *ridgeMap, r ridge, dir int, span, within flight.Span) (flight.Span, bool) {
	e := s.newSlowEnd(m, r, dir, span, within)
	if e == nil || !e.search() {
		return span, false
	}
	at := e.hopS(e.fromS)
	switch {
	case dir < 0:
		span.ToS = at
	case e.clear:
		span.FromS = at
	default: // a law that slips by a stroke comes too late
		span.FromS = min(at, s.tracedBack(m, r, span.FromS))
	}
	return span, true
}

// slowEnd is the search for the slow end of one sweep.
type slowEnd struct {
	rows
	dir      int
	zeroS    float64 // hop time of the first row
	columns  [][]float64
	law      law
	sureS    float64 // the certain part begins here, on the rows' clock
	clear    bool    // the law explains most of the stick
	fastRadS float64 // and ends at about this frequency
	from     float64 // the slow end, as a phase of the law
	fromS    float64 // and on the rows' clock
}

func (e *slowEnd) hopS(tS float64) float64 { return e.zeroS + float64(e.dir)*tS }

// newSlowEnd sets up the rows; nil if the ridge holds too little to begin with.
func (s *stickTrace) newSlowEnd(m *ridgeMap, r ridge, dir int, span, within flight.Span) *slowEnd {
	tS, ln := m.fine(r)
	if dir < 0 {
		slices.Reverse(tS)
		slices.Reverse(ln)
	}
	// The slow part of the ridge may be what the pilot did before.
	keep := len(ln) - 1
	for keep > 0 && ln[keep-1] > math.Log(0.7*surelyRadS) {
		keep--
	}
	if len(ln)-keep >= 10 {
		tS, ln = tS[keep:], ln[keep:]
	}
	l := lineThrough(tS, ln, float64(dir))
	fast := min(fastRadS, math.Exp(l.at(math.Abs(tS[len(tS)-1]-tS[0]))))
	slow := min(surelyRadS, fast/3)
	lengthS := func(omega float64) float64 { return (math.Log(omega) - l.mean) / l.slope } // after the first column
	if l.slope <= 0 {
		return nil
	}
	sure, last := tS[0]+float64(dir)*lengthS(slow), tS[0]+float64(dir)*lengthS(fast)
	e := &slowEnd{dir: dir}
	if dir > 0 {
		e.zeroS = max(within.FromS, sure-longestReachS)
		last = min(last, span.ToS)
	} else {
		e.zeroS = min(within.ToS, sure+longestReachS)
		last = max(last, span.FromS)
	}
	e.stepS = rowStepS
	e.n = int(float64(dir)*(last-e.zeroS)/rowStepS) + 1
	e.sureS = max(float64(dir)*(sure-e.zeroS), 0)
	if e.n < 100 || e.timeS(e.n)-e.sureS < 4 {
		return nil
	}
	middle := math.Sqrt(slow * fast)
	e.fastRadS = fast
	e.law = law{
		atS: [2]float64{e.sureS, e.sureS + lengthS(middle) - lengthS(slow)},
		ln:  [2]float64{math.Log(slow), math.Log(middle)},
	}
	e.fill(s)
	return e
}

// fine returns the times and logarithms of frequency along r, the latter by a parabola
// through the amplitudes about each bin.
func (m *ridgeMap) fine(r ridge) (tS, ln []float64) {
	for i, j := range r.bin {
		// Where the stick stands far above the usual work, the ridge runs beside its top.
		size := func(k int) float64 { return m.size[k][r.from+i] }
		for range perOctave {
			switch {
			case j > 0 && size(j-1) > size(j):
				j--
			case j < ridgeBins-1 && size(j+1) > size(j):
				j++
			}
		}
		at := 0.0
		if j > 0 && j < ridgeBins-1 {
			a, b, c := size(j-1), size(j), size(j+1)
			if bend := a - 2*b + c; bend < 0 {
				at = min(max((a-c)/(2*bend), -1), 1)
			}
		}
		tS = append(tS, m.timeS(r.from+i))
		ln = append(ln, math.Log(ridgeOmega(j))+at*math.Ln2/perOctave)
	}
	return tS, ln
}

// lineThrough fits ln over dir*(tS-tS[0]); mean is its value there.
func lineThrough(tS, ln []float64, dir float64) course {
	n := float64(len(tS))
	var sx, sy, sxx, sxy float64
	for i, y := range ln {
		x := dir * (tS[i] - tS[0])
		sx, sy, sxx, sxy = sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	c := course{}
	if v := sxx - sx*sx/n; v > 0 {
		c.slope = (sxy - sx*sy/n) / v
	}
	c.mean = (sy - c.slope*sx) / n
	return c
}

// fill makes the columns: trim as a straight line, and attitude as the pilot saw it, with its
// integrals over the last half minute, which stand for drift.
func (e *slowEnd) fill(s *stickTrace) {
	const forgetS = 30
	every := s.grid.Steps(rowStepS)
	first := s.grid.Index(e.zeroS)
	at := func(x []float64, i, lag int) float64 {
		return x[min(max(first+(e.dir*i-lag)*every, 0), len(x)-1)]
	}
	s.look()
	smooth := s.smooth
	e.stick = make([]float64, e.n)
	one, ramp := make([]float64, e.n), make([]float64, e.n)
	for i := range e.stick {
		e.stick[i], one[i], ramp[i] = at(smooth, i, 0), 1, float64(i)/float64(e.n)
	}
	e.columns = [][]float64{one, ramp}
	if s.attitude == nil {
		return
	}
	add := func(x []float64, lag int) {
		c := make([]float64, e.n)
		for i := range c {
			c[i] = at(x, i, lag)
		}
		e.columns = append(e.columns, c)
	}
	for _, lag := range []int{2, 3, 4, 5, 7} {
		add(s.attitude, lag)
	}
	speed := leaky(s.attitude, s.grid.StepS, forgetS)
	add(speed, 4)
	add(leaky(speed, s.grid.StepS, forgetS), 4)
}

// leaky returns the integral of x with a washout of timeS.
func leaky(x []float64, stepS, timeS float64) []float64 {
	out := make([]float64, len(x))
	mean := series.Percentile(x, 0.5)
	for i := 1; i < len(x); i++ {
		out[i] = out[i-1]*(1-stepS/timeS) + (x[i]-mean)*stepS
	}
	return out
}

// search fits the law to the slower half of the certain part, where a law a little wrong
// does not yet slip by a stroke, then to all of it, then further and further into the slow
// strokes, and looks how far back it holds.
func (e *slowEnd) search() bool {
	all := e.n
	best := math.Inf(1)
	for _, c := range e.firstLaws(all) {
		from := nextRest(c.phase(e.sureS))
		for _, share := range []float64{0, 0.5, 1} {
			e.only(e.rowAt(c, math.Exp(c.ln[1]+share*(math.Log(e.fastRadS)-c.ln[1]))), all)
			c, _ = e.fit(c, from)
		}
		e.only(all, all)
		var sum float64
		for _, omega := range []float64{surelyRadS, 1.4, 1} {
			from = nextRest(c.phase(e.reaches(c, omega)))
			c, sum = e.fit(c, from)
		}
		if sum < best {
			e.law, e.from, best = c, from, sum
		}
	}
	e.prepare(e.columns, e.correlation())
	best = e.strokeByStroke()
	e.fromS, _ = e.passes(e.law, e.from)
	e.clear = best < (1-clearlyExplained)*e.free
	return best < (1-leastExplained)*e.free
}

// nextRest returns the next phase at which the stick passes trim.
func nextRest(phase float64) float64 { return math.Ceil(phase/math.Pi) * math.Pi }

// strokeByStroke lets the sweep begin one stroke earlier at a time, fits the law anew to
// all of it, and keeps the beginning that leaves least of the stick. A hand starts from
// trim, so at a phase of zero.
func (e *slowEnd) strokeByStroke() float64 {
	const lapses = 3
	// A stroke must raise the logarithm of the likelihood by this. This project's own choice.
	const leastGain = 0.0
	best := math.Inf(1)
	c := e.law
	from := e.from
	needed := math.Exp(-2 * leastGain / float64(e.n))
	for worse := 0; worse < lapses; from -= math.Pi {
		if _, ok := e.passes(c, from); !ok {
			break
		}
		next, sum := e.fit(c, from)
		if _, ok := e.passes(next, from); !ok {
			break
		}
		c = next
		if worse++; sum < best*needed {
			e.law, e.from, best, worse = c, from, sum, 0
		}
	}
	return best
}

// passes returns when the phase of the law is what is asked for, on the rows; ok is false
// where the law is slower than any sweep by then.
func (e *slowEnd) passes(c law, phase float64) (tS float64, ok bool) {
	lo, hi := 0.0, e.timeS(e.n)
	if c.phase(lo) > phase || c.phase(hi) < phase {
		return 0, false
	}
	for hi-lo > 1e-3 {
		if mid := (lo + hi) / 2; c.phase(mid) < phase {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, c.omega(lo) >= slowestRadS
}

// only keeps the first n of all rows.
func (e *slowEnd) only(n, all int) {
	const usualRho = 0.9
	e.n = min(max(n, 60), all)
	e.prepare(e.columns, usualRho)
}

// reaches returns when the law passes omega, on the rows.
func (e *slowEnd) reaches(c law, omega float64) float64 { return e.timeS(e.rowAt(c, omega)) }

// rowAt returns the row at which the law passes omega, well before the last.
func (e *slowEnd) rowAt(c law, omega float64) int {
	i := 0
	for i < len(e.stick)-40 && c.omega(e.timeS(i)) < omega {
		i++
	}
	return i
}

// firstLaws returns laws that go through the ridge, with the phase that explains most of the
// slower half of the certain part, and of all of it.
func (e *slowEnd) firstLaws(all int) []law {
	var out []law
	first := min(int(math.Ceil(e.sureS/e.stepS)), e.n-1)
	for _, n := range []int{e.rowAt(e.law, math.Exp(e.law.ln[1])), all} {
		e.only(n, all)
		for _, linear := range []bool{false, true} {
			found, best := e.law, math.Inf(1)
			for k := range 49 {
				c := e.law
				c.linear = linear
				c.ln[0] += 0.04 * float64(k%7-3)
				c.ln[1] += 0.04 * float64(k/7-3)
				if sum, phase := e.anyPhase(c, min(first, e.n-1)); sum < best {
					found, best = c, sum
					found.phase0 = phase
				}
			}
			out = append(out, found)
		}
	}
	return out
}

// correlation returns that of the rest from a row to the next, under what is fitted now.
func (e *slowEnd) correlation() float64 {
	_, size := e.left(e.law, e.from)
	rest := make([]float64, e.n)
	for i := range rest {
		rest[i] = -size[0]*e.buf[0].x[i] - size[1]*e.buf[1].x[i]
	}
	e.project(rest)
	for i, v := range e.target {
		rest[i] += v
	}
	// rest is white if rho is right; what is left of correlation adds to it.
	var c0, c1 float64
	for i := 1; i < len(rest); i++ {
		c0, c1 = c0+rest[i]*rest[i], c1+rest[i]*rest[i-1]
	}
	if c0 == 0 {
		return e.rho
	}
	return min(max(e.rho+c1/c0, 0.5), 0.98)
}

// look makes smooth and attitude.
func (s *stickTrace) look() {
	if s.smooth != nil {
		return
	}
	s.smooth = series.MovingMean(s.x, s.grid.Steps(rowStepS))
	if c := s.hop.Channel(s.axis.Attitude()); c != nil && c.Len() > 20 {
		s.attitude = series.MovingMean(series.Filled(series.Even(c, s.grid, 0.06)), s.grid.Steps(rowStepS))
		return
	}
	if c := s.hop.Channel(s.axis.Rate()); c != nil && c.Len() > 20 {
		rate := series.Filled(series.Even(c, s.grid, 0.06))
		s.attitude = leaky(series.MovingMean(rate, s.grid.Steps(rowStepS)), s.grid.StepS, 20)
	}
}
