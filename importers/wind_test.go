package importers

import (
	"fmt"
	"maps"
	"strings"
	"testing"

	"hopcard/flight"
)

// TestChecksums uses published sentences; which of them are right is known. The last
// carries a wrong sum in its source.
func TestChecksums(t *testing.T) {
	for text, bad := range map[string]bool{
		"$WIMWV,041.1,R,01.0,N,A*16":             false,
		"$WIMWV,214.8,R,0.1,K,A*28":              false,
		"$WIMWV,75.7,T,13.2,N,A*20":              false,
		"$WIMWV,42.0,R,16.3,N,A*21":              false,
		"$WIMWV,12.1,T,10.1,N,A*27":              false,
		"$WIMWV,,T,,N,V*32":                      false,
		"$WIMWD,211.2,T,205.4,M,3.9,N,2.0,M*51":  false,
		"$WIMWD,75.7,T,75.7,M,13.2,N,6.8,M*64":   false,
		"$WIMWD,10.1,T,10.1,M,12,N,40,M*5D":      false,
		"$WIMWV,360.0,T,40.0,M,A*17":             false,
		"$WIMWD,235.0,T,240.0,M,10.0,N,5.1,M*66": true,
		"$WIMWV,041.2,R,01.0,N,A*16":             true,
		"$WIMWV,041.1,R,01.0,N,A*":               true,
		"$WIMWV,041.1,R,01.0,N,A*1":              true,
		"$WIMWV,041.1,R,01.0,N,A*zz":             true,
	} {
		if _, sum, got := checkSentence(text); !sum || got != bad {
			t.Errorf("%s: bad is %v, want %v", text, got, bad)
		}
	}
	if _, sum, bad := checkSentence("$WIMWV,041.1,R,01.0,N,A"); sum || bad {
		t.Error("a sentence without a checksum has none, right or wrong")
	}
}

// sentence closes a sentence with its checksum.
func sentence(body string) string {
	x := byte(0)
	for i := range len(body) {
		x ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, x)
}

func TestSentences(t *testing.T) {
	var b strings.Builder
	for i := range 60 {
		b.WriteString(sentence(fmt.Sprintf("GPZDA,0610%02d.00,19,07,2031,00,00", i)))
		switch i {
		case 10:
			b.WriteString("$WIMWD,235.0,T,240.0,M,10.0,N,5.1,M*66\r\n")
		case 11:
			b.WriteString(sentence("WIMWV,,T,,N,V"))
		case 12:
			b.WriteString(sentence("WIMWD,10.1,T,10.1,M,12,N,40,M"))
		case 13:
			b.WriteString(sentence("WIXDR,C,19.5,C,TEMP"))
		default:
			b.WriteString(sentence("WIMWD,211.2,T,205.4,M,3.9,N,2.0,M"))
			b.WriteString(sentence("WIMWV,214.8,R,7.2,K,A"))
		}
	}
	h := mustRead(t, writeHop(t, map[string]string{"wind.nmea": b.String()}))
	if got := h.StartedAt.Format("2006-01-02 15:04:05"); got != "2031-07-19 06:10:00" {
		t.Errorf("started at %s", got)
	}
	from := column0(t, h, flight.WindDirectionFrom)
	if !near(from.Value[0], 211.2*deg, 1e-9) || from.Len() < 50 {
		t.Errorf("direction %v, %d values", from.Value[0]/deg, from.Len())
	}
	for _, c := range h.Channels {
		if c.Quantity == flight.WindSpeed {
			for i, v := range c.Value {
				if v == v && !near(v, 2, 1e-9) {
					t.Fatalf("%s[%d] = %v m/s, want 2", c.Column, i, v)
				}
			}
		}
	}
	wantCode(t, h, flight.CodeChecksum, "1 sentences have a wrong checksum, first in line 32")
	if n := findings(h, flight.CodeCoarse); len(n) > 0 {
		t.Errorf("two sentences of one second are one row, but %s", n[0].Text)
	}
	wantCode(t, h, flight.CodeVoid, "1 wind sentences")
	wantCode(t, h, flight.CodeUnitContradiction, "knots and m/s disagree")
	wantCode(t, h, flight.CodeUnrecognised, "from the bow")
	wantCode(t, h, flight.CodeUnrecognised, "1 other sentences")
	if h.Sources[0].Role != flight.RoleWind {
		t.Errorf("role %s", h.Sources[0].Role)
	}
}

func TestSentencesWithStampsInFront(t *testing.T) {
	for name, stamp := range map[string]func(i int) string{
		"seconds": func(i int) string { return fmt.Sprintf("%.1f ", float64(i)) },
		"ISO":     func(i int) string { return fmt.Sprintf("2031-07-19T06:10:%02d.000Z,", i) },
		"clock":   func(i int) string { return fmt.Sprintf("06:10:%02d;", i) },
	} {
		t.Run(name, func(t *testing.T) {
			text := ""
			for i := range 60 {
				text += stamp(i) + sentence("WIMWV,214.8,T,10.0,N,A")
			}
			h := mustRead(t, writeHop(t, map[string]string{"wind.log": text}))
			c := column0(t, h, flight.WindSpeed)
			if c.Len() != 60 || !near(c.TimeS[59], 59, 1e-6) || !near(c.Value[59], 10*1852.0/3600, 1e-9) {
				t.Errorf("%d values, the last %v at %v", c.Len(), c.Value[c.Len()-1], c.TimeS[c.Len()-1])
			}
		})
	}
}

func TestSentencesWithoutTime(t *testing.T) {
	dir := writeHop(t, map[string]string{"wind.nmea": strings.Repeat(sentence("WIMWV,214.8,T,10.0,N,A"), 20)})
	_, err := ReadHop(t.Context(), dir+"/wind.nmea", Options{})
	wantError(t, err, []string{"wind.nmea", "no time", "ZDA"})
}

func TestWindNotes(t *testing.T) {
	att := "utc,roll_deg\n"
	for i := range 600 {
		att += fmt.Sprintf("2031-07-19T06:10:%02d.%dZ,1.0\n", i/10, i%10)
	}
	notes := "time, mean (kt), gust (kt), direction\n06:10:05, 6, 9, 210\n06:10:30, 8 kt, , SW\n\n06:10:50, five, 7, 215\n"
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": att, "wind notes.txt": notes}))
	c := column0(t, h, flight.WindSpeed)
	const kt = 1852.0 / 3600
	if c.Len() != 2 || !near(c.Value[0], 6*kt, 1e-9) || !near(c.Value[1], 8*kt, 1e-9) || !near(c.TimeS[1], 30, 1e-6) {
		t.Errorf("wind %v at %v%s", c.Value, c.TimeS, listFindings(h))
	}
	if d := column0(t, h, flight.WindDirectionFrom); !near(d.Value[1], 225*deg, 1e-9) {
		t.Errorf("direction %v", d.Value)
	}
	wantCode(t, h, flight.CodeNotANumber, `line 5: "five"`)
	var gust *flight.Channel
	for i := range h.Channels {
		if h.Channels[i].Quantity == flight.WindSpeed && strings.Contains(h.Channels[i].Column, "gust") {
			gust = &h.Channels[i]
		}
	}
	if gust == nil || gust == c || !near(gust.Value[0], 9*kt, 1e-9) || gust.Sure >= c.Sure {
		t.Errorf("the gust noted is %+v", gust)
	}
}

// TestWindNotesOfTheDay: notes say hh:mm, the aircraft's logger counts from its start;
// started_at in hop.toml ties them, roughly and without a stop.
func TestWindNotesOfTheDay(t *testing.T) {
	g := newGentle(3000)
	att := logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"}, written{"p_dps", g.p, 1 / deg, "%.3f"})
	files := map[string]string{"a.csv": att, "wind notes.csv": "time,mean,gust,direction\n06:10,3,5,210\n06:11,4,6,200\n"}
	for name, tc := range map[string]struct {
		settings string
		by       flight.Alignment
		firstS   float64
	}{
		"tied":     {"format = 1\nstarted_at = 2031-07-19T06:09:50Z\n", flight.AlignUser, 10},
		"untied":   {"", flight.AlignNone, 0},
		"too late": {"format = 1\nstarted_at = 2031-07-19T09:00:00Z\n", flight.AlignNone, 0},
	} {
		t.Run(name, func(t *testing.T) {
			all := map[string]string{"hop.toml": tc.settings}
			maps.Copy(all, files)
			if tc.settings == "" {
				delete(all, "hop.toml")
			}
			h := mustRead(t, writeHop(t, all))
			w := column0(t, h, flight.WindSpeed)
			if c := h.SourceOf(w).Clock; c.AlignedBy != tc.by || !near(w.TimeS[0], tc.firstS, 1e-9) || tc.by == flight.AlignUser && c.IntervalS < 30 {
				t.Errorf("first note at %v s, clock %+v", w.TimeS[0], c)
			}
			for _, n := range h.Findings {
				if n.Severity == flight.Stop {
					t.Errorf("a stop for notes of the wind: %s", n.Text)
				}
			}
		})
	}
}

// TestEmptyUnitsRow: a row of units that nobody filled in is passed over.
func TestEmptyUnitsRow(t *testing.T) {
	g := newGentle(500)
	text := logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"})
	head, rows, _ := strings.Cut(text, "\n")
	for _, row := range []string{",", " , ", "-,-"} {
		h := mustRead(t, writeHop(t, map[string]string{"a.csv": head + "\n" + row + "\n" + rows}))
		if c := column0(t, h, flight.Roll); c.Len() != 500 || c.Unit != flight.Deg {
			t.Errorf("%q: %d values in %s%s", row, c.Len(), c.Unit, listFindings(h))
		}
	}
}

func TestEventMarks(t *testing.T) {
	g := newGentle(1000)
	h := mustRead(t, writeHop(t, map[string]string{
		"a.csv":     logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.3f"}),
		"marks.csv": "time,event\n12.5,\"doublet, roll\"\n3,lift-off\nlater,landing\n",
	}))
	if len(h.Marks) != 2 || h.Marks[0].Text != "lift-off" || h.Marks[1].Text != "doublet, roll" || h.Marks[1].TimeS != 12.5 {
		t.Errorf("marks %+v%s", h.Marks, listFindings(h))
	}
	wantCode(t, h, flight.CodeNotANumber, `line 4: "later" is no time`)
}

func TestQuaternion(t *testing.T) {
	// A turn by roll 10, pitch 20, heading 30 deg as a quaternion, worked out with
	// SciPy 1.10.1 (testdata/importers/quaternion.py).
	text := "time_ms,qw,qx,qy,qz\n"
	for i := range 100 {
		text += fmt.Sprintf("%d,0.951548524,0.038134576,0.189307857,0.239298331\n", 20*i)
	}
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": text}))
	for q, want := range map[flight.Quantity]float64{flight.Roll: 10, flight.Pitch: 20, flight.Heading: 30} {
		c := column0(t, h, q)
		if !near(c.Value[50], want*deg, 1e-6) || !c.Derived {
			t.Errorf("%s: %v deg, want %v", q, c.Value[50]/deg, want)
		}
	}
}
