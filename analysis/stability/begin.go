package stability

import (
	"math"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

const (
	// A growth may have begun this long before its swings stand out of the other motion.
	earliestS = 8.0
	// The pilot answers what he sees within this.
	latestAnswerS = 0.6
	// mostApartS is how far from where its swings come out of the other motion the stick
	// may tell that a growth began; what is further off is another change of his.
	mostApartS = 1.0
	// A pilot who suddenly holds on harder moves the stick at least this many times as much
	// for the same motion.
	leastHarder = 1.3
	// leastHandSI is what a hand at work moves the stick by itself, fraction of travel.
	leastHandSI = 0.001
	// stillTravel is how far the stick may go from where it was held, as a fraction of
	// travel, for the hold to last.
	stillTravel = 0.008
)

// follow is how the stick goes with the motion: stick(t) = angle a(t-lag) + rate q(t-lag), in
// the band of the growths.
type follow struct {
	lag         int // grid steps
	angle, rate float64
	variance    float64 // of what that leaves
	samples     int
}

// at is the stick per angle at a frequency, but for the lag.
func (f follow) at(omega float64) float64 { return math.Hypot(f.angle, f.rate*omega) }

// hand holds the band-passed stick, attitude and rate.
type hand struct{ stick, angle, rate []float64 }

// fit fits at the grid steps that use marks, by least squares for each lag.
func (h hand) fit(use func(i int) bool) follow {
	best := follow{variance: math.Inf(1)}
	for lag := 0; lag <= int(latestAnswerS/stepS); lag++ {
		var aa, ab, bb, as, bs, ss float64
		n := 0
		for i := lag; i < len(h.stick); i++ {
			if !use(i) {
				continue
			}
			a, b, s := h.angle[i-lag], h.rate[i-lag], h.stick[i]
			aa, ab, bb = aa+a*a, ab+a*b, bb+b*b
			as, bs, ss = as+a*s, bs+b*s, ss+s*s
			n++
		}
		det := aa*bb - ab*ab
		if n < 50 || !(det > 1e-12*aa*bb) {
			continue
		}
		f := follow{lag: lag, angle: (as*bb - bs*ab) / det, rate: (bs*aa - as*ab) / det, samples: n}
		f.variance = (ss - f.angle*as - f.rate*bs) / float64(n)
		if f.variance < best.variance {
			best = f
		}
	}
	return best
}

// asked is what the motion asks of the stick at i.
func (f follow) asked(h hand, i int) float64 {
	return f.angle*h.angle[i-f.lag] + f.rate*h.rate[i-f.lag]
}

// begin returns when a growth of that kind began. With the stick still, that is when it
// came to rest; under a pilot's hand, when he began to hold on harder: the change point of
// greatest likelihood between the way he usually follows the motion and the way he does in
// the growth (Hinkley, Biometrika 57, 1970). Where neither tells, it is where the swings
// came out of the other motion.
func (t *trace) begin(kind Kind, g growth) float64 {
	from := g.span.FromS
	switch kind {
	case Airframe:
		if at := t.heldSince(g); math.Abs(at-from) < 4 {
			from = at
		}
	case PilotCoupled:
		if at, ok := t.harderSince(g); ok && math.Abs(at-from) < mostApartS {
			from = at
		}
	}
	return from
}

// heldSince returns since when the stick has been where it was in the first half of g.
func (t *trace) heldSince(g growth) float64 {
	middle := t.grid.Index(g.span.FromS + 0.4*g.span.LengthS())
	x := series.MovingMean(t.stick, t.grid.Steps(0.12))
	i := middle
	for i > 0 && math.Abs(x[i-1]-x[middle]) < stillTravel {
		i--
	}
	return t.grid.TimeS(i)
}

// harderSince looks for the change point; ok is false if the stick follows as ever.
func (t *trace) harderSince(g growth) (float64, bool) {
	if t.calm.samples == 0 || t.calm.variance < leastHandSI*leastHandSI {
		return 0, false
	}
	lo := max(t.grid.Index(g.span.FromS-earliestS), int(latestAnswerS/stepS)+1)
	hi := t.grid.Index(g.span.ToS)
	for _, in := range t.inputs {
		if in.ToS < g.span.ToS && in.ToS > t.grid.TimeS(lo) {
			lo = t.grid.Index(in.ToS)
		}
	}
	third := t.grid.Index(g.span.FromS + g.span.LengthS()/3)
	hard := t.hand.fit(func(i int) bool { return i >= third && i <= hi })
	if hard.samples == 0 || hard.at(g.omega.Value) < leastHarder*t.calm.at(g.omega.Value) {
		return 0, false
	}
	unlikely := func(f follow, i int) float64 {
		off := t.hand.stick[i] - f.asked(t.hand, i)
		return off*off/f.variance + math.Log(f.variance)
	}
	last := min(t.grid.Index(g.span.ToS-4*math.Pi/g.omega.Value), hi)
	sum, best, at := 0.0, math.Inf(1), -1
	for i := lo; i <= last; i++ {
		if sum < best {
			best, at = sum, i
		}
		sum += unlikely(t.calm, i) - unlikely(hard, i)
	}
	if at < 0 {
		return 0, false
	}
	// How hard he holds on shows when the motion asks most of the stick, each half period,
	// and so a quarter period late on average.
	return max(t.grid.TimeS(at)-math.Pi/2/g.omega.Value, t.grid.TimeS(lo)), true
}

// learn fits how the pilot follows the motion when nothing grows and no test input is flown.
func (t *trace) learn(flights []flight.Span, inputs []flight.Span, grown []growth) {
	if t.stick == nil || len(grown) == 0 {
		return
	}
	t.inputs = inputs
	pass := func(x []float64) []float64 { return series.BandPass(x, stepS, lowRadS, highRadS) }
	t.hand = hand{pass(t.stick), pass(t.attitude), t.band}
	use := make([]bool, t.grid.N)
	mark := func(s flight.Span, v bool) {
		for i := t.grid.Index(s.FromS); i <= t.grid.Index(s.ToS); i++ {
			use[i] = v
		}
	}
	for _, f := range flights {
		mark(f, true)
	}
	for _, s := range inputs {
		mark(flight.Span{FromS: s.FromS - 1, ToS: s.ToS + 1}, false)
	}
	for _, g := range grown {
		mark(flight.Span{FromS: g.span.FromS - earliestS, ToS: g.span.ToS + 3}, false)
	}
	for i, bad := range t.bad {
		use[i] = use[i] && !bad
	}
	t.calm = t.hand.fit(func(i int) bool { return use[i] })
}
