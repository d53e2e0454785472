package loop

import (
	"math"
)

// open is an open loop L over frequency, negative feedback: unstable where it goes round
// -1. Slices are parallel, frequencies ascending, the phase unwrapped.
type open struct {
	w, lnGain, phase []float64
}

// marks are the margins of a loop. What the band does not hold is NaN.
type marks struct {
	crossover float64 // rad/s, where |L| is 1
	phase     float64 // rad
	// gain is ln of the factor by which the gain may rise, low by which it may fall. A loop
	// that grows has a negative gain.
	gain, low float64
	// w180 is where gain belongs to, wLow where low does.
	w180, wLow float64
	crossovers int
}

// margins finds the margins of a loop. The phase margin is 180 deg and the phase of L where
// |L| is 1; of several crossovers the one whose margin is least counts. Where |L| rises
// through 1, below an oscillation that the pilot holds, it is a lead that would be too much: the
// margin is the angle to -180 deg on whichever side. The gain margins are
// 1/|L| where L is negative and real, the least above and the least below 1 (any book, say
// Franklin, Powell and Emami-Naeini, Feedback Control of Dynamic Systems, chapter 6).
// An aircraft that is unstable by itself has both. A loop whose phase falls through -180 deg
// where |L| is above 1, and does not rise through it again there, goes round -1: it grows, and
// the gain margin is how much less would hold it.
func margins(l open) marks {
	last := marks{gain: math.NaN()} // of the crossings of -180 deg with |L| above 1
	m := marks{math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), 0}
	for k := 1; k < len(l.w); k++ {
		g0, g1 := l.lnGain[k-1], l.lnGain[k]
		if (g0 > 0) != (g1 > 0) {
			f := g0 / (g0 - g1)
			m.crossovers++
			margin := wrapped(math.Pi + l.phase[k-1] + f*(l.phase[k]-l.phase[k-1]))
			if g1 > g0 {
				margin = math.Abs(margin)
			}
			if !(margin >= m.phase) {
				m.phase, m.crossover = margin, between(l.w, k, f)
			}
		}
		// The half turns from -1 on either side of this step.
		h0, h1 := (l.phase[k-1]+math.Pi)/(2*math.Pi), (l.phase[k]+math.Pi)/(2*math.Pi)
		if math.Floor(h0) == math.Floor(h1) {
			continue
		}
		f := (math.Max(math.Floor(h0), math.Floor(h1)) - h0) / (h1 - h0)
		g := g0 + f*(g1-g0)
		if g <= 0 && !(-g >= m.gain) {
			m.gain, m.w180 = -g, between(l.w, k, f)
		}
		if g > 0 && !(g >= m.low) {
			m.low, m.wLow = g, between(l.w, k, f)
		}
		if g > 0 {
			last.gain, last.w180 = -g, between(l.w, k, f)
			if h1 > h0 {
				last.gain = math.NaN()
			}
		}
	}
	if last.gain < 0 {
		m.gain, m.w180, m.low, m.wLow = last.gain, last.w180, math.NaN(), math.NaN()
	}
	return m
}

// turn is the whole turns by which the phase of l is off its margins: less them, it is the phase
// margin less 180 deg at the crossover (at one where |L| rises through 1 the margin may stand
// for the angle on the far side), or -180 deg where the gain margin is.
func (m marks) turn(l open) float64 {
	at := m.crossover
	if math.IsNaN(at) {
		at = m.w180
	}
	if math.IsNaN(at) {
		at = m.wLow
	}
	for k := 1; k < len(l.w); k++ {
		if l.w[k] >= at {
			f := math.Log(at/l.w[k-1]) / math.Log(l.w[k]/l.w[k-1])
			phase := math.Pi + l.phase[k-1] + f*(l.phase[k]-l.phase[k-1])
			return 2 * math.Pi * math.Round(phase/(2*math.Pi))
		}
	}
	return 0
}

// between is the frequency a share of the way, in log, from point k-1 to k.
func between(w []float64, k int, share float64) float64 {
	return w[k-1] * math.Pow(w[k]/w[k-1], share)
}

// wrapped puts an angle into (-pi, pi].
func wrapped(rad float64) float64 {
	rad = math.Mod(rad, 2*math.Pi)
	switch {
	case rad > math.Pi:
		return rad - 2*math.Pi
	case rad <= -math.Pi:
		return rad + 2*math.Pi
	}
	return rad
}

// mostGain returns ln of the gain at which the loop of an aircraft and a pilot who answers
// attitude after a delay begins to grow with ever more gain: one over the largest |H|
// among the frequencies at which the phase falls through -180 deg. NaN if it does not.
func mostGain(h open, delayS float64) float64 {
	most := math.NaN()
	for k := 1; k < len(h.w); k++ {
		p0, p1 := h.phase[k-1]-h.w[k-1]*delayS, h.phase[k]-h.w[k]*delayS
		t0, t1 := (p0+math.Pi)/(2*math.Pi), (p1+math.Pi)/(2*math.Pi)
		if p1 >= p0 || math.Floor(t0) == math.Floor(t1) {
			continue
		}
		f := (math.Floor(t0) - t0) / (t1 - t0)
		if g := -(h.lnGain[k-1] + f*(h.lnGain[k]-h.lnGain[k-1])); !(g >= most) {
			most = g
		}
	}
	return most
}
