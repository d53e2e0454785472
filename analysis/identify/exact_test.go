package identify

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/rotor"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// exact is a debrief whose answers are the model's own between two frequencies, as if
// measured with one percent of error.
type exact struct {
	head      rotor.Head
	low, high float64
	axes      []axis
	phasing   bool
	gusts     bool
	gain      complex128 // of every answer to the stick; 0 is 1
	laterS    float64
}

func (x exact) debrief(t *testing.T, name string) *debrief.Debrief {
	m, err := rotor.NewModel(x.head)
	if err != nil {
		t.Fatal(err)
	}
	if x.gain == 0 {
		x.gain = 1
	}
	d := &debrief.Debrief{Hop: &flight.Hop{Name: name}, Aircraft: &flight.Aircraft{}}
	for _, a := range x.axes {
		r := response.Result{Axis: a.axis, Input: a.axis.Stick(), Output: response.Attitude, Spans: []flight.Span{{FromS: 0, ToS: 100}}}
		w := rotor.LogSpace(x.low, x.high, 121)
		for k, h := range m.Response(a.stick, a.attitude, w) {
			r.FrequencyRadS = append(r.FrequencyRadS, w[k])
			r.H = append(r.H, h*x.gain*cmplx.Exp(complex(0, -w[k]*x.laterS)))
			r.Coherence = append(r.Coherence, 0.95)
			r.GainSDDB, r.PhaseSDDeg = append(r.GainSDDB, 0.087), append(r.PhaseSDDeg, 0.57)
		}
		d.Responses = append(d.Responses, r)
		if x.gusts {
			for _, band := range [][2]float64{{0.3, 0.6}, {0.6, 1.2}, {1.2, 2.4}} {
				g := m.BandGain(a.wind, a.attitude, band)
				d.Wind.Gusts = append(d.Wind.Gusts, wind.Gust{Axis: a.axis, Input: a.gust, BandRadS: band,
					RadPerMS: &flight.Estimate{Value: g, Low: g * 0.9, High: g * 1.1}})
			}
		}
	}
	if e := x.head.PhasingErrorRad(); x.phasing {
		d.PhasingErrorRad = &flight.Estimate{Value: e, Low: e - 0.01, High: e + 0.01}
	}
	return d
}

func whole(h rotor.Head) exact {
	return exact{head: h, low: 0.3, high: 15, axes: axes(), phasing: true}
}

func fitted(t *testing.T, c flight.Configuration, hops ...*debrief.Debrief) *Result {
	t.Helper()
	r, err := Fit(context.Background(), hops, c, rotor.Surroundings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// What the model answers is what is found, however far off the dimensions are, with and
// without a bar; and the forecast of nothing changed is the aircraft itself.
func TestExactAnswersAreFound(t *testing.T) {
	for _, bar := range []bool{false, true} {
		for seed := uint64(1); seed <= 3; seed++ {
			a := drawAircraft(seed, bar)
			r := fitted(t, a.paper, whole(a.truth).debrief(t, "one"))
			for _, q := range quantities(r.Dimensions, a.surroundings()) {
				p, want := r.of(q.key), q.of(a.truth)
				if p.Estimate == nil || !(math.Abs(p.Estimate.Value-want) <= 1e-4*(math.Abs(want)+0.01)) {
					t.Errorf("bar %t, aircraft %d: %s %+v (%s), want %g", bar, seed, q.key, p.Estimate, p.Reason, want)
				}
			}
			f, err := r.Forecast(a.paper)
			if err != nil {
				t.Fatal(err)
			}
			truth := a.changedTruth(t, r, a.paper)
			for i, row := range f.Rows {
				if row.Changed == nil && row.Withheld != "" {
					continue // at the edge of being an oscillation
				}
				if (row.Changed == nil) != math.IsNaN(truth[i]) {
					t.Errorf("bar %t: %s %+v, want %g", bar, row.Name, row.Changed, truth[i])
					continue
				}
				if row.Changed == nil {
					continue
				}
				if math.Abs(row.Changed.Value-truth[i]) > 1e-3*(math.Abs(truth[i])+0.01) || math.Abs(row.Moves.Value) > 1e-9 {
					t.Errorf("bar %t: %s %+v moves %+v, want %g", bar, row.Name, row.Changed, row.Moves, truth[i])
				}
			}
		}
	}
}

// Without slow excitation nothing tells flap-back with speed; below 2.5 rad/s nothing tells
// the following time of the disc from the dead time: they are named, with what would tell
// them, and there is no number.
func TestWhatIsNotToldIsNamed(t *testing.T) {
	a := drawAircraft(4, false)
	quick := whole(a.truth)
	quick.low = 3
	slow := whole(a.truth)
	slow.low, slow.high = 1, 2.2
	for _, c := range []struct {
		what exact
		key  string
		hint string
	}{{quick, "flap_back", "slow test inputs, below 1 rad/s, or gusts with a logged wind would tell it"},
		{slow, "disc_following_time", "quick test inputs, beyond 8 rad/s"}} {
		r := fitted(t, a.paper, c.what.debrief(t, "one"))
		p := r.of(c.key)
		if p.Estimate != nil || p.Reason == "" || p.Agreement != Unknown {
			t.Errorf("%s told: %+v", c.key, p.Estimate)
		}
		if all := strings.Join(r.NotTold, "\n"); !strings.Contains(all, p.Name+": ") || !strings.Contains(all, c.hint) {
			t.Errorf("%s is not named in %q", c.key, all)
		}
	}
	// Gusts tell what quick inputs do not.
	quick.gusts = true
	r := fitted(t, a.paper, quick.debrief(t, "one"))
	if p := r.of("flap_back"); p.Estimate == nil || !(p.Estimate.Low < a.truth.SpeedTiltRadPerMS()*perDeg && p.Estimate.High > a.truth.SpeedTiltRadPerMS()*perDeg) {
		t.Errorf("flap-back from gusts: %+v", p)
	}
}

// A forecast withholds what rests on numbers that no hop told.
func TestForecastWithholds(t *testing.T) {
	a := drawAircraft(5, false)
	roll := whole(a.truth)
	roll.axes, roll.phasing = axes()[:1], false
	r := fitted(t, a.paper, roll.debrief(t, "one"))
	for _, key := range []string{"pitch_stiffness", "phasing_error"} {
		if p := r.of(key); p.Estimate != nil || p.Reason != "nothing that was measured depends on it" {
			t.Errorf("%s: %+v", key, p)
		}
	}
	f, err := r.Forecast(a.change())
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range f.Rows {
		switch row.Name {
		case "pitch, damping ratio of the hover oscillation":
			if row.Changed != nil || row.Withheld != "rests on the pitch inertia, which these hops do not tell" {
				t.Errorf("%+v", row)
			}
		case "roll, frequency of 180 deg lag":
			if row.Changed == nil {
				t.Errorf("%+v", row)
			}
		}
	}
	if all := strings.Join(f.RestsOn, " "); !strings.Contains(all, "pitch inertia") {
		t.Errorf("rests on %q", all)
	}
	// With a hop that tells pitch beside it the numbers are there.
	both := fitted(t, a.paper, roll.debrief(t, "one"), whole(a.truth).debrief(t, "two"))
	f, err = both.Forecast(a.change())
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range f.Rows {
		if strings.HasSuffix(row.Name, "damping ratio of the hover oscillation") && row.Changed == nil {
			t.Errorf("with a second hop %+v", row)
		}
	}
	if p := both.of("pitch_stiffness"); strings.Join(p.Hops, " ") != "two" {
		t.Errorf("told by %q", p.Hops)
	}
}

func TestFitRefuses(t *testing.T) {
	a := drawAircraft(6, false)
	silent := &debrief.Debrief{Hop: &flight.Hop{Name: "silent"}}
	_, err := Fit(context.Background(), []*debrief.Debrief{silent}, a.paper, rotor.Surroundings{}, nil)
	if !errors.Is(err, ErrNothing) || !strings.Contains(err.Error(), "silent: no answer to the stick was measured") {
		t.Errorf("error %v", err)
	}
	if _, err := Fit(context.Background(), nil, a.paper, rotor.Surroundings{}, nil); !errors.Is(err, ErrNothing) {
		t.Errorf("no hops: %v", err)
	}
	var missing *rotor.MissingError
	if _, err := Fit(context.Background(), nil, flight.Configuration{}, rotor.Surroundings{}, nil); !errors.As(err, &missing) {
		t.Errorf("no dimensions: %v", err)
	}
	// An answer that no such head gives.
	odd := whole(a.truth).debrief(t, "odd")
	for k := range odd.Responses[0].H {
		odd.Responses[0].H[k] *= cmplx.Exp(complex(0, 2*math.Sin(4*float64(k))))
	}
	if _, err := Fit(context.Background(), []*debrief.Debrief{odd}, a.paper, rotor.Surroundings{}, nil); !errors.Is(err, ErrNothing) {
		t.Errorf("an answer unlike any head: %v", err)
	}
	r := fitted(t, a.paper, silent, whole(a.truth).debrief(t, "good"))
	if all := strings.Join(r.Notes, " "); !strings.Contains(all, "silent counts for nothing") || !strings.Contains(all, "One hop") {
		t.Errorf("notes %q", all)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Fit(ctx, []*debrief.Debrief{whole(a.truth).debrief(t, "x")}, a.paper, rotor.Surroundings{}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// A stick logged in other units is a stick gain in other units and nothing else; an answer
// that comes later is dead time and nothing else.
func TestGainAndDelayGoWhereTheyBelong(t *testing.T) {
	a := drawAircraft(7, true)
	base := fitted(t, a.paper, whole(a.truth).debrief(t, "one"))
	rng := rand.New(rand.NewPCG(7, 7))
	for range 6 {
		k, later := 0.6+rng.Float64(), 0.08*rng.Float64()
		x := whole(a.truth)
		x.gain, x.laterS = complex(k, 0), later
		r := fitted(t, a.paper, x.debrief(t, "one"))
		for _, p := range base.Parameters {
			want := p.Estimate.Value
			switch p.Key {
			case "stick_gain", "paddle_gain":
				want *= k
			case "dead_time":
				want += later
			}
			if got := r.of(p.Key).Estimate; got == nil || math.Abs(got.Value-want) > 2e-3*(math.Abs(want)+0.01) {
				t.Errorf("gain %g, later %g: %s %+v, want %g", k, later, p.Key, got, want)
			}
		}
	}
}

// A control path without any dead time lies at the edge of what is physical, and has a
// forecast all the same.
func TestForecastWithoutDeadTime(t *testing.T) {
	a := drawAircraft(13, true)
	a.truth.DelayS = 1e-6
	r := fitted(t, a.paper, whole(a.truth).debrief(t, "one"))
	if e := r.of("dead_time").Estimate; e == nil || math.Abs(e.Value) > 1e-3 || !(e.High > e.Value) {
		t.Errorf("dead time %+v", e)
	}
	f, err := r.Forecast(a.change())
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range f.Rows {
		if row.Name == "roll, phase delay" && (row.Changed == nil || !(row.Changed.High > row.Changed.Low)) {
			t.Errorf("%+v", row)
		}
	}
}

// The same hops give the same numbers, bit by bit.
func TestFitIsDeterministic(t *testing.T) {
	a := drawAircraft(11, true)
	hops := []*debrief.Debrief{whole(a.truth).debrief(t, "one"), whole(a.truth).debrief(t, "two")}
	first, second := fitted(t, a.paper, hops...), fitted(t, a.paper, hops...)
	for i, p := range first.Parameters {
		if *p.Estimate != *second.Parameters[i].Estimate {
			t.Errorf("%s: %v and %v", p.Key, *p.Estimate, *second.Parameters[i].Estimate)
		}
	}
	if first.Head != second.Head {
		t.Errorf("%+v and %+v", first.Head, second.Head)
	}
}

// One quick prediction costs 1.2 of rotor.BenchmarkPredict, 0.8 ms on two cores shared with
// other jobs (amd64): a screen may run one for each key press. A forecast with its intervals
// costs about 60 of them a hop.
func BenchmarkQuick(b *testing.B) {
	a := drawAircraft(12, true)
	m := &testing.T{}
	r, err := Fit(context.Background(), []*debrief.Debrief{whole(a.truth).debrief(m, "one")}, a.paper, rotor.Surroundings{}, nil)
	if err != nil {
		b.Fatal(err)
	}
	to := a.change()
	for b.Loop() {
		if _, err := r.Quick(to); err != nil {
			b.Fatal(err)
		}
	}
}
