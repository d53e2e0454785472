package wind

import (
	"math"
	"testing"

	"hopcard/flight"
)

// TestMinutes: wind and motion whose rms in each block is known; a gap in the wind leaves
// its block out.
func TestMinutes(t *testing.T) {
	var ts, v []float64
	for i := range 2400 {
		at := float64(i) * 0.25
		if at > 300 && at < 308 {
			continue
		}
		ts, v = append(ts, at), append(v, 4+0.5*math.Sin(2*math.Pi*at/5))
	}
	h := windHop(ts, v, nil)
	wave := func(at float64) float64 { return 0.1 * math.Sin(2*math.Pi*at/4) }
	stickHop(h, wave, wave, 600)
	r := analyse(t, h, flight.Span{FromS: 20, ToS: 580})
	if len(r.Phases) != 1 || len(r.Minutes) != 27 {
		t.Fatalf("%d phases, %d blocks, want 1 and 27", len(r.Phases), len(r.Minutes))
	}
	for _, m := range r.Minutes {
		if m.Span.Contains(302) {
			t.Errorf("block %v has no wind", m.Span)
		}
		closeTo(t, "length", m.Span.LengthS(), 20, 1e-9)
		closeTo(t, "wind", m.SDMS, 0.5/math.Sqrt2, 0.01)
		closeTo(t, "roll", m.RollRMS, 0.1/math.Sqrt2, 1e-3)
	}
}
