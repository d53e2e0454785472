package rotor

import (
	"fmt"
	"math"
	"math/cmplx"

	"hopcard/flight"
)

// State numbers the states of a Model.
type State int

// The states, in the order of Model.A. A head without a bar has no bar states.
const (
	DiscAft State = iota
	DiscRight
	PitchRate
	RollRate
	Pitch
	Roll
	SpeedForward
	SpeedRight
	BarAft
	BarRight
)

// Input numbers the inputs of a Model.
type Input int

// The inputs, in the order of the columns of Model.B. The sticks act after the dead time.
const (
	LonStick Input = iota
	LatStick
	HeadWind
	WindFromRight
)

const inputs = 4

// Model is the linear motion of both coupled axes, dx/dt = A x + B i, with the stick
// inputs delayed by DelayS. A is n by n, B n by 4; n is 8 without a bar, 10 with one.
type Model struct {
	A      [][]float64
	B      [][]float64
	DelayS float64
}

// NewModel builds the equations of the head. The error wraps ErrNotPhysical.
func NewModel(h Head) (*Model, error) {
	if err := h.Check(); err != nil {
		return nil, err
	}
	n := int(BarAft)
	if h.HasBar() {
		n = int(BarRight) + 1
	}
	m := &Model{A: matrix(n, n), B: matrix(n, inputs), DelayS: h.DelayS}
	m.disc(h)
	m.body(h)
	if h.HasBar() {
		m.bar(h)
	}
	return m, nil
}

// disc writes tau_f da/dt = -a - tau_f q + G A' + ku (u + w) and the same to the right,
// where blade pitch A, B is turned by the phasing error D on its way to the disc.
func (m *Model) disc(h Head) {
	tau, ku := h.DiscTimeS(), h.SpeedTiltRadPerMS()
	_, gain := LagAndGain(h.HingeOffset, h.LockNumber, h.Delta3Rad)
	sin, cos := math.Sincos(h.PhasingErrorRad())
	a, b := m.A[DiscAft], m.A[DiscRight]
	a[DiscAft], b[DiscRight] = -1/tau, -1/tau
	a[PitchRate], b[RollRate] = -1, -1
	a[SpeedForward], m.B[DiscAft][HeadWind] = ku/tau, ku/tau
	b[SpeedRight], m.B[DiscRight][WindFromRight] = -ku/tau, -ku/tau
	direct := gain * h.StickToBlade * h.ThrowRad / tau
	m.B[DiscAft][LonStick], m.B[DiscAft][LatStick] = direct*cos, -direct*sin
	m.B[DiscRight][LonStick], m.B[DiscRight][LatStick] = direct*sin, direct*cos
	if h.HasBar() {
		mix := gain * h.BarToBlade / tau
		a[BarAft], a[BarRight] = mix*cos, -mix*sin
		b[BarAft], b[BarRight] = mix*sin, mix*cos
	}
}

func (m *Model) body(h Head) {
	const g = flight.StandardGravity
	m.A[PitchRate][DiscAft] = h.PitchStiffnessPerS2()
	m.A[RollRate][DiscRight] = h.RollStiffnessPerS2()
	m.A[Pitch][PitchRate], m.A[Roll][RollRate] = 1, 1
	u, v := m.A[SpeedForward], m.A[SpeedRight]
	u[Pitch], u[DiscAft], u[SpeedForward] = -g, -g, h.XuPerS
	v[Roll], v[DiscRight], v[SpeedRight] = g, g, h.YvPerS
	m.B[SpeedForward][HeadWind] = h.XuPerS
	m.B[SpeedRight][WindFromRight] = h.YvPerS
}

// bar writes tau_b dab/dt = -ab - tau_b q + kp sl and the same to the right.
func (m *Model) bar(h Head) {
	a, b := m.A[BarAft], m.A[BarRight]
	a[BarAft], b[BarRight] = -1/h.BarTimeS, -1/h.BarTimeS
	a[PitchRate], b[RollRate] = -1, -1
	paddle := h.StickToPaddle * h.ThrowRad / h.BarTimeS
	m.B[BarAft][LonStick], m.B[BarRight][LatStick] = paddle, paddle
}

// Order returns the number of states.
func (m *Model) Order() int { return len(m.A) }

// Derivative writes dx/dt into dx for state x and inputs in (sticks after their delay).
// All three have the model's size.
func (m *Model) Derivative(dx, x []float64, in *[4]float64) {
	for i, row := range m.A {
		sum := 0.0
		for j, a := range row {
			sum += a * x[j]
		}
		for j, b := range m.B[i] {
			sum += b * in[j]
		}
		dx[i] = sum
	}
}

// At returns all states per unit of one input at the complex frequency s, sI - A solved
// for B, with exp(-s DelayS) on the sticks. It returns an error where s is a pole.
func (m *Model) At(s complex128, in Input) ([]complex128, error) {
	n := m.Order()
	lhs := make([][]complex128, n)
	rhs := make([]complex128, n)
	drive := complex(1, 0)
	if in == LonStick || in == LatStick {
		drive = cmplx.Exp(-s * complex(m.DelayS, 0))
	}
	for i := range lhs {
		lhs[i] = make([]complex128, n)
		for j, a := range m.A[i] {
			lhs[i][j] = complex(-a, 0)
		}
		lhs[i][i] += s
		rhs[i] = complex(m.B[i][in], 0) * drive
	}
	if !solve(lhs, rhs) {
		return nil, fmt.Errorf("rotor: no response at s = %.6g: it is a pole", s)
	}
	return rhs, nil
}

// Response returns the frequency response from an input to a state at each frequency in
// rad/s, NaN at a pole on the imaginary axis.
func (m *Model) Response(in Input, out State, omegaRadS []float64) []complex128 {
	if int(out) >= m.Order() {
		panic("rotor: this head has no bar")
	}
	h := make([]complex128, len(omegaRadS))
	for k, w := range omegaRadS {
		x, err := m.At(complex(0, w), in)
		if err != nil {
			h[k] = cmplx.NaN()
			continue
		}
		h[k] = x[out]
	}
	return h
}

// bandPoints is how many frequencies a band's gain is taken at: responses bend little
// within an octave.
const bandPoints = 7

// BandGain is the rms of an output over that of an input within a band, for an input whose
// spectrum falls with the square of frequency, as that of gusts does above the corner of
// the Dryden form (MIL-F-8785C, 1980, 3.7.1).
func (m *Model) BandGain(in Input, out State, bandRadS [2]float64) float64 {
	return bandGain(func(w float64) complex128 { return m.Response(in, out, []float64{w})[0] }, bandRadS)
}

func bandGain(response func(wRadS float64) complex128, bandRadS [2]float64) float64 {
	w := LogSpace(bandRadS[0], bandRadS[1], bandPoints)
	sum, weight := 0.0, 0.0
	for k := range w {
		h := response(w[k])
		s := 1 / w[k] // 1/w^2 in steps of w
		if k == 0 || k == bandPoints-1 {
			s /= 2
		}
		sum += s * (real(h)*real(h) + imag(h)*imag(h))
		weight += s
	}
	return math.Sqrt(sum / weight)
}

func matrix(rows, cols int) [][]float64 {
	flat := make([]float64, rows*cols)
	m := make([][]float64, rows)
	for i := range m {
		m[i] = flat[i*cols : (i+1)*cols : (i+1)*cols]
	}
	return m
}

// solve overwrites b with the solution of a x = b by Gaussian elimination with partial
// pivoting and reports whether there is one (gonum factors real matrices only).
func solve(a [][]complex128, b []complex128) bool {
	n := len(b)
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if cmplx.Abs(a[i][k]) > cmplx.Abs(a[best][k]) {
				best = i
			}
		}
		if a[best][k] == 0 {
			return false
		}
		a[k], a[best] = a[best], a[k]
		b[k], b[best] = b[best], b[k]
		for i := k + 1; i < n; i++ {
			f := a[i][k] / a[k][k]
			if f == 0 {
				continue
			}
			for j := k; j < n; j++ {
				a[i][j] -= f * a[k][j]
			}
			b[i] -= f * b[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		for j := k + 1; j < n; j++ {
			b[k] -= a[k][j] * b[j]
		}
		b[k] /= a[k][k]
	}
	return true
}
