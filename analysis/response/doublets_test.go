package response

import (
	"context"
	"os"
	"strconv"
	"testing"

	"hopcard/flight"
)

// loadDoublets reads the real doublets; the whole record is in hover.
func loadDoublets(t testing.TB) (*flight.Hop, []flight.Segment) {
	t.Helper()
	path := "../../../shared/data/real-helicopter/doublets.csv"
	if _, err := os.Stat(path); err != nil {
		t.Skip("the real log is not there: " + path)
	}
	rows := readTable(t, path)
	quantities := []flight.Quantity{flight.Time, flight.LatStick, flight.LonStick, flight.Pedal, flight.Collective,
		flight.Roll, flight.Pitch, flight.Heading, flight.RollRate, flight.PitchRate, flight.YawRate}
	h := &flight.Hop{Sources: []flight.Source{{File: "doublets.csv", Clock: flight.Clock{AlignedBy: flight.AlignSingle}}}}
	var stamps []float64
	for j, q := range quantities {
		var v []float64
		for _, r := range rows[1:] {
			x, err := strconv.ParseFloat(r[j], 64)
			if err != nil {
				t.Fatal(err)
			}
			v = append(v, x)
		}
		if q == flight.Time {
			stamps = v
			continue
		}
		h.Channels = append(h.Channels, flight.Channel{Quantity: q, TimeS: stamps, Value: v, Sure: 1})
	}
	return h, []flight.Segment{{Kind: flight.Hover, Span: flight.Span{FromS: stamps[0], ToS: stamps[len(stamps)-1]}}}
}

func TestDoubletsPrint(t *testing.T) {
	h, segs := loadDoublets(t)
	a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range a.Findings {
		t.Log(f)
	}
	for _, r := range a.Responses {
		t.Log(r.Axis, r.Output, "lag", show(r.CorrelationLagS), show(r.WeightedCorrelationLagS), show(r.PhaseDelayS))
		for k := range r.FrequencyRadS {
			if k%4 == 0 {
				t.Logf("   %6.2f  %6.2f dB  %6.2f deg  c %.3f sd %.2f %.2f", r.FrequencyRadS[k], r.GainDB[k], r.PhaseDeg[k], r.Coherence[k], r.GainSDDB[k], r.PhaseSDDeg[k])
			}
		}
	}
}
