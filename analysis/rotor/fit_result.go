package rotor

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/flight"
)

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
	told, cov, groups, err := covariance(j, f.unknown)
	if err != nil {
		return nil, err
	}
	out.NotTold, out.Unknown, out.Covariance = groups, f.unknown, cov
	for i := range told {
		out.Blind = append(out.Blind, !told[i])
	}
	for i := range cov {
		for k := range cov[i] {
			cov[i][k] *= math.Max(out.ChiSquare, 1)
		}
	}
	wide := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(out.Freedom)}.Quantile(0.975)
	for i, u := range f.unknown {
		start := f.start
		_, logarithm, unit, shown := u.at(&start)
		half := wide * math.Sqrt(cov[i][i])
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

// covariance takes the Jacobian apart: which parameters the data tells, their covariance in
// the directions it tells, and the groups it does not.
func covariance(j *mat.Dense, unknown []Unknown) (told []bool, cov [][]float64, groups []string, err error) {
	n := len(unknown)
	told, cov = make([]bool, n), matrix(n, n)
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
				for l := range n {
					cov[i][l] += v.At(i, k) * v.At(l, k) / (s * s) / (scale[i] * scale[l])
				}
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
	return told, cov, groups, nil
}

// Coordinates returns the fitted parameters of h as they are fitted, in the order of
// unknown: the logarithm of what stays above zero, the rest as it is, in SI.
func Coordinates(h Head, unknown []Unknown) []float64 {
	x := make([]float64, len(unknown))
	for i, u := range unknown {
		v, logarithm, _, _ := u.at(&h)
		x[i] = *v
		if logarithm {
			x[i] = math.Log(*v)
		}
	}
	return x
}

// AtCoordinates returns h with the parameters of unknown set from x, as Coordinates gives
// them.
func AtCoordinates(h Head, unknown []Unknown, x []float64) Head {
	for i, u := range unknown {
		v, logarithm, _, _ := u.at(&h)
		*v = x[i]
		if logarithm {
			*v = math.Exp(x[i])
		}
	}
	return h
}

// Logarithm reports whether the parameter is fitted as its logarithm.
func (u Unknown) Logarithm() bool {
	var h Head
	_, logarithm, _, _ := u.at(&h)
	return logarithm
}

// Of returns the parameter's value in h, in the unit it is shown in.
func (u Unknown) Of(h Head) (value float64, unit flight.Unit) {
	v, _, unit, shown := u.at(&h)
	return *v * shown, unit
}

// Unknowns lists the parameters that can be fitted.
func Unknowns() []Unknown {
	return []Unknown{UnknownThrow, UnknownLockNumber, UnknownSpeedTilt, UnknownRollInertia, UnknownPitchInertia, UnknownBarTime,
		UnknownBarToBlade, UnknownStickToBlade, UnknownStickToPaddle, UnknownDelay, UnknownAdvance}
}
