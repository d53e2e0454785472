package loop

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"hopcard/analysis/segment"
	"hopcard/flight"
)

// TestRuledOut: whatever the crew rules out and whatever segments were found, the numbers that
// are left are numbers, in order, and what was measured from lies outside what was ruled out.
func TestRuledOut(t *testing.T) {
	f := flyOne()
	h := f.Hop()
	all, _ := segment.Find(h)
	responses := exactResponses(f)
	rapid.Check(t, func(t *rapid.T) {
		if rapid.IntRange(0, 7).Draw(t, "skip") > 0 {
			return // one in eight of the hundred is enough
		}
		hop := *h
		for range rapid.IntRange(0, 4).Draw(t, "spans") {
			from := rapid.Float64Range(-10, h.DurationS).Draw(t, "from")
			hop.Exclude = append(hop.Exclude, flight.Span{FromS: from, ToS: from + rapid.Float64Range(0.01, 60).Draw(t, "length")})
		}
		var segs []flight.Segment
		for _, s := range all {
			if rapid.IntRange(0, 5).Draw(t, "keep") > 0 {
				segs = append(segs, s)
			}
		}
		r, err := Analyse(context.Background(), &hop, segs, responses, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range r.Margins {
			for _, e := range estimates(m) {
				if e != nil && !(e.Low <= e.Value && e.Value <= e.High && !math.IsInf(e.High-e.Low, 0)) {
					t.Fatalf("%s: %v", m.Axis, *e)
				}
			}
			if m.Pilot == nil {
				continue
			}
			for _, s := range m.Pilot.Spans {
				for _, x := range hop.Exclude {
					if s.Overlaps(x) {
						t.Fatalf("%s: measured in %v, but %v was ruled out", m.Axis, s, x)
					}
				}
			}
		}
	})
}
