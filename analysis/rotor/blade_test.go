package rotor

import (
	"math"
	"math/cmplx"
	"testing"
)

// The lag of blades and bar worked out from the flapping equation itself, in azimuth,
//
//	beta” + gamma/8 beta' + (nu^2 + gamma/8 tan delta3) beta = gamma/8 theta
//
// (Johnson, Helicopter Theory, 1980, 5-2, from memory), integrated until it is steady: a
// teetering head answers 90 deg after its pitch, one with 18 deg of delta3 72 deg after it, a
// hingeless one 75 to 80 deg, and a teetering head whose pitch is the flapping of a bar about
// 180 deg after the paddles (common practice; FAA-H-8083-21A 2-16 for the 90 deg).
func TestLagFromTheFlappingEquation(t *testing.T) {
	for _, c := range []struct {
		name                 string
		nu2, gamma, delta3   float64
		low, high, gain, tol float64
	}{
		{"teetering", 1, 6, 0, 90, 90, 1, 1e-6},
		{"hinge at 18 deg", 1, 6, 18 * deg, 72, 72, math.Cos(18 * deg), 1e-6},
		{"hingeless, nu 1.10", 1.21, 8, 0, 75, 80, 0.978654, 1e-5},
		{"hingeless, nu 1.12", 1.2544, 8, 0, 75, 80, 0.969137, 1e-5},
	} {
		lag, gain := steadyFlapping(c.nu2, c.gamma, c.delta3, math.Cos)
		if lag < c.low-1e-3 || lag > c.high+1e-3 {
			t.Errorf("%s: lag %.4f deg, want %g to %g", c.name, lag, c.low, c.high)
		}
		near(t, c.name+": gain", gain, c.gain, c.tol)
	}
	// A bar's paddles damp it little: Lock number 0.5. Its lag is 90 deg all the same.
	barLag, barGain := steadyFlapping(1, 0.5, 0, math.Cos)
	near(t, "bar", barLag, 90, 1e-3)
	both, _ := steadyFlapping(1, 6, 0, func(psi float64) float64 { return barGain * math.Cos(psi-barLag*deg) })
	h := teetering()
	near(t, "through the bar", both, h.LagThroughBarRad()/deg, 0.01)
	near(t, "through the bar", both, 180, 0.01)
}

// steadyFlapping integrates the flapping (Runge and Kutta, fourth order) under a pitch of once
// per revolution until the start is forgotten, and takes lag in deg and gain off the last
// turn by its Fourier coefficients.
func steadyFlapping(nu2, gamma, delta3 float64, pitch func(psi float64) float64) (lagDeg, gain float64) {
	const perTurn = 720
	step := 2 * math.Pi / perTurn
	d := gamma / 8
	k := nu2 + d*math.Tan(delta3)
	beta, rate := 0.0, 0.0
	slope := func(psi, b, r float64) (float64, float64) { return r, d*pitch(psi) - d*r - k*b }
	turns := int(math.Ceil(40/d/(2*math.Pi))) + 1
	var cos, sin float64
	for i := range turns * perTurn {
		psi := float64(i) * step
		if i >= (turns-1)*perTurn {
			cos += beta * math.Cos(psi) * 2 / perTurn
			sin += beta * math.Sin(psi) * 2 / perTurn
		}
		b1, r1 := slope(psi, beta, rate)
		b2, r2 := slope(psi+step/2, beta+b1*step/2, rate+r1*step/2)
		b3, r3 := slope(psi+step/2, beta+b2*step/2, rate+r2*step/2)
		b4, r4 := slope(psi+step, beta+b3*step, rate+r3*step)
		beta += step / 6 * (b1 + 2*b2 + 2*b3 + b4)
		rate += step / 6 * (r1 + 2*r2 + 2*r3 + r4)
	}
	lagDeg = math.Atan2(sin, cos) / deg
	if lagDeg < 0 {
		lagDeg += 360
	}
	return lagDeg, math.Hypot(cos, sin)
}

// The following time of the disc from the same equation: free flapping of a teetering blade
// dies away with the real part of its roots, gamma/16 a radian of azimuth (REFERENCES RO-2). A
// published unmanned helicopter with a rotor of ten feet follows in about 0.046 s, its bar in
// about 0.34 s (Mettler, Kanade and Tischler, CMU-RI-TR-00-03, 2000, figures from memory): its
// bar follows seven times later than the disc, those of light helicopters five to ten times.
func TestFollowingTimesAreOfTheirSize(t *testing.T) {
	const gamma, omega = 6.0, 52.0
	root := (complex(-gamma/8, 0) + cmplx.Sqrt(complex(gamma*gamma/64-4, 0))) / 2
	near(t, "following time", DiscTimeS(gamma, omega), -1/(real(root)*omega), 1e-12)
	p := predict(t, configuration())
	if ratio := p.BarTimeS / p.DiscTimeS; ratio < 5 || ratio > 10 {
		t.Errorf("the bar follows %.1f times later than the disc", ratio)
	}
}
