package identify

import (
	"errors"
	"math"
	"strings"
	"testing"

	"hopcard/analysis/rotor"
)

func TestChange(t *testing.T) {
	c := paper(true)
	to, list, err := Change(c, []string{"bar.weight_kg=0.7", " rotor_speed_rpm = 480 "})
	if err != nil || to.Bar.WeightKg != 0.7 || to.RotorSpeedRPM != 480 || c.Bar.WeightKg != 0.45 {
		t.Fatalf("%+v, %v; the first is %+v", to, err, c.Bar)
	}
	if len(list) != 2 || list[0] != (Changed{"bar.weight_kg", 0.45, 0.7}) {
		t.Errorf("%+v", list)
	}
	for set, want := range map[string]string{
		"bar.wieght_kg=1":                 `no dimension is called "bar.wieght_kg"; did you mean "bar.weight_kg"?`,
		"bar.weight_kg":                   "write it as key=value",
		"bar.weight_kg=heavy":             `"heavy" is no number`,
		"bar.weight_kg=NaN":               `"NaN" is no number`,
		"mass_kg=250 mass_kg=240":         "is no number",
		"bar.weight_kg=1;bar.weight_kg=2": "is no number",
	} {
		if _, _, err := Change(c, []string{set}); !errors.Is(err, ErrChange) || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", set, err)
		}
	}
	if _, _, err := Change(c, []string{"mass_kg=1", "mass_kg=2"}); !errors.Is(err, ErrChange) || !strings.Contains(err.Error(), "changed twice") {
		t.Errorf("twice: %v", err)
	}
	if _, _, err := Change(paper(false), []string{"bar.weight_kg=1"}); !errors.Is(err, ErrChange) || !strings.Contains(err.Error(), "has no bar") {
		t.Errorf("no bar: %v", err)
	}
}

// A change goes through the dimensions as a ratio: the bar of the paper is 1.4783 times slower
// with 0.7 kg (inertia 0.16 + 2 m 0.64), and so is the flown one; a rotor a tenth slower makes
// disc and bar follow a tenth later, and what is not changed stays as flown.
func TestChangeIsARatio(t *testing.T) {
	a := drawAircraft(8, true)
	r := fitted(t, a.paper, whole(a.truth).debrief(t, "one"))
	carried := func(sets ...string) rotor.Head {
		t.Helper()
		to, _, err := Change(a.paper, sets)
		if err != nil {
			t.Fatal(err)
		}
		h, err := r.head(a.truth, to)
		if err != nil {
			t.Fatal(err)
		}
		return h
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s %g, want %g", what, got, want)
		}
	}
	same := carried()
	near("following time unchanged", same.BarTimeS, a.truth.BarTimeS)
	near("advance unchanged", same.AdvanceRad, a.truth.AdvanceRad)
	near("dead time unchanged", same.DelayS, a.truth.DelayS)
	heavy := carried("bar.weight_kg=0.7")
	near("heavier bar", heavy.BarTimeS, a.truth.BarTimeS*(0.16+2*0.7*0.64)/(0.16+2*0.45*0.64))
	near("its disc", heavy.DiscTimeS(), a.truth.DiscTimeS())
	slow := carried("rotor_speed_rpm=455.4")
	near("slower rotor, disc", slow.DiscTimeS(), a.truth.DiscTimeS()/0.9)
	near("slower rotor, bar", slow.BarTimeS, a.truth.BarTimeS/0.9)
	near("slower rotor, flap-back", slow.SpeedTiltRadPerMS(), a.truth.SpeedTiltRadPerMS()/0.9)
	turned := carried("advance_angle_deg=84")
	near("swashplate turned", turned.AdvanceRad, a.truth.AdvanceRad-6/perDeg)
	hinge := carried("delta3_deg=18")
	near("hinge turned", hinge.PhasingErrorRad(), a.truth.PhasingErrorRad()+18/perDeg)
}

// A following time measured on the bench moves with what is changed.
func TestBenchTimeMovesWithTheBar(t *testing.T) {
	a := drawAircraft(9, true)
	a.paper.Bar.FollowingTimeS = 0.5
	r := fitted(t, a.paper, whole(a.truth).debrief(t, "one"))
	to, _, err := Change(a.paper, []string{"bar.weight_kg=0.7"})
	if err != nil {
		t.Fatal(err)
	}
	h, err := r.head(a.truth, to)
	if want := a.truth.BarTimeS * (0.16 + 2*0.7*0.64) / (0.16 + 2*0.45*0.64); err != nil || math.Abs(h.BarTimeS-want) > 1e-9 {
		t.Errorf("%g, %v; want %g", h.BarTimeS, err, want)
	}
	// Without the dimensions of the paddles nothing says by how much.
	a.paper.Bar.PaddleChordM = 0
	r = fitted(t, a.paper, whole(a.truth).debrief(t, "one"))
	to, _, _ = Change(a.paper, []string{"bar.weight_kg=0.7"})
	if _, err := r.head(a.truth, to); !errors.Is(err, ErrChange) || !strings.Contains(err.Error(), "following_time_s goes before") {
		t.Errorf("error %v", err)
	}
	to, _, _ = Change(a.paper, []string{"rotor_speed_rpm=455.4"})
	if h, err := r.head(a.truth, to); err != nil || math.Abs(h.BarTimeS-a.truth.BarTimeS/0.9) > 1e-9 {
		t.Errorf("slower rotor: %g, %v", h.BarTimeS, err)
	}
}

// Where the hops' advance angle is not given, a hinge turned shows as a phasing error, and a
// change to an advance angle is not known.
func TestChangeWithoutAdvanceAngle(t *testing.T) {
	a := drawAircraft(10, false)
	a.paper.AdvanceDeg = 0
	r := fitted(t, a.paper, whole(a.truth).debrief(t, "one"))
	if p := r.of("phasing_error"); p.Estimate == nil || !math.IsNaN(p.Dimensions) || p.Agreement != Unknown {
		t.Errorf("%+v", p)
	}
	to, _, _ := Change(a.paper, []string{"delta3_deg=10"})
	h, err := r.head(a.truth, to)
	if want := a.truth.PhasingErrorRad() + 10/perDeg; err != nil || math.Abs(h.PhasingErrorRad()-want) > 1e-9 {
		t.Errorf("%g, %v; want %g", h.PhasingErrorRad(), err, want)
	}
	to, _, _ = Change(a.paper, []string{"advance_angle_deg=80"})
	if _, err := r.Forecast(to); !errors.Is(err, ErrChange) {
		t.Errorf("error %v", err)
	}
}
