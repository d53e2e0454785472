package stability

import (
	"context"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/analysis/segment/series"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// A swashplate out of phase lets the inputs of one axis shake the other. That is an answer
// across, however it grows while a sweep goes through the other axis's own swing.
func TestInputsAcrossAreNoGrowth(t *testing.T) {
	overlapped := 0
	for _, c := range []struct {
		kind simulate.LegKind
		deg  float64
	}{
		{simulate.Sweep, -15}, {simulate.Sweep, 15}, {simulate.Doublet, -20}, {simulate.Steps, 20},
	} {
		for seed := uint64(41); seed < 44; seed++ {
			f := simulate.Fly(simulate.DrawExcited(seed, c.kind, c.deg))
			h := f.Hop()
			segs, _ := segment.Find(h)
			r, err := Analyse(context.Background(), h, segs, flight.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			for _, u := range r.Unstable {
				if u.FrequencyRadS != nil {
					t.Errorf("%s, phasing %g deg, seed %d: %s from %.0f to %.0f s", c.kind, c.deg, seed, u.Reason, u.Span.FromS, u.Span.ToS)
				}
			}
			overlapped += len(segment.Inputs(segs, flight.PitchAxis))
		}
	}
	if overlapped == 0 {
		t.Error("no input was found: nothing was tested")
	}
}

func TestMotionOfItsOwnIsNotAcross(t *testing.T) {
	own, other := traceOf(t, 4.0), traceOf(t, 1.0)
	g := growth{span: flight.Span{FromS: 5, ToS: 10}}
	inputs := []flight.Span{{FromS: 7, ToS: 8}}
	if own.answersAcross(g, other, inputs) {
		t.Error("four times the other axis's motion was taken for an answer across")
	}
	if !other.answersAcross(g, own, inputs) {
		t.Error("a quarter of the other axis's motion was taken for its own")
	}
	if other.answersAcross(g, own, []flight.Span{{FromS: 0, ToS: 3}}) {
		t.Error("an input that was over made it an answer across")
	}
	if other.answersAcross(g, nil, inputs) {
		t.Error("nothing was logged of the other axis, and it drives this one")
	}
}

// traceOf is a trace of 20 s whose band-passed rate has the amplitude.
func traceOf(t *testing.T, amplitude float64) *trace {
	t.Helper()
	tr := &trace{grid: series.Grid{StepS: stepS, N: int(20 / stepS)}}
	for i := range int(20 / stepS) {
		tr.band = append(tr.band, amplitude*float64(1-2*(i/10%2)))
	}
	return tr
}
