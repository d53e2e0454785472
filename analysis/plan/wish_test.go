package plan_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"hopcard/analysis/plan"
	"hopcard/analysis/response"
	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// legs is the plan as a pilot of the simulator flies it.
func legs(inputs []flight.PlannedInput) []simulate.Leg {
	var out []simulate.Leg
	for _, i := range inputs {
		for n := range i.Count {
			l := simulate.Leg{Kind: simulate.LegKind(i.Kind), Axis: i.Axis, LengthS: i.LengthS,
				Amplitude: i.SizePercent / 100, AmplitudeEnd: i.SizeEndPercent / 100, FromRadS: i.FromRadS, ToRadS: i.ToRadS}
			if i.Kind == flight.Doublet && n%2 == 1 {
				l.Amplitude = -l.Amplitude
			}
			out = append(out, l)
			if i.Kind != flight.Hover {
				out = append(out, simulate.Leg{Kind: simulate.Hover, LengthS: 8})
			}
		}
	}
	return out
}

// flown flies the plan on a machine.
func flown(s simulate.Scenario, p *plan.Plan) *simulate.Flight {
	s.Legs = simulate.Whole(true, legs(p.Written.Inputs)...)
	return simulate.Fly(s)
}

// measure analyses the flight's hop.
func measure(t *testing.T, h *flight.Hop) ([]flight.Segment, []response.Result) {
	t.Helper()
	segs, _ := segment.Find(h)
	a, err := response.Analyse(context.Background(), h, segs, response.Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return segs, a.Responses
}

func halfWidthS(rs []response.Result, axis flight.Axis) (delay, at1Hz float64) {
	delay, at1Hz = 9, 9
	for _, r := range rs {
		if r.Axis != axis || r.Output != response.Rate || r.Input != axis.Stick() {
			continue
		}
		if e := r.CorrelationLagS; e != nil {
			delay = (e.High - e.Low) / 2
		}
		for _, l := range r.Lag {
			if l.At == "1 Hz" {
				at1Hz = (l.TimeS.High - l.TimeS.Low) / 2
			}
		}
	}
	return delay, at1Hz
}

// machine draws a machine and its pilot in air up to a mean of 5 m/s.
func machine(seed uint64) simulate.Scenario {
	rng := rand.New(rand.NewPCG(seed, 5))
	s := simulate.DrawExcited(seed, simulate.Doublet, 2)
	mean := 0.5 + 4.5*rng.Float64()
	s.Air = simulate.Air{Mean: simulate.Constant(mean), DirectionFrom: simulate.Constant(6 * rng.Float64()), Gusts: mean * (0.5 + rng.Float64())}
	return s
}

func aircraft() *flight.Aircraft {
	return &flight.Aircraft{Limits: flight.DefaultLimits(), WindClass: flight.DefaultWindClass(),
		Configurations: []flight.Configuration{{Name: "bare"}, {Name: "bar", Bar: &flight.Bar{WeightKg: 0.45}}}}
}

// outcome is a plan that was flown.
type outcome struct {
	axis             flight.Axis
	wish, want, got  float64
	wantPhase, gotHz float64
	reached          bool
	wantDeg, peakDeg float64
	sweeps           int
}

// flyTwice flies what is planned with nothing known, then what is planned from that.
func flyTwice(t *testing.T, seed uint64, wishS float64) (blind, informed []outcome) {
	t.Helper()
	s := machine(seed)
	r := plan.Request{Aircraft: aircraft(), Configuration: "bar", WishS: wishS}
	for round := range 2 {
		p, err := plan.Make(r)
		if err != nil {
			t.Fatal(err)
		}
		s.Seed = seed*100 + uint64(round)
		f := flown(s, p)
		h := f.Hop()
		h.Configuration = "bar"
		segs, rs := measure(t, h)
		for _, a := range p.Axes {
			o := outcome{axis: a.Axis, wish: wishS, want: a.HalfWidthS, wantPhase: a.PhaseHalfWidthS, reached: a.Reached, wantDeg: 57.3 * max(a.DoubletRad, a.SweepRad)}
			o.got, o.gotHz = halfWidthS(rs, a.Axis)
			trim := s.Trim.PitchRad
			if a.Axis == flight.RollAxis {
				trim = s.Trim.RollRad
			}
			for _, l := range f.Truth.Legs {
				if l.Leg.Kind == simulate.Doublet || l.Leg.Kind == simulate.Sweep {
					y := f.Attitude(a.Axis)
					for k := int(l.Span.FromS / f.StepS); k < int(l.Span.ToS/f.StepS); k++ {
						if l.Leg.Axis == a.Axis {
							o.peakDeg = max(o.peakDeg, 57.3*(y[k]-trim), 57.3*(trim-y[k]))
						}
					}
				}
			}
			for _, i := range p.Written.Inputs {
				if i.Kind == flight.Sweep && i.Axis == a.Axis {
					o.sweeps = i.Count
				}
			}
			if round == 0 {
				blind = append(blind, o)
			} else {
				informed = append(informed, o)
			}
		}
		r.Last = &plan.Earlier{Hop: h, Proceed: "yes", Segments: segs, Responses: rs}
		r.Same = []plan.Earlier{*r.Last}
	}
	return blind, informed
}

// A hop flown as planned from one hop before reaches what was wished, in most cases: here in
// most of a few draws, TestStudy has many more.
func TestPlannedHopReachesTheWish(t *testing.T) {
	const wish = 0.010
	promised, kept := 0, 0
	for seed := uint64(101); seed <= 103; seed++ {
		_, informed := flyTwice(t, seed, wish)
		for _, o := range informed {
			if o.reached {
				promised++
			}
			if o.reached && o.got <= wish && o.gotHz <= wish {
				kept++
			}
			if o.peakDeg > 12 {
				t.Errorf("seed %d %s: %.0f deg, planned for %.0f", seed, o.axis, o.peakDeg, o.wantDeg)
			}
		}
	}
	if promised < 4 || kept < promised-1 {
		t.Errorf("of 6, %d were promised and %d kept", promised, kept)
	}
}

// The same by the rotor model alone, for a configuration that was never flown.
func TestPlannedByTheModelReachesTheWish(t *testing.T) {
	const wish = 0.010
	a := measured()
	for _, name := range []string{"bare head", "light bar"} {
		p := mustMake(t, plan.Request{Aircraft: a, Configuration: name, WishS: wish})
		head, _, err := rotor.FromConfiguration(*a.Configuration(name), rotor.Surroundings{ControlDelayS: 0.06})
		if err != nil {
			t.Fatal(err)
		}
		pilot := simulate.BarePilot()
		if head.HasBar() {
			pilot = simulate.BarPilot()
		}
		f := flown(simulate.Scenario{Seed: 9, Head: head, Pilot: pilot, Trim: simulate.UsualTrim(), Sensors: simulate.UsualSensors(),
			Air: simulate.Air{Mean: simulate.Constant(1.8), DirectionFrom: simulate.Constant(1), Gusts: 2}}, p)
		_, rs := measure(t, f.Hop())
		for _, x := range p.Axes {
			got, gotHz := halfWidthS(rs, x.Axis)
			t.Logf("%s, %s: %.1f and %.1f ms foreseen, %.1f and %.1f measured", name, x.Axis, x.HalfWidthS*1e3, x.PhaseHalfWidthS*1e3, got*1e3, gotHz*1e3)
			if x.Basis != plan.Model || !x.Reached || got > wish || gotHz > wish {
				t.Errorf("%s, %s: by %s, within %.1f and %.1f ms foreseen (%v), %.1f and %.1f measured", name, x.Axis, x.Basis,
					x.HalfWidthS*1e3, x.PhaseHalfWidthS*1e3, x.Reached, got*1e3, gotHz*1e3)
			}
		}
	}
}
