package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// increments are the changes of attitude over short windows beside the integral of the
// rate over the same windows.
type increments struct {
	angle, turned, lengthS []float64
	// noise is the share of the sum of squares of turned that white noise of the rate
	// sensor makes; it pulls the slope towards zero (regression dilution).
	noise float64
}

// incrementWindowS is long enough for attitude noise to fade beside the change and
// short enough for many windows in a hop.
const incrementWindowS = 0.25

// turnStepS is so short that the attitude hardly changes meanwhile.
const turnStepS = 0.05

// turns are the body rates of a log, integrated over short steps, in SI with the sense
// of the file. Step k runs from row at[k] to row at[k+1].
type turns struct {
	at    []int
	whole []bool // no rows are missing in the step
	by    map[flight.Quantity][]float64
	from  map[flight.Quantity]*column // whose integral by holds
	plain map[flight.Axis]slopes      // of plainSlope, kept in with
}

// turned integrates the rates of f, once.
func (f *logFile) turned() *turns {
	if f.turns != nil {
		return f.turns
	}
	t := &turns{by: map[flight.Quantity][]float64{}, from: map[flight.Quantity]*column{}, plain: map[flight.Axis]slopes{}}
	for i := 0; i < len(f.stamps); {
		t.at = append(t.at, i)
		j := i + 1
		for j < len(f.stamps) && f.stamps[j]-f.stamps[i] < turnStepS {
			j++
		}
		whole := true
		for k := i + 1; k <= min(j, len(f.stamps)-1); k++ {
			whole = whole && f.stamps[k]-f.stamps[k-1] < 3*f.stepS
		}
		t.whole = append(t.whole, whole)
		i = j
	}
	var rates []*column
	for _, q := range []flight.Quantity{flight.RollRate, flight.PitchRate, flight.YawRate} {
		if c := f.find(q); c != nil {
			rates = append(rates, c)
			t.by[q], t.from[q] = make([]float64, max(0, len(t.at)-1)), c
		}
	}
	onAllCores(len(rates), func(i int) { t.integrate(rates[i], f.stamps) })
	f.turns = t
	return t
}

// integrate takes the integral of a rate over every step, by the trapezoidal rule.
func (t *turns) integrate(c *column, stamps []float64) {
	out := t.by[c.quantity]
	for k := range out {
		sum := 0.0
		for i := t.at[k] + 1; i <= t.at[k+1]; i++ {
			sum += (stamps[i] - stamps[i-1]) * (c.values[i-1] + c.values[i])
		}
		out[k] = c.scale * (sum/2 - c.zero*(stamps[t.at[k+1]]-stamps[t.at[k]]))
	}
}

// collect pairs the changes of attitude with the turn that turn gives for each step,
// skipping windows with gaps or missing values. The noise is that of rate.
func (f *logFile) collect(angle func(i int) float64, turn func(k int) float64, rate *column, wrap bool) increments {
	var inc increments
	t := f.turned()
	for k := 0; k+1 < len(t.at); {
		i, j, sum, whole := t.at[k], t.at[k], 0.0, true
		for ; k+1 < len(t.at) && f.stamps[j]-f.stamps[i] < incrementWindowS; k++ {
			sum += turn(k)
			whole = whole && t.whole[k]
			j = t.at[k+1]
		}
		change := angle(j) - angle(i)
		if wrap {
			change = math.Remainder(change, 2*math.Pi)
		}
		if whole && !math.IsNaN(change+sum) && j > i+1 {
			inc.angle = append(inc.angle, change)
			inc.turned = append(inc.turned, sum)
			inc.lengthS = append(inc.lengthS, f.stamps[j]-f.stamps[i])
		}
	}
	inc.noise = float64(len(inc.turned)) * rate.noiseVariance() * f.stepS * incrementWindowS
	return inc
}

// plainSlope compares the changes of attitude of an axis with the integral of its rate
// alone, both with the sense of the file.
func (f *logFile) plainSlope(axis flight.Axis) (flight.Estimate, bool) {
	angle, rate := f.find(axis.Attitude()), f.turned().from[axis.Rate()]
	if angle == nil || rate == nil {
		return flight.Estimate{}, false
	}
	s, known := f.turns.plain[axis]
	if !known {
		by := f.turns.by[axis.Rate()]
		s.with, s.ok = f.collect(angle.si, func(k int) float64 { return by[k] }, rate, axis == flight.YawAxis).slope()
		f.turns.plain[axis] = s
	}
	return s.with, s.ok
}

// noiseVariance estimates the variance of white noise on a signal, in SI, from its
// second differences: their variance is six times that of the noise.
func (c *column) noiseVariance() float64 {
	sd := c.figures.bend * c.scale / 0.6745 / math.Sqrt(6) // of a normal distribution
	if sd != sd {
		return 0
	}
	return sd * sd
}

// slope fits angle = k turned + bias length by least squares and gives k a 95 %
// interval from a jackknife over 20 blocks, which allows for what neighbouring windows
// have in common (Efron and Tibshirani 1993, chapter 11, from memory).
func (inc increments) slope() (flight.Estimate, bool) {
	const blocks = 20
	n := len(inc.angle)
	if n < 4*blocks {
		return flight.Estimate{}, false
	}
	var all sums
	part := make([]sums, blocks)
	for b := range part {
		part[b].xx = -inc.noise / blocks
	}
	for i := range inc.angle {
		part[i*blocks/n].add(inc.turned[i], inc.lengthS[i], inc.angle[i])
	}
	for _, p := range part {
		all = all.plus(p, 1)
	}
	k, ok := all.solve()
	if !ok {
		return flight.Estimate{}, false
	}
	mean, leave := 0.0, make([]float64, blocks)
	for b := range part {
		if leave[b], ok = all.plus(part[b], -1).solve(); !ok {
			return flight.Estimate{}, false
		}
		mean += leave[b] / blocks
	}
	ss := 0.0
	for _, l := range leave {
		ss += (l - mean) * (l - mean)
	}
	const t19 = 2.093 // 97.5 % of Student's t with 19 degrees of freedom
	half := t19 * math.Sqrt(ss*(blocks-1)/blocks)
	return flight.Estimate{Value: k, Low: k - half, High: k + half}, true
}

// sums are those of the normal equations of two regressors.
type sums struct{ xx, xw, ww, xy, wy float64 }

func (s *sums) add(x, w, y float64) {
	s.xx += x * x
	s.xw += x * w
	s.ww += w * w
	s.xy += x * y
	s.wy += w * y
}

func (s sums) plus(o sums, sign float64) sums {
	return sums{s.xx + sign*o.xx, s.xw + sign*o.xw, s.ww + sign*o.ww, s.xy + sign*o.xy, s.wy + sign*o.wy}
}

func (s sums) solve() (float64, bool) {
	det := s.xx*s.ww - s.xw*s.xw
	if !(s.xx > 0 && det > 1e-12*s.xx*s.ww) {
		return 0, false
	}
	return (s.xy*s.ww - s.wy*s.xw) / det, true
}

// eulerTurn returns the change of attitude of an axis in step k that the body rates make
// (Etkin 1972, "Dynamics of Atmospheric Flight", eq. 5.2,10, from memory), with the
// attitude half way; terms of channels that are not logged, or withheld, are left out.
func (f *logFile) eulerTurn(axis flight.Axis) func(k int) float64 {
	t := f.turned()
	half := func(q flight.Quantity) func(k int) (sin, cos float64) {
		c := f.trusted(q)
		if c == nil {
			return func(int) (float64, float64) { return 0, 1 }
		}
		return func(k int) (float64, float64) { return math.Sincos((c.signed(t.at[k]) + c.signed(t.at[k+1])) / 2) }
	}
	body := func(q flight.Quantity) func(k int) float64 {
		c, by := t.from[q], t.by[q]
		if c == nil || c.withheld != "" {
			return func(int) float64 { return 0 }
		}
		return func(k int) float64 { return float64(c.sign) * by[k] }
	}
	phi, theta := half(flight.Roll), half(flight.Pitch)
	p, q, r := body(flight.RollRate), body(flight.PitchRate), body(flight.YawRate)
	switch axis {
	case flight.RollAxis:
		return func(k int) float64 {
			s, c := phi(k)
			st, ct := theta(k)
			return p(k) + st/ct*(q(k)*s+r(k)*c)
		}
	case flight.PitchAxis:
		return func(k int) float64 {
			s, c := phi(k)
			return q(k)*c - r(k)*s
		}
	}
	return func(k int) float64 {
		s, c := phi(k)
		_, ct := theta(k)
		return (q(k)*s + r(k)*c) / ct
	}
}

// slopes are the factor between attitude and integrated rate with and without the
// correction for noise.
type slopes struct {
	with, without flight.Estimate
	ok            bool
}

// factor compares the change of an axis' attitude with the turn that turn gives for each
// step. It is not ok where there is too little motion to tell.
func (f *logFile) factor(axis flight.Axis, turn func(k int) float64) (s slopes) {
	angle, rate := f.find(axis.Attitude()), f.turned().from[axis.Rate()]
	inc := f.collect(angle.signed, turn, rate, axis == flight.YawAxis)
	var ok, plainOK bool
	s.with, ok = inc.slope()
	inc.noise = 0
	s.without, plainOK = inc.slope()
	k := s.with
	s.ok = ok && plainOK && k.High-k.Low <= 0.3*math.Max(1, math.Abs(k.Value)) && math.Abs(s.without.Value/k.Value-1) <= 0.1
	return s
}

// far reports whether attitude and rate do not show the same motion any more, so that
// neither can be used. The limits are this project's own choice.
func (s slopes) far() bool {
	const least, most = 0.5, 2
	return s.ok && (math.Max(s.with.High, s.without.High) < least || math.Min(s.with.Low, s.without.Low) > most)
}

// rateFactors compares the change of attitude with the integrated rates, axis by axis.
func (f *logFile) rateFactors() {
	t := f.turned()
	var axes []flight.Axis
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		angle, rate := f.trusted(axis.Attitude()), t.from[axis.Rate()]
		if angle == nil || rate == nil || angle.derived && rate.derived {
			continue
		}
		// What is far off by itself must not come into the turns of the other axes.
		if k, ok := f.plainSlope(axis); ok && (math.Abs(k.Value) < 0.6 || math.Abs(k.Value) > 1.6) {
			by, sign := t.by[axis.Rate()], float64(rate.sign)
			if s := f.factor(axis, func(k int) float64 { return sign * by[k] }); s.far() {
				f.tellFactor(angle, rate, s)
				continue
			}
		}
		axes = append(axes, axis)
	}
	found := make([]slopes, len(axes))
	onAllCores(len(axes), func(i int) { found[i] = f.factor(axes[i], f.eulerTurn(axes[i])) })
	for i, axis := range axes {
		k, plain := found[i].with, found[i].without
		low, high := math.Min(k.Low, plain.Low), math.Max(k.High, plain.High)
		if found[i].ok && math.Abs(k.Value-1) >= 0.04 && (low > 1 || high < 1) {
			f.tellFactor(f.find(axis.Attitude()), t.from[axis.Rate()], found[i])
		}
	}
}

// tellFactor tells a factor other than 1, and withholds both columns if it is far off.
func (f *logFile) tellFactor(angle, rate *column, s slopes) {
	sev, wrong := flight.Caution, "the time base or the scale of the rates is wrong"
	advice := "check sample time and sensor range; delays and frequencies are wrong by this factor if it is the time base, rates if it is their scale"
	if s.far() {
		withholdPair(angle, rate, s.with.Value)
		sev, wrong = flight.Stop, fmt.Sprintf("the time base or the scale of one of them is wrong; %s and %s are withheld", angle.quantity, rate.quantity)
		advice = "check sample time, sensor range, units and signs; leave the wrong one out with skip in hop.toml if the other is right"
	}
	f.add(flight.CodeRateFactor, sev, rate.header, flight.Span{},
		fmt.Sprintf("the derivative of %s is %.3f (%.3f to %.3f) of %s, and should be 1: %s",
			angle.quantity, s.with.Value, s.with.Low, s.with.High, rate.header, wrong), advice)
}
