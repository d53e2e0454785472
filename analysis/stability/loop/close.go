package loop

import (
	"math"
	"math/rand/v2"

	"hopcard/analysis/stability"
	"hopcard/flight"
)

// draws is the number of samples behind each interval.
const draws = 400

// samples are the margins of loops with errors.
type samples struct{ crossover, phaseDeg, gainDB, lowDB []float64 }

func (s *samples) add(m marks) {
	s.crossover, s.phaseDeg = append(s.crossover, m.crossover), append(s.phaseDeg, m.phase*degPerRad)
	s.gainDB, s.lowDB = append(s.gainDB, m.gain*dbPerNeper), append(s.lowDB, m.low*dbPerNeper)
}

// closeLoop fills in the loop and its margins. The errors of pilot and aircraft are drawn
// independently: they come from different seconds of the hop. An error of the clocks between
// stick and attitude is in both with opposite signs, and leaves the loop alone.
func (o *one) closeLoop(m *stability.Margin) {
	if o.pilot == nil {
		return
	}
	if o.craft == nil {
		o.missing = append(o.missing, "margins (the aircraft was not measured in the pilot's band)")
		return
	}
	l, first := o.loop(o.pilot.form, o.craft.open())
	if len(l.w) < leastPoints {
		o.missing = append(o.missing, "margins (the aircraft was hardly measured in the pilot's band)")
		return
	}
	best := margins(l)
	s := o.drawLoops(best, 0)
	m.CrossoverRadS = interval(best.crossover, s.crossover)
	if m.CrossoverRadS != nil {
		m.PhaseMarginDeg = interval(best.phase*degPerRad, s.phaseDeg)
		o.reachDown(m.PhaseMarginDeg, best)
	}
	m.GainMarginDB = interval(best.gain*dbPerNeper, s.gainDB)
	m.GainLowDB = interval(best.low*dbPerNeper, s.lowDB)
	m.Crossovers = best.crossovers
	o.absent(m, l)
	turn := best.turn(l)
	for k, w := range l.w {
		sd := math.Hypot(o.craft.sd[first+k], o.pilot.relativeSD(w))
		m.Loop = append(m.Loop, stability.LoopPoint{
			FrequencyRadS: w, GainDB: l.lnGain[k] * dbPerNeper, PhaseDeg: (l.phase[k] - turn) * degPerRad,
			GainSDDB: sd * dbPerNeper, PhaseSDDeg: sd * degPerRad,
		})
	}
}

// hiddenDrift is how much more than it shows a record may hide of what the pilot does about
// drift, as a share of what it shows. Where a gust pushes the fuselage, drift is no integral of the
// attitude, and the pilot leans against it: the attitude then shows more drift than there is,
// and his answer to it comes out small, on drawn hops in gusts by 10 % with a scatter of 10 %.
const hiddenDrift = 0.3

// reachDown lets the interval of the phase margin reach as far down as the drift part that the
// record may hide would take it: the loop lags more by it, never less.
func (o *one) reachDown(phaseDeg *flight.Estimate, best marks) {
	if phaseDeg == nil {
		return
	}
	if e := interval(phaseDeg.Value, o.drawLoops(best, hiddenDrift).phaseDeg); e != nil {
		phaseDeg.Low = min(phaseDeg.Low, e.Low)
	}
}

// drawLoops draws loops with errors. Those that would have grown are left out if the best one
// would not: he held it. hidden is the share of the drift part that is added to each.
func (o *one) drawLoops(best marks, hidden float64) (s samples) {
	rng := rand.New(rand.NewPCG(1, 72))
	grows := func(m marks) bool { return m.phase < 0 || m.gain < 0 }
	for _, h := range o.craft.drawn {
		y := o.pilot.draw(rng.NormFloat64)
		y.drift *= 1 + hidden
		l, _ := o.loop(y, h)
		if m := margins(l); grows(best) || !grows(m) {
			s.add(m)
		}
	}
	return s
}

// loop multiplies pilot and aircraft in the band of both, which begins at point first of
// the aircraft's.
func (o *one) loop(y form, h open) (l open, first int) {
	first = len(h.w)
	turn := 0.0
	for k, w := range h.w {
		if w < fitFromRadS || w > fitToRadS {
			continue
		}
		first = min(first, k)
		v := y.at(w)
		angle := math.Atan2(imag(v), real(v)) + h.phase[k]
		if n := len(l.phase); n > 0 {
			turn = l.phase[n-1] + wrapped(angle-l.phase[n-1])
		} else {
			turn = wrapped(angle)
		}
		l.w = append(l.w, w)
		l.lnGain = append(l.lnGain, h.lnGain[k]+math.Log(math.Hypot(real(v), imag(v))))
		l.phase = append(l.phase, turn)
	}
	return l, first
}

// assume fills in the aircraft alone against assumed pilots.
func (o *one) assume(m *stability.Margin) {
	if o.craft == nil {
		return
	}
	for _, delay := range assumedDelaysS() {
		m.Assumed = append(m.Assumed, o.assumed(delay))
	}
}

// assumed holds the aircraft against a pilot of a delay. Here an error of the clocks counts:
// the aircraft's delay has it, the assumed one has not.
func (o *one) assumed(delayS float64) stability.AssumedPilot {
	rng := rand.New(rand.NewPCG(1, 73))
	var most []float64
	var s samples
	// The gain in use, with its errors, at a delay; its gain margin is what is left to the
	// most.
	inUse := func(h open, gain, delayS float64) marks {
		k := margins(h.against(gain, delayS))
		k.gain = mostGain(h, delayS) - math.Log(gain)
		return k
	}
	for _, h := range o.craft.drawn {
		late := delayS + o.craft.clockHalfS/1.96*rng.NormFloat64()
		most = append(most, math.Exp(mostGain(h, late)))
		if o.pilot != nil {
			s.add(inUse(h, o.pilot.draw(rng.NormFloat64).gain, late))
		}
	}
	h := o.craft.open()
	a := stability.AssumedPilot{DelayS: delayS, MostGainPerRad: interval(math.Exp(mostGain(h, delayS)), most)}
	if o.pilot == nil {
		return a
	}
	k := inUse(h, o.pilot.gain, delayS)
	a.CrossoverRadS = interval(k.crossover, s.crossover)
	if a.CrossoverRadS != nil {
		a.PhaseMarginDeg = interval(k.phase*degPerRad, s.phaseDeg)
	}
	a.GainMarginDB = interval(k.gain*dbPerNeper, s.gainDB)
	return a
}

// against is the loop of an aircraft and a gain after a delay.
func (h open) against(gain, delayS float64) open {
	l := open{w: h.w, lnGain: make([]float64, len(h.w)), phase: make([]float64, len(h.w))}
	for k, w := range h.w {
		l.lnGain[k], l.phase[k] = h.lnGain[k]+math.Log(gain), h.phase[k]-w*delayS
	}
	return l
}
