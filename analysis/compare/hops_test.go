package compare

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/importers"
)

const hopsDir = "../../../shared/hops"

// axisTruth is what a simulated hop's answer sheet says of one axis.
type axisTruth struct {
	DelayS   float64 `json:"control_path_delay_s"`
	Attitude struct {
		Phase []float64 `json:"phase_deg"`
	} `json:"stick_to_attitude"`
	Bandwidth struct {
		W180       *float64 `json:"w180_rad_s"`
		PhaseDelay *float64 `json:"phase_delay_s"`
	}
	atHz1Deg float64
}

func truthOf(t *testing.T, name string) map[string]axisTruth {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(hopsDir, name+".truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var sheet struct {
		Response struct {
			Frequency []float64 `json:"frequency_rad_s"`
			Axes      map[string]axisTruth
		}
	}
	if err := json.Unmarshal(data, &sheet); err != nil {
		t.Fatal(err)
	}
	out := map[string]axisTruth{}
	for axis, a := range sheet.Response.Axes {
		w := sheet.Response.Frequency
		for k := 1; k < len(w); k++ {
			if w[k-1] <= 2*math.Pi && 2*math.Pi < w[k] {
				share := math.Log(2*math.Pi/w[k-1]) / math.Log(w[k]/w[k-1])
				a.atHz1Deg = -(a.Attitude.Phase[k-1] + share*(a.Attitude.Phase[k]-a.Attitude.Phase[k-1]))
			}
		}
		out[axis] = a
	}
	return out
}

// differences are B less A of the keys that the answer sheets tell.
func differences(a, b axisTruth) map[string]float64 {
	out := map[string]float64{
		"phase_lag_1_hz": b.atHz1Deg - a.atHz1Deg, "transport_delay": 1e3 * (b.DelayS - a.DelayS),
	}
	if a.Bandwidth.W180 != nil && b.Bandwidth.W180 != nil {
		out["w180"] = 100 * (*b.Bandwidth.W180 / *a.Bandwidth.W180 - 1)
	}
	if a.Bandwidth.PhaseDelay != nil && b.Bandwidth.PhaseDelay != nil {
		out["phase_delay"] = 1e3 * (*b.Bandwidth.PhaseDelay - *a.Bandwidth.PhaseDelay)
	}
	return out
}

// Pairs of simulated hops of different machines: what is called real has the sign of the
// truth, and the truth lies in the intervals but for a share that chance explains.
func TestSimulatedHops(t *testing.T) {
	if _, err := os.Stat(hopsDir); err != nil {
		t.Skip("the simulated hops are not here")
	}
	names := []string{"h01", "h06", "h08"}
	hops, truth := map[string]*debrief.Debrief{}, map[string]map[string]axisTruth{}
	for _, name := range names {
		path := filepath.Join(hopsDir, name)
		h, err := importers.ReadHop(t.Context(), path, importers.Options{})
		if err != nil {
			t.Fatal(err)
		}
		aircraft, _, err := flight.AircraftFor(path)
		if err != nil {
			t.Fatal(err)
		}
		if hops[name], err = debrief.Run(t.Context(), h, aircraft, nil); err != nil {
			t.Fatal(err)
		}
		truth[name] = truthOf(t, name)
	}
	checked, outside := 0, 0
	for i, first := range names {
		for _, second := range names[i+1:] {
			r, err := Compare(context.Background(), Side{first, []*debrief.Debrief{hops[first]}}, Side{second, []*debrief.Debrief{hops[second]}})
			if err != nil {
				t.Fatal(err)
			}
			rows := map[string]Row{}
			for _, row := range r.Rows {
				rows[row.Key] = row
			}
			for _, axis := range []string{"roll", "pitch"} {
				for key, want := range differences(truth[first][axis], truth[second][axis]) {
					row := rows[axis+"_"+key]
					if row.Difference == nil {
						continue
					}
					checked++
					d := *row.Difference
					if row.Verdict == TwoHops && d.Value*want < 0 {
						t.Errorf("%s and %s: %s, but the truth is %.3g", first, second, row.Sentence, want)
					}
					if want < d.Low || want > d.High {
						outside++
						t.Logf("%s and %s, %s_%s: %.3g to %.3g, truth %.3g", first, second, axis, key, d.Low, d.High, want)
					}
				}
			}
		}
	}
	// Of twenty rows one lies outside on average; the rows of a pair hang together.
	if checked < 12 || outside > checked/5 {
		t.Errorf("%d of %d truths lie outside", outside, checked)
	}
}
