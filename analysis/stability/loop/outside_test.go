package loop

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// TestStillAir: where nothing but the pilot's own hand moves the aircraft there is no pilot and
// there are no margins, whatever the noise of the sensors; the aircraft alone stays.
func TestStillAir(t *testing.T) {
	const deg = math.Pi / 180
	s := drawHop(108, 120, false)
	s.Air = simulate.Air{Mean: simulate.Constant(0), DirectionFrom: simulate.Constant(0)}
	f := simulate.Fly(s)
	for _, c := range []struct {
		name  string
		dress func(*simulate.Sensors)
	}{
		{"usual sensors", func(*simulate.Sensors) {}},
		{"noisy attitude", func(s *simulate.Sensors) { s.AttitudeNoiseRad = 0.3 * deg }},
		{"noisy attitude without rates", func(s *simulate.Sensors) { s.AttitudeNoiseRad, s.AttitudeHz, s.NoRates = 0.3*deg, 20, true }},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := *f
			f.Scenario.Sensors.NoWind = true
			c.dress(&f.Scenario.Sensors)
			h := f.Hop()
			segs, _ := segment.Find(h)
			r := analyseWith(t, h, segs, exactResponses(&f))
			if len(r.Margins) != 2 || len(r.Findings) != 2 {
				t.Fatalf("%d margins, findings %v", len(r.Margins), r.Findings)
			}
			for i, m := range r.Margins {
				if m.Pilot != nil || m.CrossoverRadS != nil || m.PhaseMarginDeg != nil || m.GainMarginDB != nil || m.GainLowDB != nil || m.Loop != nil {
					t.Errorf("%s: %+v", m.Axis, m)
				}
				if len(m.Assumed) != 3 || m.Assumed[0].MostGainPerRad == nil || m.Assumed[0].GainMarginDB != nil {
					t.Errorf("%s: assumed %+v", m.Axis, m.Assumed)
				}
				if !strings.Contains(r.Findings[i].Advice, "breeze") {
					t.Error(r.Findings[i])
				}
			}
		})
	}
}

// TestOutsideShare: stick and v white and apart, attitude k times the stick plus v, of which
// the share is 1/(1+k^2 S/V); noise of the sensor that is taken for v comes off again.
func TestOutsideShare(t *testing.T) {
	const n = 12000
	for _, c := range []struct{ k, v, noise, want float64 }{
		{0.5, 1, 0, 0.8}, {1, 1, 0, 0.5}, {2, 0.5, 0, 1.0 / 17}, {1, 0, 0, 0}, {1, 0, 0.3, 0}, {1, 1, 0.5, 1 / 2.25},
	} {
		rng := rand.New(rand.NewPCG(5, 8))
		r := &record{stick: make([]float64, n), attitude: make([]float64, n), noise: make([]float64, n), rows: [][2]int{{0, n}}}
		for i := range n {
			r.stick[i], r.noise[i] = rng.NormFloat64(), c.noise*rng.NormFloat64()
			r.attitude[i] = c.k*r.stick[i] + c.v*rng.NormFloat64() + r.noise[i]
		}
		// The noise is white on the grid here: what the weight would have taken off is put back.
		r.highStick, r.highAttitude = r.stick, r.attitude
		h := &aircraft{w: []float64{0.4, 6}, lnGain: []float64{math.Log(c.k), math.Log(c.k)}, phase: []float64{0, 0}, sd: []float64{0, 0}}
		p := &predictor{own: ownBins(), seen: seenBins()}
		p.theta = make([]float64, len(p.own)+len(p.seen)+integrals)
		y := &fitted{form: form{gain: 0.1}, root: *mat.NewTriDense(formParameters, mat.Lower, nil)}
		o, known, err := outsideOf(context.Background(), r, p, y, h)
		if err != nil || !known {
			t.Fatal(known, err)
		}
		// The weight leaves three quarters of the power between 15 and 25 rad/s, so that white
		// noise on the grid counts for a third more than it is.
		tol := 0.03 + 0.4*c.noise*c.noise/(c.k*c.k+c.v*c.v+c.noise*c.noise)
		near(t, "share", o.share, c.want, tol)
	}
}

// TestOutsideUnknown: without the aircraft, or with a record too short for two windows, nothing
// is known.
func TestOutsideUnknown(t *testing.T) {
	p := &predictor{own: ownBins(), seen: seenBins()}
	p.theta = make([]float64, len(p.own)+len(p.seen)+integrals)
	y := &fitted{form: form{gain: 0.1}, root: *mat.NewTriDense(formParameters, mat.Lower, nil)}
	short := make([]float64, 120)
	r := &record{stick: short, attitude: short, highStick: short, highAttitude: short, noise: short, rows: [][2]int{{0, len(short)}}}
	h := &aircraft{w: []float64{0.4, 6}, lnGain: []float64{0, 0}, phase: []float64{0, 0}, sd: []float64{0, 0}}
	for name, craft := range map[string]*aircraft{"no aircraft": nil, "short": h} {
		if _, known, err := outsideOf(context.Background(), r, p, y, craft); known || err != nil {
			t.Error(name, known, err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	long := make([]float64, 1000)
	r = &record{stick: long, attitude: long, highStick: long, highAttitude: long, noise: long, rows: [][2]int{{0, len(long)}}}
	if _, _, err := outsideOf(ctx, r, p, y, h); err == nil {
		t.Error("no error after the context ended")
	}
	// A stick and an attitude that stand still have no share.
	if _, known, err := outsideOf(context.Background(), r, p, y, h); known || err != nil {
		t.Error("all still:", known, err)
	}
}

// TestHann holds the transform of the weight against its sum.
func TestHann(t *testing.T) {
	const width, n = 0.16, 20000
	for _, w := range []float64{0, 0.5, 5, 20, 2 * math.Pi / width, 50, 4 * math.Pi / width} {
		var sum, total float64
		for i := range n {
			x := (float64(i)+0.5)/n - 0.5
			g := 1 + math.Cos(2*math.Pi*x)
			sum += g * math.Cos(w*width*x)
			total += g
		}
		near(t, "hann", hann(w, width), sum/total, 1e-6)
	}
}

// TestIntervalWithoutSamples: no samples, or too few, make no estimate, and no panic.
func TestIntervalWithoutSamples(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	many := func(v float64, n int) []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = v
		}
		return x
	}
	for _, c := range []struct {
		name    string
		value   float64
		samples []float64
		given   bool
	}{
		{"none", 1, nil, false}, {"empty", 1, []float64{}, false}, {"one", 1, []float64{1}, false},
		{"all NaN", 1, many(nan, draws), false}, {"all infinite", 1, many(inf, draws), false},
		{"too few", 1, many(1, leastSamples-1), false}, {"just enough", 1, many(1, leastSamples), true},
		{"a fifth NaN", 1, append(many(1, 320), many(nan, 80)...), false},
		{"no value", nan, many(1, draws), false}, {"endless value", inf, many(1, draws), false},
	} {
		if e := interval(c.value, c.samples); (e != nil) != c.given {
			t.Errorf("%s: %v", c.name, e)
		}
	}
	if q := quantile(nil, 0.5); q == q {
		t.Error("a quantile of nothing:", q)
	}
	// An aircraft without samples, and a phase margin without an interval.
	o := &one{axis: flight.RollAxis, craft: &aircraft{w: []float64{1, 2}, lnGain: []float64{0, 0}, phase: []float64{0, -1}, sd: []float64{0, 0}},
		pilot: &fitted{form: form{gain: 1}, root: *mat.NewTriDense(formParameters, mat.Lower, nil)}}
	if s := o.drawLoops(marks{}, 0); len(s.phaseDeg) != 0 {
		t.Error("samples from nothing")
	}
	o.reachDown(nil, marks{})
	e := flight.Estimate{Value: 40, Low: 30, High: 50}
	o.reachDown(&e, marks{})
	if e != (flight.Estimate{Value: 40, Low: 30, High: 50}) {
		t.Error("the interval moved without samples:", e)
	}
	if a := o.assumed(0.3); a.MostGainPerRad != nil || a.CrossoverRadS != nil || a.PhaseMarginDeg != nil || a.GainMarginDB != nil {
		t.Errorf("%+v", a)
	}
}
