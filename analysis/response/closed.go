package response

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// TwoSided is the cross-correlation of stick and rate on both sides of lag zero: where it is
// highest with the motion behind the stick, as the aircraft answers the pilot, and where it
// is lowest with the stick behind the motion, as a pilot who steadies the aircraft answers
// it. The values are normalised, 1 or -1 for signals that are alike.
type TwoSided struct {
	MotionBehindS, MotionBehind float64 // s of lag, correlation there
	StickBehindS, StickBehind   float64
}

// twoSided evaluates the cross-correlation of stick and rate from their spectra with one
// window.
func twoSided(s *spectrum.Spectra, stick, rate int) *TwoSided {
	cross, x, y := s.Cross(stick, rate), s.Auto(stick), s.Auto(rate)
	var xx, yy float64
	from := len(cross)
	for k, w := range s.OmegaRadS {
		if w > s.BandRadS {
			from = min(from, k)
			xx += x[k]
			yy += y[k]
		}
	}
	if !(xx > 0) || !(yy > 0) {
		return nil
	}
	var t TwoSided
	const step = 0.02
	for i := 1; float64(i)*step <= lagToS; i++ {
		for _, lag := range []float64{float64(i) * step, -float64(i) * step} {
			var r float64
			for k := from; k < len(cross); k++ {
				sin, cos := math.Sincos(s.OmegaRadS[k] * lag)
				r += real(cross[k])*cos - imag(cross[k])*sin
			}
			r /= math.Sqrt(xx * yy)
			if lag > 0 && r > t.MotionBehind {
				t.MotionBehindS, t.MotionBehind = lag, r
			}
			if lag < 0 && r < t.StickBehind {
				t.StickBehindS, t.StickBehind = -lag, r
			}
		}
	}
	return &t
}

// residuals are e of the predictor over each run, from its order on; the sticks of run i
// belong to it from that sample on.
func (p *predictor) residuals(runs []run, out int, inputs []int) [][]float64 {
	var all [][]float64
	var n, sum float64
	for _, r := range runs {
		y := r.values[out]
		var e []float64
		for t := p.order; t < len(y)-leadSteps; t++ {
			v := y[t]
			for j, a := range p.theta[:p.order] {
				v -= a * y[t-1-j]
			}
			for i, c := range inputs {
				u := r.values[c]
				for j, b := range p.theta[p.first(i):p.first(i+1)] {
					v -= b * u[t+leadSteps-j]
				}
			}
			e = append(e, v)
			n++
			sum += v
		}
		all = append(all, e)
	}
	for _, e := range all {
		floats.AddConst(-sum/n, e) // the constant of the predictor
	}
	return all
}

// whitenessLags is how many lags the whiteness of the residual is judged by.
const whitenessLags = 20

// residualCorrelation is the largest autocorrelation of the residual, with its sign, at lags
// of 1 to whitenessLags steps.
func residualCorrelation(e [][]float64) float64 {
	var zero, largest float64
	for _, x := range e {
		zero += floats.Dot(x, x)
	}
	for lag := 1; lag <= whitenessLags; lag++ {
		var s float64
		for _, x := range e {
			if len(x) > lag {
				s += floats.Dot(x[lag:], x[:len(x)-lag])
			}
		}
		if math.Abs(s/zero) > math.Abs(largest) {
			largest = s / zero
		}
	}
	return largest
}

// The lags, in grid steps, at which a pilot answers: from beyond what the predictor sees of
// the stick's future to its memory.
const (
	answerFrom = leadSteps + 1
	answerTo   = 50
	// answerBlocks is how many blocks the record is cut into for the interval.
	answerBlocks = 8
)

// answeringShare is the share of the stick's power that answers what gusts do to the aircraft.
// The residual e of the predictor is what neither the stick nor the past explains of the
// motion, and white; so the squares of the correlations of the stick with e before it add
// up to the share of the stick that follows from e. It is what draws the ratio of spectra
// towards minus one over the pilot: Wellstead 1978 (Automatica 14) has the bias as
// |C|^2 Phi_v/(Phi_r + |C|^2 Phi_v). The interval is by the jackknife over blocks (Efron
// and Tibshirani 1993, An Introduction to the Bootstrap, chapter 11).
func (p *predictor) answeringShare(e [][]float64, runs []run, stick int) flight.Estimate {
	const lags = answerTo - answerFrom + 1
	var blocks [answerBlocks]struct {
		n, ee, uu float64
		eu        [lags]float64
	}
	var total, count, done int
	var mean float64
	for i, r := range runs {
		total += len(e[i])
		for _, v := range r.values[stick] {
			mean += v
			count++
		}
	}
	mean /= float64(count)
	for i, r := range runs {
		for t := range e[i] {
			b := &blocks[min(answerBlocks-1, done*answerBlocks/total)]
			done++
			u := r.values[stick][t+p.order] - mean
			b.n++
			b.ee += e[i][t] * e[i][t]
			b.uu += u * u
			for j := range min(lags, max(0, t-answerFrom+1)) {
				b.eu[j] += u * e[i][t-answerFrom-j]
			}
		}
	}
	share := func(without int) float64 {
		var n, ee, uu, s float64
		var eu [lags]float64
		for k, b := range blocks {
			if k == without {
				continue
			}
			n, ee, uu = n+b.n, ee+b.ee, uu+b.uu
			for j, v := range b.eu {
				eu[j] += v
			}
		}
		for _, v := range eu {
			s += v * v
		}
		return s/(ee*uu) - lags/n
	}
	value := share(-1)
	var sum, square float64
	for k := range blocks {
		v := share(k)
		sum += v
		square += v * v
	}
	variance := (answerBlocks - 1.0) / answerBlocks * max(0, square-sum*sum/answerBlocks)
	half := 2.36 * math.Sqrt(variance) // Student's t of 7 degrees of freedom
	bound := func(v float64) float64 { return max(0, min(1, v)) }
	return flight.Estimate{Value: bound(value), Low: bound(value - half), High: bound(value + half)}
}

// mostAnswering is the share of the stick that answers the aircraft from which on an answer
// without logged gusts is doubtful. At a quarter the ratio of spectra is 8 deg off in the
// example of Wellstead's formula.
// It must be there beyond doubt, too.
const (
	mostAnswering   = 0.25
	surelyAnswering = 0.05
)

// closed fills in what the closed loop of pilot and aircraft does to the measurement.
func (a *analyser) closed(m *measured, g group) {
	p, out := m.rate, -1
	if p != nil {
		out = g.integral[g.rate]
	} else if p = m.attitude; p != nil {
		out = g.attitude
	}
	var both *TwoSided
	if s := g.spectrumFor(lagWindowS, a.settings.WindowsS); s != nil && g.rate >= 0 {
		both = twoSided(s, g.stick, g.rate)
	}
	for i := range m.results {
		m.results[i].TwoSided = both
	}
	if p == nil {
		return
	}
	e := p.residuals(g.runs, out, g.inputs())
	share := p.answeringShare(e, g.runs, g.stick)
	for i := range m.results {
		m.results[i].AnsweringShare = &share
		m.results[i].ResidualCorrelation = residualCorrelation(e)
	}
	if share.Value > mostAnswering && share.Low > surelyAnswering && !g.gustsLogged() {
		a.weakExcitation(m, share, both)
	}
}

// spectrumFor returns the spectra of the shortest window not below the length given.
func (g group) spectrumFor(lengthS float64, windowsS []float64) *spectrum.Spectra {
	var best *spectrum.Spectra
	for i, w := range windowsS {
		if g.spectra[i] != nil && (best == nil || w >= lengthS) {
			best = g.spectra[i]
		}
	}
	return best
}

func (g group) gustsLogged() bool {
	for _, k := range g.others {
		switch g.channels[k].Quantity {
		case flight.WindSpeed, flight.WindNorth:
			return true
		}
	}
	return false
}

func (a *analyser) weakExcitation(m *measured, share flight.Estimate, both *TwoSided) {
	text := fmt.Sprintf("In %s %.0f %% of the stick's power (%.0f to %.0f) answers what gusts do to the aircraft, and no wind "+
		"beside the aircraft is logged", m.ax.axis, 100*share.Value, 100*share.Low, 100*share.High)
	if both != nil {
		text += fmt.Sprintf(" (stick and rate correlate by %.2f with the motion behind, by %.2f with the stick %.0f ms behind)",
			both.MotionBehind, both.StickBehind, 1000*both.StickBehindS)
	}
	a.find(flight.Finding{
		Code: flight.CodeLowCoherence, Severity: flight.Caution, Channel: string(m.ax.axis.Stick()),
		Span:   hull(m.results[0].Spans),
		Text:   text + ": the test inputs are weak, and the response may be biased towards the pilot's own.",
		Advice: "Move the stick more in the test inputs, fly in calmer air, or log the wind next to the aircraft.",
	})
}
