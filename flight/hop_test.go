package flight

import (
	"math"
	"testing"
)

func TestChannelRateIsTheMedian(t *testing.T) {
	c := &Channel{TimeS: []float64{0, 0.01, 0.02, 5, 5.01, 5.02, 5.03}}
	if got := c.RateHz(); math.Abs(got-100) > 1e-9 {
		t.Errorf("rate %g Hz, want 100 in spite of the gap", got)
	}
	long := &Channel{}
	for i := range 50_000 {
		long.TimeS = append(long.TimeS, float64(i)/200)
	}
	if got := long.RateHz(); math.Abs(got-200) > 1e-6 {
		t.Errorf("rate of a long record %g Hz, want 200", got)
	}
	for _, short := range []*Channel{{}, {TimeS: []float64{1}}} {
		if short.RateHz() != 0 {
			t.Errorf("rate of %d samples is not 0", short.Len())
		}
		if short.Len() == 0 && short.Span() != (Span{}) {
			t.Error("an empty channel covers something")
		}
	}
}

func TestChannelPicksTheSurest(t *testing.T) {
	h := &Hop{Channels: []Channel{
		{Quantity: Roll, Column: "a", Sure: 0.6},
		{Quantity: Roll, Column: "b", Sure: 0.9},
		{Quantity: Roll, Column: "c", Sure: 0.9},
	}}
	if got := h.Channel(Roll).Column; got != "b" {
		t.Errorf("took column %q, want b", got)
	}
	if h.Channel(Pitch) != nil {
		t.Error("found a channel that is not there")
	}
}

func TestCommonClock(t *testing.T) {
	h := &Hop{Sources: []Source{
		{Clock: Clock{AlignedBy: AlignUTC}},
		{Clock: Clock{AlignedBy: AlignKnocks, IntervalS: 0.003}},
		{Clock: Clock{AlignedBy: AlignNone}},
	}}
	a, b, c, c2 := &Channel{Source: 0}, &Channel{Source: 1}, &Channel{Source: 2}, &Channel{Source: 2}
	if w, ok := h.CommonClock(a, b); !ok || w != 0.003 {
		t.Errorf("aligned sources: %g, %v", w, ok)
	}
	if _, ok := h.CommonClock(a, c); ok {
		t.Error("a source that could not be aligned may not be timed against another")
	}
	if w, ok := h.CommonClock(c, c2); !ok || w != 0 {
		t.Error("channels of one source share its clock, aligned or not")
	}
}

func TestSpan(t *testing.T) {
	s := Span{2, 5}
	if !s.Contains(2) || s.Contains(5) || s.LengthS() != 3 {
		t.Errorf("span %+v: start belongs to it, end does not", s)
	}
	if s.Overlaps(Span{5, 6}) || !s.Overlaps(Span{4.9, 6}) {
		t.Error("spans that only touch do not overlap")
	}
}

// TestWithheldChannel: a channel that is withheld is there to look at, not to work with.
func TestWithheldChannel(t *testing.T) {
	h := &Hop{Channels: []Channel{
		{Quantity: Pitch, Column: "a", Sure: 0.9, Withheld: "its unit is in doubt"}, {Quantity: Pitch, Column: "b", Sure: 0.5},
		{Quantity: Roll, Column: "c", Sure: 1, Withheld: "the same"},
	}}
	if c := h.Channel(Pitch); c == nil || c.Column != "b" {
		t.Errorf("pitch from %+v, want b", c)
	}
	if c := h.Channel(Roll); c != nil {
		t.Errorf("roll from %+v", c)
	}
}
