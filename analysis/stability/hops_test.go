package stability

import (
	"context"
	"encoding/csv"
	"encoding/json"

	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"hopcard/analysis/segment"
	"hopcard/flight"
)

const hopsDir = "../../../shared/hops"

type truth struct {
	Files []struct {
		File   string
		RateHz float64 `json:"rate_hz"`
		Stamp  string
		Clock  struct {
			OffsetS  float64 `json:"offset_s"`
			DriftPPM float64 `json:"drift_ppm"`
			Epoch    string  `json:"epoch_utc"`
		}
		Channels []struct {
			Column, Quantity, Unit string
			Sign, Neutral          float64
			FullThrow              float64 `json:"full_throw"`
		}
	}
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
	h := &flight.Hop{Name: name}
	for si, f := range tr.Files {
		h.Sources = append(h.Sources, flight.Source{File: f.File, RateHz: f.RateHz, Clock: flight.Clock{AlignedBy: flight.AlignUser}})
		r, err := os.Open(filepath.Join(hopsDir, name, f.File))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(r).ReadAll()
		r.Close()
		if err != nil {
			t.Fatal(err)
		}
		col := map[string]int{}
		for i, c := range rows[0] {
			col[c] = i
		}
		var ts []float64
		for _, c := range f.Channels {
			i, ok := col[c.Column]
			if !ok {
				t.Fatal("no column", c.Column)
			}
			v := make([]float64, len(rows)-1)
			if c.Quantity == "time" {
				for k, row := range rows[1:] {
					v[k] = stamp(t, row[i], c.Unit, f.Clock.Epoch)
					v[k] = (v[k] - f.Clock.OffsetS) / (1 + f.Clock.DriftPPM*1e-6)
				}
				ts = v
				continue
			}
			scale := map[string]float64{"deg": math.Pi / 180, "deg/s": math.Pi / 180, "rad/s": 1, "rad": 1, "m/s2": 1,
				"g": 9.80665, "percent": 0.01, "unit": 1, "m": 1}[c.Unit]
			if c.FullThrow != 0 {
				scale = 1 / c.FullThrow
			}
			if scale == 0 {
				t.Fatal("unit", c.Unit)
			}
			sign := c.Sign
			if sign == 0 {
				sign = 1
			}
			for k, row := range rows[1:] {
				x, err := strconv.ParseFloat(row[i], 64)
				if err != nil {
					x = math.NaN()
				}
				v[k] = sign * scale * (x - c.Neutral)
			}
			h.Channels = append(h.Channels, flight.Channel{Quantity: flight.Quantity(c.Quantity), TimeS: ts, Value: v, Source: si, Sure: 1, Sign: 1, Scale: 1})
		}
	}
	return h, tr
}

func stamp(t testing.TB, s, unit, epoch string) float64 {
	if strings.HasPrefix(unit, "iso8601") {
		e, err := time.Parse(time.RFC3339, epoch)
		if err != nil {
			t.Fatal(err)
		}
		s = strings.TrimSuffix(strings.Replace(s, " ", "T", 1), "Z") + "Z"
		x, err := time.Parse(time.RFC3339Nano, s)
		if err != nil {
			t.Fatal(err)
		}
		return x.Sub(e).Seconds()
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	if unit == "ms" {
		x /= 1000
	}
	return x
}

// sharedLimitDeg are the limits of the truth's exceedances that the default limit is one of.
const sharedLimitDeg = 15

func TestUnstableAgainstTruth(t *testing.T) {
	for _, name := range []string{"h01", "h06", "h08"} {
		t.Run(name, func(t *testing.T) {
			h, tr := loadHop(t, name)
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
						left = append(left[:i], left[i+1:]...)
						return
					}
				}
				t.Errorf("no %s in %s at %.2f to %.2f s", kind, axis, fromS, toS)
			}
			for _, g := range tr.Growing {
				take(PilotCoupled, g.Axis, g.T0, g.T1, 1)
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
