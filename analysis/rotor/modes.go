package rotor

import (
	"math"
	"math/cmplx"
	"sort"

	"gonum.org/v1/gonum/mat"

	"hopcard/flight"
)

// Mode is one free motion of the aircraft with the stick held.
type Mode struct {
	// Eigenvalue in 1/s; of a conjugate pair the one with positive imaginary part.
	Eigenvalue complex128
	// Axis in which most of the motion is.
	Axis flight.Axis
}

// Oscillates reports whether the mode is an oscillation.
func (m Mode) Oscillates() bool { return imag(m.Eigenvalue) != 0 }

// NaturalRadS is the undamped natural frequency, rad/s.
func (m Mode) NaturalRadS() float64 { return cmplx.Abs(m.Eigenvalue) }

// DampingRatio is minus the real part over the natural frequency.
func (m Mode) DampingRatio() float64 { return -real(m.Eigenvalue) / cmplx.Abs(m.Eigenvalue) }

// PeriodS is the period of the oscillation, +Inf if there is none.
func (m Mode) PeriodS() float64 {
	if !m.Oscillates() {
		return math.Inf(1)
	}
	return 2 * math.Pi / imag(m.Eigenvalue)
}

// TimeToHalfS is the time in which the motion halves; negative, the time in which it
// doubles.
func (m Mode) TimeToHalfS() float64 { return -math.Ln2 / real(m.Eigenvalue) }

// Modes returns the modes of the model, slowest first (least natural frequency).
func (m *Model) Modes() []Mode {
	n := m.Order()
	a := mat.NewDense(n, n, nil)
	for i, row := range m.A {
		a.SetRow(i, row)
	}
	var eig mat.Eigen
	if !eig.Factorize(a, mat.EigenRight) {
		panic("rotor: eigenvalues of a finite matrix did not converge")
	}
	var vectors mat.CDense
	eig.VectorsTo(&vectors)
	var modes []Mode
	for k, s := range eig.Values(nil) {
		if imag(s) < 0 {
			continue
		}
		modes = append(modes, Mode{Eigenvalue: s, Axis: axisOf(&vectors, k)})
	}
	sort.SliceStable(modes, func(i, j int) bool { return modes[i].NaturalRadS() < modes[j].NaturalRadS() })
	return modes
}

// axisOf compares attitude and rate in roll and in pitch of eigenvector k.
func axisOf(v *mat.CDense, k int) flight.Axis {
	size := func(s State) float64 { return cmplx.Abs(v.At(int(s), k)) }
	if math.Hypot(size(Roll), size(RollRate)) > math.Hypot(size(Pitch), size(PitchRate)) {
		return flight.RollAxis
	}
	return flight.PitchAxis
}
