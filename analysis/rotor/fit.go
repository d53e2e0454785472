package rotor

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"hopcard/flight"
)

// Measured is one measured response, to which a head is fitted. Slices are parallel.
type Measured struct {
	Input     Input
	Output    State
	OmegaRadS []float64
	H         []complex128 // SI, per fraction of full travel or per m/s
	// SD is the standard deviation of the gain over the gain, equal to that of the phase in
	// rad (Bendat and Piersol, Random Data, 9.2.4, from memory: alike for small errors).
	SD []float64
}

// MeasuredBand is an answer measured as rms over rms in a band of frequencies, without a
// phase: of attitude to gusts.
type MeasuredBand struct {
	Input    Input
	Output   State
	BandRadS [2]float64
	Gain     float64 // SI, above zero
	SD       float64 // of the gain over the gain
}

// Data is what a head is fitted to.
type Data struct {
	Responses []Measured
	Bands     []MeasuredBand
	// PhasingRad is the measured phasing error with its standard deviation, nil if it was
	// not measured.
	PhasingRad *Scalar
}

// Scalar is a measured number and its standard deviation.
type Scalar struct{ Value, SD float64 }

// Unknown is a parameter of a head that can be fitted.
type Unknown string

// The parameters that can be fitted. All but the dead time and the advance angle stay above
// zero.
const (
	UnknownThrow         Unknown = "cyclic throw"
	UnknownLockNumber    Unknown = "Lock number"
	UnknownSpeedTilt     Unknown = "flap-back per advance ratio"
	UnknownRollInertia   Unknown = "roll inertia"
	UnknownPitchInertia  Unknown = "pitch inertia"
	UnknownBarTime       Unknown = "following time of the bar"
	UnknownBarToBlade    Unknown = "bar to blade"
	UnknownStickToBlade  Unknown = "stick to blade"
	UnknownStickToPaddle Unknown = "stick to paddle"
	UnknownDelay         Unknown = "dead time"
	UnknownAdvance       Unknown = "advance angle"
)

// at returns the parameter's place in h, whether it is fitted as its logarithm, its unit and
// the factor from SI to it.
func (u Unknown) at(h *Head) (value *float64, logarithm bool, unit flight.Unit, shown float64) {
	const perDeg = 180 / math.Pi
	switch u {
	case UnknownThrow:
		return &h.ThrowRad, true, flight.Deg, perDeg
	case UnknownLockNumber:
		return &h.LockNumber, true, flight.NoUnit, 1
	case UnknownSpeedTilt:
		return &h.SpeedTilt, true, flight.NoUnit, 1
	case UnknownRollInertia:
		return &h.RollInertiaKgM2, true, flight.NoUnit, 1
	case UnknownPitchInertia:
		return &h.PitchInertiaKgM2, true, flight.NoUnit, 1
	case UnknownBarTime:
		return &h.BarTimeS, true, flight.Second, 1
	case UnknownBarToBlade:
		return &h.BarToBlade, true, flight.NoUnit, 1
	case UnknownStickToBlade:
		return &h.StickToBlade, true, flight.NoUnit, 1
	case UnknownStickToPaddle:
		return &h.StickToPaddle, true, flight.NoUnit, 1
	case UnknownDelay:
		return &h.DelayS, false, flight.Second, 1
	case UnknownAdvance:
		return &h.AdvanceRad, false, flight.Deg, perDeg
	}
	panic("rotor: unknown parameter " + string(u))
}

// Fitted is one fitted parameter. Estimate is nil where the data does not tell it.
type Fitted struct {
	Name     Unknown
	Unit     flight.Unit // of Estimate; none for plain numbers and kg m2
	Estimate *flight.Estimate
}

// Fit is a head fitted to measured responses.
type Fit struct {
	// Head reproduces the measured responses; of parameters in NotTold only what they do
	// together is known.
	Head       Head
	Parameters []Fitted
	// NotTold names groups of parameters that the data cannot tell, alone or from each
	// other, in words.
	NotTold []string
	// ChiSquare is the weighted sum of squared residuals over the degrees of freedom: about
	// 1 where the model explains the responses within their errors. Above 1 the intervals
	// are widened by its square root.
	ChiSquare float64
	Freedom   int
	// Unknown and Covariance go with the numbers of Coordinates: a row for each parameter,
	// widened by ChiSquare above 1, in the directions that the data tells only.
	Unknown    []Unknown
	Covariance [][]float64
	// Blind is true of parameters that the data does not tell at all, alone or from others:
	// their part of Covariance means nothing.
	Blind []bool
}

// ErrNoFit is wrapped by errors of FitHead about data that a head cannot be fitted to.
var ErrNoFit = errors.New("rotor: no fit")

// FitHead fits the unknown parameters of a head to measured responses, by weighted least
// squares of the logarithm of their ratio (Levenberg 1944, Marquardt 1963), with 95 %
// intervals from the Jacobian. start gives all other parameters and where to begin.
//
// Parameters that the data cannot tell are named and get no number: those whose direction
// in the scaled Jacobian carries less than a millionth of its largest singular value, or
// whose interval is wider than a factor of ten.
func FitHead(start Head, unknown []Unknown, measured []Measured) (*Fit, error) {
	return FitData(start, unknown, Data{Responses: measured})
}

// FitData is FitHead for responses, answers in bands and a phasing error together.
func FitData(start Head, unknown []Unknown, data Data) (*Fit, error) {
	f, err := newFitter(start, unknown, data)
	if err != nil {
		return nil, err
	}
	// First by differences, which exist where an off-axis response starts at nothing; then
	// by ratios, which the errors are symmetric in.
	for _, f.ratios = range []bool{false, true} {
		if err := f.descend(); err != nil {
			return nil, err
		}
	}
	return f.result()
}

type fitter struct {
	start   Head
	unknown []Unknown
	data    Data
	x       []float64 // logarithms or values
	n       int       // residuals
	ratios  bool      // residuals are logarithms of ratios, not differences
}

func newFitter(start Head, unknown []Unknown, data Data) (*fitter, error) {
	if start.SpeedTilt == 0 {
		start.SpeedTilt = DefaultSpeedTilt
	}
	f := &fitter{start: start, unknown: unknown, data: data}
	if _, err := NewModel(start); err != nil {
		return nil, err
	}
	for i, u := range unknown {
		if slices.Contains(unknown[:i], u) {
			panic("rotor: " + string(u) + " is unknown twice")
		}
		v, logarithm, _, _ := u.at(&start)
		if logarithm && !(*v > 0) {
			return nil, fmt.Errorf("%w: %s starts at %g, must start above zero", ErrNoFit, u, *v)
		}
		if logarithm {
			f.x = append(f.x, math.Log(*v))
		} else {
			f.x = append(f.x, *v)
		}
	}
	if err := f.count(); err != nil {
		return nil, err
	}
	if f.n <= len(unknown) || len(unknown) == 0 {
		return nil, fmt.Errorf("%w: %d measured numbers for %d unknown parameters", ErrNoFit, f.n, len(unknown))
	}
	return f, nil
}

// count checks the data and counts the residuals.
func (f *fitter) count() error {
	for _, m := range f.data.Responses {
		if len(m.H) != len(m.OmegaRadS) || len(m.SD) != len(m.H) {
			panic("rotor: slices of a measured response differ in length")
		}
		for k, h := range m.H {
			if h == 0 || cmplx.IsNaN(h) || cmplx.IsInf(h) || !(m.SD[k] > 0) || math.IsInf(m.SD[k], 0) {
				return fmt.Errorf("%w: response %v at %g rad/s with error %g", ErrNoFit, h, m.OmegaRadS[k], m.SD[k])
			}
		}
		f.n += 2 * len(m.H)
	}
	for _, b := range f.data.Bands {
		if !(b.Gain > 0) || math.IsInf(b.Gain, 0) || !(b.SD > 0) || math.IsInf(b.SD, 0) || !(b.BandRadS[0] > 0 && b.BandRadS[1] > b.BandRadS[0]) {
			return fmt.Errorf("%w: answer %g with error %g in the band %v", ErrNoFit, b.Gain, b.SD, b.BandRadS)
		}
		f.n++
	}
	if p := f.data.PhasingRad; p != nil {
		if math.IsNaN(p.Value) || math.IsInf(p.Value, 0) || !(p.SD > 0) || math.IsInf(p.SD, 0) {
			return fmt.Errorf("%w: phasing error %g with error %g", ErrNoFit, p.Value, p.SD)
		}
		f.n++
	}
	return nil
}

// head returns the head at x.
func (f *fitter) head(x []float64) Head { return AtCoordinates(f.start, f.unknown, x) }

// residuals returns gain and phase errors over their standard deviations, nil where the
// head at x is not physical.
func (f *fitter) residuals(x []float64) []float64 {
	head := f.head(x)
	m, err := NewModel(head)
	if err != nil {
		return nil
	}
	r := make([]float64, 0, f.n)
	for _, d := range f.data.Responses {
		for k, h := range m.Response(d.Input, d.Output, d.OmegaRadS) {
			ratio := h/d.H[k] - 1
			if f.ratios {
				ratio = cmplx.Log(h / d.H[k])
			}
			if cmplx.IsNaN(ratio) || cmplx.IsInf(ratio) {
				return nil
			}
			r = append(r, real(ratio)/d.SD[k], imag(ratio)/d.SD[k])
		}
	}
	for _, b := range f.data.Bands {
		miss := m.BandGain(b.Input, b.Output, b.BandRadS)/b.Gain - 1
		if f.ratios {
			miss = math.Log1p(miss)
		}
		if math.IsNaN(miss) || math.IsInf(miss, 0) {
			return nil
		}
		r = append(r, miss/b.SD)
	}
	if p := f.data.PhasingRad; p != nil {
		r = append(r, (head.PhasingErrorRad()-p.Value)/p.SD)
	}
	return r
}

func squares(r []float64) float64 {
	if r == nil {
		return math.Inf(1)
	}
	sum := 0.0
	for _, v := range r {
		sum += v * v
	}
	return sum
}

// jacobian is by central differences.
func (f *fitter) jacobian(x []float64) *mat.Dense {
	j := mat.NewDense(f.n, len(x), nil)
	for i := range x {
		const step = 1e-6
		up, down := slices.Clone(x), slices.Clone(x)
		up[i] += step
		down[i] -= step
		a, b := f.residuals(up), f.residuals(down)
		if a == nil || b == nil { // at the edge: one side
			a, b = f.residuals(up), f.residuals(x)
			if a == nil || b == nil {
				return nil
			}
			for k := range a {
				j.Set(k, i, (a[k]-b[k])/step)
			}
			continue
		}
		for k := range a {
			j.Set(k, i, (a[k]-b[k])/(2*step))
		}
	}
	return j
}

// descend runs Levenberg-Marquardt with Marquardt's scaling.
func (f *fitter) descend() error {
	lambda := 1e-3
	r := f.residuals(f.x)
	cost := squares(r)
	if math.IsInf(cost, 1) {
		return fmt.Errorf("%w: the start cannot be computed", ErrNoFit)
	}
	for range 200 {
		j := f.jacobian(f.x)
		if j == nil {
			return fmt.Errorf("%w: the search left what is physical", ErrNoFit)
		}
		var jj mat.Dense
		jj.Mul(j.T(), j)
		var jr mat.VecDense
		jr.MulVec(j.T(), mat.NewVecDense(len(r), r))
		better := false
		for ; lambda < 1e12; lambda *= 8 {
			next := f.try(&jj, &jr, lambda)
			rn := f.residuals(next)
			if cn := squares(rn); cn < cost {
				gain := cost - cn
				f.x, r, cost, better = next, rn, cn, true
				lambda = math.Max(lambda/10, 1e-12)
				if gain < 1e-10*(1+cost) {
					return nil
				}
				break
			}
		}
		if !better {
			return nil // a minimum, as far as numbers go
		}
	}
	return fmt.Errorf("%w: no minimum found in 200 steps", ErrNoFit)
}

// try solves (J'J + lambda diag(J'J)) d = -J'r and returns x + d.
func (f *fitter) try(jj *mat.Dense, jr *mat.VecDense, lambda float64) []float64 {
	n := len(f.x)
	a := mat.NewDense(n, n, nil)
	a.Copy(jj)
	for i := range n {
		a.Set(i, i, jj.At(i, i)*(1+lambda)+1e-300)
	}
	var d mat.VecDense
	next := slices.Clone(f.x)
	if err := d.SolveVec(a, jr); err != nil {
		var c mat.Condition
		if !errors.As(err, &c) || math.IsInf(float64(c), 1) {
			return next // singular: a larger lambda will do
		}
	}
	for i := range next {
		next[i] -= d.AtVec(i)
	}
	return next
}
