package stability

import (
	"context"
	"math"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/flight"
)

// flown returns a hop with a hover from 10 to 70 s and what add puts on top.
func flown(attitude, stick func(t float64) float64) *flight.Hop {
	s := usualStory()
	s.size, s.stick = 0, 0
	h := s.hop()
	for i, t := range h.Channels[0].TimeS {
		h.Channels[0].Value[i] += attitude(t)
		h.Channels[2].Value[i] = stick(t)
	}
	return h
}

func zero(float64) float64 { return 0 }

// ramp rises from 0 at from to top at from + rise, and stays for hold.
func ramp(t, from, rise, hold, top float64) float64 {
	switch u := t - from; {
	case u < 0 || u > 2*rise+hold:
		return 0
	case u < rise:
		return top * u / rise
	case u > rise+hold:
		return top * (2*rise + hold - u) / rise
	}
	return top
}

func TestStopAndControlLeft(t *testing.T) {
	h := flown(zero, func(t float64) float64 {
		return ramp(t, 3, 0.5, 1, 1) + // control check on the ground: not counted
			ramp(t, 30, 0.5, 1, -0.95) + ramp(t, 50, 1, 1, 0.4)
	})
	segs, _ := segment.Find(h)
	r, err := Analyse(context.Background(), h, segs, flight.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var stops []Unstable
	for _, u := range r.Unstable {
		if u.Kind == ControlStop {
			stops = append(stops, u)
		}
	}
	// -0.95 is reached after 0.5 s, so -0.9 is passed 0.5*0.9/0.95 s after the start.
	from := 30 + 0.5*0.9/0.95
	to := 30 + 2 - 0.5*0.9/0.95
	if len(stops) != 1 || math.Abs(stops[0].Span.FromS-from) > 1e-3 || math.Abs(stops[0].Span.ToS-to) > 1e-3 {
		t.Fatalf("stops %+v, want one from %.3f to %.3f", stops, from, to)
	}
	if len(r.Control) != 1 {
		t.Fatalf("control %+v", r.Control)
	}
	c := r.Control[0]
	const tol = 0.01
	if math.Abs(c.UsedPercent-95) > tol || math.Abs(c.LeftPercent-5) > tol || math.Abs(c.LowPercent+95) > tol ||
		math.Abs(c.HighPercent-40) > tol || math.Abs(c.AtStopS-(to-from)) > 2e-3 {
		t.Errorf("control %+v, want 95 used, 5 left, -95 to 40, %.3f s at the stop", c, to-from)
	}
}

func TestLimits(t *testing.T) {
	top := 20 * math.Pi / 180
	h := flown(func(t float64) float64 { return ramp(t, 40, 1, 0.5, top+0.02) }, zero)
	segs, _ := segment.Find(h)
	for _, c := range []struct {
		limitDeg float64
		want     int
	}{{0, 1}, {10, 1}, {30, 0}} {
		r, err := Analyse(context.Background(), h, segs, flight.Limits{AttitudeDeg: c.limitDeg})
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, u := range r.Unstable {
			if u.Kind == Limit && u.Span.FromS > 40 && u.Span.ToS < 42.5 {
				n++
			}
		}
		if n != c.want || len(r.Unstable) != n {
			t.Errorf("limit %g deg: %+v, want %d flags", c.limitDeg, r.Unstable, c.want)
		}
	}
}

// TestSpikeIsNoLimit: one wild sample is a fault of the sensor, not an attitude.
func TestSpikeIsNoLimit(t *testing.T) {
	h := flown(zero, zero)
	h.Channels[0].Value[2000] = 3
	h.Channels[2].Value[2100] = 1
	segs, _ := segment.Find(h)
	r, err := Analyse(context.Background(), h, segs, flight.Limits{})
	if err != nil || len(r.Unstable) != 0 {
		t.Errorf("%v %+v, want nothing", err, r.Unstable)
	}
	if c := r.Control[0]; c.UsedPercent > 50 {
		t.Errorf("control used %g %% from one sample", c.UsedPercent)
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	h := flown(zero, zero)
	segs, _ := segment.Find(h)
	if _, err := Analyse(ctx, h, segs, flight.Limits{}); err == nil {
		t.Error("no error from a cancelled context")
	}
}

// TestBadDataNeverPanics: empty and holed channels give findings or nothing.
func TestBadDataNeverPanics(t *testing.T) {
	nan := math.NaN()
	in := []flight.Segment{{Kind: flight.LiftOff, Span: flight.Span{FromS: 10, ToS: 15}}, {Kind: flight.Hover, Span: flight.Span{FromS: 15, ToS: 70}}}
	for name, h := range map[string]*flight.Hop{
		"empty":      {},
		"all nan":    flown(func(float64) float64 { return nan }, func(float64) float64 { return nan }),
		"half nan":   flown(func(t float64) float64 { return map[bool]float64{true: nan}[t > 40] }, zero),
		"wild":       flown(func(t float64) float64 { return 1e300 * math.Sin(1e5*t) }, func(float64) float64 { return 1e300 }),
		"no samples": {Sources: make([]flight.Source, 1), Channels: []flight.Channel{{Quantity: flight.Roll}, {Quantity: flight.LatStick}}},
	} {
		r, err := Analyse(context.Background(), h, in, flight.Limits{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, u := range r.Unstable {
			if u.Reason == "" || u.FrequencyRadS != nil && !(u.FrequencyRadS.Value > 0) {
				t.Errorf("%s: %+v", name, u)
			}
		}
	}
}
