package importers

import (
	"encoding/binary"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"hopcard/flight"
)

// asUTF16 writes text in UTF-16 with a byte-order mark.
func asUTF16(text string, order binary.AppendByteOrder) string {
	out := order.AppendUint16(nil, 0xFEFF)
	for _, u := range utf16.Encode([]rune(text)) {
		out = order.AppendUint16(out, u)
	}
	return string(out)
}

// TestDress reads one record in many dresses: the values must come out the same.
func TestDress(t *testing.T) {
	g := newGentle(400)
	plain := logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.4f"},
		written{"q_dps", g.q, 1 / deg, "%.4f"}, written{"stick_lat_pct", g.lat, 100, "%.3f"})
	header, rows, _ := strings.Cut(plain, "\n")
	to := func(delim, dec string) string {
		return strings.NewReplacer(",", delim, ".", dec).Replace(plain)
	}
	quoted := func(s string) string { return `"` + strings.ReplaceAll(s, ",", `","`) + `"` }
	each := func(text string, f func(string) string) string {
		lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
		for i := range lines {
			lines[i] = f(lines[i])
		}
		return strings.Join(lines, "\n") + "\n"
	}
	for name, text := range map[string]string{
		"plain":                 plain,
		"CR LF":                 strings.ReplaceAll(plain, "\n", "\r\n"),
		"no last line end":      strings.TrimSuffix(plain, "\n"),
		"byte-order mark":       "\ufeff" + plain,
		"UTF-16 LE":             asUTF16(plain, binary.LittleEndian),
		"UTF-16 BE":             asUTF16(plain, binary.BigEndian),
		"semicolons":            to(";", "."),
		"decimal comma":         to(";", ","),
		"tabs":                  to("\t", "."),
		"tabs, decimal comma":   to("\t", ","),
		"blanks":                to(" ", "."),
		"runs of blanks":        each(to("   ", "."), func(s string) string { return "  " + s }),
		"blanks, decimal comma": to("  ", ","),
		"comma and blank":       strings.ReplaceAll(plain, ",", ", "),
		"quoted header":         quoted(header) + "\n" + rows,
		"quoted values":         each(plain, quoted),
		"quoted decimal comma": each(plain, func(s string) string {
			return strings.ReplaceAll(quoted(s), ".", ",")
		}),
		"quoted line break":   strings.Replace(quoted(header), "q_dps", "q\n[deg/s]", 1) + "\n" + rows,
		"comments":            "# logger 4, serial 12\n// started by hand\n" + header + "\n# first row follows\n" + rows,
		"header in a comment": "# made by a logger\n# " + header + "\n" + rows,
		"preamble":            "Logger 4\nSerial 12\n\n" + header + "\n" + rows,
		"units row":           "time,roll,q,stick_lat\ns,deg,deg/s,%\n" + rows,
		"units row, brackets": "time,roll,q,stick_lat\n[s],[deg],[deg/s],[%]\n" + rows,
		"units in brackets":   "Time [s],Roll [deg],q (deg/s),Lateral stick [%]\n" + rows,
		"degree sign":         "Time [s],Roll [°],q [°/s],Lateral stick [%]\n" + rows,
		"delimiter at end":    each(plain, func(s string) string { return s + "," }),
		"blank lines":         strings.ReplaceAll(plain, "\n", "\n\n"),
		"header again":        insertLine(plain, 200, header),
		"text between rows":   insertLine(plain, 200, "Logger: card nearly full"),
	} {
		t.Run(name, func(t *testing.T) {
			h := mustRead(t, writeHop(t, map[string]string{"log.csv": text}))
			sameValues(t, h, flight.Roll, g.roll, flight.Deg, 1e-6)
			sameValues(t, h, flight.PitchRate, g.q, flight.DegPerS, 1e-6)
			sameValues(t, h, flight.LatStick, g.lat, flight.Percent, 1e-5)
		})
	}
}

func insertLine(text string, at int, line string) string {
	lines := strings.SplitAfterN(text, "\n", at+1)
	return strings.Join(lines[:at], "") + line + "\n" + lines[at]
}

func sameValues(t *testing.T, h *flight.Hop, q flight.Quantity, want []float64, unit flight.Unit, tol float64) {
	t.Helper()
	c := column0(t, h, q)
	if c.Unit != unit {
		t.Errorf("%s is in %s, want %s", q, c.Unit, unit)
	}
	if c.Len() != len(want) {
		t.Fatalf("%s has %d values, want %d", q, c.Len(), len(want))
	}
	for i, v := range c.Value {
		if !near(v, want[i], tol) {
			t.Fatalf("%s[%d] = %v, want %v", q, i, v, want[i])
		}
	}
}

func TestTruncatedLastLine(t *testing.T) {
	text := "time_s,roll_deg,pitch_deg\n"
	for i := range 50 {
		text += fmt.Sprintf("%.2f,%.2f,%.2f\n", float64(i)*0.02, 1.25, 2.25)
	}
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": text + "1.00,1.2"}))
	wantCode(t, h, flight.CodeTruncated, "cut off")
	c := column0(t, h, flight.Pitch)
	if !math.IsNaN(c.Value[c.Len()-1]) {
		t.Errorf("the pitch that was cut off reads %v", c.Value[c.Len()-1])
	}
	// All cells there, but the last one is shorter than in every other row.
	h = mustRead(t, writeHop(t, map[string]string{"a.csv": text + "1.00,1.25,2"}))
	wantCode(t, h, flight.CodeTruncated, "cut off")
	c = column0(t, h, flight.Pitch)
	if !math.IsNaN(c.Value[c.Len()-1]) {
		t.Errorf("the pitch that may be cut off reads %v", c.Value[c.Len()-1])
	}
}

func TestFaultsInCells(t *testing.T) {
	text := "time_s,roll_deg,pitch_deg,mystery\n"
	for i := range 100 {
		roll := "1.25"
		switch i {
		case 10:
			roll = "---"
		case 11:
			roll = "inf"
		case 12:
			roll = "NaN"
		case 13:
			roll = ""
		}
		pitch := "2.5"
		if i == 20 {
			pitch = "2.5,7,8"
		}
		text += fmt.Sprintf("%.2f,%s,%s,1\n", float64(i)*0.02, roll, pitch)
	}
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": text}))
	n := wantCode(t, h, flight.CodeNotANumber, "3 cells")
	if !strings.Contains(n.Text, `"---" in line 12`) {
		t.Errorf("the first bad cell is not shown: %s", n.Text)
	}
	wantCode(t, h, flight.CodeNotANumber, "more cells")
	wantCode(t, h, flight.CodeUnrecognised, "mystery")
	c := column0(t, h, flight.Roll)
	for i := 10; i < 14; i++ {
		if !math.IsNaN(c.Value[i]) {
			t.Errorf("row %d reads %v", i, c.Value[i])
		}
	}
}

func TestNoHeaderNamedInSettings(t *testing.T) {
	text := ""
	for i := range 100 {
		text += fmt.Sprintf("%d,%.2f,%d\n", 20*i, 1.5, 7)
	}
	dir := writeHop(t, map[string]string{"a.csv": text, "hop.toml": `format = 1
[[file]]
name = "a.csv"
header = ["time_ms", "roll_deg", "spare"]
`})
	h := mustRead(t, dir)
	if c := column0(t, h, flight.Roll); !near(c.Value[5], 1.5*deg, 1e-12) || !near(c.TimeS[5], 0.1, 1e-12) {
		t.Errorf("roll %v at %v", c.Value[5], c.TimeS[5])
	}
}

func TestOverrides(t *testing.T) {
	g := newGentle(400)
	log := logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll", g.roll, 1, "%.5f"}, written{"foo", g.lat, 400, "%.3f"},
		written{"pitch_deg", g.pitch, 1 / deg, "%.3f"})
	settings := `format = 1
configuration = "light bar"
[[exclude]]
from_s = 1.0
to_s = 2.0
[[mark]]
time_s = 3.5
text = "gust"
[[file]]
name = "a.csv"
[[file.column]]
name = "roll"
unit = "rad"
sign = -1
[[file.column]]
name = "foo"
quantity = "lateral stick"
unit = "counts"
neutral = 0.0
full_throw = 400.0
[[file.column]]
name = "pitch_deg"
skip = true
`
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": log, "hop.toml": settings}))
	roll := column0(t, h, flight.Roll)
	if !near(roll.Value[300], -g.roll[300], 1e-5) || roll.Sign != -1 || roll.Guessed {
		t.Errorf("roll %v, sign %d", roll.Value[300], roll.Sign)
	}
	if c := column0(t, h, flight.LatStick); !near(c.Value[300], g.lat[300], 1e-5) {
		t.Errorf("stick %v, want %v", c.Value[300], g.lat[300])
	}
	if h.Channel(flight.Pitch) != nil {
		t.Error("a skipped column is read")
	}
	if h.Configuration != "light bar" || len(h.Exclude) != 1 || len(h.Marks) != 1 {
		t.Errorf("hop settings are not applied: %+v", h)
	}
}

func TestOverridesOfNothing(t *testing.T) {
	log := "time_s,roll_deg\n0,1\n0.02,1\n0.04,1\n"
	for name, tc := range map[string]struct {
		settings string
		want     []string
	}{
		"file":   {"format = 1\n[[file]]\nname = \"b.csv\"\n", []string{"hop.toml", `"b.csv"`, `did you mean "a.csv"`}},
		"column": {"format = 1\n[[file]]\nname = \"a.csv\"\n[[file.column]]\nname = \"rol_deg\"\n", []string{"rol_deg", `did you mean "roll_deg"`}},
		"header": {"format = 1\n[[file]]\nname = \"a.csv\"\nheader = [\"time_s\"]\n", []string{"names 1 columns", "has 2"}},
		"skip":   {"format = 1\n[[file]]\nname = \"a.csv\"\nskip = true\n", []string{"leaves out every log"}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := writeHop(t, map[string]string{"a.csv": log, "hop.toml": tc.settings})
			_, err := ReadHop(t.Context(), dir, Options{})
			wantError(t, err, tc.want)
		})
	}
	dir := writeHop(t, map[string]string{"a.csv": log, "hop.toml": "format = 1\nnose = 3\n"})
	_, err := ReadHop(t.Context(), filepath.Join(dir, "a.csv"), Options{})
	wantError(t, err, []string{"hop.toml:2", "nose"})
}
