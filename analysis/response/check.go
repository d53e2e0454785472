package response

import (
	"math"

	"hopcard/analysis/spectrum"
)

// disagreeS is the least disagreement in lag worth a finding.
const disagreeS = 0.01

// check asks the model for what was measured without it: what its residual leaves must be
// without a pattern, its phase must fall like the measured one, and driven with the stick as
// flown its correlation with the stick must peak where the measured one does.
func (a *analyser) check(r *Result, m *fitted, lags *spectrum.Response, clockS float64) {
	if m == nil {
		return
	}
	if w := m.whiteness; w != nil && w.Chance < leastChance {
		a.modelLeavesPattern(r, w)
	}
	a.checkSlope(r, m)
	a.checkLag(r, m, lags, clockS)
}

// checkSlope compares the lines through the phases of model and response; what the line leaves
// bends both alike.
func (a *analyser) checkSlope(r *Result, m *fitted) {
	own := m.curve
	own.phase = make([]float64, len(m.curve.phase))
	for k, ln := range own.lnOmega {
		phase := imag(m.form.logRate(m.p, complex(0, math.Exp(ln)), nil))
		if r.Output == Attitude {
			phase -= math.Pi / 2
		}
		own.phase[k] = place(phase, m.curve.phase[k])
	}
	measured, sd, _, ok := phaseLine(m.curve)
	slope, _, _, ok2 := phaseLine(own)
	if d := slope - measured; ok && ok2 && math.Abs(d) > max(disagreeS, 2*1.96*sd) {
		a.slopeDisagrees(r, slope, measured)
	}
}

func (a *analyser) checkLag(r *Result, m *fitted, lags *spectrum.Response, clockS float64) {
	if lags == nil || r.CorrelationLagS == nil {
		return
	}
	driven := *lags
	driven.H = make([]complex128, len(lags.H))
	for k, w := range lags.OmegaRadS {
		if w > 0 {
			driven.H[k] = m.form.rate(m.p, complex(0, w))
		}
	}
	lag := correlationLag(&driven, plainWeight, clockS)
	if lag == nil {
		return
	}
	half := math.Hypot(r.CorrelationLagS.High-r.CorrelationLagS.Low, lag.High-lag.Low) / 2
	if d := lag.Value - r.CorrelationLagS.Value; math.Abs(d) > max(disagreeS, 2*half) {
		a.modelDisagrees(r, lag.Value)
	}
}
