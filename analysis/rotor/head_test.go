package rotor

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

const deg = math.Pi / 180

func TestLockNumber(t *testing.T) {
	// Worked by hand from rho a c R^4 / I_b: 1.225*5.7*0.18*3.2^4/20.
	near(t, "Lock number", LockNumber(1.225, 5.7, 0.18, 3.2, 20), 6.5895, 1e-4)
}

func TestDiscTime(t *testing.T) {
	for _, c := range []struct{ gamma, omega, want float64 }{
		// 16/(gamma Omega); azimuth 16/gamma rad.
		{6, 52, 0.0512821}, {5, 55, 0.0581818}, {8, 30, 0.0666667},
	} {
		near(t, "following time", DiscTimeS(c.gamma, c.omega), c.want, 1e-7)
	}
	near(t, "as azimuth, deg", DiscTimeS(6, 52)*52/deg, 152.79, 0.01)
	near(t, "as revolutions", DiscTimeS(6, 52)*52/(2*math.Pi), 0.4244, 1e-4)
}

// A steady pitch rate leaves the disc behind by 16 q/(gamma Omega) (Amer, NACA TN 2136,
// 1950; Bramwell, ARC R&M 3104): 0.58182 deg at 10 deg/s for gamma 5, Omega 55.
func TestDiscLagInSteadyPitchRate(t *testing.T) {
	m := mustModel(t, teetering())
	// da/dt = 0 with q alone: a = -tau q, read off the disc's row.
	a := -m.A[DiscAft][PitchRate] / m.A[DiscAft][DiscAft] * 10
	near(t, "lag of the disc, deg", a, -0.58182, 1e-5)
}

func TestPitchDamping(t *testing.T) {
	h := teetering()
	// Gessow and Amer, NACA TN 1982 (1949): Mq = -(m g h/Iy) tau_f.
	near(t, "Ma", h.PitchStiffnessPerS2(), 15.50677, 1e-5)
	near(t, "Mq", -h.PitchStiffnessPerS2()*h.DiscTimeS(), -0.902212, 1e-6)
}

func TestFlapFrequency(t *testing.T) {
	near(t, "nu^2 at 5 percent", FlapFrequencySquared(0.05), 1.0789474, 1e-7)
	near(t, "nu at 5 percent", math.Sqrt(FlapFrequencySquared(0.05)), 1.0387239, 1e-7)
	// A published worked note has 1.116 for 13.5 in of 96.
	near(t, "nu at 13.5/96", math.Sqrt(FlapFrequencySquared(13.5/96)), 1.116, 5e-4)
	near(t, "nu_e^2", EffectiveFlapFrequencySquared(0, 6, 18*deg), 1.243690, 1e-6)
	near(t, "teetering", FlapFrequencySquared(0), 1, 0)
}

func TestLagAndGain(t *testing.T) {
	// offset chosen so that nu^2 = 1 + 3e/(2(1-e)) is the tabled one.
	offset := func(nu2 float64) float64 { x := (nu2 - 1) * 2 / 3; return x / (1 + x) }
	for _, c := range []struct{ nu2, gamma, delta3, lag, gain float64 }{
		{1, 5, 0, 90, 1},          // teetering: 90 deg
		{1, 6, 18, 72, 0.951057},  // common practice: 18 deg of delta3, 72 deg of lag
		{1, 6, 45, 45, 0.707107},  // not without control
		{1, 6, -20, 110, 0.93969}, // flap up adds pitch
		{1.078947, 8, 0, 85.486, 0.996897},
		{1.21, 8, 0, 78.140, 0.978654},
		{1.2544, 8, 0, 75.727, 0.969137}, // cos of its lag's complement
		{1.078947, 6, 10, 74.273, 0.962566},
	} {
		lag, gain := LagAndGain(offset(c.nu2), c.gamma, c.delta3*deg)
		near(t, "lag deg", lag/deg, c.lag, 1e-3)
		near(t, "gain", gain, c.gain, 1e-5)
	}
	// Hingeless heads, nu 1.10 to 1.12: 75 to 80 deg (Leishman, ch. 4).
	for _, nu := range []float64{1.10, 1.11, 1.12} {
		if lag, _ := LagAndGain(offset(nu*nu), 8, 0); lag/deg < 75 || lag/deg > 80 {
			t.Errorf("nu %g: lag %.2f deg, want 75 to 80", nu, lag/deg)
		}
	}
}

// For a teetering head the lag is 90 deg less delta3 and the gain cos(delta3), whatever the
// blades.
func TestTeeteringLagIsNinetyLessDelta3(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		gamma := rapid.Float64Range(1, 12).Draw(rt, "gamma")
		d := rapid.Float64Range(-60, 60).Draw(rt, "delta3") * deg
		lag, gain := LagAndGain(0, gamma, d)
		if math.Abs(lag-(math.Pi/2-d)) > 1e-12 || math.Abs(gain-math.Cos(d)) > 1e-12 {
			rt.Fatalf("lag %g gain %g", lag, gain)
		}
	})
}

func TestFlapBackWithSpeed(t *testing.T) {
	h := Head{RadiusM: 3, RotorSpeedRadS: 55}
	// Seddon and Newman 8.3.1: about 1 deg per 10 m/s.
	near(t, "deg per 10 m/s", 10*h.SpeedTiltRadPerMS()/deg, 1.0417, 1e-4)
}

func TestBarTime(t *testing.T) {
	// A bar of Lock number gamma_bar = 8 n follows in 16/(gamma_bar Omega): 0.5, 55 rad/s.
	n := 0.5 / 8
	inertia := 1.225 * 5.7 * 0.1 * (math.Pow(0.8, 4) - math.Pow(0.6, 4)) / (4 * n)
	near(t, "bar", BarTimeS(1.225, 5.7, 0.1, 0.6, 0.8, inertia, 55), 0.581818, 1e-6)
	light, heavy := BarInertiaKgM2(0.16, 0.45, 0.8), BarInertiaKgM2(0.16, 1.15, 0.8)
	if !(heavy > light) {
		t.Error("more weight must mean more inertia, and a slower bar")
	}
	near(t, "inertia", light, 0.16+2*0.45*0.64, 1e-12)
	near(t, "time goes with inertia",
		BarTimeS(1.2, 5, 0.1, 0.5, 0.8, heavy, 50)/BarTimeS(1.2, 5, 0.1, 0.5, 0.8, light, 50), heavy/light, 1e-12)
}

func TestLagThroughBar(t *testing.T) {
	h := teetering()
	near(t, "direct", h.LagRad()/deg, 90, 1e-9)
	near(t, "through the bar", h.LagThroughBarRad()/deg, 180, 1e-9)
}

// With hinge offset the hub passes on a moment, (b/2) I_b Omega^2 (nu^2 - 1) per tilt, over
// that of the tilted thrust.
func TestHubMomentOfAHinge(t *testing.T) {
	h := teetering()
	thrust := 230 * flight.StandardGravity * 1.1
	near(t, "teetering", h.PitchStiffnessPerS2()*160, thrust, 1e-9)
	h.HingeOffset, h.Blades, h.FlapInertiaKgM2 = 0.05, 3, 20
	near(t, "hinged", h.PitchStiffnessPerS2()*160, thrust+1.5*20*55*55*0.0789474, 0.1)
}

// A swashplate phasing error of +10 deg answers an aft stick with right tilt; the swashplate
// turned back by 10 deg does not.
func TestSenseOfThePhasingError(t *testing.T) {
	h := teetering()
	h.AdvanceRad += 10 * deg
	if r := mustModel(t, h).B[DiscRight][LonStick]; r <= 0 {
		t.Errorf("right tilt per aft stick %g, want positive", r)
	}
	h.AdvanceRad -= 10 * deg
	near(t, "in phase", mustModel(t, h).B[DiscRight][LonStick], 0, 1e-12)
}

func TestCheckRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Head)
		want   string
	}{
		{"no mass", func(h *Head) { h.MassKg = 0 }, "mass"},
		{"not a number", func(h *Head) { h.LockNumber = math.NaN() }, "Lock number"},
		{"infinite", func(h *Head) { h.RadiusM = math.Inf(1) }, "radius"},
		{"hinge", func(h *Head) { h.HingeOffset = 0.6 }, "hinge"},
		{"delta3", func(h *Head) { h.Delta3Rad = 2 }, "delta3"},
		{"delay", func(h *Head) { h.DelayS = -0.1 }, "delay"},
		{"bar", func(h *Head) { h.BarToBlade = 0.5 }, "bar"},
		{"drag", func(h *Head) { h.XuPerS = math.NaN() }, "parameter"},
	} {
		h := teetering()
		c.change(&h)
		_, err := NewModel(h)
		if !errors.Is(err, ErrNotPhysical) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one about %s", c.name, err, c.want)
		}
	}
}

// teetering is the light example whose modes are worked out in modes_test.go.
func teetering() Head {
	return Head{
		RadiusM: 3, RotorSpeedRadS: 55, LockNumber: 5, MassKg: 230, HubHeightM: 1.1, PitchInertiaKgM2: 160,
		RollInertiaKgM2: 160, AdvanceRad: math.Pi / 2, ThrowRad: 8 * deg, XuPerS: -0.03, YvPerS: -0.03, StickToBlade: 1,
	}
}

func mustModel(t *testing.T, h Head) *Model {
	t.Helper()
	m, err := NewModel(h)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func configuration() flight.Configuration {
	return flight.Configuration{
		Name: "light bar", RotorSpeedRPM: 506, MassKg: 240, HubHeightM: 1.15, RollInertiaKgM2: 68, PitchInertKgM2: 135,
		RotorRadiusM: 3.1, BladeChordM: 0.17, FlapInertiaKg: 23.8, AdvanceDeg: 90, CyclicThrowDeg: 8,
		Bar: &flight.Bar{WeightKg: 0.45, WeightAtM: 0.8, InertiaKgM2: 0.16, PaddleChordM: 0.12,
			PaddleFromM: 0.55, PaddleToM: 0.75, BarToBlade: 0.5, StickToBlade: 0.6, StickToPaddle: 1},
	}
}

func TestFromConfiguration(t *testing.T) {
	h, assumed, err := FromConfiguration(configuration(), Surroundings{})
	if err != nil {
		t.Fatal(err)
	}
	// By hand: 1.225*5.7*0.17*3.1^4/23.8; 2/(n Omega) with n from the paddles.
	near(t, "Lock number", h.LockNumber, 1.225*5.7*0.17*92.3521/23.8, 1e-9)
	n := 1.225 * 5.7 * 0.12 * (0.31640625 - 0.09150625) / (4 * 0.736)
	near(t, "bar", h.BarTimeS, 2/(n*506*2*math.Pi/60), 1e-9)
	all := strings.Join(assumed, "; ")
	for _, want := range []string{"density", "lift slope", "drag", "dead time", "small angles"} {
		if !strings.Contains(all, want) {
			t.Errorf("assumptions %q do not mention %s", all, want)
		}
	}
	c := configuration()
	c.Bar.FollowingTimeS = 0.9
	if h, _, _ := FromConfiguration(c, Surroundings{}); h.BarTimeS != 0.9 {
		t.Errorf("bench value not used: %g", h.BarTimeS)
	}
	c = configuration()
	c.Delta3Deg, c.AdvanceDeg = 18, 0
	h, _, _ = FromConfiguration(c, Surroundings{})
	near(t, "assumed advance angle", h.AdvanceRad/deg, 72, 1e-9)
}

func TestFromConfigurationNamesWhatIsMissing(t *testing.T) {
	c := configuration()
	c.MassKg, c.Bar.WeightAtM, c.Bar.StickToBlade, c.Bar.StickToPaddle = 0, 0, 0, 0
	_, _, err := FromConfiguration(c, Surroundings{})
	var missing *MissingError
	if !errors.As(err, &missing) {
		t.Fatalf("error %v", err)
	}
	want := "mass_kg, bar.stick_to_blade or bar.stick_to_paddle, bar.weight_at_m"
	if got := strings.Join(missing.Keys, ", "); got != want {
		t.Errorf("missing %q, want %q", got, want)
	}
	c = configuration()
	c.MassKg = -5
	if _, _, err := FromConfiguration(c, Surroundings{}); !errors.Is(err, ErrNotPhysical) {
		t.Errorf("negative mass: %v", err)
	}
}
