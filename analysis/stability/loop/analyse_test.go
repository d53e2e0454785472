package loop

import (
	"context"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"hopcard/analysis/response"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// flyOne is the hop of most tests here: a bare head in a breeze, measured in both axes. Each
// call gives a flight with sensors of its own.
func flyOne() *simulate.Flight {
	f := *flown()
	return &f
}

var flown = sync.OnceValue(func() *simulate.Flight { return simulate.Fly(drawHop(108, 120, false)) })

func analyse(t *testing.T, h *flight.Hop) Result {
	t.Helper()
	segs, _ := segment.Find(h)
	a, err := response.Analyse(context.Background(), h, segs, response.Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return analyseWith(t, h, segs, a.Responses)
}

func analyseWith(t *testing.T, h *flight.Hop, segs []flight.Segment, responses []response.Result) Result {
	t.Helper()
	r, err := Analyse(context.Background(), h, segs, responses, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestAnalyse holds the margins of one hop against the exact loop of pilot and aircraft; the
// study gives the scatter over many.
func TestAnalyse(t *testing.T) {
	f := flyOne()
	r := analyse(t, f.Hop())
	if len(r.Margins) != 2 {
		t.Fatalf("%d margins, want roll and pitch: %v", len(r.Margins), r.Findings)
	}
	for _, m := range r.Margins {
		want := margins(trueLoop(t, f, m.Axis))
		holds := func(what string, e *flight.Estimate, want, most float64) {
			t.Helper()
			if e == nil {
				t.Errorf("%s: no %s: %v", m.Axis, what, r.Findings)
				return
			}
			if math.Abs(e.Value-want) > most || e.Low > want || want > e.High {
				t.Errorf("%s: %s is %.2f (%.2f to %.2f), want %.2f within %g", m.Axis, what, e.Value, e.Low, e.High, want, most)
			}
		}
		holds("crossover", m.CrossoverRadS, want.crossover, 0.2*want.crossover)
		holds("phase margin", m.PhaseMarginDeg, want.phase*degPerRad, 8)
		holds("gain margin", m.GainMarginDB, want.gain*dbPerNeper, 2)
		p := f.Scenario.Pilot
		holds("delay", m.Pilot.DelayS, p.DelayS+p.LagS, 0.1)
		holds("gain", m.Pilot.GainPerRad, p.GainPerRad.Of(m.Axis), 0.2*p.GainPerRad.Of(m.Axis))
		holds("lead", m.Pilot.LeadS, p.LeadS.Of(m.Axis), 0.25)
		if m.Pilot.Biased || m.Pilot.Method != methodGust {
			t.Errorf("%s: by %q, biased %v: the gust was logged", m.Axis, m.Pilot.Method, m.Pilot.Biased)
		}
		for i, a := range m.Assumed {
			h := open{}
			for w := 0.3; w < 20; w *= 1.01 {
				v := f.Truth.StickToAttitude(m.Axis, []float64{w})[0]
				h.w, h.lnGain = append(h.w, w), append(h.lnGain, math.Log(math.Hypot(real(v), imag(v))))
				phase := math.Atan2(imag(v), real(v))
				if n := len(h.phase); n > 0 {
					phase = h.phase[n-1] + wrapped(phase-h.phase[n-1])
				}
				h.phase = append(h.phase, phase)
			}
			want := math.Exp(mostGain(h, assumedDelaysS()[i]))
			holds("most gain", a.MostGainPerRad, want, 0.05*want)
		}
		for k := 1; k < len(m.Loop); k++ {
			a, b := m.Loop[k-1], m.Loop[k]
			if wc := m.CrossoverRadS.Value; a.FrequencyRadS <= wc && wc < b.FrequencyRadS {
				f := math.Log(wc/a.FrequencyRadS) / math.Log(b.FrequencyRadS/a.FrequencyRadS)
				near(t, "phase of the loop at the crossover, deg", a.PhaseDeg+f*(b.PhaseDeg-a.PhaseDeg)+180, m.PhaseMarginDeg.Value, 0.01)
			}
		}
		if len(m.Loop) < 40 || len(m.Assumed) != 3 || !strings.Contains(m.Says, "drift") {
			t.Errorf("%s: %d points of the loop, %d assumed pilots, says %q", m.Axis, len(m.Loop), len(m.Assumed), m.Says)
		}
	}
}

// TestScaleSignAndTime: a stick of half the travel makes a pilot of half the gain and an
// aircraft of twice, the loop stays; so it does where stick and motion both turn their sign,
// or the hop's clock starts elsewhere.
func TestScaleSignAndTime(t *testing.T) {
	f := flyOne()
	segs, _ := segment.Find(f.Hop())
	plain := analyseWith(t, f.Hop(), segs, exactResponses(f))
	for _, c := range []struct {
		name          string
		stick, motion float64
		laterS        float64
	}{{"half the travel", 0.5, 1, 0}, {"signs turned", -1, -1, 0}, {"later", 1, 1, 1250 * gridStepS}} {
		t.Run(c.name, func(t *testing.T) {
			h := f.Hop()
			stamps := map[*float64]bool{}
			for i := range h.Channels {
				ch := &h.Channels[i]
				k := 1.0
				switch ch.Quantity {
				case flight.LatStick, flight.LonStick:
					k = c.stick
				case flight.Roll, flight.Pitch, flight.RollRate, flight.PitchRate:
					k = c.motion
				}
				for j := range ch.Value {
					ch.Value[j] *= k
				}
				if !stamps[&ch.TimeS[0]] {
					stamps[&ch.TimeS[0]] = true
					for j := range ch.TimeS {
						ch.TimeS[j] += c.laterS
					}
				}
			}
			later := slices.Clone(segs)
			for i := range later {
				later[i].Span.FromS += c.laterS
				later[i].Span.ToS += c.laterS
			}
			responses := exactResponses(f)
			for _, r := range responses {
				for k := range r.H {
					r.H[k] *= complex(c.motion/c.stick, 0)
				}
			}
			got := analyseWith(t, h, later, responses)
			if len(got.Margins) != len(plain.Margins) {
				t.Fatalf("%d margins, want %d", len(got.Margins), len(plain.Margins))
			}
			for i, m := range got.Margins {
				want := plain.Margins[i]
				near(t, "crossover", m.CrossoverRadS.Value, want.CrossoverRadS.Value, 1e-3)
				near(t, "phase margin", m.PhaseMarginDeg.Value, want.PhaseMarginDeg.Value, 0.05)
				near(t, "gain margin", m.GainMarginDB.Value, want.GainMarginDB.Value, 0.02)
				gain := math.Abs(c.stick/c.motion) * want.Pilot.GainPerRad.Value
				near(t, "gain", m.Pilot.GainPerRad.Value, gain, 0.01*gain)
			}
		})
	}
}

// TestSameTwice: the same hop gives the same numbers.
func TestSameTwice(t *testing.T) {
	h := flyOne().Hop()
	segs, _ := segment.Find(h)
	a, b := analyseWith(t, h, segs, exactResponses(flyOne())), analyseWith(t, h, segs, exactResponses(flyOne()))
	if !reflect.DeepEqual(a, b) {
		t.Error("two runs differ")
	}
}

// TestWithheld: what may not be timed or is not there gives no margins, and a finding says why.
func TestWithheld(t *testing.T) {
	f := flyOne()
	t.Run("no common clock", func(t *testing.T) {
		f.Scenario.Sensors.StickHz = 50
		defer func() { f.Scenario.Sensors.StickHz = 100 }()
		h := f.Hop()
		segs, _ := segment.Find(h)
		h.Sources[1].Clock.AlignedBy = flight.AlignNone
		r := analyseWith(t, h, segs, exactResponses(f))
		if len(r.Margins) != 0 || len(r.Findings) != 2 || r.Findings[0].Code != flight.CodeNoClock {
			t.Errorf("got %v, %v", r.Margins, r.Findings)
		}
	})
	t.Run("no response", func(t *testing.T) {
		h := f.Hop()
		segs, _ := segment.Find(h)
		r := analyseWith(t, h, segs, nil)
		for _, m := range r.Margins {
			if m.Pilot == nil || m.CrossoverRadS != nil || m.Loop != nil || m.Assumed != nil {
				t.Errorf("%s: want the pilot alone, got %+v", m.Axis, m)
			}
		}
		if len(r.Margins) != 2 || len(r.Findings) != 2 || r.Findings[0].Code != flight.CodeNotMeasurable {
			t.Errorf("%d margins, findings %v", len(r.Margins), r.Findings)
		}
	})
	t.Run("no wind log", func(t *testing.T) {
		f.Scenario.Sensors.NoWind = true
		defer func() { f.Scenario.Sensors.NoWind = false }()
		r := analyse(t, f.Hop())
		for _, m := range r.Margins {
			if m.Pilot == nil || !m.Pilot.Biased || m.Pilot.Method != methodAlone {
				t.Errorf("%s: %+v", m.Axis, m.Pilot)
			}
		}
		if len(r.Margins) != 2 {
			t.Errorf("%d margins, want 2", len(r.Margins))
		}
	})
	t.Run("short", func(t *testing.T) {
		h := f.Hop()
		segs, _ := segment.Find(h)
		whole, _ := segment.Flight(segs)
		h.Exclude = []flight.Span{{FromS: whole.FromS, ToS: whole.ToS - 25}}
		r := analyseWith(t, h, segs, nil)
		if len(r.Margins) != 0 || len(r.Findings) != 2 || r.Findings[0].Code != flight.CodeNotMeasurable {
			t.Errorf("got %v, %v", r.Margins, r.Findings)
		}
	})
	t.Run("no attitude", func(t *testing.T) {
		h := f.Hop()
		segs, _ := segment.Find(h)
		h.Channels = slices.DeleteFunc(h.Channels, func(c flight.Channel) bool { return c.Quantity == flight.Roll })
		r := analyseWith(t, h, segs, exactResponses(f))
		if len(r.Margins) != 1 || r.Margins[0].Axis != flight.PitchAxis || len(r.Findings) == 0 || r.Findings[0].Code != flight.CodeMissing {
			t.Errorf("got %v, %v", r.Margins, r.Findings)
		}
	})
	t.Run("stick still", func(t *testing.T) {
		h := f.Hop()
		segs, _ := segment.Find(h)
		for i := range h.Channels {
			if q := h.Channels[i].Quantity; q == flight.LatStick || q == flight.LonStick {
				for k := range h.Channels[i].Value {
					h.Channels[i].Value[k] = 0.02
				}
			}
		}
		r := analyseWith(t, h, segs, nil)
		if len(r.Margins) != 0 || len(r.Findings) != 2 || r.Findings[0].Code != flight.CodeLowCoherence {
			t.Errorf("got %v, %v", r.Margins, r.Findings)
		}
	})
	t.Run("motion leads the stick", func(t *testing.T) {
		h := f.Hop()
		segs, _ := segment.Find(h)
		for i := range h.Channels {
			if q := h.Channels[i].Quantity; q == flight.LatStick || q == flight.LonStick {
				late := slices.Clone(h.Channels[i].TimeS)
				for k := range late {
					late[k] += 0.6
				}
				h.Channels[i].TimeS = late
			}
		}
		a, err := response.Analyse(context.Background(), h, segs, response.Settings{}, nil)
		if err != nil || len(a.Responses) == 0 {
			t.Fatal("no responses to withhold", err)
		}
		r := analyseWith(t, h, segs, a.Responses)
		if len(r.Margins) != 0 || len(r.Findings) != 2 || r.Findings[0].Code != flight.CodeNotMeasurable {
			t.Errorf("got %v, %v", r.Margins, r.Findings)
		}
	})
	t.Run("cancelled", func(t *testing.T) {
		h := f.Hop()
		segs, _ := segment.Find(h)
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		if _, err := Analyse(ctx, h, segs, nil, nil); err == nil {
			t.Error("no error")
		}
	})
}

// TestPoorLogs: an attitude of 20 Hz without rates, with gaps and missing readings leaves
// numbers, not NaN, and margins that hold the truth.
func TestPoorLogs(t *testing.T) {
	f := flyOne()
	f.Scenario.Sensors.NoRates = true
	f.Scenario.Sensors.AttitudeHz, f.Scenario.Sensors.StickHz = 20, 50
	h := f.Hop()
	for i := range h.Channels {
		c := &h.Channels[i]
		for k := range c.Value {
			if t := c.TimeS[k]; t > 60 && t < 63 || t > 90 && t < 90.5 || k%997 == 3 {
				c.Value[k] = math.NaN()
			}
		}
	}
	r := analyse(t, h)
	if len(r.Margins) == 0 {
		t.Fatalf("nothing left: %v", r.Findings)
	}
	for _, m := range r.Margins {
		if e, want := m.PhaseMarginDeg, margins(trueLoop(t, f, m.Axis)).phase*degPerRad; e != nil && (e.Low > want || want > e.High) {
			t.Errorf("%s: phase margin %.1f to %.1f deg, want %.1f", m.Axis, e.Low, e.High, want)
		}
		for _, e := range estimates(m) {
			if e != nil && (math.IsNaN(e.Value+e.Low+e.High) || math.IsInf(e.Value+e.Low+e.High, 0)) {
				t.Errorf("%s: %v", m.Axis, *e)
			}
		}
		for _, p := range m.Loop {
			if math.IsNaN(p.GainDB + p.PhaseDeg + p.GainSDDB + p.PhaseSDDeg) {
				t.Errorf("%s: %+v", m.Axis, p)
			}
		}
	}
}

func estimates(m stability.Margin) []*flight.Estimate {
	out := []*flight.Estimate{m.CrossoverRadS, m.PhaseMarginDeg, m.GainMarginDB, m.GainLowDB}
	if m.Pilot != nil {
		out = append(out, m.Pilot.GainPerRad, m.Pilot.LeadS, m.Pilot.DelayS)
	}
	for _, a := range m.Assumed {
		out = append(out, a.MostGainPerRad, a.CrossoverRadS, a.PhaseMarginDeg, a.GainMarginDB)
	}
	return out
}

// TestGustJudges: the instrument bears out the pilot that was measured, and not one of another
// gain or delay.
func TestGustJudges(t *testing.T) {
	f := flyOne()
	h := f.Hop()
	segs, _ := segment.Find(h)
	whole, _ := segment.Flight(segs)
	axis := flight.RollAxis
	attitude := h.Channel(axis.Attitude())
	r := newRecord(h.Channel(axis.Stick()), attitude, rateOf(h, attitude, axis), whole, regulating(h, segs, axis, nil))
	p, _ := fitPredictor(r)
	g, ok := newFitter(p).fit()
	wind := instrumentOf(h, attitude, r.grid)
	if !ok || wind == nil {
		t.Fatal("no pilot or no wind")
	}
	for _, c := range []struct {
		name  string
		wrong func(f *form)
		bears bool
	}{
		{"as measured", func(*form) {}, true},
		{"gain", func(f *form) { f.gain, f.lead, f.drift, f.place = 1.6*f.gain, 1.6*f.lead, 1.6*f.drift, 1.6*f.place }, false},
		{"delay", func(f *form) { f.delay += 0.25 }, false},
	} {
		y := g
		c.wrong(&y.form)
		v, err := wind.judge(context.Background(), r, p, &y)
		if err != nil {
			t.Fatal(err)
		}
		if !v.speaks || (v.excess <= v.most) != c.bears {
			t.Errorf("%s: %+v", c.name, v)
		}
	}
}
