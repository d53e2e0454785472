package importers

import (
	"math/rand/v2"
	"strings"
	"testing"

	"hopcard/flight"
)

// attitudeLog writes what the attitude logger of g writes, pitch with the given sense.
func attitudeLog(g gentle, pitch float64) string {
	return logText(",", written{"time_s", g.t, 1, "%.2f"},
		written{"roll_deg", g.roll, 1 / deg, "%.4f"}, written{"pitch_deg", g.pitch, pitch / deg, "%.4f"},
		written{"p_dps", g.p, 1 / deg, "%.4f"}, written{"q_dps", g.q, 1 / deg, "%.4f"},
		written{"ax_mps2", g.ax, 1, "%.4f"}, written{"ay_mps2", g.ay, 1, "%.4f"}, written{"az_mps2", g.az, 1, "%.4f"})
}

func stickLog(g gentle) string {
	return logText(",", written{"ms", g.t, 1000, "%.0f"}, written{"stick_lat_pct", g.lat, 100, "%.3f"}, written{"stick_lon_pct", g.lon, 100, "%.3f"})
}

// TestNothingAgainstASense: evidence that agrees, and evidence about other columns, raise no
// doubt about a column; a stick that nothing checks is told once.
func TestNothingAgainstASense(t *testing.T) {
	g := newGentle(4000)
	ground := newGentle(200)
	rng := rand.New(rand.NewPCG(1, 2))
	for len(ground.t) < 4000 { // at rest but for sensor noise and the stick
		ground.t = append(ground.t, float64(len(ground.t))*0.02)
		for _, v := range []*[]float64{&ground.roll, &ground.pitch, &ground.p, &ground.q, &ground.ax, &ground.ay, &ground.az} {
			*v = append(*v, (*v)[0]+1e-3*rng.NormFloat64())
		}
		ground.lat, ground.lon = append(ground.lat, g.lat[len(ground.lat)]), append(ground.lon, g.lon[len(ground.lon)])
	}
	one := strings.Split(strings.TrimSpace(attitudeLog(ground, 1)), "\n")
	for i, row := range strings.Split(strings.TrimSpace(stickLog(ground)), "\n") {
		one[i] += row[strings.Index(row, ","):]
	}
	for name, files := range map[string]map[string]string{
		"clocks apart":  {"a.csv": attitudeLog(g, 1), "b.csv": stickLog(g)},
		"on the ground": {"a.csv": strings.Join(one, "\n") + "\n"},
		"ground, apart": {"a.csv": attitudeLog(ground, 1), "b.csv": stickLog(ground)},
	} {
		t.Run(name, func(t *testing.T) {
			h := mustRead(t, writeHop(t, files))
			told := map[string]int{}
			for _, n := range findings(h, flight.CodeSign) {
				told[n.Channel]++
				if n.Severity != flight.Note || !strings.Contains(n.Text, "could not be checked") {
					t.Errorf("%s: %s", n.Severity, n.Text)
				}
			}
			if len(told) != 2 || told["stick_lat_pct"] != 1 || told["stick_lon_pct"] != 1 {
				t.Errorf("told of the senses: %v%s", told, listFindings(h))
			}
		})
	}
}

// TestSureOfATurnedColumn: how sure a turned column is does not hang on one that has
// nothing to do with it, here a stick on another clock.
func TestSureOfATurnedColumn(t *testing.T) {
	g := newGentle(4000)
	alone := mustRead(t, writeHop(t, map[string]string{"a.csv": attitudeLog(g, -1)}))
	beside := mustRead(t, writeHop(t, map[string]string{"a.csv": attitudeLog(g, -1), "b.csv": stickLog(g)}))
	want := wantCode(t, alone, flight.CodeSign, "turned round")
	if got := wantCode(t, beside, flight.CodeSign, "turned round"); got.Text != want.Text || got.Severity != want.Severity {
		t.Errorf("with a stick %s %q, without %s %q", got.Severity, got.Text, want.Severity, want.Text)
	}
}

// TestDoubtfulSense: two columns that contradict each other, with little to choose between
// them, are both told.
func TestDoubtfulSense(t *testing.T) {
	g := newGentle(4000)
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",", written{"time_s", g.t, 1, "%.2f"},
		written{"p_dps", g.p, 1 / deg, "%.4f"}, written{"stick_lat_pct", g.lat, -100, "%.3f"})}))
	wantCode(t, h, flight.CodeSign, `"stick_lat_pct" (lateral stick) runs opposite`)
	if n := wantCode(t, h, flight.CodeSign, `"p_dps" (roll rate) may run opposite`); n.Severity != flight.Caution {
		t.Errorf("severity %s", n.Severity)
	}
}
