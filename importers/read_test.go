package importers

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hopcard/flight"
)

const sharedHops = "../../shared/hops"

// hopTruth is what the answer sheet of a simulated hop says about its files.
type hopTruth struct {
	DurationS float64 `json:"duration_s"`
	Files     []struct {
		File   string
		Role   string
		RateHz float64 `json:"rate_hz"`
		Clock  struct {
			OffsetS  float64 `json:"offset_s"`
			DriftPPM float64 `json:"drift_ppm"`
		}
		Align    string
		Channels []struct {
			Column, Quantity, Unit string
			Sign                   int
			Neutral                float64
			FullThrow              float64 `json:"full_throw"`
		}
	}
}

func readTruth(t *testing.T, hop string) hopTruth {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sharedHops, hop+".truth.json"))
	if err != nil {
		t.Skipf("the simulated hops are not beside the project: %v", err)
	}
	var truth hopTruth
	if err := json.Unmarshal(data, &truth); err != nil {
		t.Fatal(err)
	}
	return truth
}

func TestSharedHops(t *testing.T) {
	for _, name := range []string{"h01", "h06", "h08"} {
		t.Run(name, func(t *testing.T) {
			truth := readTruth(t, name)
			h := mustRead(t, filepath.Join(sharedHops, name))
			if !near(h.DurationS, truth.DurationS, 0.05) {
				t.Errorf("duration %.3f s, want %.3f", h.DurationS, truth.DurationS)
			}
			for _, f := range truth.Files {
				s := sourceIndex(t, h, f.File)
				if !near(h.Sources[s].RateHz, f.RateHz, 0.01*f.RateHz) {
					t.Errorf("%s: %.3f Hz, want %.0f", f.File, h.Sources[s].RateHz, f.RateHz)
				}
				checkClock(t, h.Sources[s], f.Clock.OffsetS, f.Clock.DriftPPM)
				for _, want := range f.Channels {
					if want.Quantity == "time" {
						continue
					}
					c := channelOf(h, s, want.Column)
					if c == nil {
						t.Errorf("%s: column %q is not read", f.File, want.Column)
						continue
					}
					if string(c.Quantity) != want.Quantity || !strings.HasPrefix(unitWords(c.Unit), strings.SplitN(want.Unit, " 0", 2)[0]) {
						t.Errorf("%s: %q is %s in %s, want %s in %s", f.File, want.Column, c.Quantity, c.Unit, want.Quantity, want.Unit)
					}
					if want.Sign != 0 && c.Sign != want.Sign {
						t.Errorf("%s: %q has sign %d, want %d", f.File, want.Column, c.Sign, want.Sign)
					}
					if want.FullThrow != 0 && (!near(c.Zero, want.Neutral, 1) || !near(1/c.Scale, want.FullThrow, 0.005*want.FullThrow)) {
						t.Errorf("%s: %q has neutral %.1f and throw %.1f, want %.1f and %.1f", f.File, want.Column,
							c.Zero, 1/c.Scale, want.Neutral, want.FullThrow)
					}
				}
			}
			if n := findings(h, flight.CodeRateFactor); len(n) > 0 {
				t.Errorf("rates are right in this hop, but: %s", n[0].Text)
			}
		})
	}
}

// unitWords writes units as the answer sheets do.
func unitWords(u flight.Unit) string {
	if u == flight.Counts {
		return "ADC counts"
	}
	return string(u)
}

func sourceIndex(t *testing.T, h *flight.Hop, file string) int {
	t.Helper()
	for i := range h.Sources {
		if h.Sources[i].File == file {
			return i
		}
	}
	t.Fatalf("%s is not among the sources", file)
	return -1
}

func channelOf(h *flight.Hop, source int, column string) *flight.Channel {
	for i := range h.Channels {
		if c := &h.Channels[i]; c.Source == source && c.Column == column {
			return c
		}
	}
	return nil
}

// checkClock: an aligned clock must be right; one that is not aligned must say so.
func checkClock(t *testing.T, s flight.Source, offsetS, driftPPM float64) {
	t.Helper()
	c := s.Clock
	if c.AlignedBy == flight.AlignNone {
		t.Logf("%s: not aligned", s.File)
		return
	}
	if !near(c.OffsetS, offsetS, 0.003) || !near(c.DriftPPM, driftPPM, 10) {
		t.Errorf("%s: offset %.4f s and drift %.1f ppm by %s, want %.4f and %.1f", s.File, c.OffsetS, c.DriftPPM, c.AlignedBy, offsetS, driftPPM)
	}
}

func TestRealHelicopter(t *testing.T) {
	const path = "../../shared/data/real-helicopter/doublets.csv"
	if _, err := os.Stat(path); err != nil {
		t.Skipf("the real log is not beside the project: %v", err)
	}
	h := mustRead(t, path)
	for q, unit := range map[flight.Quantity]flight.Unit{
		flight.LatStick: flight.UnitTravel, flight.LonStick: flight.UnitTravel, flight.Pedal: flight.UnitTravel,
		flight.Collective: flight.UnitTravel, flight.Roll: flight.Rad, flight.Pitch: flight.Rad, flight.Heading: flight.Rad,
		flight.RollRate: flight.RadPerS, flight.PitchRate: flight.RadPerS, flight.YawRate: flight.RadPerS,
	} {
		if c := column0(t, h, q); c.Unit != unit || c.Sign != 1 {
			t.Errorf("%s: %s, sign %d; want %s, 1", q, c.Unit, c.Sign, unit)
		}
	}
	// The note beside the data: the derivative of attitude is about 0.80 of the rates.
	if n := findings(h, flight.CodeRateFactor); len(n) != 3 || !strings.Contains(n[0].Text, "is 0.80") {
		t.Errorf("want three findings of a factor of 0.80:%s", listFindings(h))
	}
}

func TestRawLogsStayAsTheyAre(t *testing.T) {
	g := newGentle(300)
	text := logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"})
	dir := writeHop(t, map[string]string{"a.csv": text})
	h := mustRead(t, dir)
	after, err := os.ReadFile(filepath.Join(dir, "a.csv"))
	if err != nil || string(after) != text {
		t.Error("the log was changed")
	}
	sum := sha256.Sum256([]byte(text))
	if h.Sources[0].SHA256 != hex.EncodeToString(sum[:]) {
		t.Error("the hash is not that of the file")
	}
}

func TestBadInput(t *testing.T) {
	wide := "time_s,roll_deg,pitch_deg\n0.00,1,2\n0.02,1,2\n0.04,1,3\n"
	for _, tc := range []struct {
		name string
		file string // empty: read the folder
		text string
		want []string
	}{
		{"empty file", "a.csv", "", []string{"a.csv", "empty"}},
		{"blanks only", "a.csv", "\n \n\n", []string{"a.csv", "blanks"}},
		{"header only", "a.csv", "time_s,roll_deg,pitch_deg\n", []string{"a.csv", "line 1", "header", "no row"}},
		{"text", "a.txt", "Flew at dawn.\nWind was calm, mostly.\nLanded, all well.\n", []string{"a.txt", "line 1", "no log"}},
		{"binary", "a.dat", "BIN\x01\x02\x00\x00\xff\xfe\x00", []string{"a.dat", "binary"}},
		{"no known column", "a.csv", "time_s,foo,bar\n0,1,2\n1,2,3\n", []string{"a.csv", "line 1", "foo", "hop.toml"}},
		{"no time", "a.csv", "foo,roll_deg\n1,2\n1,3\n2,2\n", []string{"a.csv", "time", "hop.toml"}},
		{"no header", "a.csv", "0,1,2\n1,2,3\n2,3,4\n", []string{"a.csv", "line 1", "header", "hop.toml"}},
		{"long line", "a.csv", strings.Repeat("1,", headSize), []string{"a.csv", "line 1", "longer"}},
		{"long line later", "a.csv", wide + strings.Repeat("1", 3*maxLine) + "\n0.08,1,2\n", []string{"a.csv:5", "longer"}},
		{"folder without logs", "", "", []string{"no log files"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			files := map[string]string{}
			if tc.file != "" {
				files[tc.file] = tc.text
			}
			path := writeHop(t, files)
			if tc.file != "" {
				path = filepath.Join(path, tc.file)
			}
			_, err := ReadHop(context.Background(), path, Options{})
			wantError(t, err, tc.want)
		})
	}
}

func wantError(t *testing.T, err error, parts []string) {
	t.Helper()
	if err == nil {
		t.Fatal("no error")
	}
	for _, p := range parts {
		if !strings.Contains(err.Error(), p) {
			t.Errorf("error %q does not say %q", err, p)
		}
	}
	if strings.ContainsAny(err.Error(), "\n\r") {
		t.Errorf("error %q is more than one line", err)
	}
}

func TestNoSuchFile(t *testing.T) {
	_, err := ReadHop(context.Background(), filepath.Join(t.TempDir(), "nowhere.csv"), Options{})
	if !errors.Is(err, os.ErrNotExist) {
		t.Errorf("error %v", err)
	}
	wantError(t, err, []string{"nowhere.csv", "no such file"})
}

func TestUnreadable(t *testing.T) {
	dir := writeHop(t, map[string]string{"a.csv": "time_s,roll_deg\n0,1\n1,2\n"})
	path := filepath.Join(dir, "a.csv")
	if err := os.Chmod(path, 0); err != nil {
		t.Fatal(err)
	}
	if f, err := os.Open(path); err == nil { // the superuser may read anything
		f.Close()
		err := fileError(path, &os.PathError{Op: "open", Path: path, Err: os.ErrPermission})
		wantError(t, err, []string{"a.csv", "permission"})
		return
	}
	_, err := ReadHop(context.Background(), path, Options{})
	wantError(t, err, []string{"a.csv", "permission"})
}

func TestAttitudeWithoutStick(t *testing.T) {
	g := newGentle(500)
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(";",
		written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"}, written{"pitch_deg", g.pitch, 1 / deg, "%.3f"})}))
	wantCode(t, h, flight.CodeMissing, "no log holds a stick")
	if c := column0(t, h, flight.Roll); !near(c.Value[400], g.roll[400], 1e-5) {
		t.Errorf("roll is %v, want %v", c.Value[400], g.roll[400])
	}
}

func TestFolderWithNotes(t *testing.T) {
	g := newGentle(300)
	h := mustRead(t, writeHop(t, map[string]string{
		"a.csv":     logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"}),
		"diary.txt": "A calm morning.\nNothing to report.\n",
	}))
	if len(h.Sources) != 1 {
		t.Errorf("%d sources", len(h.Sources))
	}
	wantCode(t, h, flight.CodeUnrecognised, "not used")
}

func TestCancelled(t *testing.T) {
	g := newGentle(300)
	dir := writeHop(t, map[string]string{"a.csv": logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"})})
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := ReadHop(ctx, dir, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

func TestTwoClocks(t *testing.T) {
	g := newGentle(600)
	stick := logText(",", written{"ms", g.t, 1000, "%.0f"}, written{"stick_lat_pct", g.lat, 100, "%.1f"})
	att := logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"})
	dir := writeHop(t, map[string]string{"a.csv": att, "b.csv": stick})
	h := mustRead(t, dir)
	n := wantCode(t, h, flight.CodeNoClock, "cannot be tied")
	if n.Severity != flight.Stop {
		t.Errorf("severity %s", n.Severity)
	}
	if _, ok := h.CommonClock(column0(t, h, flight.Roll), column0(t, h, flight.LatStick)); ok {
		t.Error("channels may be timed against each other without a common clock")
	}
	offset, drift := 0.5, 40.0
	h, err := ReadHop(context.Background(), dir, Options{Settings: &flight.HopSettings{Format: 1,
		Files: []flight.FileSettings{{Name: "b.csv", ClockOffsetS: &offset, ClockDriftPPM: &drift}}}})
	if err != nil {
		t.Fatal(err)
	}
	s := h.Sources[sourceIndex(t, h, "b.csv")]
	if s.Clock.AlignedBy != flight.AlignUser || s.Clock.OffsetS != 0.5 || s.Clock.DriftPPM != 40 || len(findings(h, flight.CodeNoClock)) > 0 {
		t.Errorf("clock %+v%s", s.Clock, listFindings(h))
	}
	if c := column0(t, h, flight.LatStick); !near(c.TimeS[100], (2-0.5)/(1+40e-6), 1e-9) {
		t.Errorf("stamp 2 s is placed at %v", c.TimeS[100])
	}
}
