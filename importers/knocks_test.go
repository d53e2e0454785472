package importers

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"hopcard/flight"
)

// tapLog makes a log that feels taps at the given true times: ringing of one frequency
// and decay, white noise, and vibration in between as in flight. Its stamps are
// offset + (1 + drift) t.
func tapLog(rng *rand.Rand, taps []float64, lengthS, rateHz, startS, gain, noise, offsetS, driftPPM float64, r ring) *logFile {
	c := &column{header: "az", quantity: flight.AccelZ, scale: 1, sign: 1}
	f := &logFile{name: "log", role: flight.RoleStick, columns: []*column{c}}
	phase := rng.Float64()
	for k := 0; ; k++ {
		t := startS + (float64(k)+phase)/rateHz
		if t > lengthS {
			return f
		}
		x := -flight.StandardGravity + noise*rng.NormFloat64()
		for _, at := range taps {
			if d := t - at; d >= 0 && d < 1 {
				x -= gain * math.Exp(-r.decay*d) * math.Cos(r.omega*d)
			}
		}
		if t > 40 && t < lengthS-40 {
			x += 0.7 * rng.NormFloat64()
		}
		c.values = append(c.values, x)
		f.stamps = append(f.stamps, offsetS+(1+driftPPM*1e-6)*t)
	}
}

// TestKnockAlignment draws pairs of logs with known clocks. The bars: offset within 3 ms
// and drift within 10 ppm everywhere, and the 95 % interval of a stamp holds.
func TestKnockAlignment(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	const draws = 60
	inside, aligned, worst, worstDrift := 0, 0, 0.0, 0.0
	for range draws {
		length := 180 + 150*rng.Float64()
		start := 5 + 3*rng.Float64()
		var taps []float64
		for k := range 3 {
			taps = append(taps, start+float64(k)*(0.8+0.05*rng.Float64()))
		}
		for k := range 3 {
			taps = append(taps, length-12+start-5+float64(k)*(0.8+0.05*rng.Float64()))
		}
		r := ring{12 + 15*rng.Float64(), 55 + 40*rng.Float64()}
		rates := []float64{100, 50, 200}
		offset, drift := 200*rng.Float64(), 200*(rng.Float64()-0.5)
		lead := tapLog(rng, taps, length, 100, 0, 20+8*rng.Float64(), 0.06, 0, 0, r)
		gain := (12 + 8*rng.Float64()) * float64(1-2*rng.IntN(2)) // the second sensor may look the other way
		other := tapLog(rng, taps, length, rates[rng.IntN(3)], 2*rng.Float64(), gain, 0.1, offset, drift, r)
		if !other.alignKnocks(lead) {
			continue
		}
		aligned++
		c := other.clock
		// Hop time starts at the first stamp of the leading log.
		zero := lead.stamps[0]
		err := func(hopS float64) float64 {
			return c.OffsetS + (1+c.DriftPPM*1e-6)*hopS - (offset + (1+drift*1e-6)*(hopS+zero))
		}
		e := math.Max(math.Abs(err(0)), math.Abs(err(length-zero)))
		worst, worstDrift = math.Max(worst, e), math.Max(worstDrift, math.Abs(c.DriftPPM-drift))
		if math.Abs(err(0)) <= c.IntervalS {
			inside++
		}
	}
	t.Logf("%d of %d aligned, worst error %.2f ms, worst drift error %.1f ppm, interval holds in %d", aligned, draws, 1000*worst, worstDrift, inside)
	if aligned < draws*9/10 {
		t.Errorf("only %d of %d aligned", aligned, draws)
	}
	if worst > 0.003 || worstDrift > 10 {
		t.Errorf("worst error %.2f ms and %.1f ppm", 1000*worst, worstDrift)
	}
	if float64(inside) < 0.9*float64(aligned) {
		t.Errorf("the interval holds in %d of %d", inside, aligned)
	}
}

// TestKnocksThatDoNotTell: where taps do not fix the clock, there must be no answer.
func TestKnocksThatDoNotTell(t *testing.T) {
	r := ring{20, 78}
	for name, tc := range map[string]struct{ lead, other []float64 }{
		"none":                     {nil, nil},
		"one log only":             {[]float64{5, 6, 7, 170, 171, 172}, nil},
		"two taps":                 {[]float64{5, 6}, []float64{5, 6}},
		"other taps":               {[]float64{5, 6.1, 7.5, 170, 171.3}, []float64{4.2, 6.9, 8.1, 166, 172.5}},
		"even row, one end longer": {[]float64{5, 6, 7, 8}, []float64{6, 7, 8}},
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(7, 8))
			lead := tapLog(rng, tc.lead, 180, 100, 0, 22, 0.06, 0, 0, r)
			other := tapLog(rng, tc.other, 180, 100, 0.5, 15, 0.1, 33, 20, r)
			if other.alignKnocks(lead) {
				t.Errorf("aligned: %+v", other.clock)
			}
		})
	}
}

// TestSharedKnocks: the hop with two boxes must come out on one clock.
func TestSharedKnocks(t *testing.T) {
	truth := readTruth(t, "h06")
	h := mustRead(t, sharedHops+"/h06")
	for _, f := range truth.Files {
		c := h.Sources[sourceIndex(t, h, f.File)].Clock
		if c.AlignedBy != flight.AlignKnocks {
			t.Fatalf("%s aligned by %s", f.File, c.AlignedBy)
		}
		if f.Role != "stick" {
			continue
		}
		if !(c.Offset.Low <= f.Clock.OffsetS && c.Offset.High >= f.Clock.OffsetS && c.Drift.Low <= f.Clock.DriftPPM && c.Drift.High >= f.Clock.DriftPPM) {
			t.Errorf("offset %+v, drift %+v; want %v and %v", c.Offset, c.Drift, f.Clock.OffsetS, f.Clock.DriftPPM)
		}
		if !(c.IntervalS > 0 && c.IntervalS < 0.003) {
			t.Errorf("a stamp is good to %v s", c.IntervalS)
		}
	}
}

// TestUTCAgainstKnocks: two logs write UTC and feel the same taps; one clock was set late.
func TestUTCAgainstKnocks(t *testing.T) {
	taps := []float64{6, 6.83, 7.71, 112, 112.79, 113.64}
	start := time.Date(2031, 7, 19, 6, 10, 0, 0, time.UTC)
	text := func(f *logFile, other string, lateS float64) string {
		var b strings.Builder
		b.WriteString("utc,az_mps2," + other + "\n")
		for i, s := range f.stamps {
			at := start.Add(time.Duration((s + lateS) * 1e9))
			fmt.Fprintf(&b, "%s,%.4f,%.3f\n", at.Format("2006-01-02T15:04:05.0000Z"), f.columns[0].values[i], 5*math.Sin(s))
		}
		return b.String()
	}
	for _, lateS := range []float64{0, 0.312} {
		rng := rand.New(rand.NewPCG(15, 16))
		r := ring{18, 78}
		a := tapLog(rng, taps, 120, 100, 0, 22, 0.06, 0, 0, r)
		b := tapLog(rng, taps, 120, 50, 0.4, 15, 0.1, 0, 0, r)
		h := mustRead(t, writeHop(t, map[string]string{"a.csv": text(a, "roll_deg", 0), "b.csv": text(b, "stick_lat_pct", lateS)}))
		stick := column0(t, h, flight.LatStick)
		c := h.SourceOf(stick).Clock
		if c.AlignedBy != flight.AlignUTC {
			t.Fatalf("aligned by %s", c.AlignedBy)
		}
		if lateS == 0 {
			if n := findings(h, flight.CodeNoClock); len(n) > 0 || c.IntervalS > 0.01 {
				t.Errorf("the clocks agree, but interval %v%s", c.IntervalS, listFindings(h))
			}
			continue
		}
		wantCode(t, h, flight.CodeNoClock, "disagree by 0.312 s")
		if c.IntervalS < lateS {
			t.Errorf("the interval is %v s", c.IntervalS)
		}
	}
}
