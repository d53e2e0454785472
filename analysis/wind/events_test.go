package wind

import (
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

func TestReversals(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		x    []float64
		want int
	}{
		{nil, 0},
		{[]float64{0, 0.1, 0.2, 0.3}, 0},
		{[]float64{0, 0.1, 0}, 1},
		{[]float64{0, 0.1, 0.09, 0.1, 0.2}, 0}, // less than 2 % of travel
		{[]float64{0, 0.1, 0, 0.1, 0}, 3},
		{[]float64{0, -0.1, 0, -0.1}, 2},
		{[]float64{0, 0.1, nan, 0, 0.1}, 0},
		{[]float64{0, 0.01, 0.02, 0.03, 0.02, 0.01, 0}, 1},
	} {
		if got := reversals(c.x, reversalFraction); got != c.want {
			t.Errorf("%v: %d reversals, want %d", c.x, got, c.want)
		}
	}
}

// stickHop adds sticks and attitudes at 20 Hz, on the attitude's source, to a wind hop.
func stickHop(h *flight.Hop, lat, roll func(tS float64) float64, lengthS float64) {
	ts := steps(int(lengthS*20), 0.05)
	add := func(q flight.Quantity, f func(float64) float64) {
		v := make([]float64, len(ts))
		for i := range v {
			v[i] = f(ts[i])
		}
		h.Channels = append(h.Channels, flight.Channel{Quantity: q, TimeS: ts, Value: v, Source: 0, Column: string(q), Sure: 1})
	}
	add(flight.LatStick, lat)
	add(flight.LonStick, func(float64) float64 { return 0 })
	add(flight.Roll, roll)
	add(flight.Pitch, func(float64) float64 { return 0 })
	add(flight.Heading, func(float64) float64 { return 0 })
}

// TestClassTable has stick work and motion in closed form: a sine of amplitude A and
// frequency w has rms A/sqrt2, speed rms A w/sqrt2 and two reversals per period.
func TestClassTable(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	ts := steps(2400, 0.25)
	u := firstOrder(rng, len(ts), 0.25, 4)
	v := make([]float64, len(ts))
	for i := range v {
		v[i] = math.Abs(1 + 0.1*u[i])
		if ts[i] >= 300 {
			v[i] = math.Abs(6 + 1.3*u[i])
		}
	}
	const w = 2 * math.Pi / 4.13 // not a whole number of readings
	h := windHop(ts, v, nil)
	stickHop(h, func(t float64) float64 {
		if t < 310 { // later than any place the change of air may be put
			return 0.1 * math.Sin(w*t)
		}
		return 0.95 * math.Sin(w*t)
	}, func(t float64) float64 { return 0.2 + 0.05*math.Sin(w*t) }, 600)
	r := analyse(t, h, flight.Span{FromS: 20, ToS: 580})
	if len(r.Classes) != 2 || r.Classes[0].Class != Calm || r.Classes[1].Class != Gusty {
		t.Fatalf("classes %+v", r.Classes)
	}
	calm, gusty := r.Classes[0], r.Classes[1]
	closeTo(t, "time calm", calm.TimeS, 280, 9)
	closeTo(t, "time in all", calm.TimeS+gusty.TimeS, 560, 1e-9)
	closeTo(t, "mean calm", calm.MeanMS, 1, 0.1)
	closeTo(t, "roll rms", calm.Motion[0].AttitudeRMS, 0.05/math.Sqrt2, 2e-4)
	closeTo(t, "largest roll change", calm.Motion[0].LargestAttitudeChange, 0.05, 1e-3)
	if !math.IsNaN(calm.Motion[0].RateRMS) {
		t.Error("a rate that was not logged")
	}
	k := calm
	closeTo(t, "stick rms", k.Work[0].RMS, 0.1/math.Sqrt2, 1e-3)
	closeTo(t, "stick speed", k.Work[0].RateRMSPerS, 0.1*w/math.Sqrt2, 1e-3)
	closeTo(t, "reversals a minute", k.Work[0].ReversalsPerMin, 2*60/4.13, 0.5)
	closeTo(t, "never near a stop", k.Work[0].NearStopShare, 0, 0)
	closeTo(t, "left", k.Work[0].LeftFraction, 0.9, 1e-3)
	// |sin| > 0.9/0.95 for 2/pi acos(0.9/0.95) of the time.
	closeTo(t, "near a stop", gusty.Work[0].NearStopShare, 2/math.Pi*math.Acos(0.9/0.95), 0.015)
}

// TestEventAverage plants an answer of known shape: after each gust of cross wind roll
// swings as 0.02 rad per m/s times a damped wave.
func TestEventAverage(t *testing.T) {
	const n, dt = 6000, 0.1
	rng := rand.New(rand.NewPCG(9, 9))
	shape := func(t float64) float64 {
		if t < 0 {
			return 0
		}
		return math.Exp(-t/1.5) * math.Sin(2*math.Pi*t/8)
	}
	g := grid{0, dt, n}
	a := answers{g: g, stick: true}
	for i := range a.x {
		a.x[i] = make([]float64, n)
	}
	var size []float64
	for at := 10.0; at < 580; at += 15 {
		k := (1 + rng.Float64()) * math.Copysign(1, rng.Float64()-0.5)
		size = append(size, k)
		for i := range n {
			d := g.at(i) - at
			a.x[crossGust][i] += k * math.Exp(-d*d/0.18)
			a.x[rollOut][i] += 0.02*k*shape(d) + 0.0005*rng.NormFloat64()/float64(len(size))
			a.x[latStick][i] -= 0.01 * k * shape(d-0.3)
		}
	}
	e := a.events(flight.RollAxis, crossGust, rollOut, latStick)
	if e == nil || len(e.GustMS) != len(size) {
		t.Fatalf("events %+v, want %d", e, len(size))
	}
	// The gust is averaged over one second and loses the slow wind: its size shrinks by
	// a known factor, the same for all.
	shrink := e.GustMS[0] / size[0]
	peak := 0.0
	for d := 0.0; d < 4; d += 0.01 {
		peak = math.Max(peak, shape(d))
	}
	closeTo(t, "peak", e.PeakRadPerMS.Value*shrink, 0.02*peak, 0.02*0.02)
	closeTo(t, "time to peak", e.TimeToPeakS.Value, 1.1, 0.2)
	if e.SettleS == nil || e.SettleS.Value < 3 || e.SettleS.Value > 8 {
		t.Errorf("settles %+v", e.SettleS)
	}
	// A fifth of the peak is left at 3.2 s; the gust itself takes half a second.
	if e.SettleAfterS < 2.2 || e.SettleAfterS > 3.5 {
		t.Errorf("settles after %g s, want nearly 3.2 s and no more", e.SettleAfterS)
	}
	closeTo(t, "stick", e.StickPeakPerMS*shrink, -0.01*peak, 0.001)
	if !(e.PeakRadPerMS.Low < e.PeakRadPerMS.Value && e.PeakRadPerMS.Value < e.PeakRadPerMS.High) {
		t.Errorf("peak interval %+v", e.PeakRadPerMS)
	}

	for i := range a.x[rollOut] { // no answer, only noise
		a.x[rollOut][i] = rng.NormFloat64()
	}
	if e = a.events(flight.RollAxis, crossGust, rollOut, latStick); e.PeakRadPerMS != nil {
		t.Errorf("an answer out of noise: %+v", e.PeakRadPerMS)
	}
}

// TestSumClasses adds up rows by hand: 100 s and 300 s.
func TestSumClasses(t *testing.T) {
	nan := math.NaN()
	a := []ClassRow{
		{Class: Calm, TimeS: 50, MeanMS: 1, SDMS: 0.1, SpreadMS: nan},
		{Class: Gusty, TimeS: 100, MeanMS: 4, SDMS: 1, SpreadMS: 3,
			Motion: []Motion{{flight.PitchAxis, 0.02, nan, 0.1}},
			Work:   []Work{{flight.PitchAxis, 0.1, 0.2, 30, 0, 0.4}}},
	}
	b := []ClassRow{{Class: Gusty, TimeS: 300, MeanMS: 8, SDMS: 2, SpreadMS: 5,
		Motion: []Motion{{flight.PitchAxis, 0.04, 0.3, 0.05}},
		Work:   []Work{{flight.PitchAxis, 0.2, 0.4, 50, 0.02, 0.1}}}}
	rows := SumClasses(a, b)
	if len(rows) != 2 || rows[0].Class != Calm || !math.IsNaN(rows[0].SpreadMS) || rows[0].TimeS != 50 {
		t.Fatalf("%+v", rows)
	}
	g := rows[1]
	for what, x := range map[string][2]float64{
		"time": {g.TimeS, 400}, "mean": {g.MeanMS, 7}, "sd": {g.SDMS, math.Sqrt(3.25)}, "spread": {g.SpreadMS, 5},
		"attitude": {g.Motion[0].AttitudeRMS, math.Sqrt((0.0004 + 3*0.0016) / 4)}, "rate": {g.Motion[0].RateRMS, 0.3},
		"largest": {g.Motion[0].LargestAttitudeChange, 0.1}, "stick": {g.Work[0].RMS, math.Sqrt((0.01 + 3*0.04) / 4)},
		"turns": {g.Work[0].ReversalsPerMin, 45}, "near": {g.Work[0].NearStopShare, 0.015}, "left": {g.Work[0].LeftFraction, 0.1},
	} {
		closeTo(t, what, x[0], x[1], 1e-12)
	}
}

// TestActivityWithoutWind: no wind logged, motion and stick work are still given, without
// a class.
func TestActivityWithoutWind(t *testing.T) {
	h := windHop(steps(10, 1), make([]float64, 10), nil)
	h.Channels = nil
	stickHop(h, func(t float64) float64 { return 0.1 * math.Sin(t) }, func(t float64) float64 { return 0.2 * math.Sin(t) }, 200)
	h.Sources[0].Clock.AlignedBy = flight.AlignSingle
	r := analyse(t, h, flight.Span{FromS: 20, ToS: 180})
	if r.Whole != nil || r.Activity == nil || r.Activity.Class != "" || len(r.Activity.Work) != 2 {
		t.Fatalf("%+v", r.Activity)
	}
	closeTo(t, "roll", r.Activity.Motion[0].AttitudeRMS, 0.2/math.Sqrt2, 2e-3)
	closeTo(t, "turns", r.Activity.Work[0].ReversalsPerMin, 60/math.Pi, 0.5)
}
