package wind

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

func analyse(t testing.TB, h *flight.Hop, flown flight.Span) Result {
	t.Helper()
	r, err := Analyse(context.Background(), h, flown, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestAgainstNumPy compares with testdata/wind/reference.py (NumPy 1.24.2, SciPy 1.10.1).
func TestAgainstNumPy(t *testing.T) {
	rows, _ := table(t, "../../testdata/wind/wind.csv")
	cols := make([][]float64, 4)
	for _, r := range rows {
		for i := range cols {
			cols[i] = append(cols[i], r[i])
		}
	}
	for i := range cols[3] {
		cols[3][i] *= degree
	}
	h := windHop(cols[0], nil, nil)
	h.Channels = []flight.Channel{
		{Quantity: flight.WindNorth, TimeS: cols[0], Value: cols[1], Source: 1, Column: "north", Sure: 1},
		{Quantity: flight.WindEast, TimeS: cols[0], Value: cols[2], Source: 1, Column: "east", Sure: 1},
		{Quantity: flight.Heading, TimeS: cols[0], Value: cols[3], Source: 0, Column: "heading", Sure: 1},
	}
	p := analyse(t, h, flight.Span{}).Whole
	_, text := table(t, "../../testdata/wind/reference.csv")
	ref, _ := table(t, "../../testdata/wind/reference.csv")
	got := map[string]*flight.Estimate{
		"mean_m_s": p.MeanMS, "sd_m_s": p.SDMS, "gust3s_m_s": p.Gust3sMS, "lull3s_m_s": p.Lull3sMS,
		"direction_rad": p.DirectionRad, "direction_sd_rad": p.DirectionSDRad,
		"direction_sd_yamartino_rad": p.DirectionSDYamartinoRad, "head_m_s": p.HeadMS, "cross_m_s": p.CrossMS,
	}
	seen := 0
	for i, line := range text {
		if e := got[line[0]]; e != nil {
			closeTo(t, line[0], e.Value, ref[i][1], 1e-9)
			seen++
		}
	}
	if seen != len(got) {
		t.Errorf("%d of %d references compared", seen, len(got))
	}
}

// TestGustOfSine has the closed form 3 s mean of a sine (REFERENCES: WMO-No. 8): the
// amplitude falls by sin(x)/x, x = pi f 3 s.
func TestGustOfSine(t *testing.T) {
	for _, c := range []struct{ hz, want float64 }{{0.1, 6.71679}, {0.2, 6.00910}} {
		ts := steps(6000, 0.1)
		v := make([]float64, len(ts))
		for i := range v {
			v[i] = 5 + 2*math.Sin(2*math.Pi*c.hz*ts[i])
		}
		p := analyse(t, windHop(ts, v, nil), flight.Span{}).Whole
		closeTo(t, "gust", p.Gust3sMS.Value, c.want, 1e-3)
		closeTo(t, "lull", p.Lull3sMS.Value, 10-c.want, 1e-3)
		closeTo(t, "spread", p.SpreadMS.Value, 2*(c.want-5), 2e-3)
		closeTo(t, "gust factor", p.GustFactor.Value, c.want/5, 1e-3)
		closeTo(t, "turbulence intensity", p.TurbulenceIntensity.Value, math.Sqrt2/5, 1e-3)
	}
}

func TestSlowSampling(t *testing.T) {
	// Highest 3-sample mean at 1 Hz by hand: (2+9+4)/3; lowest (1+2+3)/3.
	h := windHop(steps(6, 1), []float64{1, 2, 3, 2, 9, 4}, nil)
	r := analyse(t, h, flight.Span{})
	closeTo(t, "gust at 1 Hz", r.Whole.Gust3sMS.Value, 5, 1e-12)
	closeTo(t, "lull at 1 Hz", r.Whole.Lull3sMS.Value, 2, 1e-12)
	if !hasFinding(r, flight.CodeCoarse) {
		t.Error("1 Hz: no finding says how the gust was formed")
	}
	// Notes by hand, one a minute: no gust without a gust column.
	h = windHop(steps(5, 60), []float64{3, 4, 3, 5, 4}, nil)
	r = analyse(t, h, flight.Span{})
	if r.Whole.Gust3sMS != nil || r.Whole.SpreadMS != nil || r.Whole.GustFactor != nil {
		t.Error("a gust was given from readings a minute apart")
	}
	if r.Whole.Class != Steady {
		t.Errorf("class %q, want steady", r.Whole.Class)
	}
	gust := []float64{4, 7, math.NaN(), 6, 5}
	h.Channels = append(h.Channels, flight.Channel{Quantity: flight.WindSpeed, TimeS: steps(5, 60), Value: gust, Source: 1, Column: "Gust kt", Sure: 1})
	r = analyse(t, h, flight.Span{})
	closeTo(t, "mean beside gust column", r.Whole.MeanMS.Value, 3.8, 1e-12)
	closeTo(t, "noted gust", r.Whole.Gust3sMS.Value, 7, 0)
	if r.Whole.Class != Gusty {
		t.Errorf("noted 3 to 7 m/s: class %q, want gusty", r.Whole.Class)
	}
}

// TestEqualReadings: a logger that shows 2 m/s all the time has told nothing of how well
// the mean is known.
func TestEqualReadings(t *testing.T) {
	v := make([]float64, 600)
	for i := range v {
		v[i] = 2
	}
	p := analyse(t, windHop(steps(600, 0.25), v, nil), flight.Span{}).Whole
	closeTo(t, "mean", p.MeanMS.Value, 2, 0)
	closeTo(t, "spread", p.SpreadMS.Value, 0, 1e-12)
	if p.MeanMS.HasInterval() || p.SDMS.HasInterval() {
		t.Errorf("intervals from equal readings: %+v, %+v", p.MeanMS, p.SDMS)
	}
}

func TestNoWindSpeeds(t *testing.T) {
	h := windHop(steps(40, 0.25), make([]float64, 40), nil)
	v := h.Channels[0].Value
	for i := range v {
		v[i] = 3
	}
	v[4], v[5], v[6] = -2, 1e6, math.Inf(1)
	r := analyse(t, h, flight.Span{})
	closeTo(t, "mean", r.Whole.MeanMS.Value, 3, 1e-12)
	if r.Whole.Readings != 37 || !hasFinding(r, flight.CodeNotANumber) {
		t.Errorf("%d readings used, want 37 and a finding", r.Whole.Readings)
	}
}

func TestGapsAndNaN(t *testing.T) {
	// A gust cut by a gap may not be made whole: 2 s of 10 m/s on either side of 5 s.
	var ts, v []float64
	for i := range 400 {
		if x := float64(i) * 0.25; x < 50 || x >= 55 {
			ts = append(ts, x)
			s := 4.0
			if x >= 48 && x < 57 {
				s = 10
			}
			v = append(v, s)
		}
	}
	v[3] = math.NaN()
	p := analyse(t, windHop(ts, v, nil), flight.Span{}).Whole
	closeTo(t, "gust beside gap", p.Gust3sMS.Value, (2*10+1*4)/3.0, 1e-9)
	if p.Readings != len(v)-1 {
		t.Errorf("%d readings, want %d", p.Readings, len(v)-1)
	}
	r := analyse(t, windHop(ts, v, nil), flight.Span{FromS: 10, ToS: 90})
	if !hasFinding(r, flight.CodeWindShort) {
		t.Error("5 of 80 s missing within the flight: no finding")
	}
}

func TestCoverageOfFlight(t *testing.T) {
	ts := steps(400, 0.25)
	v := make([]float64, len(ts))
	for i := range v {
		v[i] = 3 + math.Sin(ts[i])
	}
	r := analyse(t, windHop(ts, v, nil), flight.Span{FromS: 20, ToS: 90})
	if hasFinding(r, flight.CodeWindShort) {
		t.Error("flight inside the record called short")
	}
	r = analyse(t, windHop(ts, v, nil), flight.Span{FromS: 60, ToS: 160})
	if !hasFinding(r, flight.CodeWindShort) {
		t.Error("60 of 100 s missing: no finding")
	}
	if r.Whole == nil || r.Whole.Span != (flight.Span{FromS: 60, ToS: 100}) {
		t.Errorf("whole %+v", r.Whole)
	}
	r = analyse(t, windHop(ts, v, nil), flight.Span{FromS: 200, ToS: 260})
	if !hasFinding(r, flight.CodeWindShort) || r.Whole != nil {
		t.Error("a record that ends before the flight has no wind of the flight")
	}
}

func TestNoWindNoClockOnBoard(t *testing.T) {
	r := analyse(t, &flight.Hop{}, flight.Span{})
	if r.Whole != nil || !hasFinding(r, flight.CodeMissing) {
		t.Error("no wind: want Whole nil and a finding")
	}
	ts := steps(2400, 0.25)
	v := firstOrder(rand.New(rand.NewPCG(1, 1)), len(ts), 0.25, 4)
	for i := range v {
		v[i] += 6
	}
	h := windHop(ts, v, nil)
	h.Sources[1].Clock.AlignedBy = flight.AlignNone
	r = analyse(t, h, flight.Span{FromS: 10, ToS: 20})
	if r.Whole == nil || r.Whole.Readings != len(v) || len(r.Phases) != 0 || !hasFinding(r, flight.CodeNoClock) {
		t.Error("unaligned clock: want the whole record, no phases and a finding")
	}
	h = windHop(ts, v, nil)
	h.Channels[0].Column = "wind_est_m_s"
	if r = analyse(t, h, flight.Span{}); !r.OnBoard {
		t.Error("estimate not flagged")
	}
	h.Channels = append(h.Channels, flight.Channel{Quantity: flight.WindSpeed, TimeS: ts, Value: v, Source: 0, Column: "mast", Sure: 0.5})
	if r = analyse(t, h, flight.Span{}); r.OnBoard {
		t.Error("a measured wind has to win over an estimate")
	}
}

func TestPhasesOfChangingAir(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	ts := steps(6000, 0.1)
	u := firstOrder(rng, len(ts), 0.1, 4)
	v := make([]float64, len(ts))
	for i := range v {
		switch {
		case ts[i] < 200:
			v[i] = 1 + 0.15*u[i]
		case ts[i] < 400:
			v[i] = 4 + 0.3*u[i]
		default:
			v[i] = 6 + 1.5*u[i]
		}
		v[i] = math.Abs(v[i])
	}
	r := analyse(t, windHop(ts, v, nil), flight.Span{})
	want := []Class{Calm, Steady, Gusty}
	if len(r.Phases) != len(want) {
		t.Fatalf("%d phases, want 3: %+v", len(r.Phases), r.Phases)
	}
	for i, p := range r.Phases {
		if p.Class != want[i] {
			t.Errorf("phase %d is %q, want %q", i, p.Class, want[i])
		}
		closeTo(t, "start", p.Span.FromS, 200*float64(i), 10)
	}
	if last := r.Phases[2].Span.ToS; last != r.Whole.Span.ToS {
		t.Errorf("the phases end at %g, the whole at %g", last, r.Whole.Span.ToS)
	}
}

// TestSteadyAirIsOnePhase: correlated air without a change must not be cut up.
func TestSteadyAirIsOnePhase(t *testing.T) {
	cut := 0
	const trials = 60
	for seed := range uint64(trials) {
		rng := rand.New(rand.NewPCG(seed, 2))
		ts := steps(2400, 0.25)
		v := firstOrder(rng, len(ts), 0.25, 5)
		for i := range v {
			v[i] += 6
		}
		if r := analyse(t, windHop(ts, v, nil), flight.Span{}); len(r.Phases) > 1 {
			cut++
		}
	}
	t.Logf("%d of %d steady records cut", cut, trials)
	if cut > trials/10 {
		t.Errorf("%d of %d steady records cut into phases", cut, trials)
	}
}

// TestMeanIntervalCovers: the 95 % interval of mean and spread holds the true ones.
func TestMeanIntervalCovers(t *testing.T) {
	const trials = 400
	for _, c := range []struct{ lengthS, scaleS float64 }{{600, 5}, {600, 12}, {240, 5}} {
		inMean, inSD, n := 0, 0, int(c.lengthS/0.25)
		for seed := range uint64(trials) {
			v := firstOrder(rand.New(rand.NewPCG(seed, 3)), n, 0.25, c.scaleS)
			m := effective(steps(n, 0.25), v, 0.25)
			if e := m.meanEstimate(); e.Low <= 0 && e.High >= 0 {
				inMean++
			}
			if e := m.sdEstimate(); e.Low <= 1 && e.High >= 1 {
				inSD++
			}
		}
		mean, sd := float64(inMean)/trials, float64(inSD)/trials
		t.Logf("%g s, time scale %g s: mean %.3f, sd %.3f", c.lengthS, c.scaleS, mean, sd)
		if mean < 0.92 || mean > 0.99 || sd < 0.90 || sd > 0.995 {
			t.Errorf("%g s, time scale %g s: coverage of mean %.3f, of sd %.3f", c.lengthS, c.scaleS, mean, sd)
		}
	}
}

func TestInvariants(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		seed := rapid.Uint64().Draw(rt, "seed")
		shift := rapid.Float64Range(-1000, 1000).Draw(rt, "shift")
		scale := rapid.Float64Range(0.2, 5).Draw(rt, "scale")
		turn := rapid.Float64Range(-7, 7).Draw(rt, "turn")
		rng := rand.New(rand.NewPCG(seed, 4))
		n := 600
		ts := steps(n, 0.25)
		u, d := firstOrder(rng, n, 0.25, 3), firstOrder(rng, n, 0.25, 3)
		ts2, v, v2, dir, dir2 := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range v {
			v[i] = math.Abs(5 + u[i])
			dir[i] = 1 + 0.3*d[i]
			ts2[i], v2[i], dir2[i] = ts[i]+shift, v[i]*scale, dir[i]+turn
		}
		a := analyse(t, windHop(ts, v, dir), flight.Span{}).Whole
		b := analyse(t, windHop(ts2, v2, dir2), flight.Span{}).Whole
		same := func(what string, x, y float64) {
			if math.Abs(x-y) > 1e-6*(1+math.Abs(x)) {
				rt.Errorf("%s: %g and %g", what, x, y)
			}
		}
		same("mean", a.MeanMS.Value*scale, b.MeanMS.Value)
		same("mean low", a.MeanMS.Low*scale, b.MeanMS.Low)
		same("sd", a.SDMS.Value*scale, b.SDMS.Value)
		same("gust", a.Gust3sMS.Value*scale, b.Gust3sMS.Value)
		same("intensity", a.TurbulenceIntensity.Value, b.TurbulenceIntensity.Value)
		same("intensity high", a.TurbulenceIntensity.High, b.TurbulenceIntensity.High)
		same("direction", 0, wrapPi(a.DirectionRad.Value+turn-b.DirectionRad.Value))
		same("direction sd", a.DirectionSDRad.Value, b.DirectionSDRad.Value)
		if !(a.Lull3sMS.Value <= a.MeanMS.Value && a.MeanMS.Value <= a.Gust3sMS.Value) {
			rt.Errorf("lull %g, mean %g, gust %g out of order", a.Lull3sMS.Value, a.MeanMS.Value, a.Gust3sMS.Value)
		}
	})
}

func BenchmarkAnalyse(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	ts := steps(12000, 0.05)
	v := firstOrder(rng, len(ts), 0.05, 5)
	dir := firstOrder(rng, len(ts), 0.05, 5)
	for i := range v {
		v[i] = math.Abs(v[i] + 5)
		dir[i] *= 0.2
	}
	h := windHop(ts, v, dir)
	for b.Loop() {
		analyse(b, h, flight.Span{FromS: 20, ToS: 580})
	}
}
