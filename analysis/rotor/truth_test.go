package rotor

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"testing"

	"hopcard/flight"
)

// answerSheet is the part of a simulated hop's answer sheet that the rotor model must
// reproduce: the same equations, written down elsewhere.
type answerSheet struct {
	Response struct {
		Airframe struct {
			R, Omega, Gamma, M, H, Iyy, Ixx, Xu, Yv float64
			TauB                                    float64 `json:"tau_b"`
			Kb, Kp, Ks                              float64
			Delta3                                  float64
			PsiAdv                                  float64 `json:"psi_adv"`
			Throw                                   float64 `json:"full_throw_deg"`
			TauC                                    float64 `json:"tau_c"`
			TauF                                    float64 `json:"tau_f"`
		}
		Phasing   float64   `json:"azimuth_phasing_error_deg"`
		Frequency []float64 `json:"frequency_rad_s"`
		Modes     []struct{ Re, Im float64 }
		Axes      map[string]axisSheet
	}
}

type axisSheet struct {
	Attitude  curve `json:"stick_to_attitude"`
	Rate      curve `json:"stick_to_rate"`
	Bandwidth struct {
		W180       *float64 `json:"w180_rad_s"`
		Phase      *float64 `json:"bw_phase_rad_s"`
		Gain       *float64 `json:"bw_gain_rad_s"`
		PhaseDelay *float64 `json:"phase_delay_s"`
		Bandwidth  *float64 `json:"bandwidth_rad_s"`
	}
	Gust struct {
		Fixed curve `json:"stick_fixed"`
	} `json:"gust_to_attitude"`
}

type curve struct {
	Gain  []float64 `json:"gain_db"`
	Phase []float64 `json:"phase_deg"`
}

func answerSheets(t *testing.T) map[string]answerSheet {
	t.Helper()
	files, _ := filepath.Glob("../../../shared/hops/*.truth.json")
	if len(files) == 0 {
		t.Skip("the simulated hops are not here")
	}
	sheets := map[string]answerSheet{}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var s answerSheet
		if err := json.Unmarshal(data, &s); err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		sheets[filepath.Base(f)] = s
	}
	return sheets
}

func (s answerSheet) head() Head {
	a := s.Response.Airframe
	return Head{
		RadiusM: a.R, RotorSpeedRadS: a.Omega, LockNumber: a.Gamma, MassKg: a.M, HubHeightM: a.H,
		RollInertiaKgM2: a.Ixx, PitchInertiaKgM2: a.Iyy, Delta3Rad: a.Delta3 * math.Pi / 180,
		AdvanceRad: a.PsiAdv * math.Pi / 180, ThrowRad: a.Throw * math.Pi / 180, XuPerS: a.Xu, YvPerS: a.Yv,
		BarTimeS: a.TauB, BarToBlade: a.Kb, StickToPaddle: a.Kp, StickToBlade: a.Ks, DelayS: a.TauC,
	}
}

func TestAnswerSheetsOfSimulatedHops(t *testing.T) {
	for name, s := range answerSheets(t) {
		t.Run(name, func(t *testing.T) {
			h := s.head()
			m, err := NewModel(h)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "following time", h.DiscTimeS(), s.Response.Airframe.TauF, 1e-6)
			near(t, "phasing error deg", h.PhasingErrorRad()*180/math.Pi, s.Response.Phasing, 1e-3)
			checkModes(t, m, s)
			for axis, sheet := range s.Response.Axes {
				in, wind, att, rate := LonStick, HeadWind, Pitch, PitchRate
				if axis == string(flight.RollAxis) {
					in, wind, att, rate = LatStick, WindFromRight, Roll, RollRate
				}
				w := s.Response.Frequency
				checkCurve(t, axis+" attitude", w, scaled(m.Response(in, att, w), 0.01), sheet.Attitude)
				checkCurve(t, axis+" rate", w, scaled(m.Response(in, rate, w), 0.01), sheet.Rate)
				checkCurve(t, axis+" gust", w, m.Response(wind, att, w), sheet.Gust.Fixed)
				b := m.Bandwidth(in, att)
				for _, c := range []struct {
					name string
					got  float64
					want *float64
				}{
					{"w180", b.W180RadS, sheet.Bandwidth.W180}, {"phase bandwidth", b.BandwidthPhaseRadS, sheet.Bandwidth.Phase},
					{"gain bandwidth", b.BandwidthGainRadS, sheet.Bandwidth.Gain}, {"phase delay", b.PhaseDelayS, sheet.Bandwidth.PhaseDelay},
					{"bandwidth", b.BandwidthRadS, sheet.Bandwidth.Bandwidth},
				} {
					if c.want == nil {
						if !math.IsNaN(c.got) {
							t.Errorf("%s %s = %g, want none", axis, c.name, c.got)
						}
						continue
					}
					near(t, axis+" "+c.name, c.got, *c.want, 1e-3*math.Abs(*c.want))
				}
			}
		})
	}
}

func scaled(h []complex128, k float64) []complex128 {
	for i := range h {
		h[i] *= complex(k, 0)
	}
	return h
}

// checkCurve compares in deg per input unit with what was written with three decimals at
// frequencies written with five.
func checkCurve(t *testing.T, what string, w []float64, h []complex128, want curve) {
	t.Helper()
	if len(want.Gain) == 0 {
		t.Fatalf("%s: the answer sheet has no curve", what)
	}
	for k := range w {
		gain := 20 * math.Log10(cmplx.Abs(h[k])*180/math.Pi)
		phase := cmplx.Phase(h[k]) * 180 / math.Pi
		if math.Abs(gain-want.Gain[k]) > 0.005 {
			t.Errorf("%s at %g rad/s: gain %.4f dB, want %.4f", what, w[k], gain, want.Gain[k])
			return
		}
		if d := math.Abs(math.Remainder(phase-want.Phase[k], 360)); d > 0.05 {
			t.Errorf("%s at %g rad/s: phase %.3f deg, want %.3f", what, w[k], phase, want.Phase[k])
			return
		}
	}
}

func checkModes(t *testing.T, m *Model, s answerSheet) {
	t.Helper()
	modes := m.Modes()
	if len(modes) != len(s.Response.Modes) {
		t.Errorf("%d modes, want %d", len(modes), len(s.Response.Modes))
	}
	for _, want := range s.Response.Modes {
		least := math.Inf(1)
		for _, got := range modes {
			least = math.Min(least, cmplx.Abs(got.Eigenvalue-complex(want.Re, want.Im))/math.Hypot(want.Re, want.Im))
		}
		if least > 1e-4 {
			t.Errorf("no mode near %g%+gi (nearest is off by %.2g of it)", want.Re, want.Im, least)
		}
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.7g, want %.7g (off by %.2g > %.2g)", what, got, want, got-want, tol)
	}
}
