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
func (m *Model) Modes() []Mode { return m.modal().modes() }

// modal is a model taken apart into its free motions.
type modal struct {
	m       *Model
	values  []complex128
	vectors mat.CDense // columns
}

func (m *Model) modal() *modal {
	n := m.Order()
	a := mat.NewDense(n, n, nil)
	for i, row := range m.A {
		a.SetRow(i, row)
	}
	var eig mat.Eigen
	if !eig.Factorize(a, mat.EigenRight) {
		panic("rotor: eigenvalues of a finite matrix did not converge")
	}
	d := &modal{m: m, values: eig.Values(nil)}
	eig.VectorsTo(&d.vectors)
	return d
}

func (d *modal) modes() []Mode {
	var modes []Mode
	for k, s := range d.values {
		if imag(s) < 0 {
			continue
		}
		modes = append(modes, Mode{Eigenvalue: s, Axis: axisOf(&d.vectors, k)})
	}
	sort.SliceStable(modes, func(i, j int) bool { return modes[i].NaturalRadS() < modes[j].NaturalRadS() })
	return modes
}

// mostModalError is how far the sum over modes may be from the solution of the equations,
// relative, before it is not used.
const mostModalError = 1e-9

// response returns the frequency response from an input to a state as a sum over modes,
// which costs a hundredth of solving the equations at each frequency. Where two modes lie
// so close that the sum loses digits, the equations are solved.
func (d *modal) response(in Input, out State) func(wRadS float64) complex128 {
	residues, ok := d.residues(in, out)
	delayS := 0.0
	if in == LonStick || in == LatStick {
		delayS = d.m.DelayS
	}
	sum := func(w float64) complex128 {
		h := complex(0, 0)
		for k, r := range residues {
			h += r / (complex(0, w) - d.values[k])
		}
		if delayS != 0 {
			h *= cmplx.Exp(complex(0, -w*delayS))
		}
		return h
	}
	exact := func(w float64) complex128 { return d.m.Response(in, out, []float64{w})[0] }
	for _, w := range []float64{bandwidthFromRadS, 1, 5, bandwidthToRadS} {
		h := exact(w)
		if !ok || !(cmplx.Abs(sum(w)-h) <= mostModalError*cmplx.Abs(h)) {
			return exact
		}
	}
	return sum
}

// residues are those of the response at each eigenvalue: with A = V L inv(V), row out of V
// times inv(V) B. ok is false if the modes do not span the motion.
func (d *modal) residues(in Input, out State) (r []complex128, ok bool) {
	n := d.m.Order()
	v, b := make([][]complex128, n), make([]complex128, n)
	for i := range v {
		v[i] = make([]complex128, n)
		for k := range n {
			v[i][k] = d.vectors.At(i, k)
		}
		b[i] = complex(d.m.B[i][in], 0)
	}
	if !solve(v, b) {
		return nil, false
	}
	for k := range b {
		b[k] *= d.vectors.At(int(out), k)
	}
	return b, true
}

// axisOf compares attitude and rate in roll and in pitch of eigenvector k.
func axisOf(v *mat.CDense, k int) flight.Axis {
	size := func(s State) float64 { return cmplx.Abs(v.At(int(s), k)) }
	if math.Hypot(size(Roll), size(RollRate)) > math.Hypot(size(Pitch), size(PitchRate)) {
		return flight.RollAxis
	}
	return flight.PitchAxis
}
