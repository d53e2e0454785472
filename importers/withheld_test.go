package importers

import (
	"math"
	"strings"
	"testing"

	"hopcard/flight"
)

// pitchLog writes roll as it is, and pitch with factors on what its headers say. It yaws
// so slowly that a pitch attitude as it is hardly comes into the turn of roll.
func pitchLog(g gentle, angle string, angleK float64, rate string, rateK float64) string {
	yaw := make([]float64, len(g.t))
	for i, t := range g.t {
		yaw[i] = 0.02 * math.Sin(0.9*t)
	}
	return logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.4f"}, written{"p_dps", g.p, 1 / deg, "%.4f"},
		written{"r_dps", yaw, 1 / deg, "%.4f"}, written{angle, g.pitch, angleK, "%.6f"}, written{rate, g.q, rateK, "%.6f"})
}

// TestWithheldAxis: attitude and rate of an axis that contradict each other grossly are not
// there to work with, and say how to mend it; the other axis stays.
func TestWithheldAxis(t *testing.T) {
	g := newGentle(3000)
	for name, tc := range map[string]struct {
		angle    string
		angleK   float64
		rate     string
		rateK    float64
		code     flight.Code // of the stop, empty if the axis can be used
		advice   []string
		mendUnit flight.Unit // of the angle, in hop.toml
	}{
		"right":              {"pitch_deg", 1 / deg, "q_dps", 1 / deg, "", nil, ""},
		"rad called deg":     {"pitch_deg", 1, "q_dps", 1 / deg, flight.CodeUnitContradiction, []string{`unit = "rad" for column "pitch_deg"`}, flight.Rad},
		"deg called rad":     {"pitch_rad", 1 / deg, "q_radps", 1, flight.CodeUnitContradiction, []string{`unit = "deg" for column "pitch_rad"`}, flight.Deg},
		"rad/s called deg/s": {"pitch_rad", 1, "q_dps", 1, flight.CodeUnitContradiction, []string{`unit = "deg" for column "pitch_rad"`, `unit = "rad/s" for column "q_dps"`}, ""},
		"converted twice":    {"pitch_rad", deg, "q_dps", 1 / deg, flight.CodeUnitContradiction, []string{"57.3", "once too often"}, ""},
		"a range of 4 times": {"pitch_deg", 1 / deg, "q_dps", 0.25 / deg, flight.CodeRateFactor, []string{"sensor range", "skip"}, ""},
		"a tenth":            {"pitch_deg", 0.1 / deg, "q_dps", 1 / deg, flight.CodeRateFactor, []string{"sensor range", "skip"}, ""},
		"1.8 times":          {"pitch_deg", 1.8 / deg, "q_dps", 1 / deg, "", nil, ""},
		"0.55 times":         {"pitch_deg", 0.55 / deg, "q_dps", 1 / deg, "", nil, ""},
	} {
		t.Run(name, func(t *testing.T) {
			dir := writeHop(t, map[string]string{"a.csv": pitchLog(g, tc.angle, tc.angleK, tc.rate, tc.rateK)})
			h := mustRead(t, dir)
			wantAxis(t, h, tc.code == "")
			var stops []flight.Finding
			for _, n := range h.Findings {
				if n.Severity == flight.Stop {
					stops = append(stops, n)
				}
			}
			if tc.code == "" {
				if len(stops) > 0 {
					t.Errorf("stopped:%s", listFindings(h))
				}
				return
			}
			if len(stops) != 1 || stops[0].Code != tc.code || !strings.Contains(stops[0].Text, "pitch attitude and pitch rate are withheld") {
				t.Fatalf("want one stop %s:%s", tc.code, listFindings(h))
			}
			for _, part := range tc.advice {
				if !strings.Contains(stops[0].Advice, part) {
					t.Errorf("advice %q without %q", stops[0].Advice, part)
				}
			}
			if n := len(findings(h, flight.CodeRateFactor)) + len(findings(h, flight.CodeUnitContradiction)); n != 1 {
				t.Errorf("told %d times:%s", n, listFindings(h))
			}
			if text := string(Decisions(h)); strings.Count(text, "# withheld from every answer: the derivative of") != 2 {
				t.Errorf("the decisions do not say what is withheld:\n%s", text)
			}
			if tc.mendUnit != "" {
				wantAxis(t, readWith(t, dir, "format = 1\n[[file]]\nname = \"a.csv\"\n[[file.column]]\nname = \""+tc.angle+
					"\"\nunit = \""+string(tc.mendUnit)+"\"\n"), true)
			}
		})
	}
}

// wantAxis checks whether pitch can be worked with; it is always there to look at.
func wantAxis(t *testing.T, h *flight.Hop, used bool) {
	t.Helper()
	if (h.Channel(flight.Pitch) != nil) != used || (h.Channel(flight.PitchRate) != nil) != used {
		t.Errorf("pitch can be used, want %v%s", used, listFindings(h))
	}
	if h.Channel(flight.Roll) == nil || h.Channel(flight.RollRate) == nil || len(h.Channels) != 5 {
		t.Errorf("%d channels, want 5, roll among those in use", len(h.Channels))
	}
}

// TestWithheldIsNotMissing: a hop whose every attitude is withheld does hold attitude.
func TestWithheldIsNotMissing(t *testing.T) {
	g := newGentle(3000)
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",", written{"time_s", g.t, 1, "%.2f"},
		written{"roll_deg", g.roll, 1, "%.6f"}, written{"p_dps", g.p, 1 / deg, "%.4f"})}))
	if h.Channel(flight.Roll) != nil {
		t.Error("roll can be used")
	}
	for _, n := range findings(h, flight.CodeMissing) {
		if strings.Contains(n.Text, "attitude") {
			t.Errorf("%s", n.Text)
		}
	}
}
