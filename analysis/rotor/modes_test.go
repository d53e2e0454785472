package rotor

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

// wantMode fails if no mode of m lies within tol of want.
func wantMode(t *testing.T, m *Model, want complex128, tol float64) Mode {
	t.Helper()
	var best Mode
	for k, mode := range m.Modes() {
		if k == 0 || cmplx.Abs(mode.Eigenvalue-want) < cmplx.Abs(best.Eigenvalue-want) {
			best = mode
		}
	}
	if d := cmplx.Abs(best.Eigenvalue - want); !(d <= tol) {
		t.Errorf("nearest mode to %.7g is %.7g, off by %.2g", want, best.Eigenvalue, d)
	}
	return best
}

// Franklin, Powell and Emami-Naeini, Feedback Control of Dynamic Systems, helicopter near
// hover: x = (q, theta, u), poles and theta/delta as worked out from its matrices. The
// other states are parked far away.
func TestTextbookHelicopterNearHover(t *testing.T) {
	m := &Model{A: matrix(8, 8), B: matrix(8, 4)}
	for i := range m.A {
		m.A[i][i] = -50 - float64(i)
	}
	q, th, u := m.A[PitchRate], m.A[Pitch], m.A[SpeedForward]
	q[PitchRate], q[SpeedForward] = -0.4, -0.01
	th[PitchRate], th[Pitch] = 1, 0
	u[PitchRate], u[Pitch], u[SpeedForward] = -1.4, 9.8, -0.02
	m.B[PitchRate][LonStick], m.B[SpeedForward][LonStick] = 6.3, 9.8
	wantMode(t, m, complex(-0.6565127, 0), 1e-6)
	mode := wantMode(t, m, complex(0.1182563, 0.3678166), 1e-6)
	near(t, "natural frequency", mode.NaturalRadS(), 0.386359, 1e-6)
	near(t, "damping ratio", mode.DampingRatio(), -0.306079, 1e-6)
	near(t, "period", mode.PeriodS(), 17.0824, 1e-4)
	near(t, "time to double", -mode.TimeToHalfS(), 5.86140, 1e-5)
	if mode.Axis != flight.PitchAxis {
		t.Errorf("axis %s", mode.Axis)
	}
	h := m.Response(LonStick, Pitch, []float64{1, 3})
	near(t, "|theta/delta| at 1", cmplx.Abs(h[0]), 5.96441, 1e-5)
	near(t, "|theta/delta| at 3", cmplx.Abs(h[1]), 0.693128, 1e-6)
	s := complex(0, 2)
	want := (6.3*s + 0.028) / (s*s*s + 0.42*s*s - 0.006*s + 0.098)
	x, err := m.At(s, LonStick)
	if err != nil || cmplx.Abs(x[Pitch]-want) > 1e-9 {
		t.Errorf("theta/delta at 2 rad/s = %v, want %v (%v)", x[Pitch], want, err)
	}
}

// The light teetering example, numbers chosen for this project, after the physics of Gessow
// and Amer, NACA TN 1982 (1949): without a bar a slowly growing oscillation, with a bar
// slower and damped; the slower the bar the slower that mode and the less damped the short
// one.
func TestHoverModesWithAndWithoutBar(t *testing.T) {
	h := teetering()
	m := mustModel(t, h)
	wantMode(t, m, complex(-16.21088, 0), 1e-5)
	wantMode(t, m, complex(-1.20102, 0), 1e-5)
	hover := wantMode(t, m, complex(0.0971965, 0.4843918), 1e-6)
	near(t, "period", hover.PeriodS(), 12.971, 1e-3)
	near(t, "time to double", -hover.TimeToHalfS(), 7.131, 1e-3)

	h.BarToBlade, h.BarTimeS = 0.7, 0.6
	m = mustModel(t, h)
	slow := wantMode(t, m, complex(-0.0223854, 0.1921866), 1e-6)
	near(t, "period", slow.PeriodS(), 32.69, 0.01)
	short := wantMode(t, m, complex(-0.93322, 3.40498), 1e-4)
	near(t, "damping", short.DampingRatio(), 0.264, 1e-3)

	h.BarTimeS = 1.5
	m = mustModel(t, h)
	slow = wantMode(t, m, complex(-0.0260552, 0.1243627), 1e-6)
	near(t, "period", slow.PeriodS(), 50.5, 0.05)
	short = wantMode(t, m, complex(-0.45101, 3.37449), 1e-4)
	near(t, "damping", short.DampingRatio(), 0.132, 1e-3)
}

// The quasi-steady hover cubic s^3 - (Xu+Mq) s^2 + Xu Mq s + g Mu agrees with the full
// model's unstable pair within 0.5 %.
func TestHoverCubic(t *testing.T) {
	h := teetering()
	mq := -h.PitchStiffnessPerS2() * h.DiscTimeS()
	mu := h.PitchStiffnessPerS2() * h.SpeedTiltRadPerMS()
	f := func(s complex128) complex128 {
		return s*s*s - complex(h.XuPerS+mq, 0)*s*s + complex(h.XuPerS*mq, 0)*s + complex(flight.StandardGravity*mu, 0)
	}
	pair := complex(0.0969847, 0.4859063)
	if r := cmplx.Abs(f(pair)); r > 1e-5 {
		t.Errorf("residual of the cubic at its published root: %g", r)
	}
	wantMode(t, mustModel(t, h), pair, 0.005*cmplx.Abs(pair))
}

// reference is testdata/rotor/model.json.
type reference struct {
	Omega []float64 `json:"omega_rad_s"`
	Heads []struct {
		Head struct {
			Name                              string
			R, Omega, Gamma, M, H             float64
			Ixx, Iyy, Xu, Yv, Delta3, Adv     float64
			Throw, Kb, Taub, Kp, Ks, Delay, E float64
		}
		Phasing     float64 `json:"phasing_deg"`
		Lag         float64 `json:"lag_deg"`
		Gain        float64
		Eigenvalues [][2]float64
		Responses   []struct {
			Input, State int
			Re, Im       []float64
		}
	}
}

func TestAgainstSciPy(t *testing.T) {
	data, err := os.ReadFile("../../testdata/rotor/model.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref reference
	if err := json.Unmarshal(data, &ref); err != nil {
		t.Fatal(err)
	}
	for _, r := range ref.Heads {
		p := r.Head
		t.Run(p.Name, func(t *testing.T) {
			h := Head{RadiusM: p.R, RotorSpeedRadS: p.Omega, LockNumber: p.Gamma, MassKg: p.M, HubHeightM: p.H,
				RollInertiaKgM2: p.Ixx, PitchInertiaKgM2: p.Iyy, XuPerS: p.Xu, YvPerS: p.Yv, Delta3Rad: p.Delta3 * deg,
				AdvanceRad: p.Adv * deg, ThrowRad: p.Throw * deg, BarTimeS: p.Taub, BarToBlade: p.Kb,
				StickToPaddle: p.Kp, StickToBlade: p.Ks, DelayS: p.Delay}
			m := mustModel(t, h)
			near(t, "phasing", h.PhasingErrorRad()/deg, r.Phasing, 1e-10)
			near(t, "lag", h.LagRad()/deg, r.Lag, 1e-10)
			for _, e := range r.Eigenvalues {
				// Nearly equal pairs of the two axes limit an eigenvalue to the root of eps.
				wantMode(t, m, complex(e[0], e[1]), 1e-8)
			}
			for _, c := range r.Responses {
				got := m.Response(Input(c.Input), State(c.State), ref.Omega)
				size := 0.0
				for k := range got {
					size = math.Max(size, math.Hypot(c.Re[k], c.Im[k]))
				}
				for k := range got {
					if d := cmplx.Abs(got[k] - complex(c.Re[k], c.Im[k])); d > 1e-11*size+1e-9*math.Hypot(c.Re[k], c.Im[k]) {
						t.Errorf("input %d state %d at %g rad/s: %v off by %.2g", c.Input, c.State, ref.Omega[k], got[k], d)
					}
				}
			}
		})
	}
}

func drawHead(t *rapid.T) Head {
	h := teetering()
	h.RadiusM = rapid.Float64Range(1, 5).Draw(t, "radius")
	h.RotorSpeedRadS = rapid.Float64Range(30, 120).Draw(t, "rotor speed")
	h.LockNumber = rapid.Float64Range(2, 10).Draw(t, "Lock number")
	h.RollInertiaKgM2 = rapid.Float64Range(30, 200).Draw(t, "roll inertia")
	h.Delta3Rad = rapid.Float64Range(-30, 30).Draw(t, "delta3") * deg
	h.AdvanceRad = rapid.Float64Range(50, 110).Draw(t, "advance") * deg
	h.DelayS = rapid.Float64Range(0, 0.2).Draw(t, "delay")
	if rapid.Bool().Draw(t, "bar") {
		h.BarTimeS, h.BarToBlade = rapid.Float64Range(0.2, 3).Draw(t, "bar time"), rapid.Float64Range(0.1, 1).Draw(t, "mixing")
		h.StickToPaddle = 1
	}
	return h
}

func TestResponseProperties(t *testing.T) {
	w := LogSpace(0.3, 20, 7)
	rapid.Check(t, func(rt *rapid.T) {
		h := drawHead(rt)
		m, err := NewModel(h)
		if err != nil {
			rt.Fatal(err)
		}
		base := m.Response(LatStick, Roll, w)
		// Twice the throw, twice the answer.
		double := h
		double.ThrowRad *= 2
		m2, _ := NewModel(double)
		// A longer dead time turns the phase by -omega tau and nothing else.
		later := h
		later.DelayS += 0.03
		m3, _ := NewModel(later)
		// Rate is the derivative of attitude.
		rate := m.Response(LatStick, RollRate, w)
		for k, b := range m2.Response(LatStick, Roll, w) {
			c := m3.Response(LatStick, Roll, w)[k] * cmplx.Exp(complex(0, 0.03*w[k]))
			for _, d := range []complex128{b - 2*base[k], c - base[k], rate[k]/complex(0, w[k]) - base[k]} {
				if cmplx.Abs(d) > 1e-9*(1+cmplx.Abs(base[k])) {
					rt.Fatalf("at %g rad/s: off by %g", w[k], cmplx.Abs(d))
				}
			}
		}
	})
}

// Without phasing error the axes do not see each other; with it, at high frequency, the
// off-axis answer of a machine of equal inertias stands to the on-axis one as tan(error).
func TestPhasingErrorCouples(t *testing.T) {
	h := teetering()
	for _, errDeg := range []float64{-25, -18, 0, 10, 18} {
		h.AdvanceRad = (90 + errDeg) * deg
		m := mustModel(t, h)
		w := []float64{60}
		on, off := m.Response(LonStick, PitchRate, w)[0], m.Response(LonStick, RollRate, w)[0]
		near(t, "off over on", real(off/on), math.Tan(errDeg*deg), 1e-3)
		on, off = m.Response(LatStick, RollRate, w)[0], m.Response(LatStick, PitchRate, w)[0]
		near(t, "the other way", real(off/on), -math.Tan(errDeg*deg), 1e-3)
	}
}

func TestBandwidthMeetsItsDefinitions(t *testing.T) {
	m := mustModel(t, Head{RadiusM: 3.1, RotorSpeedRadS: 53, LockNumber: 4.6, MassKg: 240, HubHeightM: 1.15,
		RollInertiaKgM2: 68, PitchInertiaKgM2: 135, AdvanceRad: math.Pi / 2, ThrowRad: 8 * deg, XuPerS: -0.03, YvPerS: -0.03,
		StickToBlade: 1, DelayS: 0.05})
	b := m.Bandwidth(LatStick, Roll)
	phase := func(w float64) float64 { return cmplx.Phase(m.Response(LatStick, Roll, []float64{w})[0]) / deg }
	gain := func(w float64) float64 { return GainDB(m.Response(LatStick, Roll, []float64{w})[0]) }
	near(t, "phase at w180", math.Abs(phase(b.W180RadS)), 180, 1e-9)
	near(t, "phase at the phase bandwidth", phase(b.BandwidthPhaseRadS), -135, 1e-9)
	near(t, "gain at the gain bandwidth", gain(b.BandwidthGainRadS)-gain(b.W180RadS), 6, 1e-9)
	excess := math.Remainder(phase(2*b.W180RadS)+180, 360)
	near(t, "phase delay", b.PhaseDelayS, -excess*deg/(2*b.W180RadS), 1e-12)
	// The bare head in pitch never rises above -135 deg: nothing to report.
	if p := m.Bandwidth(LonStick, Pitch); !math.IsNaN(p.BandwidthPhaseRadS) || !math.IsNaN(p.BandwidthRadS) {
		t.Errorf("pitch bandwidth %g, want none", p.BandwidthRadS)
	}
}

func TestUnwrapDeg(t *testing.T) {
	w := LogSpace(0.2, 20, 200)
	h := make([]complex128, len(w))
	for k := range w { // integrator and 0.3 s of delay
		h[k] = cmplx.Exp(complex(0, -0.3*w[k])) / complex(0, w[k])
	}
	for k, p := range UnwrapDeg(w, h, 2) {
		near(t, "phase", p, -90-0.3*w[k]/deg, 1e-9)
	}
	if got := UnwrapDeg(nil, nil, 2); len(got) != 0 {
		t.Errorf("nothing gives %v", got)
	}
}

// The sum over modes is the solution of the equations, with and without a bar, in and out of
// phase, also where two modes fall together because both inertias are the same.
func TestSumOverModesIsTheSolution(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := teetering()
		if rapid.Bool().Draw(t, "bar") {
			h = barHead()
			h.BarTimeS = rapid.Float64Range(0.1, 3).Draw(t, "following time")
		}
		h.DelayS = rapid.Float64Range(0, 0.3).Draw(t, "delay")
		h.AdvanceRad += rapid.Float64Range(-0.4, 0.4).Draw(t, "out of phase")
		if rapid.Bool().Draw(t, "round") {
			h.RollInertiaKgM2 = h.PitchInertiaKgM2
		}
		m, err := NewModel(h)
		if err != nil {
			t.Fatal(err)
		}
		d := m.modal()
		for _, c := range []struct {
			in  Input
			out State
		}{{LonStick, Pitch}, {LatStick, Roll}, {LatStick, PitchRate}, {HeadWind, Pitch}, {WindFromRight, Roll}} {
			of := d.response(c.in, c.out)
			for _, w := range []float64{0.2, 0.7, 3, 17} {
				want := m.Response(c.in, c.out, []float64{w})[0]
				if off := cmplx.Abs(of(w) - want); off > 1e-8*cmplx.Abs(want) {
					t.Fatalf("input %d to state %d at %g rad/s: off by %.2g of %.2g", c.in, c.out, w, off, cmplx.Abs(want))
				}
			}
		}
	})
}

// The rms over a band lies between the least and the greatest response in it; over a band too
// narrow to differ in, it is the response.
func TestBandGain(t *testing.T) {
	m := mustModel(t, barHead())
	got := m.BandGain(HeadWind, Pitch, [2]float64{1.2, 2.4})
	least, most := math.Inf(1), 0.0
	for _, h := range m.Response(HeadWind, Pitch, LogSpace(1.2, 2.4, 50)) {
		least, most = math.Min(least, cmplx.Abs(h)), math.Max(most, cmplx.Abs(h))
	}
	if !(got > least && got < most) {
		t.Errorf("%g, of %g to %g", got, least, most)
	}
	mid := cmplx.Abs(m.Response(HeadWind, Pitch, []float64{1.7})[0])
	near(t, "a narrow band", m.BandGain(HeadWind, Pitch, [2]float64{1.7, 1.7001}), mid, 1e-4*mid)
}
