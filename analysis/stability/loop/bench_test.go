package loop

import (
	"context"
	"testing"

	"hopcard/analysis/response"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// BenchmarkAnalyse measures both axes of a hop of ten minutes with attitude, rates and
// sticks at 200 Hz and wind at 4 Hz.
func BenchmarkAnalyse(b *testing.B) {
	s := drawHop(108, 380, false)
	s.Sensors.AttitudeHz, s.Sensors.StickHz = 200, 200
	h := simulate.Fly(s).Hop()
	segs, _ := segment.Find(h)
	a, err := response.Analyse(context.Background(), h, segs, response.Settings{}, nil)
	if err != nil {
		b.Fatal(err)
	}
	if f, _ := segment.Flight(segs); f.LengthS() < 500 || h.Channel(flight.Roll).RateHz() < 199 {
		b.Fatalf("a flight of %.0f s is no hop of ten minutes", f.LengthS())
	}
	for b.Loop() {
		if _, err := Analyse(context.Background(), h, segs, a.Responses, nil); err != nil {
			b.Fatal(err)
		}
	}
}
