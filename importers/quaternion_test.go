package importers

import (
	"math"
	"testing"

	"hopcard/flight"
)

// toQuaternion is the textbook way back, from roll, pitch and heading to w, x, y, z.
func toQuaternion(roll, pitch, heading float64) [4]float64 {
	sr, cr := math.Sincos(roll / 2)
	sp, cp := math.Sincos(pitch / 2)
	sh, ch := math.Sincos(heading / 2)
	return [4]float64{cr*cp*ch + sr*sp*sh, sr*cp*ch - cr*sp*sh, cr*sp*ch + sr*cp*sh, cr*cp*sh - sr*sp*ch}
}

// TestQuaternionOrder writes one record with its parts named, or numbered in both orders,
// at headings at which the parts alone tell the order and at which only the rates do.
func TestQuaternionOrder(t *testing.T) {
	g := newGentle(2000)
	for name, tc := range map[string]struct {
		names     [4]string
		wLast     bool
		headingD  float64
		withRates bool
		sure      float64
	}{
		"named":               {[4]string{"qx", "qy", "qz", "qw"}, true, 50, true, 0.9},
		"numbered, w first":   {[4]string{"q0", "q1", "q2", "q3"}, false, 50, false, 0.9},
		"numbered, w last":    {[4]string{"q0", "q1", "q2", "q3"}, true, 50, false, 0.9},
		"from 1, w last":      {[4]string{"q1", "q2", "q3", "q4"}, true, -120, false, 0.9},
		"quat[0], w last":     {[4]string{"quat[0]", "quat[1]", "quat[2]", "quat[3]"}, true, 90, true, 0.9},
		"north, w last":       {[4]string{"q0", "q1", "q2", "q3"}, true, 2, true, 0.9},
		"north, w first":      {[4]string{"q0", "q1", "q2", "q3"}, false, 2, true, 0.9},
		"north without rates": {[4]string{"q0", "q1", "q2", "q3"}, true, 0, false, 0},
	} {
		t.Run(name, func(t *testing.T) {
			var part [4][]float64
			for i := range g.t {
				q := toQuaternion(g.roll[i], g.pitch[i], tc.headingD*deg)
				if tc.wLast {
					q = [4]float64{q[1], q[2], q[3], q[0]}
				}
				for k := range 4 {
					part[k] = append(part[k], q[k])
				}
			}
			cols := []written{{"time_s", g.t, 1, "%.2f"}}
			for k := range 4 {
				cols = append(cols, written{tc.names[k], part[k], 1, "%.7f"})
			}
			if tc.withRates {
				cols = append(cols, written{"p_dps", g.p, 1 / deg, "%.4f"}, written{"q_dps", g.q, 1 / deg, "%.4f"})
			}
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",", cols...)}))
			if tc.sure == 0 {
				if n := wantCode(t, h, flight.CodeUnrecognised, "first or last"); n.Severity != flight.Stop || h.Channel(flight.Roll) != nil {
					t.Errorf("attitude taken from a quaternion of unknown order%s", listFindings(h))
				}
				return
			}
			roll, pitch := column0(t, h, flight.Roll), column0(t, h, flight.Pitch)
			for i := range g.t {
				if !near(roll.Value[i], g.roll[i], 1e-5) || !near(pitch.Value[i], g.pitch[i], 1e-5) {
					t.Fatalf("row %d: roll %v, pitch %v, want %v and %v%s", i, roll.Value[i]/deg, pitch.Value[i]/deg,
						g.roll[i]/deg, g.pitch[i]/deg, listFindings(h))
				}
			}
			if roll.Sure < tc.sure-0.1 {
				t.Errorf("%v sure, want about %v%s", roll.Sure, tc.sure, listFindings(h))
			}
		})
	}
}
