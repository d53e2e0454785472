package response

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Whiteness says whether what a fitted model leaves of the response hangs together over
// frequency. It should not: a model of the wrong form leaves a pattern.
type Whiteness struct {
	// Points is the number of frequencies, further apart than the response resolves.
	Points int
	// Correlation is that of neighbouring residuals of log gain and phase, in their errors.
	Correlation float64
	// Chance is the probability that residuals without a pattern correlate by as much.
	Chance float64
}

const (
	// leastWhitePoints is the number of frequencies below which nothing can be said.
	leastWhitePoints = 6
	// leastChance is the chance below which the model's residual is called a pattern.
	leastChance = 0.01
)

// whiteness judges the residuals of the model at points that do not share their errors; nil if
// there are too few. The correlation of neighbours of n residuals without a pattern scatters by
// 1/sqrt(n) (Bartlett 1946, J. R. Stat. Soc. suppl. 8, 27-41). Only a positive one counts: the
// fitted parameters make it negative by themselves.
func (t target) whiteness(f form, p []float64) *Whiteness {
	var gain, phase []float64
	last := math.Inf(-1)
	for k, w := range t.omega {
		if w < last+t.band[k] {
			continue
		}
		last = w
		h := f.logRate(p, complex(0, w), nil)
		gain = append(gain, (real(h)-t.lnGain[k])/t.sd[k])
		phase = append(phase, math.Remainder(imag(h)-t.phase[k], 2*math.Pi)/t.sd[k])
	}
	n := len(gain)
	if n < leastWhitePoints {
		return nil
	}
	var both, own float64
	for _, r := range [][]float64{gain, phase} {
		for i, v := range r {
			own += v * v
			if i > 0 {
				both += v * r[i-1]
			}
		}
	}
	if !(own > 0) {
		return nil
	}
	c := both / own * float64(n) / float64(n-1)
	return &Whiteness{Points: n, Correlation: c, Chance: distuv.UnitNormal.Survival(c * math.Sqrt(2*float64(n-1)))}
}
