package response

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

func analyse(t *testing.T, h *flight.Hop, segs []flight.Segment) Analysis {
	t.Helper()
	a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func hasFinding(a Analysis, code flight.Code, severity flight.Severity) bool {
	return slices.ContainsFunc(a.Findings, func(f flight.Finding) bool { return f.Code == code && f.Severity == severity })
}

func result(t *testing.T, a Analysis, axis flight.Axis, out Output) Result {
	t.Helper()
	for _, r := range a.Responses {
		if r.Axis == axis && r.Output == out {
			return r
		}
	}
	t.Fatalf("no %s %s response; findings %v", axis, out, a.Findings)
	return Result{}
}

func expect(t *testing.T, what string, got *flight.Estimate, want, tol float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s: none, want %.4g", what, want)
		return
	}
	if !(got.Low <= got.Value && got.Value <= got.High) {
		t.Errorf("%s = %.4g outside its own interval %.4g to %.4g", what, got.Value, got.Low, got.High)
	}
	// One interval in twenty misses; none should miss by half its width again.
	reach := 0.75 * (got.High - got.Low)
	if math.Abs(got.Value-want) > min(tol, reach) {
		t.Errorf("%s = %.4g (%.4g to %.4g), want %.4g to %.2g", what, got.Value, got.Low, got.High, want, tol)
	}
}

// Through everything, two loggers, their rates, a pilot in the loop and gusts, a rate type
// K e^(-0.08 s)/(s (0.25 s + 1)) must give the numbers of its closed form (3 %), with the
// truth inside the interval. The gain at 2 rad/s is K/(2 |1 + 0.5 j|).
func TestRateTypeEndToEnd(t *testing.T) {
	p := defaultPlant()
	h, segs := p.fly()
	a := analyse(t, h, segs)
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		r := result(t, a, axis, Attitude)
		expect(t, string(axis)+" phase bandwidth", r.BandwidthPhaseRadS, 2.60400, 0.03*2.604)
		expect(t, string(axis)+" w180", r.W180RadS, 6.71526, 0.03*6.715)
		expect(t, string(axis)+" gain bandwidth", r.BandwidthGainRadS, 4.41544, 0.03*4.415)
		expect(t, string(axis)+" phase delay", r.PhaseDelayS, 0.058447, 0.005)
		// Both read the same phase beyond w180: they err together, and not alike.
		if c := r.BandwidthDelayCorrelation; c == 0 || math.Abs(c) > 0.99 {
			t.Errorf("%s: bandwidth and phase delay correlate by %g", axis, c)
		}
		rate := result(t, a, axis, Rate)
		if len(rate.Lag) != 4 || rate.Lag[3].At != "w180" || math.Abs(rate.Lag[3].FrequencyRadS/6.71526-1) > 0.03 {
			t.Fatalf("%s: phase lags %v, want them at 0.5, 1, 2 Hz and w180", axis, rate.Lag)
		}
		for _, l := range rate.Lag {
			w := l.FrequencyRadS
			want := -(w*0.08 + math.Atan(0.25*w)) * degPerRad
			expect(t, "phase lag", &l.PhaseDeg, want, 3)
			expect(t, "phase lag as time", &l.TimeS, -want/degPerRad/w, 3/degPerRad/w)
		}
		k := nearestFrequency(rate.FrequencyRadS, 2)
		if want := 20 * math.Log10(p.gain/math.Hypot(1, 0.25*rate.FrequencyRadS[k])*degPerRad/100); math.Abs(rate.GainDB[k]-want) > 0.3 {
			t.Errorf("%s gain at 2 rad/s %.2f dB, want %.2f", axis, rate.GainDB[k], want)
		}
	}
}

func nearestFrequency(ws []float64, w float64) int {
	best := 0
	for k := range ws {
		if math.Abs(ws[k]-w) < math.Abs(ws[best]-w) {
			best = k
		}
	}
	return best
}

// A delay of 0.08 s and, as stepped, 9 ms of lag: the correlation peaks at 0.089 s, with its interval
// over it. Behind a following time the peak comes later than the delay.
func TestCorrelationLag(t *testing.T) {
	p := defaultPlant()
	p.pilotGain, p.lag = 0, 0.01
	h, segs := p.fly()
	r := result(t, analyse(t, h, segs), flight.PitchAxis, Rate)
	expect(t, "correlation lag", r.CorrelationLagS, 0.089, 0.002)
	expect(t, "weighted correlation lag", r.WeightedCorrelationLagS, 0.089, 0.002)
	p.lag = 0.25
	h, segs = p.fly()
	if slow := result(t, analyse(t, h, segs), flight.PitchAxis, Rate).CorrelationLagS; slow == nil || slow.Value < 0.15 {
		t.Errorf("behind a following time of 0.25 s the lag is %v, want above 0.15 s", slow)
	}
}

// The clock of the stick late by 0.3 s makes the motion lead: found, and every time withheld.
func TestLeadsStick(t *testing.T) {
	p := defaultPlant()
	p.pilotGain, p.lag = 0.2, 0.05
	p.stickShiftS = 0.3
	h, segs := p.fly()
	a := analyse(t, h, segs)
	if !hasFinding(a, flight.CodeLeadsStick, flight.Stop) {
		t.Fatalf("no leads-stick finding in %v", a.Findings)
	}
	for _, r := range a.Responses {
		if r.CorrelationLagS != nil || r.PhaseDelayS != nil || r.BandwidthRadS != nil || len(r.Lag) > 0 || r.Model != nil {
			t.Errorf("%s %s gives times", r.Axis, r.Output)
		}
	}
}

// A pilot who holds the aircraft in gusts, without test inputs, follows it: the correlation
// has a peak at negative lag, but that is no aircraft that leads its stick.
func TestRegulationIsNotALead(t *testing.T) {
	for _, gain := range []float64{0.3, 0.8, 1.2} {
		p := defaultPlant()
		p.sweep, p.gust, p.pilotGain = 0, 0.03, gain
		h, segs := p.fly()
		segs = segs[1:2]
		a := analyse(t, h, segs)
		if hasFinding(a, flight.CodeLeadsStick, flight.Stop) {
			t.Errorf("pilot gain %g: leads-stick in %v", gain, a.Findings)
		}
		for _, r := range a.Responses {
			if r.CorrelationLagS != nil && r.CorrelationLagS.Value < 0 {
				t.Errorf("pilot gain %g: correlation lag %.3f s", gain, r.CorrelationLagS.Value)
			}
		}
	}
}

// Gusts and no test input: coherence is high because the pilot answers the aircraft, and the
// ratio of spectra is his inverse, 20 to 40 deg off. What is still given must be right: the
// response to twice its error, rms, each number to its interval and half as much again.
func TestRegulationGivesNothingWrong(t *testing.T) {
	for seed := uint64(1); seed <= 9; seed++ {
		s := simulate.DrawGusty(seed, seed%2 == 0, 180, 0, 0)
		if seed > 6 {
			// An anemometer upwind that sees half of the gusts' energy.
			s = simulate.DrawGusty(seed, seed%2 == 0, 180, 15, 0.5)
		}
		f := simulate.Fly(s)
		h := f.Hop()
		if seed <= 6 {
			h.Channels = slices.DeleteFunc(h.Channels, func(c flight.Channel) bool { return c.Quantity == flight.WindSpeed })
		}
		segs, _ := segment.Find(h)
		for _, r := range analyse(t, h, segs).Responses {
			if r.Axis == flight.YawAxis || r.Output == Rate {
				continue
			}
			in, out, b := rotor.LonStick, rotor.Pitch, f.Truth.PitchBandwidth
			if r.Axis == flight.RollAxis {
				in, out, b = rotor.LatStick, rotor.Roll, f.Truth.RollBandwidth
			}
			var n, square float64
			for k, want := range f.Truth.Model.Response(in, out, r.FrequencyRadS) {
				if r.Coherence[k] > 0.8 {
					d := cmplx.Abs(r.H[k]/want-1) / (r.PhaseSDDeg[k] / degPerRad)
					n, square = n+1, square+d*d/2
				}
			}
			if n > 0 && math.Sqrt(square/n) > 2 {
				t.Errorf("hop %d %s: response off by %.1f standard deviations rms at %.0f points", seed, r.Axis, math.Sqrt(square/n), n)
			}
			for what, v := range map[string]struct {
				e    *flight.Estimate
				want float64
			}{
				"w180": {r.W180RadS, b.W180RadS}, "phase bandwidth": {r.BandwidthPhaseRadS, b.BandwidthPhaseRadS},
				"gain bandwidth": {r.BandwidthGainRadS, b.BandwidthGainRadS}, "phase delay": {r.PhaseDelayS, b.PhaseDelayS},
				"dead time": {r.TransportDelayS, s.Head.DelayS},
			} {
				if v.e == nil {
					continue
				}
				if reach := (v.e.High - v.e.Low) / 4; !(v.e.Low-reach <= v.want && v.want <= v.e.High+reach) {
					t.Errorf("hop %d %s %s = %.3g (%.3g to %.3g), truth %.3g", seed, r.Axis, what, v.e.Value, v.e.Low, v.e.High, v.want)
				}
			}
			if r.EffectiveDelayS != nil && r.EffectiveDelayS.High < s.Head.DelayS {
				t.Errorf("hop %d %s: effective delay %.3f s below the dead time %.3f s alone", seed, r.Axis, r.EffectiveDelayS.Value, s.Head.DelayS)
			}
		}
	}
}

func TestWhatCannotBeMeasured(t *testing.T) {
	base, segs := defaultPlant().fly()
	still := defaultPlant()
	still.motionless = true
	dead, _ := still.fly()
	quiet := defaultPlant()
	quiet.sweep, quiet.pilotGain = 0, 0
	calm, _ := quiet.fly()
	ground := []flight.Segment{{Kind: flight.Ground, Span: flight.Span{FromS: 0, ToS: 50}},
		{Kind: flight.ControlCheck, Span: flight.Span{FromS: 50, ToS: 150}}}
	noStick := *base
	noStick.Channels = slices.DeleteFunc(slices.Clone(base.Channels), func(c flight.Channel) bool {
		return c.Quantity == flight.LatStick || c.Quantity == flight.LonStick
	})
	noClock := *base
	noClock.Sources = slices.Clone(base.Sources)
	noClock.Sources[1].Clock.AlignedBy = flight.AlignNone
	nothing := *base
	nothing.Channels = slices.Clone(base.Channels)
	for i := range nothing.Channels {
		v := make([]float64, len(base.Channels[i].Value))
		for k := range v {
			v[k] = math.NaN()
		}
		nothing.Channels[i].Value = v
	}
	flat := *base
	flat.Channels = slices.Clone(base.Channels)
	for i := range flat.Channels {
		flat.Channels[i].Value = make([]float64, len(base.Channels[i].Value))
	}
	short := *base
	short.Exclude = []flight.Span{{FromS: 0, ToS: 30}, {FromS: 37, ToS: 150}}
	for _, c := range []struct {
		name     string
		h        *flight.Hop
		segs     []flight.Segment
		code     flight.Code
		severity flight.Severity
	}{
		{"on the ground", base, ground, flight.CodeNoResponse, flight.Stop},
		{"no segments", base, nil, flight.CodeNoResponse, flight.Stop},
		{"rotor stopped", dead, segs, flight.CodeNoResponse, flight.Stop},
		{"stick not moved", calm, segs, flight.CodeStickStill, flight.Caution},
		{"no stick logged", &noStick, segs, flight.CodeMissing, flight.Caution},
		{"clocks not aligned", &noClock, segs, flight.CodeNoClock, flight.Stop},
		{"too short", &short, segs, flight.CodeNotMeasurable, flight.Caution},
		{"not a number anywhere", &nothing, segs, flight.CodeNotMeasurable, flight.Caution},
		{"all channels zero", &flat, segs, flight.CodeStickStill, flight.Caution},
		{"empty hop", &flight.Hop{}, nil, flight.CodeMissing, flight.Caution},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := analyse(t, c.h, c.segs)
			if len(a.Responses) != 0 {
				t.Errorf("%d responses, want none", len(a.Responses))
			}
			if !hasFinding(a, c.code, c.severity) {
				t.Errorf("findings %v, want %s of severity %s", a.Findings, c.code, c.severity)
			}
			for _, f := range a.Findings {
				if !strings.HasSuffix(f.Text, ".") || f.Advice == "" {
					t.Errorf("finding without full stop or advice: %+v", f)
				}
			}
		})
	}
}

// A control check with the rotor stopped, logged and segmented like any hop: the stick moves
// from stop to stop, nothing flies, and there is no response to report.
func TestStickMovedOnTheGround(t *testing.T) {
	for name, legs := range map[string][]simulate.Leg{
		"rotor stopped": {{Kind: simulate.Ground, LengthS: 20}, {Kind: simulate.ControlCheck, LengthS: 30}, {Kind: simulate.Ground, LengthS: 20}},
		"ground run":    append(simulate.GroundRun(false), simulate.Leg{Kind: simulate.SpinDown, LengthS: 8}, simulate.Leg{Kind: simulate.Ground, LengthS: 6}),
	} {
		s := simulate.DrawExcited(3, simulate.Sweep, 0)
		s.Legs = legs
		h := simulate.Fly(s).Hop()
		segs, _ := segment.Find(h)
		a := analyse(t, h, segs)
		if len(a.Responses) != 0 || !hasFinding(a, flight.CodeNoResponse, flight.Stop) {
			t.Errorf("%s: %d responses, findings %v", name, len(a.Responses), a.Findings)
		}
	}
}

func TestSameInputSameOutput(t *testing.T) {
	h, segs := defaultPlant().fly()
	a, b := analyse(t, h, segs), analyse(t, h, segs)
	for i := range a.Responses {
		x, y := a.Responses[i], b.Responses[i]
		if !slices.Equal(x.H, y.H) || x.PhaseDelayS != nil && *x.PhaseDelayS != *y.PhaseDelayS {
			t.Fatalf("%s %s differs between two runs", x.Axis, x.Output)
		}
	}
}

// Later stamps change nothing; a stick of twice the travel halves the gain and nothing else;
// stick and motion turned round together change nothing.
func TestInvariances(t *testing.T) {
	h, segs := defaultPlant().fly()
	want := result(t, analyse(t, h, segs), flight.PitchAxis, Attitude)
	change := func(f func(c *flight.Channel), by float64) Result {
		g := *h
		g.Channels = slices.Clone(h.Channels)
		for i := range g.Channels {
			c := &g.Channels[i]
			c.TimeS, c.Value = slices.Clone(c.TimeS), slices.Clone(c.Value)
			f(c)
		}
		moved := slices.Clone(segs)
		for i := range moved {
			moved[i].Span.FromS += by
			moved[i].Span.ToS += by
		}
		return result(t, analyse(t, &g, moved), flight.PitchAxis, Attitude)
	}
	shifted := change(func(c *flight.Channel) {
		for k := range c.TimeS {
			c.TimeS[k] += 1000
		}
	}, 1000)
	doubled := change(func(c *flight.Channel) {
		if c.Quantity == flight.LonStick || c.Quantity == flight.LatStick {
			for k := range c.Value {
				c.Value[k] *= 2
			}
		}
	}, 0)
	turned := change(func(c *flight.Channel) {
		for k := range c.Value {
			c.Value[k] *= -1
		}
	}, 0)
	const tol = 5e-3 // the grid falls differently on the stamps
	for name, got := range map[string]Result{"shifted": shifted, "doubled": doubled, "turned round": turned} {
		offset := 0.0
		if name == "doubled" {
			offset = 20 * math.Log10(2)
		}
		for k := range want.FrequencyRadS {
			if math.Abs(got.GainDB[k]+offset-want.GainDB[k]) > tol || math.Abs(got.PhaseDeg[k]-want.PhaseDeg[k]) > 10*tol {
				t.Fatalf("%s: at %.2f rad/s %.4f dB %.3f deg, want %.4f %.3f", name, want.FrequencyRadS[k],
					got.GainDB[k]+offset, got.PhaseDeg[k], want.GainDB[k], want.PhaseDeg[k])
			}
		}
		if math.Abs(got.PhaseDelayS.Value-want.PhaseDelayS.Value) > 1e-4 {
			t.Errorf("%s: phase delay %.5f, want %.5f", name, got.PhaseDelayS.Value, want.PhaseDelayS.Value)
		}
	}
}

func TestCancelled(t *testing.T) {
	h, segs := defaultPlant().fly()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Analyse(ctx, h, segs, Settings{}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want cancelled", err)
	}
}
