package importers

import (
	"math"

	"hopcard/flight"
)

// A knock is a sharp tap on the airframe: out of quiet, within a sample or two, to many
// times the noise, then ringing down. Two loggers that feel the same taps can be put on
// one clock by them, whatever else they log.

// knock is one tap as one log shows it.
type knock struct {
	at   int     // first sample that jumps
	peak float64 // m/s2, magnitude of the largest of the first samples
}

const (
	knockLeast  = 0.2 * flight.StandardGravity // smallest peak that counts
	knockNoise  = 8.0                          // peak over the noise before it
	knockQuietS = 0.15                         // without anything like it before
	knockRingS  = 0.25                         // of ringing that belongs to the knock
)

// knockTrain is a signal with the knocks found in it.
type knockTrain struct {
	stamps []float64
	value  []float64 // m/s2 from the median
	knocks []knock
}

// findKnocks looks for knocks in the knock channel of a log or in its accelerations, in
// whichever they stand out most.
func (f *logFile) findKnocks() knockTrain {
	var best knockTrain
	strength := 0.0
	for _, q := range []flight.Quantity{flight.Knock, flight.AccelX, flight.AccelY, flight.AccelZ} {
		c := f.find(q)
		if c == nil {
			continue
		}
		t := knockTrain{stamps: f.stamps, value: make([]float64, len(f.stamps))}
		m := medianOf(c.values)
		for i, v := range c.values {
			t.value[i] = c.scale * (v - m)
		}
		t.search()
		sum := 0.0
		for _, k := range t.knocks {
			sum += k.peak
		}
		if sum > strength {
			best, strength = t, sum
		}
	}
	return best
}

// search finds every sample that jumps out of the quiet before it.
func (t *knockTrain) search() {
	step := medianStep(t.stamps)
	if step <= 0 || step > 0.025 {
		return // slower than 40 rows a second: a tap falls between the rows
	}
	before := max(8, int(0.6/step))
	quiet := max(2, int(knockQuietS/step))
	rise := max(1, int(0.03/step))
	for i := before; i+3 < len(t.value); i++ {
		if !(math.Abs(t.value[i]) > knockLeast) {
			continue
		}
		if !t.maySurge(i, quiet, rise) {
			continue
		}
		base, noise := centre(t.value[i-before : i-1])
		if !(math.Abs(t.value[i]-base) > math.Max(knockLeast, knockNoise*noise)) {
			continue
		}
		peak := 0.0
		for k := i; k <= i+rise && k < len(t.value); k++ {
			peak = math.Max(peak, math.Abs(t.value[k]-base))
		}
		if t.quietBefore(i, quiet, base, peak) {
			t.knocks = append(t.knocks, knock{i, peak})
		}
		i += max(1, int(knockRingS/step))
	}
}

// maySurge is a cheap look at whether sample i can be a knock at all: whatever the value
// at rest is, quietBefore will not let the samples before differ by more than two thirds
// of what comes. In flight every sample is large, and few pass.
func (t *knockTrain) maySurge(i, quiet, rise int) bool {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range t.value[max(0, i-quiet) : i-1] {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	most := 0.0
	for _, v := range t.value[i:min(i+rise+1, len(t.value))] {
		most = math.Max(most, math.Abs(v-(low+high)/2))
	}
	return high-low <= most/1.5
}

func (t *knockTrain) quietBefore(i, n int, base, peak float64) bool {
	for k := max(0, i-n); k < i-1; k++ {
		if math.Abs(t.value[k]-base) > 0.25*peak {
			return false
		}
	}
	return true
}

// centre returns the median and the standard deviation that the median distance from it
// stands for in a normal distribution.
func centre(v []float64) (median, sd float64) {
	s := make([]float64, 0, len(v))
	for _, x := range v {
		if x == x {
			s = append(s, x)
		}
	}
	if len(s) == 0 {
		return nan, nan
	}
	median = nth(s, len(s)/2)
	for i, x := range s {
		s[i] = math.Abs(x - median)
	}
	return median, nth(s, len(s)/2) / 0.6745
}

// pair is one knock in both logs: indices into the two trains.
type pair struct{ a, b int }

// matchKnocks finds the shift of b against a, in seconds, that makes most knocks fall
// together. sure is false where another shift does almost as well: evenly spaced taps
// fit again one tap further on.
func matchKnocks(a, b knockTrain) (pairs []pair, sure bool) {
	best, second := 0, 0
	bestShift := 0.0
	for _, ka := range a.knocks {
		for _, kb := range b.knocks {
			shift := b.stamps[kb.at] - a.stamps[ka.at]
			p := a.pairUp(b, shift, a.stamps[ka.at])
			switch {
			case len(p) > best:
				if math.Abs(shift-bestShift) > 0.1 {
					second = best
				}
				best, bestShift, pairs = len(p), shift, p
			case len(p) > second && math.Abs(shift-bestShift) > 0.1:
				second = len(p)
			}
		}
	}
	alone := best == len(a.knocks) && best == len(b.knocks)
	return pairs, best >= 5 && best >= second+2 || best >= 3 && alone && best > second
}

// pairUp pairs the knocks that fall together after a shift found at the time aroundS of
// a; clocks may run apart by some 300 ppm from there.
func (t knockTrain) pairUp(b knockTrain, shift, aroundS float64) []pair {
	var p []pair
	j := 0
	for i, ka := range t.knocks {
		at := t.stamps[ka.at]
		tol := 0.025 + 300e-6*math.Abs(at-aroundS)
		for j < len(b.knocks) && b.stamps[b.knocks[j].at] < at+shift-tol {
			j++
		}
		if j < len(b.knocks) && b.stamps[b.knocks[j].at] <= at+shift+tol {
			p = append(p, pair{i, j})
			j++
		}
	}
	return p
}
