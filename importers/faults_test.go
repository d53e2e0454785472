package importers

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"hopcard/flight"
)

// TestDataFaults plants one fault at a time in a clean record.
func TestDataFaults(t *testing.T) {
	base := func() gentle {
		g := newGentle(3000)
		rng := rand.New(rand.NewPCG(9, 10))
		for i := range g.roll {
			g.roll[i] += 0.03 * deg * rng.NormFloat64()
			g.p[i] += 0.1 * deg * rng.NormFloat64()
		}
		return g
	}
	for name, tc := range map[string]struct {
		plant func(g gentle)
		code  flight.Code
		text  string
		fromS float64
	}{
		"clean": {func(gentle) {}, "", "", 0},
		"stuck": {func(g gentle) {
			for i := 1000; i < 1200; i++ {
				g.roll[i] = g.roll[1000]
			}
		}, flight.CodeStuck, "for 4.0 s", 20},
		"spikes": {func(g gentle) { g.p[700], g.p[1900] = 4, -5 }, flight.CodeSpike, "2 single values", 13.98},
		"saturated": {func(g gentle) {
			for i := range g.p {
				g.p[i] = math.Max(-8*deg, math.Min(8*deg, g.p[i]))
			}
		}, flight.CodeSaturated, "range is too small", -1},
		"dead": {func(g gentle) {
			for i := range g.p {
				g.p[i] = 0.25
			}
		}, flight.CodeStuck, "throughout", 0},
	} {
		t.Run(name, func(t *testing.T) {
			g := base()
			tc.plant(g)
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",", written{"time_s", g.t, 1, "%.2f"},
				written{"roll_deg", g.roll, 1 / deg, "%.3f"}, written{"p_dps", g.p, 1 / deg, "%.3f"})}))
			if tc.code == "" {
				for _, code := range []flight.Code{flight.CodeStuck, flight.CodeSpike, flight.CodeSaturated} {
					if n := findings(h, code); len(n) > 0 {
						t.Errorf("the record is clean, but %s", n[0].Text)
					}
				}
				return
			}
			n := wantCode(t, h, tc.code, tc.text)
			if tc.fromS >= 0 && !near(n.Span.FromS, tc.fromS, 0.021) {
				t.Errorf("starts at %v s, want %v", n.Span.FromS, tc.fromS)
			}
		})
	}
}

func TestWindShort(t *testing.T) {
	h := mustRead(t, writeHop(t, map[string]string{
		"a.csv": "utc,roll_deg\n" + rowsAt(3000, 20, 0, "%s,1.0\n"),
		"w.csv": "utc,wind_mps\n" + rowsAt(30, 1000, 10000, "%s,3.0\n"),
	}))
	n := wantCode(t, h, flight.CodeWindShort, "from 10.0 to 39.0 s only")
	if n.File != "w.csv" {
		t.Errorf("file %q", n.File)
	}
}

// rowsAt writes n rows every stepMs from startMs after ten past six, UTC.
func rowsAt(n, stepMs, startMs int, format string) string {
	out := ""
	for i := range n {
		out += sprintfStamp(format, "2031-07-19T"+clockText(22200000+startMs+i*stepMs)+"Z")
	}
	return out
}

// TestRestartOpensTheClock: after a restart nothing says when the other log was.
func TestRestartOpensTheClock(t *testing.T) {
	restart := "time_ms,stick_lat_pct\n"
	for i := range 400 {
		restart += sprintfStamp("%s,5.0\n", itoa(20*(i%200)))
	}
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": "utc,roll_deg\n" + rowsAt(600, 20, 0, "%s,1.0\n"), "b.csv": restart}))
	wantCode(t, h, flight.CodeRestart, "began anew")
	wantCode(t, h, flight.CodeNoClock, "began anew")
}

func sprintfStamp(format, stamp string) string { return strings.Replace(format, "%s", stamp, 1) }

func itoa(n int) string { return strconv.Itoa(n) }
