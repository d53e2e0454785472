package importers

import (
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

// wander is a rate that never repeats itself: noise through two lags.
func wander(n int, dt float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	out := make([]float64, n)
	a, b := 0.0, 0.0
	for i := range out {
		a += dt / 0.3 * (rng.NormFloat64()*math.Sqrt(0.3/dt) - a)
		b += dt / 0.3 * (a - b)
		out[i] = b
	}
	return out
}

// TestSharedChannel: two loggers feel one roll rate, at 50 and 40 Hz, on clocks apart by
// an odd offset and a drift; the stick is in the second only.
func TestSharedChannel(t *testing.T) {
	const dt = 0.002
	truth := wander(250000, dt, 5) // 500 s
	at := func(s float64) float64 {
		k := s / dt
		i := int(k)
		if i < 0 || i+1 >= len(truth) {
			return 0
		}
		return truth[i] + (k-float64(i))*(truth[i+1]-truth[i])
	}
	for name, tc := range map[string]struct{ offsetS, ppm, noise float64 }{
		"plain":      {31.237, 0, 0.001},
		"drift":      {-12.4111, 80, 0.01},
		"noisy":      {7.005, -45, 0.08},
		"turned":     {7.005, -45, -0.01},
		"long after": {151.5, 20, 0.01},
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(8, 9))
			var ta, pa, ra, tb, pb, sb []float64
			for i := range 22000 {
				s := float64(i) * 0.02
				ta, pa, ra = append(ta, s), append(pa, at(s)+math.Abs(tc.noise)*rng.NormFloat64()), append(ra, 0.1*at(s))
			}
			sense := 1.0
			if tc.noise < 0 {
				sense = -1
			}
			for i := range 16000 {
				stamp := 200 + float64(i)*0.025
				s := (stamp - 200 + tc.offsetS) / (1 + tc.ppm*1e-6)
				tb, pb = append(tb, stamp), append(pb, sense*at(s)+math.Abs(tc.noise)*rng.NormFloat64())
				sb = append(sb, at(s+0.15))
			}
			h := mustRead(t, writeHop(t, map[string]string{
				"a.csv": logText(",", written{"time_s", ta, 1, "%.3f"}, written{"roll_deg", ra, 1 / deg, "%.4f"}, written{"p_rad_s", pa, 1, "%.5f"}),
				"b.csv": logText(",", written{"time_s", tb, 1, "%.4f"}, written{"gyro_x_rad_s", pb, 1, "%.5f"}, written{"stick_lat_pct", sb, 50, "%.3f"}),
			}))
			var c flight.Clock
			for _, s := range h.Sources {
				if s.File == "b.csv" {
					c = s.Clock
				}
			}
			want := 200 - tc.offsetS
			if c.AlignedBy != flight.AlignShared {
				t.Fatalf("aligned by %s%s", c.AlignedBy, listFindings(h))
			}
			t.Logf("offset %.2f ms off, drift %.1f ppm off, interval %.2f ms", 1000*(c.OffsetS-want), c.DriftPPM-tc.ppm, 1000*c.IntervalS)
			if !near(c.OffsetS, want, 3e-3) || !near(c.DriftPPM, tc.ppm, 10) || c.Offset.Low > want || c.Offset.High < want || c.IntervalS > 0.012 {
				t.Errorf("clock %+v, offset %+v, want %v and %v ppm", c, *c.Offset, want, tc.ppm)
			}
		})
	}
}

// TestNothingShared: different motions, a motion that repeats itself, and a stick beside
// the rate that answers it tie no clocks.
func TestNothingShared(t *testing.T) {
	one, two := wander(10000, 0.02, 1), wander(10000, 0.02, 2)
	stamps, periodic, late := make([]float64, 10000), make([]float64, 10000), make([]float64, 10000)
	for i := range stamps {
		stamps[i] = float64(i) * 0.02
		periodic[i] = math.Sin(stamps[i] * 2)
		if i > 10 {
			late[i] = one[i-10]
		}
	}
	for name, tc := range map[string]struct {
		a, b   []float64
		column string
	}{
		"different": {one, two, "gyro_x_rad_s"}, "periodic": {periodic, periodic, "gyro_x_rad_s"}, "answer": {one, late, "stick_lat_unit"},
	} {
		t.Run(name, func(t *testing.T) {
			h := mustRead(t, writeHop(t, map[string]string{
				"a.csv": logText(",", written{"time_s", stamps, 1, "%.2f"}, written{"roll_deg", tc.a, 1, "%.4f"}, written{"p_rad_s", tc.a, 1, "%.5f"}),
				"b.csv": logText(",", written{"time_s", stamps, 1, "%.2f"}, written{tc.column, tc.b, 1, "%.5f"}),
			}))
			wantCode(t, h, flight.CodeNoClock, "cannot be tied")
		})
	}
}
