package rotor

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

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
	f, err := newFitter(start, unknown, measured)
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
	start    Head
	unknown  []Unknown
	measured []Measured
	x        []float64 // logarithms or values
	n        int       // residuals
	ratios   bool      // residuals are logarithms of ratios, not differences
}

func newFitter(start Head, unknown []Unknown, measured []Measured) (*fitter, error) {
	if start.SpeedTilt == 0 {
		start.SpeedTilt = DefaultSpeedTilt
	}
	f := &fitter{start: start, unknown: unknown, measured: measured}
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
	for _, m := range measured {
		if len(m.H) != len(m.OmegaRadS) || len(m.SD) != len(m.H) {
			panic("rotor: slices of a measured response differ in length")
		}
		for k, h := range m.H {
			if h == 0 || cmplx.IsNaN(h) || cmplx.IsInf(h) || !(m.SD[k] > 0) || math.IsInf(m.SD[k], 0) {
				return nil, fmt.Errorf("%w: response %v at %g rad/s with error %g", ErrNoFit, h, m.OmegaRadS[k], m.SD[k])
			}
		}
		f.n += 2 * len(m.H)
	}
	if f.n <= len(unknown) || len(unknown) == 0 {
		return nil, fmt.Errorf("%w: %d measured numbers for %d unknown parameters", ErrNoFit, f.n, len(unknown))
	}
	return f, nil
}

// head returns the head at x.
func (f *fitter) head(x []float64) Head {
	h := f.start
	for i, u := range f.unknown {
		v, logarithm, _, _ := u.at(&h)
		*v = x[i]
		if logarithm {
			*v = math.Exp(x[i])
		}
	}
	return h
}

// residuals returns gain and phase errors over their standard deviations, nil where the
// head at x is not physical.
func (f *fitter) residuals(x []float64) []float64 {
	m, err := NewModel(f.head(x))
	if err != nil {
		return nil
	}
	r := make([]float64, 0, f.n)
	for _, d := range f.measured {
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

// Limits of what data can tell.
const (
	leastSingular = 1e-6
	widestFactor  = 10
)

// result turns the minimum into numbers with intervals.
func (f *fitter) result() (*Fit, error) {
	j := f.jacobian(f.x)
	if j == nil {
		return nil, fmt.Errorf("%w: the minimum lies at the edge of what is physical", ErrNoFit)
	}
	n := len(f.x)
	out := &Fit{Freedom: f.n - n}
	out.ChiSquare = squares(f.residuals(f.x)) / float64(out.Freedom)
	told, variance, groups, err := covariance(j, f.unknown)
	if err != nil {
		return nil, err
	}
	out.NotTold = groups
	wide := math.Sqrt(math.Max(out.ChiSquare, 1)) *
		distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(out.Freedom)}.Quantile(0.975)
	for i, u := range f.unknown {
		start := f.start
		_, logarithm, unit, shown := u.at(&start)
		half := wide * math.Sqrt(variance[i])
		p := Fitted{Name: u, Unit: unit}
		if told[i] && logarithm && half > math.Log(widestFactor)/2 {
			told[i] = false
			out.NotTold = append(out.NotTold, string(u))
		}
		switch {
		case !told[i]:
		case logarithm:
			p.Estimate = &flight.Estimate{Value: shown * math.Exp(f.x[i]),
				Low: shown * math.Exp(f.x[i]-half), High: shown * math.Exp(f.x[i]+half)}
		default:
			p.Estimate = &flight.Estimate{Value: shown * f.x[i], Low: shown * (f.x[i] - half), High: shown * (f.x[i] + half)}
		}
		out.Parameters = append(out.Parameters, p)
	}
	out.Head = f.head(f.x)
	return out, nil
}

// covariance takes the Jacobian apart: which parameters the data tells, the variance of each
// in the directions it tells, and the groups it does not.
func covariance(j *mat.Dense, unknown []Unknown) (told []bool, variance []float64, groups []string, err error) {
	n := len(unknown)
	told, variance = make([]bool, n), make([]float64, n)
	// Columns to unit length, so that units do not decide.
	scale := make([]float64, n)
	for i := range n {
		scale[i] = mat.Norm(j.ColView(i), 2)
		told[i] = scale[i] > 0
		if !told[i] {
			scale[i] = 1
			groups = append(groups, string(unknown[i]))
		}
	}
	unit := mat.DenseCopyOf(j)
	unit.Apply(func(_, c int, v float64) float64 { return v / scale[c] }, unit)
	var svd mat.SVD
	if !svd.Factorize(unit, mat.SVDThin) {
		return nil, nil, nil, fmt.Errorf("%w: the Jacobian has no singular values", ErrNoFit)
	}
	values := svd.Values(nil)
	var v mat.Dense
	svd.VTo(&v)
	for k, s := range values {
		if s > leastSingular*values[0] {
			for i := range n {
				variance[i] += v.At(i, k) * v.At(i, k) / (s * s) / (scale[i] * scale[i])
			}
			continue
		}
		var names []string
		for i := range n {
			if told[i] && math.Abs(v.At(i, k)) > 0.05 {
				names = append(names, string(unknown[i]))
			}
		}
		for i := range n {
			if math.Abs(v.At(i, k)) > 0.05 {
				told[i] = false
			}
		}
		if len(names) > 0 {
			groups = append(groups, strings.Join(names, ", "))
		}
	}
	return told, variance, groups, nil
}
