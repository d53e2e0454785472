package identify

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/analysis/rotor"
	"hopcard/flight"
	"hopcard/importers"
)

// Hops flown by the simulator and measured as any other: of machines that are off their
// dimensions the truth lies in the intervals, and so does that of a changed one. (60 drawn
// machines a case: see the study.)
func TestFlownHops(t *testing.T) {
	outside, all := 0, 0
	for _, bar := range []bool{false, true} {
		a := drawAircraft(21, bar)
		r := fitted(t, a.paper, a.fly(31, true, false))
		for _, q := range quantities(r.Dimensions, a.surroundings()) {
			p, want := r.of(q.key), q.of(a.truth)
			if p.Estimate == nil {
				t.Errorf("bar %t: %s is not told: %s", bar, q.key, p.Reason)
				continue
			}
			all++
			if want < p.Estimate.Low || want > p.Estimate.High {
				outside++
				t.Logf("bar %t: %s %+v, truth %g", bar, q.key, *p.Estimate, want)
			}
			if e := p.Estimate; q.positive && e.High/e.Low > 3 {
				t.Errorf("bar %t: %s %+v tells too little", bar, q.key, *e)
			}
		}
		f, err := r.Forecast(a.change())
		if err != nil {
			t.Fatal(err)
		}
		truth := a.changedTruth(t, r, a.change())
		for i, row := range f.Rows {
			if row.Changed == nil || math.IsNaN(truth[i]) {
				continue
			}
			all++
			if truth[i] < row.Changed.Low-1e-9 || truth[i] > row.Changed.High+1e-9 {
				outside++
				t.Logf("bar %t: %s %+v, truth %g", bar, row.Name, *row.Changed, truth[i])
			}
		}
	}
	// One of twenty lies outside on average; those of one hop hang together.
	if all < 60 || outside > all/10 {
		t.Errorf("%d of %d truths lie outside", outside, all)
	}
}

// sheet is the part of an answer sheet that says what was flown.
type sheet struct {
	Response struct {
		Airframe struct {
			R, Omega, Gamma, M, H, Iyy, Ixx, Kb, Kp, Ks, Delta3, Ku float64
			TauB                                                    float64 `json:"tau_b"`
			PsiAdv                                                  float64 `json:"psi_adv"`
			Throw                                                   float64 `json:"full_throw_deg"`
			TauC                                                    float64 `json:"tau_c"`
		}
	}
}

// The simulated hops by another hand: dimensions a tenth off, the flown numbers found.
func TestSharedHops(t *testing.T) {
	const dir = "../../../shared/hops"
	for _, name := range []string{"h01", "h06"} {
		data, err := os.ReadFile(filepath.Join(dir, name+".truth.json"))
		if err != nil {
			t.Skip("the simulated hops are not here")
		}
		var s sheet
		if err := json.Unmarshal(data, &s); err != nil {
			t.Fatal(err)
		}
		c, truth := s.machine()
		h, err := importers.ReadHop(t.Context(), filepath.Join(dir, name), importers.Options{})
		if err != nil {
			t.Fatal(err)
		}
		aircraft, _, err := flight.AircraftFor(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		d, err := debrief.Run(t.Context(), h, aircraft, nil)
		if err != nil {
			t.Fatal(err)
		}
		r := fitted(t, c, d)
		outside, told := 0, 0
		for _, q := range quantities(r.Dimensions, rotor.Surroundings{}) {
			p, want := r.of(q.key), q.of(truth)
			if p.Estimate == nil {
				t.Logf("%s: %s is not told: %s", name, q.key, p.Reason)
				continue
			}
			told++
			t.Logf("%s: %s %.4g (%.4g to %.4g), truth %.4g, dimensions %.4g", name, q.key, p.Estimate.Value, p.Estimate.Low, p.Estimate.High, want, p.Dimensions)
			if want < p.Estimate.Low || want > p.Estimate.High {
				outside++
			}
		}
		if told < 6 || outside > 1 {
			t.Errorf("%s: %d of %d truths lie outside", name, outside, told)
		}
	}
}

// machine is what was flown, and the same on paper with what is hard to measure a tenth off.
func (s sheet) machine() (flight.Configuration, rotor.Head) {
	a := s.Response.Airframe
	truth := rotor.Head{
		RadiusM: a.R, RotorSpeedRadS: a.Omega, LockNumber: a.Gamma, MassKg: a.M, HubHeightM: a.H, RollInertiaKgM2: a.Ixx,
		PitchInertiaKgM2: a.Iyy, Delta3Rad: a.Delta3 / perDeg, AdvanceRad: a.PsiAdv / perDeg, ThrowRad: a.Throw / perDeg,
		BarTimeS: a.TauB, BarToBlade: a.Kb, StickToPaddle: a.Kp, StickToBlade: a.Ks, DelayS: a.TauC, SpeedTilt: rotor.DefaultSpeedTilt,
	}
	c := flight.Configuration{
		Name: "paper", RotorSpeedRPM: a.Omega * 60 / (2 * math.Pi), MassKg: a.M, HubHeightM: a.H, RollInertiaKgM2: 1.1 * a.Ixx, PitchInertKgM2: 0.9 * a.Iyy,
		RotorRadiusM: a.R, BladeChordM: 0.2, LiftSlope: 5.7, Delta3Deg: a.Delta3, AdvanceDeg: a.PsiAdv, CyclicThrowDeg: a.Throw,
		FlapInertiaKg: 1.225 * 5.7 * 0.2 * math.Pow(a.R, 4) / (1.1 * a.Gamma),
	}
	if a.TauB > 0 {
		c.Bar = &flight.Bar{FollowingTimeS: 0.9 * a.TauB, BarToBlade: a.Kb, StickToBlade: a.Ks, StickToPaddle: a.Kp}
	} else {
		truth.StickToBlade = 1
	}
	return c, truth
}
