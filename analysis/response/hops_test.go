package response

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/flight"
	"hopcard/importers"
)

const hopsDir = "../../../shared/hops"

// truth is the part of an answer sheet these tests need.
type truth struct {
	Response struct {
		FrequencyRadS []float64 `json:"frequency_rad_s"`
		PhasingDeg    float64   `json:"azimuth_phasing_error_deg"`
		Axes          map[string]struct {
			Delay     float64 `json:"control_path_delay_s"`
			Attitude  table   `json:"stick_to_attitude"`
			Rate      table   `json:"stick_to_rate"`
			Bandwidth struct {
				W180       *float64 `json:"w180_rad_s"`
				Phase      *float64 `json:"bw_phase_rad_s"`
				Gain       *float64 `json:"bw_gain_rad_s"`
				Bandwidth  *float64 `json:"bandwidth_rad_s"`
				PhaseDelay *float64 `json:"phase_delay_s"`
			}
		}
	}
}

type table struct {
	GainDB   []float64 `json:"gain_db"`
	PhaseDeg []float64 `json:"phase_deg"`
}

// loadHop reads a simulated hop as a user would, and its answer sheet.
func loadHop(t testing.TB, name string) (*flight.Hop, []flight.Segment, truth) {
	t.Helper()
	var tr truth
	text, err := os.ReadFile(filepath.Join(hopsDir, name+".truth.json"))
	if os.IsNotExist(err) {
		t.Skip("the simulated hops are not there: " + hopsDir)
	}
	if err == nil {
		err = json.Unmarshal(text, &tr)
	}
	if err != nil {
		t.Fatal(err)
	}
	h, segs := read(t, filepath.Join(hopsDir, name))
	return h, segs, tr
}

func read(t testing.TB, path string) (*flight.Hop, []flight.Segment) {
	t.Helper()
	h, err := importers.ReadHop(context.Background(), path, importers.Options{})
	if err != nil {
		t.Fatal(err)
	}
	segs, _ := segment.Find(h)
	return h, segs
}
