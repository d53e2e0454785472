package flight

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Conversion factors: knot, mile, foot, km/h from NIST SP 811 (2008), appendix B;
// rpm and degree from their definitions.
func TestUnitScale(t *testing.T) {
	for _, c := range []struct {
		unit    Unit
		written float64
		want    float64
		dim     Dimension
	}{
		{Knot, 17, 8.745555555555556, Speed},
		{MilePerH, 1, 0.44704, Speed},
		{KmPerH, 36, 10, Speed},
		{Foot, 10, 3.048, Length},
		{G, 1, 9.80665, Acceleration},
		{RPM, 60, 2 * math.Pi, RotationSpeed},
		{Deg, 180, math.Pi, Angle},
		{DegPerS, -90, -math.Pi / 2, AngularRate},
		{Percent, 100, 1, StickTravel},
		{MilliS, 1500, 1.5, Duration},
		{MicroS, 2e6, 2, Duration},
		{NanoS, 3e9, 3, Duration},
	} {
		k, dim, ok := c.unit.Scale()
		if !ok || dim != c.dim {
			t.Errorf("%s: dimension %v, known %v; want %v", c.unit, dim, ok, c.dim)
		}
		if got := c.written * k; math.Abs(got-c.want) > 1e-12*math.Abs(c.want) {
			t.Errorf("%g %s = %.15g SI, want %.15g", c.written, c.unit, got, c.want)
		}
	}
	for _, u := range []Unit{PulseUs, Counts, ISO8601, ClockTime, NoUnit} {
		if _, _, ok := u.Scale(); ok {
			t.Errorf("%q has a fixed scale, but none can be known", u)
		}
	}
}

func TestEveryQuantityCanBeShown(t *testing.T) {
	for _, q := range Quantities() {
		u, fromSI := q.ShownUnit()
		if q.Dimension() == NoDimension {
			t.Errorf("%s has no dimension", q)
		}
		if q.Dimension() == Pure {
			continue
		}
		toSI, dim, ok := u.Scale()
		if !ok || dim != q.Dimension() {
			t.Errorf("%s is shown in %s, which does not measure it", q, u)
		}
		if math.Abs(toSI*fromSI-1) > 1e-15 {
			t.Errorf("%s: %g to SI and %g back do not cancel", q, toSI, fromSI)
		}
	}
}

func TestAxisQuantities(t *testing.T) {
	for _, c := range []struct {
		axis            Axis
		att, rate, ctrl Quantity
	}{
		{RollAxis, Roll, RollRate, LatStick},
		{PitchAxis, Pitch, PitchRate, LonStick},
		{YawAxis, Heading, YawRate, Pedal},
		{Axis("none"), "", "", ""},
	} {
		if c.axis.Attitude() != c.att || c.axis.Rate() != c.rate || c.axis.Stick() != c.ctrl {
			t.Errorf("%s: %s, %s, %s", c.axis, c.axis.Attitude(), c.axis.Rate(), c.axis.Stick())
		}
	}
}

func TestClockGoesThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Clock{
			OffsetS:  rapid.Float64Range(-1e6, 1e6).Draw(t, "offset"),
			DriftPPM: rapid.Float64Range(-500, 500).Draw(t, "drift"),
		}
		hopTimeS := rapid.Float64Range(0, 3600).Draw(t, "hop time")
		stamp := c.OffsetS + (1+c.DriftPPM*1e-6)*hopTimeS
		// Resolution of a float64 near 1e6 s is 1.2e-10 s.
		if got := c.HopTimeS(stamp); math.Abs(got-hopTimeS) > 1e-9 {
			t.Fatalf("hop time %.12g comes back as %.12g", hopTimeS, got)
		}
	})
}

func TestEstimateTimes(t *testing.T) {
	e := Estimate{Value: 2, Low: 1, High: 4}.Times(-3)
	if e != (Estimate{Value: -6, Low: -12, High: -3}) {
		t.Errorf("2 (1 to 4) times -3 = %+v", e)
	}
	if Plain(1).HasInterval() {
		t.Error("a plain estimate claims an interval")
	}
}
