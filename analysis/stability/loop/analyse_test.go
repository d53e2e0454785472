package loop

import (
	"context"
	"math"
	"testing"

	"hopcard/analysis/response"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
)

// TestAnalyse flies one hop and holds its margins against the exact loop of pilot and
// aircraft; the study gives the scatter over many.
func TestAnalyse(t *testing.T) {
	f := simulate.Fly(drawHop(108, 120))
	h := f.Hop()
	segs, _ := segment.Find(h)
	a, err := response.Analyse(context.Background(), h, segs, response.Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := Analyse(context.Background(), h, segs, a.Responses, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Margins) != 2 {
		t.Fatalf("%d margins, want roll and pitch: %v", len(r.Margins), r.Findings)
	}
	for _, m := range r.Margins {
		want := margins(trueLoop(t, f, m.Axis))
		if m.PhaseMarginDeg == nil || m.GainMarginDB == nil {
			t.Fatalf("%s: margins are missing: %v", m.Axis, r.Findings)
		}
		if d := m.PhaseMarginDeg.Value - want.phase*degPerRad; math.Abs(d) > 10 {
			t.Errorf("%s: phase margin %.1f deg, want %.1f", m.Axis, m.PhaseMarginDeg.Value, want.phase*degPerRad)
		}
		if d := m.GainMarginDB.Value - want.gain*dbPerNeper; math.Abs(d) > 3 {
			t.Errorf("%s: gain margin %.1f dB, want %.1f", m.Axis, m.GainMarginDB.Value, want.gain*dbPerNeper)
		}
		if len(m.Loop) == 0 || len(m.Assumed) != 3 || m.Pilot == nil || m.Says == "" {
			t.Errorf("%s: loop, pilots or words are missing", m.Axis)
		}
	}
}
