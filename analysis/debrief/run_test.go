package debrief

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"sync"
	"testing"

	"github.com/sourcegraph/conc"

	"hopcard/analysis/simulate"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// fly returns a hop of about two minutes with the legs between lift-off and landing.
func fly(head string, legs ...simulate.Leg) *simulate.Flight {
	s := simulate.Scenario{
		Name: "test", Seed: 11, Head: simulate.BareHead(), Pilot: simulate.BarePilot(),
		Sensors: simulate.UsualSensors(), Trim: simulate.UsualTrim(),
		Air:  simulate.Air{Mean: simulate.Constant(1), DirectionFrom: simulate.Constant(0.5)},
		Legs: simulate.Whole(false, legs...),
	}
	if head == "bar" {
		s.Head, s.Pilot = simulate.BarHead("light bar", 0.6), simulate.BarPilot()
	}
	return simulate.Fly(s)
}

func aircraft() *flight.Aircraft {
	return &flight.Aircraft{Limits: flight.DefaultLimits(), WindClass: flight.DefaultWindClass()}
}

func docileLegs() []simulate.Leg {
	return slices.Concat(
		[]simulate.Leg{{Kind: simulate.Hover, LengthS: 10}},
		simulate.SweepBoth(0.06),
		simulate.Doublets(flight.RollAxis, 2, 0.06),
		[]simulate.Leg{{Kind: simulate.Hover, LengthS: 10}},
	)
}

func TestDocileHopMayGoOn(t *testing.T) {
	d, err := Run(context.Background(), fly("bar", docileLegs()...).Hop(), aircraft(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if d.Verdict.Proceed != Yes {
		t.Errorf("verdict %s: %+v", d.Verdict.Proceed, d.Verdict.Reasons)
	}
	if len(d.Responses) == 0 || len(d.Segments) == 0 || d.Wind.Whole == nil || len(d.Stability.Control) < 2 {
		t.Errorf("%d responses, %d segments, wind %v, %d axes of control",
			len(d.Responses), len(d.Segments), d.Wind.Whole, len(d.Stability.Control))
	}
}

func TestPlantedOscillationStopsTheCard(t *testing.T) {
	f := fly("bare", simulate.Leg{Kind: simulate.Hover, LengthS: 20},
		simulate.Leg{Kind: simulate.Growing, Axis: flight.RollAxis, LengthS: 30, GainFactor: 2.3, LimitRad: 0.2},
		simulate.Leg{Kind: simulate.Hover, LengthS: 20})
	if len(f.Truth.Growing) != 1 || !f.Truth.Growing[0].Passed {
		t.Fatalf("the scenario grew nothing: %+v", f.Truth.Growing)
	}
	d, err := Run(context.Background(), f.Hop(), aircraft(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if d.Verdict.Proceed != No {
		t.Errorf("verdict %s", d.Verdict.Proceed)
	}
	planted := f.Truth.Growing[0].Span
	if !slices.ContainsFunc(d.Stability.Unstable, func(u stability.Unstable) bool {
		return u.Kind == stability.PilotCoupled && u.Axis == flight.RollAxis && u.Span.Overlaps(planted)
	}) {
		t.Errorf("oscillation of %+v not among %+v", planted, d.Stability.Unstable)
	}
}

func TestSameHopSameDebrief(t *testing.T) {
	h := fly("bar", docileLegs()...).Hop()
	var got [2]*Debrief
	for i := range got {
		d, err := Run(context.Background(), h, aircraft(), nil)
		if err != nil {
			t.Fatal(err)
		}
		got[i] = d
	}
	if !sameIgnoringNaN(got[0], got[1]) {
		t.Error("two runs on one hop differ")
	}
}

// sameIgnoringNaN compares deeply; NaN, which marks a missing interval, equals NaN.
func sameIgnoringNaN(a, b any) bool {
	return equalValues(reflect.ValueOf(a), reflect.ValueOf(b))
}

func equalValues(a, b reflect.Value) bool {
	switch a.Kind() {
	case reflect.Pointer, reflect.Interface:
		if a.IsNil() || b.IsNil() || a.Pointer() == b.Pointer() {
			return a.IsNil() == b.IsNil()
		}
		return equalValues(a.Elem(), b.Elem())
	case reflect.Struct:
		for i := range a.NumField() {
			if !equalValues(a.Field(i), b.Field(i)) {
				return false
			}
		}
		return true
	case reflect.Slice, reflect.Array:
		if a.Len() != b.Len() {
			return false
		}
		for i := range a.Len() {
			if !equalValues(a.Index(i), b.Index(i)) {
				return false
			}
		}
		return true
	case reflect.Float64:
		x, y := a.Float(), b.Float()
		return x == y || x != x && y != y
	}
	return reflect.DeepEqual(a.Interface(), b.Interface())
}

// Whatever is missing, the rest must still be there, and no hop that was not judged may
// be waved through.
func TestMissingChannels(t *testing.T) {
	whole := fly("bar", docileLegs()...).Hop()
	for _, c := range []struct {
		name    string
		without []flight.Quantity
		want    Proceed
	}{
		{"no stick", []flight.Quantity{flight.LatStick, flight.LonStick, flight.Pedal}, Caution},
		{"no rates", []flight.Quantity{flight.RollRate, flight.PitchRate, flight.YawRate}, Yes},
		{"no wind", []flight.Quantity{flight.WindSpeed, flight.WindDirectionFrom}, Yes},
		{"no pitch", []flight.Quantity{flight.Pitch}, Caution},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := *whole
			h.Channels = slices.DeleteFunc(slices.Clone(whole.Channels), func(ch flight.Channel) bool {
				return slices.Contains(c.without, ch.Quantity)
			})
			d, err := Run(context.Background(), &h, aircraft(), nil)
			if err != nil {
				t.Fatal(err)
			}
			if d.Verdict.Proceed != c.want {
				t.Errorf("verdict %s, want %s: %+v", d.Verdict.Proceed, c.want, d.Verdict.Reasons)
			}
		})
	}
}

func TestRunRefuses(t *testing.T) {
	h := fly("bar", simulate.Leg{Kind: simulate.Hover, LengthS: 20}).Hop()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Run(ctx, h, aircraft(), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	blind := *h
	blind.Channels = nil
	if _, err := Run(context.Background(), &blind, aircraft(), nil); !errors.Is(err, ErrNoAttitude) {
		t.Errorf("no attitude: %v", err)
	}
}

func TestProgressNeverGoesBack(t *testing.T) {
	var mu sync.Mutex
	last, calls := 0.0, 0
	_, err := Run(context.Background(), fly("bar", docileLegs()...).Hop(), aircraft(), func(done float64, what string) {
		mu.Lock()
		defer mu.Unlock()
		if done < last || done > 1 || what == "" {
			t.Errorf("progress %g %q after %g", done, what, last)
		}
		last = done
		calls++
	})
	if err != nil || last != 1 || calls < 3 {
		t.Errorf("ended at %g after %d calls, error %v", last, calls, err)
	}
}

func TestEachReturnsTheCause(t *testing.T) {
	cause := errors.New("cause")
	err := each(context.Background(), func(float64, string) {},
		part{"waits", func(ctx context.Context, _ func(float64, string)) error { <-ctx.Done(); return ctx.Err() }},
		part{"fails", func(context.Context, func(float64, string)) error { return cause }},
	)
	if !errors.Is(err, cause) || errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

func TestPanicOfAPartIsAnError(t *testing.T) {
	for name, broken := range map[string]func(){
		"in the part":      func() { panic("out of range") },
		"in its goroutine": func() { var w conc.WaitGroup; w.Go(func() { panic("out of range") }); w.Wait() },
	} {
		err := each(context.Background(), func(float64, string) {},
			part{"breaks", func(context.Context, func(float64, string)) error { broken(); return nil }})
		if want := "breaks: hopcard itself failed on this hop (please report it): out of range"; err == nil || err.Error() != want {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
}
