package importers

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"hopcard/flight"
)

// TestSigns turns columns of a clean record round: each must be found.
func TestSigns(t *testing.T) {
	g := newGentle(4000)
	for name, flip := range map[string][]string{
		"none":            nil,
		"up positive":     {"az"},
		"roll rate":       {"p"},
		"roll angle":      {"roll"},
		"pitch angle":     {"pitch"},
		"pitch rate":      {"q"},
		"stick forward":   {"lon"},
		"stick left":      {"lat"},
		"nose down":       {"pitch", "q"},
		"pitch and stick": {"pitch", "lon"},
		"roll and stick":  {"roll", "lat"},
	} {
		t.Run(name, func(t *testing.T) {
			sign := func(col string) float64 {
				for _, f := range flip {
					if f == col {
						return -1
					}
				}
				return 1
			}
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",",
				written{"time_s", g.t, 1, "%.2f"},
				written{"roll_deg", g.roll, sign("roll") / deg, "%.4f"}, written{"pitch_deg", g.pitch, sign("pitch") / deg, "%.4f"},
				written{"p_dps", g.p, sign("p") / deg, "%.4f"}, written{"q_dps", g.q, sign("q") / deg, "%.4f"},
				written{"ax_mps2", g.ax, 1, "%.4f"}, written{"ay_mps2", g.ay, 1, "%.4f"}, written{"az_mps2", g.az, sign("az"), "%.4f"},
				written{"stick_lat_pct", g.lat, 100 * sign("lat"), "%.3f"}, written{"stick_lon_pct", g.lon, 100 * sign("lon"), "%.3f"},
			)}))
			for q, want := range map[flight.Quantity][]float64{
				flight.Roll: g.roll, flight.Pitch: g.pitch, flight.RollRate: g.p, flight.PitchRate: g.q,
				flight.AccelZ: g.az, flight.LatStick: g.lat, flight.LonStick: g.lon,
			} {
				c := column0(t, h, q)
				i := 300 // in motion
				for math.Abs(want[i]) < 0.5*deg {
					i++
				}
				if !near(c.Value[i], want[i], 1e-3*math.Abs(want[i])+1e-4) {
					t.Errorf("%s reads %v, want %v%s", q, c.Value[i], want[i], listFindings(h))
				}
			}
			turned := 0
			for _, n := range findings(h, flight.CodeSign) {
				if strings.Contains(n.Text, "turned round") {
					turned++
				}
			}
			if turned != len(flip) {
				t.Errorf("%d findings of turned columns, want %d%s", turned, len(flip), listFindings(h))
			}
		})
	}
}

func TestRateFactor(t *testing.T) {
	g := newGentle(3000)
	log := func(k float64) string {
		return logText(",", written{"time_s", g.t, 1, "%.2f"}, written{"roll_deg", g.roll, 1 / deg, "%.4f"}, written{"p_dps", g.p, k / deg, "%.4f"})
	}
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": log(1)}))
	if n := findings(h, flight.CodeRateFactor); len(n) > 0 {
		t.Errorf("rates are right, but %s", n[0].Text)
	}
	h = mustRead(t, writeHop(t, map[string]string{"a.csv": log(1 / 0.8)}))
	wantCode(t, h, flight.CodeRateFactor, "is 0.80")
	h = mustRead(t, writeHop(t, map[string]string{"a.csv": log(deg)}))
	if n := wantCode(t, h, flight.CodeUnitContradiction, "degrees and radians"); n.Severity != flight.Stop {
		t.Errorf("severity %s", n.Severity)
	}
}

func TestUnitsFromData(t *testing.T) {
	g := newGentle(3000)
	for name, tc := range map[string]struct{ angle, rate, accel float64 }{
		"deg, deg/s, g":    {1 / deg, 1 / deg, 1 / flight.StandardGravity},
		"rad, rad/s, m/s2": {1, 1, 1},
		"deg, rad/s, m/s2": {1 / deg, 1, 1},
		"rad, deg/s, g":    {1, 1 / deg, 1 / flight.StandardGravity},
	} {
		t.Run(name, func(t *testing.T) {
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",",
				written{"time", g.t, 1, "%.2f"}, written{"roll", g.roll, tc.angle, "%.5f"}, written{"pitch", g.pitch, tc.angle, "%.5f"},
				written{"p", g.p, tc.rate, "%.5f"}, written{"q", g.q, tc.rate, "%.5f"},
				written{"acc_x", g.ax, tc.accel, "%.5f"}, written{"acc_z", g.az, tc.accel, "%.5f"})}))
			for q, want := range map[flight.Quantity]float64{
				flight.Roll: g.roll[700], flight.Pitch: g.pitch[700], flight.RollRate: g.p[700], flight.PitchRate: g.q[700],
				flight.AccelX: g.ax[700], flight.AccelZ: g.az[700],
			} {
				c := column0(t, h, q)
				if !near(c.Value[700], want, 1e-3*math.Abs(want)+1e-5) || !c.Guessed {
					t.Errorf("%s reads %v in %s, want %v%s", q, c.Value[700], c.Unit, want, listFindings(h))
				}
			}
			if len(findings(h, flight.CodeUnitGuessed)) < 7 {
				t.Errorf("guesses are not all told:%s", listFindings(h))
			}
		})
	}
}

func TestGravityAndBias(t *testing.T) {
	g := newGentle(1500)
	bias := make([]float64, len(g.p))
	for i := range bias {
		bias[i] = g.p[i] + 0.8*deg
	}
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": logText(",", written{"time_s", g.t, 1, "%.2f"},
		written{"p_dps", bias, 1 / deg, "%.4f"}, written{"ax_mps2", g.ax, 1.07, "%.4f"},
		written{"ay_mps2", g.ay, 1.07, "%.4f"}, written{"az_mps2", g.az, 1.07, "%.4f"})}))
	wantCode(t, h, flight.CodeGravity, "1.070 g")
	wantCode(t, h, flight.CodeRateBias, "+0.80 deg/s")
}

// stickRecord writes a stick: rest, a control check to both stops, then small moves.
func stickRecord(neutral, throw float64, check bool, format string) string {
	var b strings.Builder
	b.WriteString("time_s,roll_deg,stick_lat\n")
	for i := range 3000 {
		t := float64(i) * 0.02
		x := 0.0
		switch {
		case check && t > 6 && t < 6.4:
			x = 1
		case check && t > 7 && t < 7.4:
			x = -1
		case t > 12:
			x = 0.06 + 0.1*math.Sin(1.3*t)
		}
		fmt.Fprintf(&b, "%.2f,1.0,"+format+"\n", t, neutral+throw*x)
	}
	return b.String()
}

func TestStickScale(t *testing.T) {
	for name, tc := range map[string]struct {
		neutral, throw float64
		check          bool
		format         string
		unit           flight.Unit
		code           flight.Severity
	}{
		"percent":           {0, 100, true, "%.2f", flight.Percent, ""},
		"percent, no check": {0, 100, false, "%.2f", flight.Percent, ""},
		"unit":              {0, 1, true, "%.4f", flight.UnitTravel, ""},
		"0 to 100":          {50, 50, true, "%.2f", flight.Percent, flight.Note},
		"pulse":             {1520, 410, true, "%.0f", flight.PulseUs, flight.Note},
		"pulse, no check":   {1500, 500, false, "%.0f", flight.PulseUs, flight.Caution},
		"10 bit":            {509, 470, true, "%.0f", flight.Counts, flight.Note},
		"12 bit":            {2051, -1890, true, "%.0f", flight.Counts, flight.Note},
		"16 bit":            {32100, 30500, true, "%.0f", flight.Counts, flight.Note},
	} {
		t.Run(name, func(t *testing.T) {
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": stickRecord(tc.neutral, tc.throw, tc.check, tc.format)}))
			c := column0(t, h, flight.LatStick)
			if c.Unit != tc.unit {
				t.Fatalf("unit %s, want %s%s", c.Unit, tc.unit, listFindings(h))
			}
			if !near(c.Zero, tc.neutral, 0.002*math.Abs(tc.throw)) || !near(1/c.Scale, math.Abs(tc.throw), 0.005*math.Abs(tc.throw)) {
				t.Errorf("neutral %v, throw %v; want %v, %v", c.Zero, 1/c.Scale, tc.neutral, math.Abs(tc.throw))
			}
			n := findings(h, flight.CodeStickScale)
			if tc.code == "" && len(n) > 0 || tc.code != "" && (len(n) != 1 || n[0].Severity != tc.code) {
				t.Errorf("findings of scale, want %q:%s", tc.code, listFindings(h))
			}
		})
	}
}

// TestUnknownThrow: counts without a control check must not pass for a known scale.
func TestUnknownThrow(t *testing.T) {
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": stickRecord(2051, 1890, false, "%.0f")}))
	if n := wantCode(t, h, flight.CodeStickScale, "not known"); n.Severity != flight.Stop {
		t.Errorf("severity %s", n.Severity)
	}
	if c := column0(t, h, flight.LatStick); c.Sure > 0.5 {
		t.Errorf("%.2f sure of an unknown scale", c.Sure)
	}
}

func TestSlowColumnInAFastLog(t *testing.T) {
	text := "time_s,roll_deg,wind_mps\n"
	for i := range 1000 {
		wind := ""
		if i%50 == 0 {
			wind = fmt.Sprintf("%.1f", 3+float64(i%7))
		}
		text += fmt.Sprintf("%.2f,1.0,%s\n", float64(i)*0.02, wind)
	}
	h := mustRead(t, writeHop(t, map[string]string{"a.csv": text}))
	c := column0(t, h, flight.WindSpeed)
	if c.Len() != 20 || !near(c.RateHz(), 1, 1e-6) {
		t.Errorf("%d values at %v Hz", c.Len(), c.RateHz())
	}
}
