package response

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"hopcard/flight"
)

const hopsDir = "../../../shared/hops"

// truth is the part of an answer sheet these tests need.
type truth struct {
	Files []struct {
		File  string
		Stamp string
		Clock struct {
			OffsetS  float64 `json:"offset_s"`
			DriftPPM float64 `json:"drift_ppm"`
			Epoch    string  `json:"epoch_utc"`
		}
		Channels []struct {
			Column, Quantity, Unit string
			Sign                   float64
			Neutral                float64
			FullThrow              float64 `json:"full_throw"`
		}
	}
	Segments []struct {
		Kind, Axis string
		T0, T1     float64
	}
	Flight   [2]float64
	Response struct {
		FrequencyRadS []float64 `json:"frequency_rad_s"`
		Axes          map[string]struct {
			Delay    float64 `json:"control_path_delay_s"`
			Attitude struct {
				GainDB   []float64 `json:"gain_db"`
				PhaseDeg []float64 `json:"phase_deg"`
			} `json:"stick_to_attitude"`
			Rate struct {
				GainDB   []float64 `json:"gain_db"`
				PhaseDeg []float64 `json:"phase_deg"`
			} `json:"stick_to_rate"`
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

// loadHop reads a simulated hop and its answer sheet, with the clocks of the sheet.
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
	h := &flight.Hop{Name: name}
	for i, f := range tr.Files {
		rows := readTable(t, filepath.Join(hopsDir, name, f.File))
		h.Sources = append(h.Sources, flight.Source{File: f.File, Clock: flight.Clock{OffsetS: f.Clock.OffsetS,
			DriftPPM: f.Clock.DriftPPM, AlignedBy: flight.AlignUser}})
		var stamps []float64
		for _, c := range f.Channels {
			col := column(t, rows, c.Column)
			if c.Quantity == "time" {
				for _, s := range col {
					stamps = append(stamps, h.Sources[i].Clock.HopTimeS(stamp(t, s, f.Clock.Epoch, c.Unit)))
				}
				continue
			}
			ch := flight.Channel{Quantity: flight.Quantity(c.Quantity), TimeS: stamps, Source: i, Sure: 1}
			scale, zero := scaleOf(c.Unit, c.Neutral, c.FullThrow)
			for _, s := range col {
				v, err := strconv.ParseFloat(s, 64)
				if err != nil {
					t.Fatal(err)
				}
				ch.Value = append(ch.Value, c.Sign*scale*(v-zero))
			}
			h.Channels = append(h.Channels, ch)
		}
	}
	return h, segmentsOf(tr), tr
}

func scaleOf(unit string, neutral, full float64) (scale, zero float64) {
	if full != 0 {
		return 1 / full, neutral
	}
	if s, _, ok := flight.Unit(unit).Scale(); ok {
		return s, 0
	}
	return 1, 0
}

func stamp(t testing.TB, s, epoch, unit string) float64 {
	if epoch != "" {
		at, err := time.Parse("2006-01-02T15:04:05.999Z", strings.TrimSuffix(strings.Replace(s, " ", "T", 1), "Z")+"Z")
		zero, _ := time.Parse(time.RFC3339, epoch)
		if err != nil {
			t.Fatal(err)
		}
		return at.Sub(zero).Seconds()
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	if unit == "ms" {
		v /= 1000
	}
	return v
}

func readTable(t testing.TB, path string) [][]string {
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func column(t testing.TB, rows [][]string, name string) []string {
	for j, h := range rows[0] {
		if h == name {
			var out []string
			for _, r := range rows[1:] {
				out = append(out, r[j])
			}
			return out
		}
	}
	t.Fatalf("no column %q", name)
	return nil
}

func segmentsOf(tr truth) []flight.Segment {
	kinds := map[string]flight.SegmentKind{"ground": flight.Ground, "control_check": flight.ControlCheck,
		"spin_up": flight.SpinUp, "spin_down": flight.SpinDown, "lift_off": flight.LiftOff, "landing": flight.Landing,
		"hands_still": flight.HandsStill, "sweep": flight.Sweep, "doublet": flight.Doublet, "3211": flight.Steps,
		"rap": flight.Rap, "knocks": flight.Knocks}
	var segs []flight.Segment
	for _, s := range tr.Segments {
		k, ok := kinds[s.Kind]
		if !ok {
			k = flight.Hover
		}
		segs = append(segs, flight.Segment{Kind: k, Axis: flight.Axis(s.Axis), Span: flight.Span{FromS: s.T0, ToS: s.T1}})
	}
	return segs
}
