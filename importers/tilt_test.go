package importers

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hopcard/flight"
)

// TestTiltOfAnUnacceleratedBody: where the accelerometer shows nothing but gravity the
// estimate is the attitude, in spite of a biased gyro.
func TestTiltOfAnUnacceleratedBody(t *testing.T) {
	g := newGentle(3000)
	biased := make([]float64, len(g.p))
	for i := range biased {
		biased[i] = g.p[i] + 0.02
	}
	cols := func(sense float64) []written {
		return []written{{"time_s", g.t, 1, "%.2f"}, {"p_rad_s", biased, 1, "%.5f"}, {"q_rad_s", g.q, 1, "%.5f"}, {"r_rad_s", make([]float64, 3000), 1, "%.5f"},
			{"ax_mps2", g.ax, sense, "%.4f"}, {"ay_mps2", g.ay, sense, "%.4f"}, {"az_mps2", g.az, 1, "%.4f"}}
	}
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",", cols(1)...)}))
	for q, want := range map[flight.Quantity][]float64{flight.Roll: g.roll, flight.Pitch: g.pitch} {
		c := column0(t, h, q)
		sum := 0.0
		for i := range want {
			sum += (c.Value[i] - want[i]) * (c.Value[i] - want[i])
		}
		if rms := math.Sqrt(sum/float64(len(want))) / deg; rms > 0.5 || !c.Derived || c.Sure > 0.7 {
			t.Errorf("%s: %.2f deg rms from the truth, derived %v, %v sure", q, rms, c.Derived, c.Sure)
		}
	}
	wantCode(t, h, flight.CodeMissing, "worked out from rates and accelerations")
	h = mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",", cols(-1)...)}))
	wantCode(t, h, flight.CodeSign, "contradict each other")
	if h.Channel(flight.Roll) != nil {
		t.Error("an attitude from accelerations that contradict the rates")
	}
}

// TestTiltInFlight leaves the attitude out of hops whose logger wrote it, and compares.
func TestTiltInFlight(t *testing.T) {
	dirs, _ := filepath.Glob("../../shared/hops/h0[168]")
	if len(dirs) == 0 {
		t.Skip("the simulated hops are not here")
	}
	for _, dir := range dirs {
		name := filepath.Base(dir)
		logs, _, err := flight.HopLogs(dir)
		if err != nil {
			continue // the truth of a hop
		}
		files := map[string]string{}
		for _, p := range logs {
			text, err := os.ReadFile(p)
			if err != nil {
				t.Fatal(err)
			}
			files[filepath.Base(p)] = string(text)
		}
		full := mustRead(t, writeHop(t, files))
		var toml strings.Builder
		toml.WriteString("format = 1\n")
		for i, s := range full.Sources {
			toml.WriteString("[[file]]\nname = \"" + s.File + "\"\n")
			for _, c := range full.Channels {
				if c.Source == i && (c.Quantity == flight.Roll || c.Quantity == flight.Pitch || c.Quantity == flight.Heading) {
					toml.WriteString("[[file.column]]\nname = \"" + c.Column + "\"\nskip = true\n")
				}
			}
		}
		files["hop.toml"] = toml.String()
		h, err := ReadHop(context.Background(), writeHop(t, files), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if full.Channel(flight.AccelX) == nil || full.Channel(flight.AccelY) == nil {
			continue
		}
		for _, q := range []flight.Quantity{flight.Roll, flight.Pitch} {
			c, want := h.Channel(q), full.Channel(q)
			if c == nil {
				t.Errorf("%s: no %s%s", name, q, listFindings(h))
				continue
			}
			var n, s, ss float64
			for i := range min(c.Len(), want.Len()) {
				if d := (c.Value[i] - want.Value[i]) / deg; d == d {
					n, s, ss = n+1, s+d, ss+d*d
				}
			}
			mean := s / n
			sd := math.Sqrt(ss/n - mean*mean)
			t.Logf("%s %s: mean %.2f deg, sd %.2f deg", name, q, mean, sd)
			if math.Abs(mean) > 2 || sd > 2 {
				t.Errorf("%s %s: %.2f deg off on the mean, %.2f deg sd", name, q, mean, sd)
			}
		}
	}
}
