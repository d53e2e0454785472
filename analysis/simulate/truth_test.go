package simulate

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// sheet is what the simulated hops' answer sheets say about pilot and loop.
type sheet struct {
	Growing []struct {
		Axis      flight.Axis
		Factor    float64 `json:"pilot_gain_factor"`
		Growth    float64 `json:"growth_rate_1_s"`
		Frequency float64 `json:"frequency_rad_s"`
	} `json:"growing_oscillations"`
	Response struct {
		Airframe struct {
			R, Omega, Gamma, M, H, Iyy, Ixx, Xu, Yv, Kb, Kp, Ks, Delta3 float64
			TauB                                                        float64 `json:"tau_b"`
			PsiAdv                                                      float64 `json:"psi_adv"`
			Throw                                                       float64 `json:"full_throw_deg"`
			TauC                                                        float64 `json:"tau_c"`
		}
		Frequency []float64                     `json:"frequency_rad_s"`
		Closed    []struct{ Re, Im float64 }    `json:"pilot_in_loop_modes"`
		Axes      map[flight.Axis]loopsOfAnAxis `json:"axes"`
		Pilot     pilotSheet                    `json:"pilot"`
	}
}

type loopsOfAnAxis struct {
	Pilot    curve `json:"pilot_frf"`
	Attitude curve `json:"loop_attitude"`
	Total    curve `json:"loop_total_at_stick"`
	Gust     struct {
		Closed curve `json:"pilot_in_loop"`
	} `json:"gust_to_attitude"`
}

type pilotSheet struct {
	Kp    [2]float64 `json:"Kp_pct_per_rad"`
	Lead  [2]float64 `json:"T_lead_s"`
	Ti    [2]float64 `json:"T_int_s"`
	Ku    [2]float64 `json:"ku_rad_per_mps"`
	Kx    [2]float64 `json:"kx_rad_per_m"`
	Delay float64    `json:"delay_s"`
	Lag   float64    `json:"neuromuscular_lag_s"`
}

type curve struct {
	Gain  []float64 `json:"gain_db"`
	Phase []float64 `json:"phase_deg"`
}

func (s sheet) model(t *testing.T) (*rotor.Model, Pilot) {
	t.Helper()
	a, p := s.Response.Airframe, s.Response.Pilot
	m, err := rotor.NewModel(rotor.Head{
		RadiusM: a.R, RotorSpeedRadS: a.Omega, LockNumber: a.Gamma, MassKg: a.M, HubHeightM: a.H,
		RollInertiaKgM2: a.Ixx, PitchInertiaKgM2: a.Iyy, Delta3Rad: a.Delta3 * deg, AdvanceRad: a.PsiAdv * deg,
		ThrowRad: a.Throw * deg, XuPerS: a.Xu, YvPerS: a.Yv, BarTimeS: a.TauB, BarToBlade: a.Kb,
		StickToPaddle: a.Kp, StickToBlade: a.Ks, DelayS: a.TauC,
	})
	if err != nil {
		t.Fatal(err)
	}
	both := func(v [2]float64, k float64) PerAxis { return PerAxis{v[0] * k, v[1] * k} }
	return m, Pilot{GainPerRad: both(p.Kp, 0.01), LeadS: both(p.Lead, 1), IntegralS: both(p.Ti, 1),
		SpeedRadPerMS: both(p.Ku, 1), PlaceRadPerM: both(p.Kx, 1), DelayS: p.Delay, LagS: p.Lag}
}

func sheets(t *testing.T) map[string]sheet {
	t.Helper()
	files, _ := filepath.Glob("../../../shared/hops/*.truth.json")
	if len(files) == 0 {
		t.Skip("the simulated hops are not here")
	}
	all := map[string]sheet{}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var s sheet
		if err := json.Unmarshal(data, &s); err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		all[filepath.Base(f)] = s
	}
	return all
}

// Pilot, loops, gust response with the pilot flying, loop modes and planted growth rates
// agree with answer sheets worked out elsewhere.
func TestLoopAgainstAnswerSheets(t *testing.T) {
	for name, s := range sheets(t) {
		t.Run(name, func(t *testing.T) {
			m, p := s.model(t)
			w := s.Response.Frequency
			for axis, c := range s.Response.Axes {
				// The sheets give the pilot in percent per deg.
				same(t, string(axis)+" pilot", w, c.Pilot, 100*deg, func(x float64) complex128 {
					return p.Response(axis, complex(0, x))
				})
				same(t, string(axis)+" attitude loop", w, c.Attitude, 1, func(x float64) complex128 {
					l, err := AttitudeLoopAt(m, p, axis, complex(0, x))
					return must(t, l, err)
				})
				same(t, string(axis)+" whole loop", w, c.Total, 1, func(x float64) complex128 {
					l, err := LoopAt(m, p, axis, 1, complex(0, x))
					return must(t, l, err)
				})
				g, err := ClosedGust(m, p, axis, w)
				if err != nil {
					t.Fatal(err)
				}
				k := -1
				same(t, string(axis)+" gust", w, c.Gust.Closed, 1/deg, func(float64) complex128 { k++; return g[k] })
			}
			modes := LoopModes(m, p, flight.PitchAxis, 1)
			for _, want := range s.Response.Closed {
				if math.Abs(want.Im) < 1e-6 {
					continue // a filter of the sheet's own, at -1
				}
				least := math.Inf(1)
				for _, got := range modes {
					least = min(least, cmplx.Abs(got-complex(want.Re, want.Im)))
				}
				// The sheets stand in a rational form for the delays, we do not.
				if tol := 0.003 * (1 + math.Hypot(want.Re, want.Im)); least > tol {
					t.Errorf("no loop mode within %.2g of %g%+gi: %.5g", tol, want.Re, want.Im, modes)
				}
			}
			for _, g := range s.Growing {
				growth, frequency := fastestGrowth(m, p, g.Axis, g.Factor)
				if math.Abs(growth-g.Growth) > 0.01 || math.Abs(frequency-g.Frequency) > 0.01 {
					t.Errorf("%s x %g: growth %g at %g, want %g at %g", g.Axis, g.Factor, growth, frequency, g.Growth, g.Frequency)
				}
			}
		})
	}
}

func must(t *testing.T, v complex128, err error) complex128 {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// same compares scale*f with a curve written with three and two decimals.
func same(t *testing.T, what string, w []float64, want curve, scale float64, f func(float64) complex128) {
	t.Helper()
	if len(want.Gain) != len(w) {
		t.Fatalf("%s: the answer sheet has no curve", what)
	}
	for k, x := range w {
		h := f(x) * complex(scale, 0)
		gain, phase := 20*math.Log10(cmplx.Abs(h)), cmplx.Phase(h)/deg
		if math.Abs(gain-want.Gain[k]) > 0.01 || math.Abs(math.Remainder(phase-want.Phase[k], 360)) > 0.1 {
			t.Errorf("%s at %g rad/s: %.3f dB %.2f deg, want %.3f %.2f", what, x, gain, phase, want.Gain[k], want.Phase[k])
			return
		}
	}
}
