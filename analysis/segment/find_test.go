package segment

import (
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

// bench builds a hop of one source from functions of time.
func bench(rateHz, lengthS float64, noise map[flight.Quantity]float64, of map[flight.Quantity]func(t float64) float64) *flight.Hop {
	h := &flight.Hop{Sources: []flight.Source{{File: "bench", RateHz: rateHz, Clock: flight.Clock{AlignedBy: flight.AlignSingle}}}}
	n := int(lengthS * rateHz)
	ts := make([]float64, n)
	for i := range ts {
		ts[i] = float64(i) / rateHz
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for _, q := range flight.Quantities() {
		if of[q] == nil {
			continue
		}
		v := make([]float64, n)
		for i, t := range ts {
			v[i] = of[q](t) + noise[q]*rng.NormFloat64()
		}
		h.Channels = append(h.Channels, flight.Channel{Quantity: q, TimeS: ts, Value: v, Sure: 1, Sign: 1, Scale: 1})
	}
	return h
}

func kindsOf(segs []flight.Segment) map[flight.SegmentKind]int {
	n := map[flight.SegmentKind]int{}
	for _, s := range segs {
		n[s.Kind]++
	}
	return n
}

var groundNoise = map[flight.Quantity]float64{flight.Roll: 0.03 * degree, flight.Pitch: 0.03 * degree,
	flight.LatStick: 0.0015, flight.LonStick: 0.0015}

// doublets moves a stick like three doublets of 30 % of its travel.
func doublets(t float64) float64 {
	for _, at := range []float64{10, 20, 30} {
		switch {
		case t >= at && t < at+0.8:
			return 0.3
		case t >= at+0.8 && t < at+1.6:
			return -0.3
		}
	}
	return 0
}

func TestStickMovedOnTheGroundIsNoInput(t *testing.T) {
	h := bench(50, 60, groundNoise, map[flight.Quantity]func(float64) float64{
		flight.Roll: func(float64) float64 { return 0.01 }, flight.Pitch: func(float64) float64 { return 0.02 },
		flight.LatStick: doublets, flight.LonStick: func(float64) float64 { return 0 },
	})
	segs, findings := Find(h)
	n := kindsOf(segs)
	if n[flight.Doublet] != 0 || n[flight.ControlCheck] != 3 || len(Flights(segs)) != 0 {
		t.Errorf("segments %v, want three control checks and no flight", segs)
	}
	if len(findings) != 1 || findings[0].Severity != flight.Note {
		t.Errorf("findings %v, want a note that it never flew", findings)
	}
}

// hovering is the attitude of a hover flown by hand.
func hovering(t float64) float64 {
	return 0.02*math.Sin(1.1*t) + 0.01*math.Sin(2.3*t+1)
}

func TestRecordThatIsAllInTheAir(t *testing.T) {
	h := bench(50, 60, groundNoise, map[flight.Quantity]func(float64) float64{
		flight.Roll: hovering, flight.Pitch: func(t float64) float64 { return hovering(t + 3) },
		flight.LatStick: doublets, flight.LonStick: func(t float64) float64 { return 0.01 * math.Sin(2*t) },
	})
	segs, _ := Find(h)
	n := kindsOf(segs)
	if n[flight.Ground] != 0 || n[flight.LiftOff] != 0 || n[flight.Landing] != 0 {
		t.Errorf("segments %v, want no ground and no lift-off", segs)
	}
	spans := Inputs(segs, flight.RollAxis, flight.Doublet)
	if len(spans) != 3 || len(Inputs(segs, flight.PitchAxis)) != 0 {
		t.Fatalf("inputs in %v, want three roll doublets", segs)
	}
	for i, s := range spans {
		want := float64(10 * (i + 1))
		if math.Abs(s.FromS-want) > 0.1 || math.Abs(s.ToS-want-1.6) > 0.1 {
			t.Errorf("doublet at %v, want %g to %g", s, want, want+1.6)
		}
	}
}

// TestTwoHopsInOneRecord has a landing between two flights.
func TestTwoHopsInOneRecord(t *testing.T) {
	up := func(t float64) float64 {
		if t > 10 && t < 40 || t > 60 && t < 90 {
			return hovering(t)
		}
		return 0
	}
	h := bench(20, 100, groundNoise, map[flight.Quantity]func(float64) float64{flight.Roll: up, flight.Pitch: up})
	segs, _ := Find(h)
	got := Flights(segs)
	if len(got) != 2 {
		t.Fatalf("flights %v, want two", got)
	}
	for i, want := range []flight.Span{{FromS: 10, ToS: 40}, {FromS: 60, ToS: 90}} {
		if math.Abs(got[i].FromS-want.FromS) > 1 || math.Abs(got[i].ToS-want.ToS) > 1 {
			t.Errorf("flight %v, want %v", got[i], want)
		}
	}
}

// TestUntimedStick: without a common clock nothing may be said about the stick.
func TestUntimedStick(t *testing.T) {
	h := bench(50, 60, groundNoise, map[flight.Quantity]func(float64) float64{
		flight.Roll: hovering, flight.Pitch: hovering, flight.LatStick: doublets,
	})
	h.Sources = append(h.Sources, flight.Source{File: "stick", Clock: flight.Clock{AlignedBy: flight.AlignNone}})
	h.Channel(flight.LatStick).Source = 1
	segs, findings := Find(h)
	if len(Inputs(segs, flight.RollAxis)) != 0 {
		t.Errorf("inputs placed without a common clock: %v", segs)
	}
	if len(findings) != 1 || findings[0].Code != flight.CodeNoClock {
		t.Errorf("findings %v, want no-clock", findings)
	}
}

func TestNothingUsable(t *testing.T) {
	for name, h := range map[string]*flight.Hop{
		"empty": {},
		"stick": bench(50, 60, nil, map[flight.Quantity]func(float64) float64{flight.LatStick: doublets}),
		"short": bench(50, 0.5, nil, map[flight.Quantity]func(float64) float64{flight.Roll: hovering}),
		"all missing": bench(50, 60, nil, map[flight.Quantity]func(float64) float64{
			flight.Roll: func(float64) float64 { return math.NaN() }}),
	} {
		segs, findings := Find(h)
		if len(Flights(segs)) != 0 || len(findings) == 0 {
			t.Errorf("%s: segments %v, findings %v; want no flight and a finding", name, segs, findings)
		}
	}
}
