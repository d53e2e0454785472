package response

import (
	"context"
	"os"
	"strconv"
	"strings"
	"testing"

	"hopcard/flight"
)

// loadDoublets reads the real doublets.
func loadDoublets(t testing.TB) (*flight.Hop, []flight.Segment) {
	t.Helper()
	path := "../../../shared/data/real-helicopter/doublets.csv"
	if _, err := os.Stat(path); err != nil {
		t.Skip("the real log is not there: " + path)
	}
	return read(t, path)
}

// The rates of this log lead its stick by 60 to 70 ms, seen as the peak of the
// cross-correlation. No delay may be printed as if it were good.
func TestLeadsStickInRealLog(t *testing.T) {
	h, segs := loadDoublets(t)
	a, err := Analyse(context.Background(), h, segs, Settings{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]string{}
	for _, f := range a.Findings {
		if f.Code == flight.CodeLeadsStick {
			if f.Severity != flight.Stop {
				t.Errorf("severity %q, want stop", f.Severity)
			}
			found[f.Channel] = f.Text
		}
	}
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		text := found[string(axis.Stick())]
		var ms float64
		if i := strings.Index(text, " by "); i >= 0 {
			ms, _ = strconv.ParseFloat(strings.Fields(text[i+4:])[0], 64)
		}
		if ms < 55 || ms > 75 {
			t.Errorf("%s: lead of %.0f ms in %q, want 60 to 70", axis, ms, text)
		}
	}
	for _, r := range a.Responses {
		if r.CorrelationLagS != nil || r.WeightedCorrelationLagS != nil || r.PhaseDelayS != nil || r.W180RadS != nil ||
			r.BandwidthRadS != nil || r.BandwidthPhaseRadS != nil || r.BandwidthGainRadS != nil || len(r.Lag) > 0 ||
			r.TransportDelayS != nil || r.EffectiveDelayS != nil || r.Model != nil {
			t.Errorf("%s %s gives times although the motion leads the stick", r.Axis, r.Output)
		}
	}
}
