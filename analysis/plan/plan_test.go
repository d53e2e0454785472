package plan_test

import (
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hopcard/analysis/plan"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

func sweeps(p *plan.Plan) (n int) {
	for _, i := range p.Written.Inputs {
		if i.Moves() {
			n += i.Count
		}
	}
	return n
}

func mustMake(t interface{ Fatal(...any) }, r plan.Request) *plan.Plan {
	p, err := plan.Make(r)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// whinchat is an invented machine with all its dimensions.
func whinchat(name string, weightKg float64) flight.Configuration {
	c := flight.Configuration{
		Name: name, RotorSpeedRPM: 506, MassKg: 240, HubHeightM: 1.15, RollInertiaKgM2: 68, PitchInertKgM2: 135,
		RotorRadiusM: 3.1, BladeChordM: 0.17, LiftSlope: 5.7, FlapInertiaKg: 23.8, AdvanceDeg: 90, CyclicThrowDeg: 8,
	}
	if weightKg > 0 {
		c.Bar = &flight.Bar{WeightKg: weightKg, WeightAtM: 0.8, InertiaKgM2: 0.16, PaddleChordM: 0.12, PaddleFromM: 0.55,
			PaddleToM: 0.75, BarToBlade: 0.5, StickToBlade: 0.6, StickToPaddle: 1}
	}
	return c
}

func measured() *flight.Aircraft {
	a := aircraft()
	a.Configurations = append(a.Configurations, whinchat("bare head", 0), whinchat("light bar", 0.30), whinchat("heavier bar", 0.45))
	return a
}

// A shorter wish never asks for less, and the shortest for more than the longest.
func TestShorterWishAsksForMore(t *testing.T) {
	for _, name := range []string{"bare", "bare head", "light bar"} {
		before := 1000
		var counts []int
		for wish := 0.002; wish < 0.3; wish *= 1.3 {
			n := sweeps(mustMake(t, plan.Request{Aircraft: measured(), Configuration: name, WishS: wish}))
			if n > before {
				t.Errorf("%s: %.1f ms asks for %d inputs, a shorter wish for %d", name, wish*1e3, n, before)
			}
			before = n
			counts = append(counts, n)
		}
		// Of the bar one sweep comes near the floor already.
		if name != "light bar" && counts[0] <= counts[len(counts)-1] {
			t.Errorf("%s: %v", name, counts)
		}
	}
}

func TestExpectedIntervalHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wish := rapid.Float64Range(0.001, 0.2).Draw(t, "wish")
		name := rapid.SampledFrom([]string{"bare", "bare head", "light bar"}).Draw(t, "name")
		p := mustMake(t, plan.Request{Aircraft: measured(), Configuration: name, WishS: wish})
		for _, a := range p.Axes {
			if reached := a.HalfWidthS <= wish && a.PhaseHalfWidthS <= wish; reached != a.Reached {
				t.Errorf("%s: reached %v, expected %g and %g for %g", a.Axis, a.Reached, a.HalfWidthS, a.PhaseHalfWidthS, wish)
			}
			if !a.Reached && len(p.Cautions) == 0 {
				t.Errorf("%s: the wish is not reached, and nothing says so", a.Axis)
			}
			if a.HalfWidthS < a.FloorS {
				t.Errorf("%s: %g below the floor %g", a.Axis, a.HalfWidthS, a.FloorS)
			}
		}
	})
}

func TestChanges(t *testing.T) {
	bare, light, heavier := whinchat("bare head", 0), whinchat("light bar", 0.30), whinchat("heavier bar", 0.45)
	faster := heavier
	faster.RotorSpeedRPM, faster.AdvanceDeg = 520, 85
	for _, c := range []struct {
		name     string
		from, to flight.Configuration
		want     []string
	}{
		{"same", light, light, nil},
		{"heavier", light, heavier, []string{"bar weight 0.3 -> 0.45 kg"}},
		{"fitted", bare, light, []string{"stabiliser bar fitted, 0.3 kg at each tip"}},
		{"taken off", light, bare, []string{"stabiliser bar taken off"}},
		{"two things", heavier, faster, []string{"rotor speed 506 -> 520 rpm", "advance angle 90 -> 85 deg"}},
		{"given for the first time", flight.Configuration{}, flight.Configuration{MassKg: 240}, []string{"mass not given -> 240 kg"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, ch := range plan.Changes(c.from, c.to) {
				got = append(got, ch.String())
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("%q, want %q", got, c.want)
			}
		})
	}
}

// last is a hop that gave no reason against going on.
func last(configuration string) *plan.Earlier {
	return &plan.Earlier{
		Hop: &flight.Hop{Name: "hop-1", Configuration: configuration}, Proceed: "yes",
		Advice:    []string{"Next step: change one thing."},
		Responses: []response.Result{{Axis: flight.RollAxis, Input: flight.LatStick, Output: response.Attitude}},
	}
}

func unstable(k stability.Kind) func(*plan.Earlier) {
	return func(e *plan.Earlier) {
		e.Proceed, e.Stability.Unstable = "no", []stability.Unstable{{Kind: k, Axis: flight.RollAxis}}
	}
}

func TestBuildUp(t *testing.T) {
	same := func(e *plan.Earlier) []plan.Earlier { return []plan.Earlier{*e} }
	for _, c := range []struct {
		name   string
		before string // configuration of the last hop; empty: none was flown
		change func(*plan.Earlier)
		same   func(*plan.Earlier) []plan.Earlier
		want   flight.BuildUp
		says   string // among the cautions
		sweep  bool
	}{
		{"no hop yet", "", nil, nil, flight.FirstHop, "", true},
		{"next", "light bar", nil, nil, flight.NextStep, "", true},
		{"again", "heavier bar", nil, same, flight.Repeat, "", true},
		{"nothing measured", "light bar", func(e *plan.Earlier) { e.Responses = nil }, nil, flight.Repeat, "asks for something else first (repeat)", true},
		{"too windy", "heavier bar", func(e *plan.Earlier) {
			e.Proceed, e.Wind.Whole = "caution", &wind.Phase{MeanMS: flight.Plain(9)}
		}, same, flight.CalmerAir, "", true},
		{"limit passed", "heavier bar", unstable(stability.Limit), same, flight.SmallerStep, "", true},
		{"little stick left", "heavier bar", func(e *plan.Earlier) {
			e.Proceed, e.Stability.Control = "caution", []stability.Control{{Axis: flight.RollAxis, LeftPercent: 4}}
		}, same, flight.SmallerStep, "", true},
		{"little damping", "heavier bar", func(e *plan.Earlier) {
			e.Proceed, e.Stability.Modes = "caution", []stability.Mode{{DampingRatio: &flight.Estimate{Value: -0.1, Low: -0.15, High: -0.05}}}
		}, same, flight.SmallerStep, "", true},
		{"margin in doubt", "heavier bar", func(e *plan.Earlier) {
			e.Stability.Margins = []stability.Margin{{PhaseMarginDeg: &flight.Estimate{Value: 40, Low: 20, High: 60}}}
		}, same, flight.Repeat, "", true},
		{"grew, same again", "heavier bar", unstable(stability.PilotCoupled), same, flight.StepBack, "very configuration", false},
		{"grew, on to something new", "light bar", unstable(stability.Airframe), nil, flight.StepBack, "no step back", false},
		{"grew, back to a safe one", "light bar", unstable(stability.Airframe), func(*plan.Earlier) []plan.Earlier {
			return []plan.Earlier{*last("heavier bar")}
		}, flight.StepBack, "", true},
		{"grew earlier in this one", "light bar", nil, func(*plan.Earlier) []plan.Earlier {
			e := last("heavier bar")
			unstable(stability.PilotCoupled)(e)
			return []plan.Earlier{*e}
		}, flight.SmallerStep, "the last hop of this configuration, a swing grew", false},
		{"not known what was flown", "oops", nil, nil, flight.NextStep, "What was flown last is not known", true},
		{"two changes", "bare head", func(e *plan.Earlier) {}, nil, flight.NextStep, "", true},
		{"clocks apart", "light bar", func(e *plan.Earlier) {
			e.Hop.Sources = []flight.Source{{Clock: flight.Clock{AlignedBy: flight.AlignNone}}}
		}, nil, flight.NextStep, "clocks could not be put together", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := plan.Request{Aircraft: measured(), Configuration: "heavier bar"}
			if c.before != "" {
				r.Last = last(c.before)
				if c.change != nil {
					c.change(r.Last)
				}
				if c.same != nil {
					r.Same = c.same(r.Last)
				}
			}
			p := mustMake(t, r)
			if p.Written.Step != c.want {
				t.Errorf("step %q, want %q; why %q", p.Written.Step, c.want, p.Why)
			}
			cautions := strings.Join(p.Cautions, "\n")
			if !strings.Contains(cautions, c.says) {
				t.Errorf("cautions %q do not say %q", cautions, c.says)
			}
			if got := slices.ContainsFunc(p.Written.Inputs, func(i flight.PlannedInput) bool { return i.Kind == flight.Sweep }); got != c.sweep {
				t.Errorf("sweep planned: %v", got)
			}
		})
	}
}

func TestOneChangeAtATime(t *testing.T) {
	a := measured()
	two := whinchat("two", 0.45)
	two.RotorSpeedRPM = 520
	a.Configurations = append(a.Configurations, two)
	p := mustMake(t, plan.Request{Aircraft: a, Configuration: "two", Last: last("light bar")})
	if len(p.Changes) != 2 || !strings.Contains(strings.Join(p.Cautions, "\n"), "2 things changed") {
		t.Errorf("%v: cautions %q", p.Changes, p.Cautions)
	}
	if p = mustMake(t, plan.Request{Aircraft: a, Configuration: "heavier bar", Last: last("light bar")}); strings.Contains(strings.Join(p.Cautions, "\n"), "things changed") {
		t.Errorf("one change: cautions %q", p.Cautions)
	}
}

// Calm air first, and half the input, until the configuration was flown without a reason to stop.
func TestNewConfigurationIsFlownInCalmAir(t *testing.T) {
	a := measured()
	fresh := mustMake(t, plan.Request{Aircraft: a, Configuration: "heavier bar", Last: last("light bar")})
	e := last("heavier bar")
	known := mustMake(t, plan.Request{Aircraft: a, Configuration: "heavier bar", Last: e, Same: []plan.Earlier{*e}})
	if w := fresh.Written.Limits; w.WindMeanMS != 2 || w.GustSpreadMS != 3 {
		t.Errorf("new: wind to %g, gusts to %g", w.WindMeanMS, w.GustSpreadMS)
	}
	if w := known.Written.Limits; w.WindMeanMS != 5 || w.GustSpreadMS != 4 {
		t.Errorf("flown before: wind to %g, gusts to %g", w.WindMeanMS, w.GustSpreadMS)
	}
	for k, axis := range fresh.Axes {
		if axis.Basis != plan.Model {
			t.Errorf("%s by %s", axis.Axis, axis.Basis)
		}
		if ratio := fresh.Axes[k].DoubletRad / known.Axes[k].DoubletRad; ratio < 0.4 || ratio > 0.6 {
			t.Errorf("%s: %.1f of the attitude of a configuration that was flown", axis.Axis, ratio)
		}
	}
}

func TestLimitsNameTheirSource(t *testing.T) {
	a := aircraft()
	a.Limits.AttitudeDeg, a.Limits.WindMeanMS = 10, 1.5
	p := mustMake(t, plan.Request{Aircraft: a, Configuration: "bar", Set: flight.Limits{AttitudeDeg: 10, RateDegS: 60, WindMeanMS: 1.5}})
	want := []string{"aircraft.toml", "aircraft.toml", "MIL-H-8501A", "aircraft.toml", "calm air first"}
	for k, l := range p.Limits {
		if !strings.Contains(l.Source, want[k]) {
			t.Errorf("%s: from %q, want %q", l.Name, l.Source, want[k])
		}
	}
	all := strings.Join(p.Aborts, "\n")
	for _, says := range []string{"beyond 8 deg from level (80 % of the limit of 10 deg)", "48 deg/s", "beyond 90 % of its travel", "mean above 1.5 m/s (2.9 kt)"} {
		if !strings.Contains(all, says) {
			t.Errorf("abort criteria do not say %q:\n%s", says, all)
		}
	}
}

// Inputs stay well inside the attitude limit, whatever it is.
func TestInputsStayInsideLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := measured()
		a.Limits.AttitudeDeg = rapid.Float64Range(4, 40).Draw(t, "limit")
		p := mustMake(t, plan.Request{Aircraft: a, Configuration: rapid.SampledFrom([]string{"bare head", "light bar"}).Draw(t, "name")})
		limit := a.Limits.AttitudeDeg * math.Pi / 180
		for _, x := range p.Axes {
			most := max(x.DoubletRad, x.SweepRad)
			if most > 0.6*limit && !strings.Contains(strings.Join(p.Cautions, "\n"), "even the smallest input") {
				t.Errorf("%s: %.1f of the limit", x.Axis, most/limit)
			}
		}
	})
}

func TestRefused(t *testing.T) {
	narrow := aircraft()
	narrow.Limits.AttitudeDeg = 1
	for _, c := range []struct {
		name string
		r    plan.Request
		says string
	}{
		{"no such configuration", plan.Request{Aircraft: aircraft(), Configuration: "lead bar"}, `"lead bar": no such configuration; there is "bare", "bar"`},
		{"no configuration at all", plan.Request{Aircraft: &flight.Aircraft{}, Configuration: "x"}, "[[configuration]]"},
		{"wish too short", plan.Request{Aircraft: aircraft(), Configuration: "bar", WishS: 1e-5}, "wish for 1 to 500 ms"},
		{"wish too long", plan.Request{Aircraft: aircraft(), Configuration: "bar", WishS: 3}, "wish for 1 to 500 ms"},
		{"wish negative", plan.Request{Aircraft: aircraft(), Configuration: "bar", WishS: -1}, "wish for"},
		{"wish not a number", plan.Request{Aircraft: aircraft(), Configuration: "bar", WishS: math.NaN()}, "wish for"},
		{"no room", plan.Request{Aircraft: narrow, Configuration: "bar"}, "no room for a test input"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := plan.Make(c.r)
			if p != nil || err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v, want an error with %q", err, c.says)
			}
			var refused *plan.RefusedError
			if !errors.Is(err, plan.ErrConfiguration) && !errors.As(err, &refused) {
				t.Errorf("%T is no error to tell apart", err)
			}
		})
	}
}

func TestSamePlanTwice(t *testing.T) {
	r := plan.Request{Aircraft: measured(), Configuration: "light bar", Last: last("bare head")}
	if a, b := mustMake(t, r), mustMake(t, r); !reflect.DeepEqual(a, b) {
		t.Error("two plans of one request differ")
	}
}

// Whatever is planned can be written down and read again.
func TestPlanCanBeWritten(t *testing.T) {
	for _, name := range []string{"bare", "bare head", "light bar"} {
		p := mustMake(t, plan.Request{Aircraft: measured(), Configuration: name, Last: last("bare head")})
		dir := t.TempDir()
		if err := flight.WritePlan(dir, &p.Written, false); err != nil {
			t.Fatal(err)
		}
		got, _, err := flight.ReadPlan(dir)
		if err != nil {
			t.Fatal(err)
		}
		if got.Text() != p.Written.Text() {
			t.Errorf("%s: read\n%s\nwrote\n%s", name, got.Text(), p.Written.Text())
		}
	}
}
