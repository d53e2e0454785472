package importers

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/flight"
)

// ring is the way the airframe rings after a tap, the same in both logs:
// exp(-decay t) cos(omega t + phase).
type ring struct{ decay, omega float64 }

// window returns the samples of a knock from its first one on.
func (t knockTrain) window(k knock) (timeS, x []float64) {
	base, _ := centre(t.value[max(0, k.at-30):max(1, k.at-2)])
	for i := k.at; i < len(t.value) && t.stamps[i] <= t.stamps[k.at]+knockRingS; i++ {
		timeS, x = append(timeS, t.stamps[i]-t.stamps[k.at]), append(x, t.value[i]-base)
	}
	return timeS, x
}

// phasor fits the ringing to the samples of a knock by least squares and returns its
// complex amplitude at the first sample, the share of the energy that it explains and
// the standard error of its phase.
func (r ring) phasor(timeS, x []float64) (c complex128, share, phaseSE float64) {
	var ss, sc, cc, xs, xc, xx float64
	for i, t := range timeS {
		e := math.Exp(-r.decay * t)
		s, co := math.Sincos(r.omega * t)
		s, co = -e*s, e*co // real part of c exp((-decay + i omega) t)
		ss, sc, cc = ss+s*s, sc+s*co, cc+co*co
		xs, xc, xx = xs+x[i]*s, xc+x[i]*co, xx+x[i]*x[i]
	}
	det := ss*cc - sc*sc
	if !(det > 1e-9*ss*cc) || xx == 0 {
		return 0, 0, math.Inf(1)
	}
	re, im := (xc*ss-xs*sc)/det, (xs*cc-xc*sc)/det
	rest := math.Max(0, xx-re*xc-im*xs)
	n := float64(len(timeS))
	sd := math.Sqrt(rest / math.Max(1, n-4))
	return complex(re, im), 1 - rest/xx, sd / (math.Hypot(re, im) * math.Sqrt((ss+cc)/2))
}

// findRing searches the decay and frequency that explain all paired knocks of both logs
// best: a coarse grid, then finer ones around the best point.
func findRing(a, b knockTrain, pairs []pair, stepS float64) ring {
	type cut struct{ t, x []float64 }
	var cuts []cut
	for _, p := range pairs {
		t, x := a.window(a.knocks[p.a])
		cuts = append(cuts, cut{t, x})
		t, x = b.window(b.knocks[p.b])
		cuts = append(cuts, cut{t, x})
	}
	score := func(r ring) float64 {
		sum := 0.0
		for _, c := range cuts {
			_, share, _ := r.phasor(c.t, c.x)
			sum += share
		}
		return sum
	}
	best, bestScore := ring{}, math.Inf(-1)
	try := func(r ring) {
		if s := score(r); s > bestScore {
			best, bestScore = r, s
		}
	}
	high := 0.9 * math.Pi / stepS
	for i := range 60 {
		for k := range 16 {
			try(ring{3 * math.Pow(1.3, float64(k)), high * float64(i+1) / 60})
		}
	}
	dw, ds := high/60, 0.3
	for range 8 {
		at := best
		for i := -3; i <= 3; i++ {
			for k := -3; k <= 3; k++ {
				try(ring{at.decay * (1 + ds*float64(k)/3), at.omega + dw*float64(i)/3})
			}
		}
		dw, ds = dw/2.5, ds/2.5
	}
	return best
}

// tap is one knock timed in both logs.
type tap struct {
	atS   float64 // on the leading log's stamps
	diffS float64 // stamp in the other log less atS
	seS   float64
}

// timeTaps measures the time between the two records of each knock to a fraction of a
// sample, from the phase of the ringing. The phase at a fixed instant after the tap is
// the same in both logs, so that what is left is how late after it each log took its
// first sample: less than a step. That also tells whether one sensor looks the other
// way; where it does not tell clearly, there is no answer.
func timeTaps(a, b knockTrain, pairs []pair) []tap {
	r := findRing(a, b, pairs, math.Max(medianStep(a.stamps), medianStep(b.stamps)))
	var taps []tap
	var same, opposite []float64
	for _, p := range pairs {
		ka, kb := a.knocks[p.a], b.knocks[p.b]
		ca, shareA, seA := r.phasor(a.window(ka))
		cb, shareB, seB := r.phasor(b.window(kb))
		if shareA < 0.9 || shareB < 0.9 {
			continue
		}
		same = append(same, cmplx.Phase(cb/ca))
		opposite = append(opposite, cmplx.Phase(-cb/ca))
		taps = append(taps, tap{atS: a.stamps[ka.at], diffS: b.stamps[kb.at] - a.stamps[ka.at], seS: math.Hypot(seA, seB) / r.omega})
	}
	late := same
	switch s, o := floats.Norm(same, 2), floats.Norm(opposite, 2); {
	case o < s/1.4:
		late = opposite
	case s > o/1.4:
		return nil
	}
	for i := range taps {
		taps[i].diffS -= late[i] / r.omega
	}
	return taps
}

// knockFloorS is the part of a tap's timing error that its own fit cannot see: sensors
// that ring or filter differently. This project's own allowance.
const knockFloorS = 3e-4

// alignKnocks ties f to the leading log by knocks that both feel. It reports whether it
// could.
func (f *logFile) alignKnocks(l *logFile) bool {
	a, b := l.findKnocks(), f.findKnocks()
	if len(a.knocks) < 3 || len(b.knocks) < 3 {
		return false
	}
	pairs, sure := matchKnocks(a, b)
	if !sure {
		return false
	}
	taps := timeTaps(a, b, pairs)
	if len(taps) < 3 {
		return false
	}
	c, ok := fitClock(taps, l.stamps[0], l.stamps[len(l.stamps)-1], 0.004)
	if !ok {
		return false
	}
	f.clock = c
	return true
}

// fitClock fits offset and drift to the taps by least squares and gives both a 95 %
// interval. Taps at one end of the hop only give no drift: then the clocks may run apart
// by what cheap crystals do, 50 ppm each. There is no clock where the events scatter by
// more than mostSD seconds.
func fitClock(taps []tap, zeroS, endS, mostSD float64) (flight.Clock, bool) {
	n := float64(len(taps))
	var mt, md float64
	for _, k := range taps {
		mt, md = mt+(k.atS-zeroS)/n, md+k.diffS/n
	}
	var sxx, sxy float64
	for _, k := range taps {
		x := k.atS - zeroS - mt
		sxx, sxy = sxx+x*x, sxy+x*(k.diffS-md)
	}
	spread := math.Sqrt(sxx / n)
	drift, free := 0.0, n-1
	if spread > 20 && n >= 4 {
		drift, free = sxy/sxx, n-2
	}
	rss, floor := 0.0, 0.0
	for _, k := range taps {
		e := k.diffS - md - drift*(k.atS-zeroS-mt)
		rss += e * e
		floor += (k.seS*k.seS + knockFloorS*knockFloorS) / n
	}
	sd := math.Sqrt(math.Max(rss/free, floor))
	if sd > mostSD {
		return flight.Clock{}, false // these events are not the same ones
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile(0.975)
	c := flight.Clock{AlignedBy: flight.AlignKnocks, DriftPPM: 1e6 * drift, ResidualS: math.Sqrt(rss / n)}
	c.OffsetS = zeroS + md - drift*mt
	half := func(x float64) float64 { // of the interval of the offset at hop time x
		if drift == 0 && free == n-1 {
			return t*sd/math.Sqrt(n) + 100e-6*math.Abs(x-mt)
		}
		return t * sd * math.Sqrt(1/n+(x-mt)*(x-mt)/sxx)
	}
	c.Offset = &flight.Estimate{Value: c.OffsetS, Low: c.OffsetS - half(0), High: c.OffsetS + half(0)}
	if free == n-2 {
		h := 1e6 * t * sd / math.Sqrt(sxx)
		c.Drift = &flight.Estimate{Value: c.DriftPPM, Low: c.DriftPPM - h, High: c.DriftPPM + h}
	}
	c.IntervalS = math.Max(half(0), half(endS-zeroS))
	return c, true
}
