package stability

import (
	"context"
	"encoding/json"
	"strings"

	"math"
	"os"
	"path/filepath"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/flight"
	"hopcard/importers"
)

const hopsDir = "../../../shared/hops"

type truth struct {
	Segments []struct {
		Kind   string
		T0, T1 float64
		Axis   string
	}
	Flight       [2]float64
	RotorTurning [][2]float64 `json:"rotor_turning"`
	Growing      []struct {
		Axis       string
		T0, T1     float64
		GrowthRate float64 `json:"growth_rate_1_s"`
		Frequency  float64 `json:"frequency_rad_s"`
	} `json:"growing_oscillations"`
	AtStop []struct {
		Stick, Side string
		T0, T1      float64
		InFlight    bool `json:"in_flight"`
	} `json:"stick_at_stop"`
	Response struct {
		Modes []struct {
			Re, Im  float64
			Axis    string
			Natural float64 `json:"wn_rad_s"`
			Damping float64 `json:"damping_ratio"`
		}
	}
	Exceedances []struct {
		Axis     string
		LimitDeg float64 `json:"limit_deg"`
		T0, T1   float64
		PeakDeg  float64 `json:"peak_deg"`
	} `json:"attitude_exceedances"`
}

func readTruth(t testing.TB, name string) truth {
	data, err := os.ReadFile(filepath.Join(hopsDir, name+".truth.json"))
	if err != nil {
		t.Skip("the shared hops are not here")
	}
	var tr truth
	if err := json.Unmarshal(data, &tr); err != nil {
		t.Fatal(err)
	}
	return tr
}

func loadHop(t testing.TB, name string) (*flight.Hop, truth) {
	tr := readTruth(t, name)
	h, err := importers.ReadHop(context.Background(), filepath.Join(hopsDir, name), importers.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return h, tr
}

// sharedLimitDeg are the limits of the truth's exceedances that the default limit is one of.
const sharedLimitDeg = 15

func TestUnstableAgainstTruth(t *testing.T) {
	for _, c := range []struct {
		name, without string
	}{{"h01", ""}, {"h06", ""}, {"h08", ""}, {"h01", "stick"}, {"h06", "stick"}, {"h08", "stick"}, {"h01", "rate"}, {"h06", "rate"}, {"h08", "rate"},
		{"h08", "attitude"}} {
		t.Run(c.name+" without "+c.without, func(t *testing.T) {
			h, tr := loadHop(t, c.name)
			kind := PilotCoupled
			var kept []flight.Channel
			for _, ch := range h.Channels {
				if c.without == "" || !strings.Contains(string(ch.Quantity), c.without) {
					kept = append(kept, ch)
				}
			}
			h.Channels = kept
			if c.without == "stick" {
				kind, tr.AtStop = Unattributed, nil // whose doing it was cannot be told
			}
			if c.without == "attitude" {
				tr.Exceedances = nil
			}
			segs, _ := segment.Find(h)
			r, err := Analyse(context.Background(), h, segs, flight.DefaultLimits())
			if err != nil {
				t.Fatal(err)
			}
			left := append([]Unstable(nil), r.Unstable...)
			take := func(kind Kind, axis string, fromS, toS, tolS float64) {
				t.Helper()
				for i, u := range left {
					if u.Kind == kind && string(u.Axis) == axis &&
						math.Abs(u.Span.FromS-fromS) <= tolS && math.Abs(u.Span.ToS-toS) <= tolS {
						t.Logf("%s %s from %+.2f to %+.2f s off the truth", kind, axis, u.Span.FromS-fromS, u.Span.ToS-toS)
						left = append(left[:i], left[i+1:]...)
						return
					}
				}
				t.Errorf("no %s in %s at %.2f to %.2f s", kind, axis, fromS, toS)
			}
			for _, g := range tr.Growing {
				take(kind, g.Axis, g.T0, g.T1, 1)
			}
			for _, s := range tr.AtStop {
				if s.InFlight {
					take(ControlStop, map[string]string{"lat": "roll", "lon": "pitch"}[s.Stick], s.T0, s.T1, 0.1)
				}
			}
			for _, e := range tr.Exceedances {
				if e.LimitDeg == sharedLimitDeg {
					take(Limit, e.Axis, e.T0, e.T1, 0.05)
				}
			}
			for _, u := range left {
				t.Errorf("flagged, but not so: %s %s %v %s", u.Axis, u.Kind, u.Span, u.Reason)
			}
		})
	}
}
