package response

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// fitted is a form with its parameters, as fitted to a curve.
type fitted struct {
	form       form
	p          []float64
	covariance *mat.SymDense // of p; nil if the data do not fix every parameter
	criterion  float64       // Akaike's, small-sample
	points     float64       // independent ones
	chiSquare  float64       // per degree of freedom
	fitPercent float64
	rivals     []*fitted // every form fitted to the same curve, itself among them
	// Of the form that was chosen: what its residual looks like, and what it was fitted to.
	whiteness *Whiteness
	curve     curve
}

// target is a curve as the models see it: rate response at every fourth point, with the
// weight of the errors its neighbours do not share.
type target struct {
	omega        []float64
	lnGain       []float64
	phase        []float64
	weight       []float64
	sd           []float64 // of log gain and phase
	band         []float64 // rad/s, within which neighbours share their errors
	independents float64
}

const (
	// modelFloor is the least error, in natural log and rad, a point is given: no low-order
	// form is exact to better than one percent.
	modelFloor = 0.01
	modelEvery = 4
)

func newTarget(c curve, out Output) target {
	var t target
	n := len(c.lnOmega)
	for k := 0; k < n; k += modelEvery {
		w := math.Exp(c.lnOmega[k])
		g, p := c.lnGain[k], c.phase[k]
		if out == Attitude {
			g, p = g+c.lnOmega[k], p+math.Pi/2
		}
		lo, hi := max(0, k-modelEvery), min(n-1, k+modelEvery)
		spacing := (math.Exp(c.lnOmega[hi]) - math.Exp(c.lnOmega[lo])) / float64(hi-lo) * modelEvery
		share := min(1, spacing/c.bandRadS[k])
		t.omega = append(t.omega, w)
		t.lnGain = append(t.lnGain, g)
		t.phase = append(t.phase, p)
		sd := math.Hypot(c.sd[k], modelFloor)
		t.weight = append(t.weight, math.Sqrt(share)/sd)
		t.sd, t.band = append(t.sd, sd), append(t.band, c.bandRadS[k])
		t.independents += share
	}
	return t
}

// residuals are those of log gain and phase, in turn, in units of their errors.
func (t target) residuals(f form) func(p, out []float64, jac [][]float64) {
	grad := make([]complex128, len(f.names))
	return func(p, out []float64, jac [][]float64) {
		var g []complex128
		if jac != nil {
			g = grad
		}
		for k, w := range t.omega {
			h := f.logRate(p, complex(0, w), g)
			out[2*k] = t.weight[k] * (real(h) - t.lnGain[k])
			out[2*k+1] = t.weight[k] * math.Remainder(imag(h)-t.phase[k], 2*math.Pi)
			for i, d := range g {
				jac[i][2*k], jac[i][2*k+1] = t.weight[k]*real(d), t.weight[k]*imag(d)
			}
		}
		for i, known := range f.prior {
			row := 2*len(t.omega) + i
			out[row] = (p[i] - known[0]) / known[1]
			if jac != nil {
				jac[i][row] = 1 / known[1]
			}
		}
	}
}

// fitModel fits every form from several starts and returns the one with the least
// Akaike criterion, corrected for small samples (Hurvich and Tsai 1989, Biometrika 76,
// 297-307), with the others beside it; nil if the curve is too short for any.
func fitModel(c curve, out Output, noBar bool, known priors) *fitted {
	var all []*fitted
	best := -1
	t := newTarget(c, out)
	for _, f := range forms(known) {
		if f.bar >= 0 && noBar {
			continue
		}
		if f.bar >= 0 && best >= 0 && all[best].chiSquare < 1 && known.discOff(all[best]) < 2 {
			continue // a head without a bar explains it all
		}
		m := fitForm(f, t)
		if m == nil || m.covariance == nil || known.discOff(m) > mostDiscOff {
			continue
		}
		all = append(all, m)
		if best < 0 || m.criterion < all[best].criterion {
			best = len(all) - 1
		}
	}
	if best < 0 {
		return nil
	}
	all[best].rivals = all
	all[best].whiteness = t.whiteness(all[best].form, all[best].p)
	all[best].curve = c
	return all[best]
}

func fitForm(f form, t target) *fitted {
	// What is known before counts as observed.
	n, k := 2*t.independents, float64(len(f.names))
	observed := n
	for _, known := range f.prior {
		if !math.IsInf(known[1], 1) {
			observed++
		}
	}
	if observed < k+6 {
		return nil
	}
	res := t.residuals(f)
	m := &fitted{form: f, criterion: math.Inf(1), points: n}
	var normal *mat.SymDense
	least := math.Inf(1)
	for _, start := range f.starts {
		p, cost, jj, ok := leastSquares(start, 2*len(t.omega)+len(f.prior), res)
		if ok && cost < least {
			m.p, least, normal = p, cost, jj
		}
	}
	if m.p == nil {
		return nil
	}
	m.chiSquare = least / (observed - k)
	m.criterion = n*math.Log(least/n) + 2*k + 2*k*(k+1)/(observed-k-1)
	m.fitPercent = t.fitPercent(f, m.p)
	var chol mat.Cholesky
	if chol.Factorize(normal) && chol.Cond() < 1e12 {
		m.covariance = &mat.SymDense{}
		if chol.InverseTo(m.covariance) != nil {
			m.covariance = nil
		} else {
			m.covariance.ScaleSym(max(1, m.chiSquare), m.covariance)
		}
	}
	return m
}

// fitPercent is 100 (1 - |H - Hm|/|H - mean H|), in the weights of the fit.
func (t target) fitPercent(f form, p []float64) float64 {
	var mean complex128
	var sum, miss, spread float64
	for k := range t.omega {
		mean += complex(t.weight[k], 0) * t.at(k)
		sum += t.weight[k]
	}
	mean /= complex(sum, 0)
	for k, w := range t.omega {
		d := cmplx.Abs(f.rate(p, complex(0, w)) - t.at(k))
		e := cmplx.Abs(t.at(k) - mean)
		miss += t.weight[k] * d * d
		spread += t.weight[k] * e * e
	}
	return 100 * (1 - math.Sqrt(miss/spread))
}

func (t target) at(k int) complex128 {
	return cmplx.Rect(math.Exp(t.lnGain[k]), t.phase[k])
}

// sd is the standard deviation of parameter i as it is carried.
func (m *fitted) sd(i int) float64 { return math.Sqrt(m.covariance.At(i, i)) }

// parameter returns parameter i in its own unit with its 95 % interval.
func (m *fitted) parameter(i int) flight.Estimate {
	v, half := m.p[i], 1.96*m.sd(i)
	e := flight.Estimate{Value: v, Low: v - half, High: v + half}
	if m.form.logs[i] {
		e = flight.Estimate{Value: math.Exp(e.Value), Low: math.Exp(e.Low), High: math.Exp(e.High)}
	}
	return e
}

// delaySum is the dead time, and the following time of the disc with it where the form has
// one, and its variance.
func (m *fitted) delaySum() (value, variance float64) {
	d := m.form.delay
	value, variance = m.p[d], m.covariance.At(d, d)
	if f := m.form.disc; f >= 0 {
		follow := math.Exp(m.p[f])
		value += follow
		variance += follow*follow*m.covariance.At(f, f) + 2*follow*m.covariance.At(d, f)
	}
	return value, max(0, variance)
}

// averaged is a time of the model with its interval: the scatter within the form, that
// between the forms the data allow, in Akaike weights (Burnham and Anderson 2002, Model
// Selection and Multimodel Inference, section 4.3), and the clocks' half width. of gives the
// time and its variance by one form; ok is false for a form that has no such time.
func (m *fitted) averaged(clockS float64, of func(m *fitted) (value, variance float64, ok bool)) flight.Estimate {
	var value, square, weights float64
	for _, r := range m.rivals {
		v, variance, ok := of(r)
		if !ok {
			continue
		}
		w := math.Exp((m.criterion - r.criterion) / 2)
		value += w * v
		square += w * (variance + v*v)
		weights += w
	}
	value /= weights
	half := math.Hypot(1.96*math.Sqrt(max(0, square/weights-value*value)), clockS)
	return flight.Estimate{Value: value, Low: value - half, High: value + half}
}

func (m *fitted) effectiveDelay(clockS float64) flight.Estimate {
	return m.averaged(clockS, func(m *fitted) (value, variance float64, ok bool) {
		value, variance = m.delaySum()
		return value, variance, true
	})
}

// deadTime is what of the delay sum is dead time, by forms that keep the two apart.
func (m *fitted) deadTime(clockS float64) flight.Estimate {
	return m.averaged(clockS, func(m *fitted) (value, variance float64, ok bool) {
		d := m.form.delay
		return m.p[d], m.covariance.At(d, d), m.form.disc >= 0
	})
}

// Limits beyond which a fit says nothing.
const (
	leastFitPercent = 80
	mostDelayS      = 0.05 // half width of the 95 % interval of the effective delay
	mostDeadS       = 0.03 // and of the dead time by itself
	// mostChiSquare is the misfit per degree of freedom beyond which the form is not that of
	// the aircraft.
	mostChiSquare = 2
	// modelApart is the difference between predictor and spectra beyond which no model is
	// fitted: its delay rests on a degree here and there.
	modelApart = 0.2
	// modelToRadS is how far the coherence must hold: below it a following time passes for a
	// delay and a delay for a following time. On 240 drawn hops with coherences from 0.6 on
	// nineteen of twenty effective delays are right to 18, 16 and 14 ms where 5, 7 and 9 rad/s are
	// asked for, 97, 96 and 97 % of the intervals hold, and 192, 169 and 151 are given: the
	// intervals do not hang on this limit.
	modelToRadS = 7
)

// model fills in the fitted model and the delays that follow from it.
func (a *analyser) model(r *Result, alone *spectrum.Response, clockS float64) *fitted {
	c := carried(alone, unwrapped(alone))
	if len(c.lnOmega) == 0 || math.Exp(c.lnOmega[len(c.lnOmega)-1]) < modelToRadS {
		return nil
	}
	m := fitModel(c, r.Output, a.settings.NoBar, priors{rotorSpeedRadS: r.RotorSpeedRadS, wider: a.settings.widerPriors})
	if m == nil {
		return nil
	}
	effective := m.effectiveDelay(clockS)
	if effective.High-effective.Low <= 2*mostDelayS && effective.Value > 0 {
		r.EffectiveDelayS = &effective
	}
	m.split(r, clockS)
	if m.fitPercent < leastFitPercent || m.chiSquare > mostChiSquare || r.EffectiveDelayS == nil && r.TransportDelayS == nil {
		r.EffectiveDelayS, r.TransportDelayS, r.DiscFollowingS, r.BarFollowingS = nil, nil, nil, nil
		a.noModel(r, m, effective)
		return nil
	}
	r.Model = &Model{Form: m.form.name, FitPercent: m.fitPercent, Whiteness: m.whiteness}
	for i, name := range m.form.names {
		r.Model.Parameters = append(r.Model.Parameters, Parameter{Name: name, Estimate: m.parameter(i)})
	}
	return m
}

// split gives what the delay is made of: dead time of the linkage, following times of the
// disc and of the bar, each only where it is there beyond doubt. Under a bar the dead time
// may be known where the disc's following time is not: the bar's feedback hides that.
func (m *fitted) split(r *Result, clockS float64) {
	// Standard deviations of the logarithms; with a bar well below that known before.
	doubt := 0.5
	if m.form.bar >= 0 {
		doubt = 0.3
	}
	disc, bar := m.form.disc, m.form.bar
	if disc < 0 {
		return
	}
	apart := m.sd(disc) < doubt
	if dead := m.deadTime(clockS); dead.High-dead.Low < 2*mostDeadS && (apart || bar >= 0) {
		r.TransportDelayS = &dead
	}
	if apart {
		e := m.parameter(disc)
		r.DiscFollowingS = &e
	}
	if bar >= 0 && m.sd(bar) < doubt {
		e := m.parameter(bar)
		r.BarFollowingS = &e
	}
}
