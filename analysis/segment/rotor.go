package segment

import (
	"math"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// findRotor sets the rotor's speed over its flight value, and spin-up and spin-down.
func (f *finder) findRotor() {
	f.rotor = f.rotorFromSpeed()
	if f.rotor == nil {
		f.rotor = f.rotorFromVibration()
	}
	if f.rotor == nil || len(f.flights) == 0 {
		return
	}
	first, last := f.flights[0], f.flights[len(f.flights)-1]
	f.spinUp = f.ramp(f.slow.Index(first.FromS), -1)
	f.spinDown = f.ramp(f.slow.Index(last.ToS), +1)
}

func (f *finder) rotorFromSpeed() []float64 {
	c := f.hop.Channel(flight.RotorSpeed)
	if c == nil || len(f.flights) == 0 {
		return nil
	}
	x := series.Filled(series.Even(c, f.slow, 0.4))
	usual := series.Percentile(f.pick(x, f.flights), 0.5)
	if !(usual > 1) {
		return nil
	}
	for i := range x {
		x[i] = max(x[i]/usual, 0)
	}
	return x
}

// rotorFromVibration takes the rotor's speed from how much the airframe shakes: forces
// of imbalance go with the square of the speed, so the speed with the square root of the
// shaking that stands above the sensor's own noise. It is nil without an acceleration or
// where the shaking in flight does not stand out.
func (f *finder) rotorFromVibration() []float64 {
	if len(f.flights) == 0 {
		return nil
	}
	var best []float64
	clearest := 1.5 // least ratio of shaking in flight to noise that is trusted
	for _, q := range []flight.Quantity{flight.AccelZ, flight.AccelY, flight.AccelX} {
		c := f.hop.Channel(q)
		if c == nil || c.Len() < 100 {
			continue
		}
		v := f.shaking(c)
		floor := series.Percentile(f.pick(v, f.outside(f.flights)), 0.1)
		usual := series.Percentile(f.pick(v, f.flights), 0.5)
		if !(floor > 0 && usual/floor > clearest) {
			continue
		}
		clearest = usual / floor
		best = make([]float64, len(v))
		for i, x := range v {
			best[i] = math.Pow(max(x*x-floor*floor, 0)/(usual*usual-floor*floor), 0.25)
		}
	}
	return best
}

// flyingShare is the share of the usual rotor speed below which nothing flies: thrust goes with
// its square, so half of it is left.
const flyingShare = 0.7

// whileTurning moves the edges of the spans to where the rotor is near its usual speed: a
// noisy rate sensor passes for flight all the time, and the control check before it for test
// inputs. Inside a span nothing is cut out: a sensor may lose its pulses in the air.
func (f *finder) whileTurning(spans []flight.Span) []flight.Span {
	turns := f.fastEnough(spans)
	if turns == nil {
		return spans
	}
	var out []flight.Span
	for _, s := range spans {
		from, to := f.slow.Index(s.FromS), f.slow.Index(s.ToS)
		first, last := from, to
		for first < to && !turns(first) {
			first++
		}
		for last > first && !turns(last) {
			last--
		}
		if first > from {
			s.FromS = f.slow.TimeS(first)
		}
		if last < to {
			s.ToS = f.slow.TimeS(last)
		}
		if last > first {
			out = append(out, s)
		}
	}
	return out
}

// fastEnough tells whether the rotor turns fast enough to fly, by its logged speed or else by how
// much the airframe shakes; nil if neither tells.
func (f *finder) fastEnough(spans []flight.Span) func(i int) bool {
	if c := f.hop.Channel(flight.RotorSpeed); c != nil && c.Len() > 20 {
		x := series.Filled(series.Even(c, f.slow, 0.4))
		if least := flyingShare * series.Percentile(x, 0.9); least > 1 {
			return func(i int) bool { return x[min(i, len(x)-1)] > least }
		}
	}
	// Shaking goes with the square of the speed. Less than threefold it is not a rotor's start
	// and stop that shows, but rougher and smoother air.
	const clear = 3
	for _, q := range []flight.Quantity{flight.AccelZ, flight.AccelY, flight.AccelX} {
		c := f.hop.Channel(q)
		if c == nil || c.Len() < 100 {
			continue
		}
		v := f.shaking(c)
		usual := series.Percentile(f.pick(v, spans), 0.5)
		if usual > clear*series.Percentile(v, 0.02) {
			least := flyingShare * flyingShare * usual
			return func(i int) bool { return v[min(i, len(v)-1)] > least }
		}
	}
	return nil
}

// shaking is the rms over one second of c about its mean over each 0.2 s, which passes
// vibration above about 4 Hz and stops manoeuvres.
func (f *finder) shaking(c *flight.Channel) []float64 {
	per := f.slow.Steps(0.2)
	n := f.slow.N/per + 1
	sum, square, count := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, v := range c.Value {
		if v != v || !f.whole.Contains(c.TimeS[i]) {
			continue
		}
		k := int((c.TimeS[i] - f.whole.FromS) / (float64(per) * f.slow.StepS))
		sum[k] += v
		square[k] += v * v
		count[k]++
	}
	spread, weight := make([]float64, f.slow.N), make([]float64, f.slow.N)
	for i := range spread {
		if k := i / per; count[k] > 2 {
			mean := sum[k] / count[k]
			spread[i], weight[i] = max(square[k]/count[k]-mean*mean, 0)*count[k], count[k]-1
		}
	}
	spread, weight = series.MovingMean(spread, f.slow.Steps(1)), series.MovingMean(weight, f.slow.Steps(1))
	for i := range spread {
		spread[i] = math.Sqrt(spread[i] / max(weight[i], 1e-9))
	}
	return spread
}

// ramp returns the span in which the rotor goes between standstill and full speed,
// looking from sample at in direction dir. The line through 50 and 85 percent of the
// speed is drawn to both ends, because slow turning does not shake enough to be seen.
func (f *finder) ramp(at, dir int) flight.Span {
	full, half := -1, -1
	for k := at; k >= 0 && k < f.slow.N; k += dir {
		if full < 0 && f.rotor[k] < 0.85 {
			full = k
		}
		if f.rotor[k] < 0.5 {
			half = k
			break
		}
	}
	if full < 0 || half < 0 {
		return flight.Span{} // the record starts or ends with the rotor turning
	}
	tFull, tHalf := f.slow.TimeS(full), f.slow.TimeS(half)
	perS := (tFull - tHalf) / 0.35
	stop, run := tHalf-0.5*perS, tFull+0.15*perS
	edge := f.slow.TimeS(at)
	if dir < 0 {
		return flight.Span{FromS: max(stop, f.whole.FromS), ToS: min(run, edge)}
	}
	return flight.Span{FromS: max(run, edge), ToS: min(stop, f.whole.ToS)}
}
