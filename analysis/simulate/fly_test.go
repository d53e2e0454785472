package simulate

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"hopcard/flight"
)

// scenario is a short hop with a bar, which hovers without a pilot.
func scenario(legs ...Leg) Scenario {
	return Scenario{
		Name: "test", Seed: 11, Head: BarHead("bar", 0.6), Pilot: BarPilot(), Sensors: UsualSensors(),
		Trim: UsualTrim(), Legs: Whole(false, legs...),
	}
}

// The steps of the simulation are checked by another integrator (fourth-order Runge-Kutta,
// a tenth of the step) driven with the sticks and the wind as flown.
func TestStepsAgainstRungeKutta(t *testing.T) {
	s := scenario(Leg{Kind: Doublet, Axis: flight.PitchAxis, LengthS: 1.6, Amplitude: 0.1},
		Leg{Kind: Doublet, Axis: flight.RollAxis, LengthS: 1.4, Amplitude: -0.08}, Leg{Kind: Hover, LengthS: 6})
	s.Head.Delta3Rad = 15 * deg // coupled axes
	s.Air = Air{Mean: Constant(4), DirectionFrom: Constant(0.8), Gusts: 5}
	f := Fly(s)
	hover := f.Truth.Legs[6].Span // the settling hover after lift-off
	start := int(hover.FromS/f.StepS) + 1
	n := f.Truth.Model.Order()
	step := newStepper(f.Truth.Model, f.StepS)
	y := make([]float64, n)
	for i := range y {
		y[i] = 0.01 * float64(i+1)
	}
	z := slices.Clone(y)
	for k := start; k < start+2000; k++ {
		a, b := inputsOf(f, float64(k)*f.StepS), inputsOf(f, float64(k+1)*f.StepS)
		step.step(y, &a, &b)
	}
	z = runge(f, z, start, start+2000)
	for i := range y {
		if d := math.Abs(y[i] - z[i]); d > 2e-7*(1+math.Abs(z[i])) {
			t.Errorf("state %d: %.9g by hold, %.9g by Runge-Kutta", i, y[i], z[i])
		}
	}
}

func inputsOf(f *Flight, tS float64) [4]float64 {
	d := f.Scenario.Head.DelayS
	return [4]float64{
		f.At(f.LonStick, tS-d) - f.Scenario.Trim.LonStick, f.At(f.LatStick, tS-d) - f.Scenario.Trim.LatStick,
		f.At(f.HeadWind, tS), f.At(f.WindFromRight, tS),
	}
}

func runge(f *Flight, x []float64, from, to int) []float64 {
	m, n := f.Truth.Model, len(x)
	h := f.StepS / 10
	slope := func(x []float64, tS float64) []float64 {
		in := inputsOf(f, tS)
		dx := make([]float64, n)
		m.Derivative(dx, x, &in)
		return dx
	}
	plus := func(x, d []float64, k float64) []float64 {
		y := slices.Clone(x)
		for i := range y {
			y[i] += k * d[i]
		}
		return y
	}
	for j := range (to - from) * 10 {
		t := float64(from)*f.StepS + float64(j)*h
		a := slope(x, t)
		b := slope(plus(x, a, h/2), t+h/2)
		c := slope(plus(x, b, h/2), t+h/2)
		d := slope(plus(x, c, h), t+h)
		for i := range x {
			x[i] += h / 6 * (a[i] + 2*b[i] + 2*c[i] + d[i])
		}
	}
	return x
}

// A long sine on one stick, flown without a pilot, is answered as the exact response says,
// dead time included, be it shorter than a step.
func TestSineIsAnsweredAsTheResponseSays(t *testing.T) {
	for _, c := range []struct{ omega, delayS float64 }{{1.3, 0.05}, {4, 0.0713}, {9, 0.05}, {9, 0}, {9, 0.0011}} {
		w := c.omega
		s := scenario(Leg{Kind: Sweep, Axis: flight.PitchAxis, LengthS: 90, Amplitude: 0.02, AmplitudeEnd: 0.02,
			FromRadS: w, ToRadS: w * (1 + 1e-9)})
		s.Pilot, s.Trim, s.Head.DelayS = Pilot{}, Trim{}, c.delayS
		s.Head.AdvanceRad += 12 * deg
		f := Fly(s)
		leg := f.Truth.Legs[len(f.Truth.Legs)-6].Span
		from, to := leg.FromS+25, leg.ToS-2
		stick := tone(f, f.LonStick, w, from, to)
		for _, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
			want := f.Truth.StickToAttitude(flight.PitchAxis, []float64{w})[0]
			if axis == flight.RollAxis {
				want = f.Truth.CrossToAttitude(flight.RollAxis, []float64{w})[0]
			}
			got := tone(f, f.Attitude(axis), w, from, to) / stick
			if d := cmplx.Abs(got-want) / cmplx.Abs(want); d > 1e-3 {
				t.Errorf("%s at %g rad/s, %g s: %.5g, want %.5g (%.2g of it off)", axis, w, c.delayS, got, want, d)
			}
		}
	}
}

// tone is the Fourier coefficient of a history at w, under the square of a Hann window that
// keeps the slow hover oscillation out.
func tone(f *Flight, y []float64, w, from, to float64) complex128 {
	var sum complex128
	for k := int(from / f.StepS); float64(k)*f.StepS < to; k++ {
		tS := float64(k) * f.StepS
		h := 0.5 - 0.5*math.Cos(2*math.Pi*(tS-from)/(to-from))
		sum += complex(h*h*y[k], 0) * cmplx.Exp(complex(0, -w*tS))
	}
	return sum
}

func TestRatesAreDerivativesOfAttitude(t *testing.T) {
	s := scenario(Leg{Kind: Doublet, Axis: flight.RollAxis, LengthS: 1.4, Amplitude: 0.1}, Leg{Kind: Hover, LengthS: 5})
	s.Air = Air{Mean: Constant(3), DirectionFrom: Constant(1), Gusts: 6}
	f := Fly(s)
	for _, c := range []struct {
		name           string
		attitude, rate []float64
	}{{"pitch", f.Pitch, f.PitchRate}, {"roll", f.Roll, f.RollRate}, {"heading", f.Heading, f.YawRate}} {
		worst := 0.0
		for k := 1; k+1 < f.Len(); k++ {
			d := (c.attitude[k+1] - c.attitude[k-1]) / (2 * f.StepS)
			worst = max(worst, math.Abs(d-c.rate[k]))
		}
		if worst > 2e-3 { // half a step of what the rate does at its fastest
			t.Errorf("%s: derivative off by %g rad/s", c.name, worst)
		}
	}
}

func TestNothingAnswersOnTheGround(t *testing.T) {
	f := Fly(scenario(Leg{Kind: Hover, LengthS: 5}))
	moved := 0.0
	for k := range f.Len() {
		tS := float64(k) * f.StepS
		if f.Truth.Flight.Contains(tS) {
			continue
		}
		moved = max(moved, math.Abs(f.LonStick[k]))
		if f.Height[k] != 0 || math.Abs(f.Pitch[k]-f.Scenario.Trim.GroundPitchRad) > 1e-9 && tS < f.Truth.Flight.FromS {
			t.Fatalf("at %g s on the ground: height %g, pitch %g", tS, f.Height[k], f.Pitch[k])
		}
	}
	if moved < 1 {
		t.Errorf("the control check reached %g of the travel, want the stops", moved)
	}
	at := map[flight.Axis]int{}
	for _, e := range f.Truth.AtEnd {
		if e.InFlight {
			t.Errorf("stick at its end in flight: %+v", e)
		}
		at[e.Axis]++
	}
	if at[flight.PitchAxis] != 2 || at[flight.RollAxis] != 2 {
		t.Errorf("ends touched: %v, want two of each", at)
	}
}

func TestSameSeedSameFlight(t *testing.T) {
	s := scenario(Leg{Kind: Shaking, Axis: flight.RollAxis, LengthS: 10, Amplitude: 0.05, FromRadS: 0.5, ToRadS: 12})
	s.Air = Air{Mean: Constant(3), DirectionFrom: Constant(1), Gusts: 6}
	a, b := Fly(s), Fly(s)
	for k, p := range a.histories() {
		if !slices.Equal(*p, *b.histories()[k]) {
			t.Fatalf("history %d differs between two flights of one seed", k)
		}
	}
	ha, hb := a.Hop(), b.Hop()
	for k := range ha.Channels {
		if !slices.Equal(ha.Channels[k].Value, hb.Channels[k].Value) {
			t.Fatalf("%s differs", ha.Channels[k].Quantity)
		}
	}
	s.Seed++
	if c := Fly(s); slices.Equal(a.Roll, c.Roll) || slices.Equal(a.WindNorth, c.WindNorth) {
		t.Error("another seed flies the same hop")
	}
}

// Without remnant and in still air a growing oscillation grows as the loop's fastest mode
// does: successive peaks against the truth.
func TestGrowthAsTheLoopSays(t *testing.T) {
	for _, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
		s := scenario(Leg{Kind: Rap, Axis: axis, LengthS: 0.12, Amplitude: 0.05},
			Leg{Kind: Growing, Axis: axis, LengthS: 25, GainFactor: 2.4, LimitRad: 9 * deg}, Leg{Kind: Hover, LengthS: 15})
		s.Head, s.Pilot = BareHead(), BarePilot()
		s.Pilot.Remnant = 0
		f := Fly(s)
		g := f.Truth.Growing[0]
		if !g.Passed || !g.PilotCoupled || g.PeakRad < 9*deg {
			t.Fatalf("%s: %+v", axis, g)
		}
		// Peaks of attitude over the last ten seconds.
		y := f.Attitude(axis)
		var times []float64
		for k := int((g.Span.ToS - 8) / f.StepS); k+1 < int(g.Span.ToS/f.StepS); k++ {
			if y[k] > y[k-1] && y[k] >= y[k+1] {
				times = append(times, float64(k)*f.StepS)
			}
		}
		n := len(times)
		if n < 3 {
			t.Fatalf("%s: %d peaks", axis, n)
		}
		w := 2 * math.Pi * float64(n-1) / (times[n-1] - times[0])
		if math.Abs(w-g.FrequencyRadS) > 0.02*g.FrequencyRadS {
			t.Errorf("%s: frequency %.3f, truth %.3f", axis, w, g.FrequencyRadS)
		}
		// Peak to trough removes trim and drift.
		growth := math.Log(swing(y, times[n-2], times[n-1], f.StepS)/swing(y, times[n-3], times[n-2], f.StepS)) /
			(times[n-1] - times[n-2])
		if math.Abs(growth-g.GrowthPerS) > 0.1*g.GrowthPerS {
			t.Errorf("%s: growth %.3f 1/s, truth %.3f", axis, growth, g.GrowthPerS)
		}
	}
}

// swing is the second difference of two peaks and the trough between them.
func swing(y []float64, from, to, stepS float64) float64 {
	a, b := int(math.Round(from/stepS)), int(math.Round(to/stepS))
	return y[a]/2 + y[b]/2 - slices.Min(y[a:b])
}

func TestAirframeThatGrowsByItself(t *testing.T) {
	s := scenario(Leg{Kind: HandsStill, Axis: flight.RollAxis, LengthS: 6, Destabilise: 3.6}, Leg{Kind: Hover, LengthS: 15})
	f := Fly(s)
	g := f.Truth.Growing[0]
	if g.PilotCoupled || !(g.GrowthPerS > 0.1) || g.PeakRad < 1*deg {
		t.Errorf("truth %+v", g)
	}
	// The stick of that axis stands still meanwhile.
	from, to := int(g.Span.FromS/f.StepS)+200, int(g.Span.ToS/f.StepS)
	if spread := slices.Max(f.LatStick[from:to]) - slices.Min(f.LatStick[from:to]); spread > 1e-4 {
		t.Errorf("stick moved by %g", spread)
	}
}

func TestHopCarriesEveryChannel(t *testing.T) {
	s := scenario(Leg{Kind: Hover, LengthS: 3})
	s.Air = Air{Mean: Constant(3), DirectionFrom: Constant(1), Gusts: 3}
	f := Fly(s)
	h := f.Hop()
	for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.Heading, flight.RollRate, flight.PitchRate,
		flight.YawRate, flight.AccelX, flight.AccelY, flight.AccelZ, flight.LonStick, flight.LatStick, flight.Collective,
		flight.RotorSpeed, flight.Height, flight.WindSpeed, flight.WindDirectionFrom} {
		c := h.Channel(q)
		if c == nil {
			t.Errorf("no %s", q)
			continue
		}
		if c.Len() < 100 || len(c.Value) != c.Len() || c.TimeS[0] != 0 {
			t.Errorf("%s: %d samples, %d stamps", q, len(c.Value), c.Len())
		}
	}
	if z := h.Channel(flight.AccelZ).Value[0]; math.Abs(z+flight.StandardGravity) > 0.5 {
		t.Errorf("at rest z reads %g", z)
	}
	if _, ok := h.CommonClock(h.Channel(flight.Roll), h.Channel(flight.WindSpeed)); !ok {
		t.Error("wind and attitude have no common clock")
	}
	s.Sensors.StickHz = 50
	if got := Fly(s).Hop().Channel(flight.LonStick).RateHz(); math.Abs(got-50) > 1e-6 {
		t.Errorf("stick at %g Hz", got)
	}
}

func TestFlyPanicsOnNonsense(t *testing.T) {
	for name, s := range map[string]Scenario{
		"no head":   {Legs: []Leg{{Kind: Hover, LengthS: 1}}},
		"no length": {Head: BareHead(), Legs: []Leg{{Kind: Hover}}},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			Fly(s)
		}()
	}
}

// 573 s of flight take 1.0 s (1/570) on two cores with four other jobs on them, amd64.
func BenchmarkFly(b *testing.B) {
	s := scenario(Leg{Kind: Hover, LengthS: 520})
	s.Air = Air{Mean: Constant(3), DirectionFrom: Constant(1), Gusts: 6}
	for b.Loop() {
		Fly(s)
	}
}
