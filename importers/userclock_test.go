package importers

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hopcard/flight"
)

// twoLogs is a hop of 60 s whose stick is written on a clock of its own, at 25 rows a
// second; nothing ties the two.
func twoLogs(t *testing.T) string {
	g := newGentle(3001)
	stick := "ms,stick_lat_pct\n"
	for i, row := range strings.Split(strings.TrimSpace(logText(",", written{"ms", g.t, 1000, "%.0f"}, written{"stick_lat_pct", g.lat, 100, "%.3f"})), "\n") {
		if i%2 == 1 {
			stick += row + "\n"
		}
	}
	return writeHop(t, map[string]string{"a.csv": logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"},
		written{"p_dps", g.p, 1 / deg, "%.3f"}), "b.csv": stick})
}

func TestIntervalOfATypedOffset(t *testing.T) {
	dir := twoLogs(t)
	for name, tc := range map[string]struct {
		file, lines string
		want        float64 // half width of the interval, s
		note        string
	}{
		"stated":           {"b.csv", "clock_offset_s = 0.5\nclock_interval_s = 0.012", 0.012, ""},
		"with drift":       {"b.csv", "clock_offset_s = 0.500\nclock_drift_ppm = 40.0", 0.02 + 0.0005, "half a row of 0.04 s, half of the 0.001 s"},
		"without drift":    {"b.csv", "clock_offset_s = 0.500", 0.02 + 0.0005 + 50e-6*60, "50 ppm of drift over 60 s"},
		"one digit":        {"b.csv", "clock_offset_s = 0.5\nclock_drift_ppm = 0.0", 0.02 + 0.05, "half of the 0.1 s"},
		"no digit":         {"b.csv", "clock_offset_s = 1\nclock_drift_ppm = 0.0", 0.02 + 0.5, "half of the 1 s"},
		"the leading one":  {"a.csv", "clock_offset_s = 0.00", 0, ""},
		"the lead, moved":  {"a.csv", "clock_offset_s = 0.100\nclock_drift_ppm = 0.0", 0.02/2 + 0.0005, "half a row of 0.02 s"},
		"the lead, stated": {"a.csv", "clock_offset_s = 0.1\nclock_interval_s = 0.3", 0.3, ""},
	} {
		t.Run(name, func(t *testing.T) {
			h := readWith(t, dir, "format = 1\n[[file]]\nname = \""+tc.file+"\"\n"+tc.lines+"\n")
			c := h.Sources[sourceIndex(t, h, tc.file)].Clock
			if !near(c.IntervalS, tc.want, 1e-9) || c.AlignedBy != flight.AlignUser {
				t.Errorf("clock %+v, want an interval of %v s", c, tc.want)
			}
			var notes []flight.Finding
			for _, n := range findings(h, flight.CodeUnitGuessed) {
				if strings.Contains(n.Text, "clock_interval_s") {
					notes = append(notes, n)
				}
			}
			if (tc.note != "") != (len(notes) == 1) || tc.note != "" && (!strings.Contains(notes[0].Text, tc.note) || notes[0].Severity != flight.Note) {
				t.Errorf("notes %v, want one with %q", notes, tc.note)
			}
			if tc.want > 0 && !strings.Contains(string(Decisions(h)), "#clock_interval_s = "+tomlNumber(c.IntervalS)) {
				t.Errorf("the interval is not among the decisions:\n%s", Decisions(h))
			}
		})
	}
}

// TestLeastInterval: fast logs and many digits do not make an offset typed by hand perfect.
func TestLeastInterval(t *testing.T) {
	a, b := "time_s,roll_deg\n", "time_s,stick_lat_pct\n"
	for i := range 4000 {
		a += fmt.Sprintf("%.4f,%.4f\n", float64(i)*0.002, float64(i%7))
		b += fmt.Sprintf("%.4f,%.4f\n", float64(i)*0.002, float64(i%11))
	}
	dir := writeHop(t, map[string]string{"a.csv": a, "b.csv": b})
	h := readWith(t, dir, "format = 1\n[[file]]\nname = \"b.csv\"\nclock_offset_s = 0.12345\nclock_drift_ppm = 3.0\n")
	if c := h.Sources[sourceIndex(t, h, "b.csv")].Clock; c.IntervalS != leastUserIntervalS {
		t.Errorf("clock %+v, want an interval of %v s", c, leastUserIntervalS)
	}
	wantCode(t, h, flight.CodeUnitGuessed, "good to 0.005 s either way (the least that is assumed)")
}

// TestDriftAloneTiesNothing: a drift without an offset leaves the clocks apart, and said so.
func TestDriftAloneTiesNothing(t *testing.T) {
	dir := twoLogs(t)
	h := readWith(t, dir, "format = 1\n[[file]]\nname = \"b.csv\"\nclock_drift_ppm = 40.0\n")
	c := h.Sources[sourceIndex(t, h, "b.csv")].Clock
	if c.AlignedBy != flight.AlignNone || c.DriftPPM != 40 {
		t.Errorf("clock %+v", c)
	}
	if n := wantCode(t, h, flight.CodeNoClock, "clock_drift_ppm in hop.toml ties nothing"); n.Severity != flight.Stop {
		t.Errorf("severity %s", n.Severity)
	}
	if _, ok := h.CommonClock(column0(t, h, flight.Roll), column0(t, h, flight.LatStick)); ok {
		t.Error("channels may be timed against each other without a common clock")
	}
}

// TestDriftAgainstTheKnocks: a drift that differs from the one the knocks show widens the
// interval by what it moves the far end of the hop.
func TestDriftAgainstTheKnocks(t *testing.T) {
	taps := []float64{6, 6.83, 7.71, 112, 112.79, 113.64}
	text := func(f *logFile, other string) string {
		s := "time_s,az_mps2," + other + "\n"
		for i, at := range f.stamps {
			s += fmt.Sprintf("%.4f,%.4f,%.3f\n", at, f.columns[0].values[i], 5*math.Sin(at))
		}
		return s
	}
	rng, r := rand.New(rand.NewPCG(15, 16)), ring{18, 78}
	dir := writeHop(t, map[string]string{"a.csv": text(tapLog(rng, taps, 120, 100, 0, 22, 0.06, 0, 0, r), "roll_deg"),
		"b.csv": text(tapLog(rng, taps, 120, 50, 0.4, 15, 0.1, 30, 60, r), "stick_lat_pct")})
	before := mustRead(t, dir)
	at := sourceIndex(t, before, "b.csv")
	fitted := before.Sources[at].Clock
	if fitted.AlignedBy != flight.AlignKnocks || fitted.Drift == nil {
		t.Fatalf("clock %+v%s", fitted, listFindings(before))
	}
	h := readWith(t, dir, "format = 1\n[[file]]\nname = \"b.csv\"\nclock_drift_ppm = "+tomlNumber(fitted.DriftPPM+100)+"\n")
	c := h.Sources[at].Clock
	lengthS := h.Channel(flight.AccelZ).Span().ToS
	if want := fitted.IntervalS + 100e-6*lengthS; !near(c.IntervalS, want, 1e-5) || c.AlignedBy != flight.AlignKnocks || c.OffsetS != fitted.OffsetS {
		t.Errorf("clock %+v, want an interval of %v s", c, want)
	}
}

// TestUnitAgainstTheName: a unit in hop.toml is held against what the column's name says
// where hop.toml names no quantity itself.
func TestUnitAgainstTheName(t *testing.T) {
	dir := twoLogs(t)
	settings := "format = 1\n[[file]]\nname = \"a.csv\"\n[[file.column]]\nname = \"roll_deg\"\nunit = \"kt\"\n"
	if err := os.WriteFile(filepath.Join(dir, flight.HopFile), []byte(settings), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err := ReadHop(t.Context(), dir, Options{})
	if err == nil || strings.Contains(err.Error(), "\n") {
		t.Fatalf("error %v, want one line", err)
	}
	for _, part := range []string{"a.csv", "hop.toml", `column "roll_deg"`, "kt is no unit of roll attitude", "deg, rad"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("%q does not contain %q", err, part)
		}
	}
	readWith(t, dir, strings.Replace(settings, "kt", "rad", 1)) // fits, though it is wrong
}
