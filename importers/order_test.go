package importers

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"hopcard/flight"
)

// stampedLog writes a log whose row i carries the text stamp(i), and roll = i/100 deg.
func stampedLog(header string, n int, stamp func(i int) string) string {
	var b strings.Builder
	b.WriteString(header + ",roll_deg\n")
	for i := range n {
		fmt.Fprintf(&b, "%s,%.2f\n", stamp(i), float64(i)/100)
	}
	return b.String()
}

// clockText writes seconds after midnight as hh:mm:ss.mmm.
func clockText(ms int) string {
	ms %= 86400000
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
}

func TestTimeForms(t *testing.T) {
	for name, tc := range map[string]struct {
		header  string
		stamp   func(i int) string
		startS  float64 // offset expected
		code    flight.Code
		started string // RFC 3339, empty if no date is known
	}{
		"seconds":                 {"time_s", func(i int) string { return fmt.Sprintf("%.2f", 3+float64(i)*0.02) }, 3, "", ""},
		"milliseconds":            {"time_ms", func(i int) string { return fmt.Sprint(5000 + 20*i) }, 5, "", ""},
		"microseconds":            {"t_us", func(i int) string { return fmt.Sprint(7000000 + 20000*i) }, 7, "", ""},
		"nanoseconds":             {"t [ns]", func(i int) string { return fmt.Sprint(9000000000 + 20000000*i) }, 9, "", ""},
		"no unit, s":              {"time", func(i int) string { return fmt.Sprintf("%.2f", float64(i)*0.02) }, 0, flight.CodeUnitGuessed, ""},
		"no unit, ms":             {"time", func(i int) string { return fmt.Sprint(20 * i) }, 0, flight.CodeUnitGuessed, ""},
		"no unit, us":             {"timestamp", func(i int) string { return fmt.Sprint(20000 * i) }, 0, flight.CodeUnitGuessed, ""},
		"ms wrap":                 {"time_ms", func(i int) string { return fmt.Sprint((4294967296 - 1000 + 20*i) % 4294967296) }, 4294966.296, flight.CodeWrap, ""},
		"us wrap":                 {"time_us", func(i int) string { return fmt.Sprint((4294967296 - 1000000 + 20000*i) % 4294967296) }, 4293.967296, flight.CodeWrap, ""},
		"us signed wrap":          {"time_us", func(i int) string { return fmt.Sprint(int32(uint32(2147483648 - 1000000 + 20000*i))) }, 2146.483648, flight.CodeWrap, ""},
		"epoch s":                 {"time", func(i int) string { return fmt.Sprintf("%.2f", 1942294230+float64(i)*0.02) }, 0, "", "2031-07-20T06:10:30Z"},
		"epoch ms":                {"time", func(i int) string { return fmt.Sprint(1942294230000 + 20*i) }, 0, "", "2031-07-20T06:10:30Z"},
		"epoch us":                {"time_us", func(i int) string { return fmt.Sprint(1942294230000000 + 20000*i) }, 0, "", "2031-07-20T06:10:30Z"},
		"ISO T Z":                 {"utc", func(i int) string { return "2031-07-19T" + clockText(22230000+20*i) + "Z" }, 0, "", "2031-07-19T06:10:30Z"},
		"ISO blank":               {"utc", func(i int) string { return "2031-07-19 " + clockText(22230000+20*i) }, 0, "", "2031-07-19T06:10:30Z"},
		"ISO offset":              {"time", func(i int) string { return "2031-07-19T" + clockText(22230000+7200000+20*i) + "+02:00" }, 0, "", "2031-07-19T06:10:30Z"},
		"ISO compact":             {"time", func(i int) string { return "20310719T" + strings.ReplaceAll(clockText(22230000+20*i), ":", "") + "Z" }, 0, "", "2031-07-19T06:10:30Z"},
		"date and clock":          {"date,time", func(i int) string { return "2031-07-19," + clockText(22230000+20*i) }, 0, "", "2031-07-19T06:10:30Z"},
		"day.month.year":          {"date,time", func(i int) string { return "19.07.2031," + clockText(22230000+20*i) }, 0, "", "2031-07-19T06:10:30Z"},
		"clock":                   {"time", func(i int) string { return clockText(22230000 + 20*i) }, 22230, "", ""},
		"clock over midnight":     {"time", func(i int) string { return clockText(86399000 + 20*i) }, 86399, flight.CodeWrap, ""},
		"clock in seconds":        {"time", func(i int) string { return clockText(22230000 + 20*i)[:8] }, 22230, flight.CodeCoarse, ""},
		"date changes at night":   {"date,time", func(i int) string { return []string{"2031-07-19,", "2031-07-20,"}[i/50] + clockText(86399000+20*i) }, 0, "", "2031-07-19T23:59:59Z"},
		"seconds, exponent form":  {"time_s", func(i int) string { return fmt.Sprintf("%.6e", float64(i)*0.02) }, 0, "", ""},
		"unit contradicts header": {"time_ms", func(i int) string { return fmt.Sprintf("%.2f", float64(i)*0.02) }, 0, flight.CodeUnitContradiction, ""},
	} {
		t.Run(name, func(t *testing.T) {
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": stampedLog(tc.header, 100, tc.stamp)}))
			if tc.code == flight.CodeUnitContradiction {
				wantCode(t, h, tc.code, "taken for s, 50 rows a second")
			}
			c := column0(t, h, flight.Roll)
			if c.Len() != 100 {
				t.Fatalf("%d rows%s", c.Len(), listFindings(h))
			}
			for i, got := range c.TimeS {
				if !near(got, float64(i)*0.02, 2e-6) {
					t.Fatalf("row %d at %v, want %v%s", i, got, float64(i)*0.02, listFindings(h))
				}
			}
			if off := h.Sources[0].Clock.OffsetS; !near(off, tc.startS, 1e-6) {
				t.Errorf("offset %v, want %v", off, tc.startS)
			}
			if tc.code != "" {
				wantCode(t, h, tc.code, "")
			}
			started := ""
			if !h.StartedAt.IsZero() {
				started = h.StartedAt.Format("2006-01-02T15:04:05Z07:00")
			}
			if started != tc.started {
				t.Errorf("started at %q, want %q", started, tc.started)
			}
		})
	}
}

// TestStampFaults checks rows, order and findings where stamps are not as they should be.
func TestStampFaults(t *testing.T) {
	const n = 600
	for name, tc := range map[string]struct {
		edit func(ms []int) []int
		rows int
		code flight.Code
		text string
	}{
		"gap":      {func(ms []int) []int { return append(ms[:200:200], ms[260:]...) }, n - 60, flight.CodeGap, "60 are missing"},
		"repeat":   {func(ms []int) []int { return insert(ms, 100, ms[99]) }, n, flight.CodeRepeat, "1 rows repeat"},
		"backward": {func(ms []int) []int { return insert(ms, 100, ms[70:100]...) }, n, flight.CodeBackward, "29 rows"},
		"stray":    {func(ms []int) []int { ms[300] = 99999999; return ms }, n - 1, flight.CodeBackward, "single stamps"},
		"restart": {func(ms []int) []int {
			for i := 300; i < n; i++ {
				ms[i] = 20 * (i - 300)
			}
			return ms
		}, n, flight.CodeRestart, "clock began anew"},
		"jitter": {func(ms []int) []int {
			for i := range ms {
				ms[i] += 8 * (i % 2)
			}
			return ms
		}, n, flight.CodeJitter, "differ by more"},
	} {
		t.Run(name, func(t *testing.T) {
			ms := make([]int, n)
			for i := range ms {
				ms[i] = 20 * i
			}
			ms = tc.edit(ms)
			h := mustRead(t, writeHop(t, map[string]string{
				"a.csv": stampedLog("time_ms", len(ms), func(i int) string { return fmt.Sprint(ms[i]) })}))
			wantCode(t, h, tc.code, tc.text)
			if c := column0(t, h, flight.Roll); c.Len() != tc.rows {
				t.Errorf("%d rows, want %d%s", c.Len(), tc.rows, listFindings(h))
			}
			if h.Sources[0].Rows != len(ms) {
				t.Errorf("%d rows read, want %d", h.Sources[0].Rows, len(ms))
			}
		})
	}
}

func insert(ms []int, at int, more ...int) []int {
	return append(append(append([]int(nil), ms[:at]...), more...), ms[at:]...)
}

func TestGapHasItsInterval(t *testing.T) {
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": stampedLog("time_ms", 300, func(i int) string {
		return fmt.Sprint(1000 + 20*i + 1000*(i/150))
	})}))
	g := wantCode(t, h, flight.CodeGap, "")
	if !near(g.Span.FromS, 2.98, 1e-9) || !near(g.Span.ToS, 4, 1e-9) || g.Severity != flight.Caution {
		t.Errorf("gap %+v", g)
	}
}

func TestUTCAlignment(t *testing.T) {
	g := newGentle(600)
	line := func(format string, ms int) string { return fmt.Sprintf(format, clockText(ms)) }
	log := func(header, format string, startMs int, v []float64) string {
		b := header + "\n"
		for i, x := range v {
			b += fmt.Sprintf("%s,%.4f\n", line(format, startMs+20*i), x)
		}
		return b
	}
	att := log("utc,roll_rad", "2031-07-19T%sZ", 22230000, g.roll)
	for name, tc := range map[string]struct {
		stick  string
		offset float64
		by     flight.Alignment
		from   float64
	}{
		"both UTC":            {log("utc,stick_lat", "2031-07-19T%sZ", 22232500, g.lat), 0, flight.AlignUTC, 2.5},
		"starts before":       {log("utc,stick_lat", "2031-07-19T%sZ", 22229000, g.lat), 0, flight.AlignUTC, -1},
		"local time":          {log("time,stick_lat", "2031-07-19T%s", 22232500+7200000, g.lat), 7200, flight.AlignUTC, 2.5},
		"zone written":        {log("time,stick_lat", "2031-07-19T%s+02:00", 22232500+7200000, g.lat), 0, flight.AlignUTC, 2.5},
		"time of day only":    {log("time,stick_lat", "%s", 22232500, g.lat), 0, flight.AlignUTC, 2.5},
		"another day":         {log("utc,stick_lat", "2031-07-21T%sZ", 22232500, g.lat), 0, flight.AlignNone, 0},
		"counts from its own": {stickCounter(g), 0, flight.AlignNone, 0},
	} {
		t.Run(name, func(t *testing.T) {
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": att, "b.csv": tc.stick}))
			s := h.Sources[sourceIndex(t, h, "b.csv")]
			if s.Clock.AlignedBy != tc.by {
				t.Fatalf("aligned by %s, want %s%s", s.Clock.AlignedBy, tc.by, listFindings(h))
			}
			if tc.by == flight.AlignNone {
				if n := wantCode(t, h, flight.CodeNoClock, ""); n.Severity != flight.Stop {
					t.Errorf("severity %s", n.Severity)
				}
				return
			}
			if !near(s.Clock.OffsetS, tc.offset, 1e-6) {
				t.Errorf("offset %v, want %v", s.Clock.OffsetS, tc.offset)
			}
			if c := column0(t, h, flight.LatStick); !near(c.TimeS[0], tc.from, 1e-6) {
				t.Errorf("starts at %v, want %v", c.TimeS[0], tc.from)
			}
		})
	}
}

func stickCounter(g gentle) string {
	return logText(",", written{"ms", g.t, 1000, "%.0f"}, written{"stick_lat", g.lat, 1, "%.4f"})
}

func TestParseStamps(t *testing.T) {
	for text, want := range map[string]float64{
		"1970-01-01T00:00:00Z":           0,
		"1970-01-02 00:00:00.5":          86400.5,
		"2000-02-29T12:00:00Z":           951825600, // GNU date -u -d 2000-02-29T12:00 +%s
		"2031-07-19T06:10:30.6087Z":      1942207830.6087,
		"2031-07-19T08:10:30.25+02:00":   1942207830.25,
		"2031-07-19T00:40:30-0530":       1942207830,
		"2031/07/19 06:10:30":            1942207830,
		"19.07.2031 06:10:30,5":          1942207830.5,
		"20310719T061030Z":               1942207830,
		"2031-07-19 06:10":               1942207800,
		"2031-07-19T06:10:30.123456789Z": 1942207830.123456789,
	} {
		if got, _, ok := parseISO([]byte(text), 0); !ok || !near(got, want, 1e-6) {
			t.Errorf("%s: %v, want %v", text, got, want)
		}
	}
	for _, text := range []string{"", "2031-07-19", "2031-13-19T06:10:30", "2031-07-32T06:10:30", "06:10:30", "2031-07-19T06:10:30 local",
		"2031-07-19T25:10:30", "1.5", "2031-07-19T06:61:30", "2031-07-19T06:10:30.Z"} {
		if v, _, ok := parseISO([]byte(text), 0); ok || !math.IsNaN(v) {
			t.Errorf("%q passes for a date and time (%v)", text, v)
		}
	}
}

// TestImpossibleRate: where hop.toml itself names a unit that no logger writes, or the data
// do not tell another, the log is refused.
func TestImpossibleRate(t *testing.T) {
	dir := writeHop(t, map[string]string{
		"a.csv":    stampedLog("time_ms", 100, func(i int) string { return fmt.Sprintf("%.2f", float64(i)*0.02) }),
		"hop.toml": "format = 1\n[[file]]\nname = \"a.csv\"\n[[file.column]]\nname = \"time_ms\"\nunit = \"ms\"\n",
	})
	_, err := ReadHop(t.Context(), dir, Options{})
	wantError(t, err, []string{"a.csv", "time_ms", "which no logger writes", "hop.toml"})
}
