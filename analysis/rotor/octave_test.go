package rotor

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"testing"

	"hopcard/flight"
)

// testdata/rotor/room.json is made by testdata/rotor/room.m: eigenvalues, responses and the
// most gain of a pilot, by GNU Octave and its control package (versions in the file).
func TestAgainstOctave(t *testing.T) {
	data, err := os.ReadFile("../../testdata/rotor/room.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Omega []float64 `json:"omega_rad_s"`
		Heads []struct {
			Name        string
			Eigenvalues [][2]float64
			Axes        map[flight.Axis]struct {
				Re, Im []float64
				Most   []float64 `json:"most_gain_per_rad"`
			}
		}
	}
	if err := json.Unmarshal(data, &ref); err != nil || len(ref.Heads) != 2 {
		t.Fatalf("%d heads, %v", len(ref.Heads), err)
	}
	bare := Head{Name: "bare", RadiusM: 3.1, RotorSpeedRadS: 53, LockNumber: 4.6, MassKg: 240, HubHeightM: 1.15, RollInertiaKgM2: 68,
		PitchInertiaKgM2: 135, AdvanceRad: math.Pi / 2, ThrowRad: 8 * deg, XuPerS: -0.03, YvPerS: -0.03, StickToBlade: 1, DelayS: 0.05}
	bar := Head{Name: "bar", RadiusM: 3.2, RotorSpeedRadS: 50, LockNumber: 5.2, MassKg: 260, HubHeightM: 1.2, RollInertiaKgM2: 72,
		PitchInertiaKgM2: 150, AdvanceRad: math.Pi / 2, ThrowRad: 7 * deg, XuPerS: -0.03, YvPerS: -0.03, StickToBlade: 0.6, StickToPaddle: 1,
		BarToBlade: 0.5, BarTimeS: 0.7, DelayS: 0.08}
	for i, h := range []Head{bare, bar} {
		r := ref.Heads[i]
		if r.Name != h.Name {
			t.Fatalf("head %q", r.Name)
		}
		p, err := PredictHead(h)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range r.Eigenvalues {
			wantMode(t, p.Model, complex(e[0], e[1]), 1e-8*(1+math.Hypot(e[0], e[1])))
		}
		for axis, in := range map[flight.Axis]Input{flight.RollAxis: LatStick, flight.PitchAxis: LonStick} {
			state, of := Roll, p.Roll
			if axis == flight.PitchAxis {
				state, of = Pitch, p.Pitch
			}
			a := r.Axes[axis]
			for k, got := range p.Model.Response(in, state, ref.Omega) {
				if want := complex(a.Re[k], a.Im[k]); cmplx.Abs(got-want) > 1e-9*cmplx.Abs(want) {
					t.Errorf("%s %s at %g rad/s: %v, want %v", h.Name, axis, ref.Omega[k], got, want)
				}
			}
			for k, room := range of.Pilots {
				near(t, h.Name+" "+string(axis)+": most gain", room.MostGainPerRad, a.Most[k], 2e-3*a.Most[k])
			}
		}
	}
}
