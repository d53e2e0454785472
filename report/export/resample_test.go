package export

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"hopcard/flight"
)

// wave is a channel of cosines at a rate, in SI.
func wave(q flight.Quantity, rateHz, lengthS float64, f func(t float64) float64) flight.Channel {
	ch := flight.Channel{Quantity: q}
	for i := range int(lengthS*rateHz) + 1 {
		t := float64(i) / rateHz
		ch.TimeS, ch.Value = append(ch.TimeS, t), append(ch.Value, f(t))
	}
	return ch
}

// at brings one channel to a rate and returns times and values in SI.
func at(t interface{ Fatal(...any) }, ch flight.Channel, rateHz float64) (times, values []float64) {
	c := &Contents{hop: &flight.Hop{}, options: Options{RateHz: rateHz}, columns: []column{{fromSI: 1, channel: &ch}}}
	g, out, err := c.resampled(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return g.times(), out[0]
}

// gain of the filter for a cosine, its phase included: the error would show as a sine.
func gain(t *testing.T, fHz, fromHz, toHz float64) (cos, sin float64) {
	t.Helper()
	w := 2 * math.Pi * fHz
	times, got := at(t, wave(flight.Height, fromHz, 40, func(t float64) float64 { return math.Cos(w * t) }), toHz)
	// Only the middle, away from the ends.
	n := 0.0
	for i, s := range times {
		if s < 10 || s >= 30 {
			continue
		}
		cos += 2 * got[i] * math.Cos(w*s)
		sin += 2 * got[i] * math.Sin(w*s)
		n++
	}
	return cos / n, sin / n
}

// The filter passes what it says it passes, without delay, and stops what would be
// folded.
func TestFilterResponse(t *testing.T) {
	for _, c := range []struct{ from, to float64 }{{200, 50}, {200, 60}, {100, 100}, {50, 200}, {12.5, 100}} {
		lower := min(c.from, c.to)
		for _, f := range []float64{0.05, 0.2, 0.35, 0.4} {
			cos, sin := gain(t, f*lower, c.from, c.to)
			if math.Abs(cos-1) > 1.5e-3 || math.Abs(sin) > 1.5e-3 {
				t.Errorf("%g to %g Hz: %g of the lower rate passes as %.5f with %.5f across, want 1 and 0", c.from, c.to, f, cos, sin)
			}
		}
	}
	for _, f := range []float64{0.5, 0.6, 0.9, 1.3} {
		_, got := at(t, wave(flight.Height, 200, 40, func(t float64) float64 { return math.Cos(2 * math.Pi * f * 50 * t) }), 50)
		worst := 0.0
		for _, x := range got[500:1500] {
			worst = max(worst, math.Abs(x))
		}
		if worst > 1.3e-3 {
			t.Errorf("%g of the new rate comes through by %.5f, want 60 dB less than 1", f, worst)
		}
	}
}

// A direction that swings through north must not be averaged to south.
func TestDirectionsCrossNorth(t *testing.T) {
	ch := wave(flight.WindDirectionFrom, 10, 60, func(t float64) float64 {
		return math.Mod(2*math.Pi+0.2*math.Sin(0.3*t), 2*math.Pi)
	})
	times, got := at(t, ch, 2)
	for i, s := range times {
		want := 0.2 * math.Sin(0.3*s)
		if d := math.Remainder(got[i]-want, 2*math.Pi); math.Abs(d) > 2e-3 || got[i] < 0 {
			t.Errorf("at %g s: %g rad, want %g", s, got[i], want)
		}
	}
}

func TestRunsEndAtGaps(t *testing.T) {
	ch := flight.Channel{TimeS: []float64{0, 1, 2, 3, 6, 7, 8, 9, 10, 11}, Value: []float64{1, math.NaN(), 1, 1, 1, 1, math.NaN(), math.NaN(), 1, 1}}
	runs := runsOf(&ch)
	if len(runs) != 3 || len(runs[0].t) != 3 || runs[1].t[0] != 6 || runs[2].t[0] != 10 {
		t.Errorf("runs %+v", runs)
	}
	if runsOf(&flight.Channel{TimeS: []float64{1}, Value: []float64{1}}) != nil {
		t.Error("one sample is a run")
	}
}

// A rotor that stands, its logger's last digit going on and off, does not turn backwards, nor
// by what rounding leaves. Where the log has such values they stay; heights may be negative.
func TestRotorThatStands(t *testing.T) {
	const rpm = 2 * math.Pi / 60
	flicker := func(s float64) float64 {
		if int(math.Round(s*50))%7 == 1 && s < 4 {
			return rpm
		}
		return 0
	}
	for _, c := range []struct {
		name string
		q    flight.Quantity
		f    func(t float64) float64
		back bool
	}{
		{"rotor", flight.RotorSpeed, flicker, false},
		{"wind", flight.WindSpeed, flicker, false},
		{"height", flight.Height, flicker, true},
		{"backwards in the log", flight.RotorSpeed, func(s float64) float64 { return flicker(s) - 0.01*rpm }, true},
	} {
		_, got := at(t, wave(c.q, 50, 10, c.f), 10)
		back, tiny, turned := false, false, false
		for _, x := range got {
			back = back || x < 0
			turned = turned || x > 0.01*rpm
			tiny = tiny || x != 0 && math.Abs(x) < 1e-12*rpm
		}
		if back != c.back || tiny || !turned {
			t.Errorf("%s: below zero %t, next to nothing %t, turned %t", c.name, back, tiny, turned)
		}
	}
}

// Whatever the rates and stamps: a level stays one, and another scale gives the same at
// that scale.
func TestResampleProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 120).Draw(t, "samples")
		step := rapid.Float64Range(0.005, 1).Draw(t, "step")
		jitter := rapid.SliceOfN(rapid.Float64Range(-0.2, 0.2), n, n).Draw(t, "jitter")
		start := rapid.Float64Range(-100, 100).Draw(t, "start")
		scale := rapid.Float64Range(-50, 50).Draw(t, "scale")
		level := flight.Channel{Quantity: flight.Height}
		for i := range n {
			level.TimeS = append(level.TimeS, start+step*(float64(i)+jitter[i]))
			level.Value = append(level.Value, 3)
		}
		scaled := level
		scaled.Value = append([]float64{}, level.Value...)
		for i := range scaled.Value {
			scaled.Value[i] = math.Sin(float64(i))
		}
		twice := scaled
		twice.Value = append([]float64{}, scaled.Value...)
		for i := range twice.Value {
			twice.Value[i] *= scale
		}
		rate := rapid.Float64Range(1, 4).Draw(t, "rate") / step
		times, got := at(t, level, rate)
		_, once := at(t, scaled, rate)
		_, more := at(t, twice, rate)
		for i := range times {
			if math.Abs(got[i]-3) > 1e-9 {
				t.Fatalf("a level of 3 becomes %g at %g s", got[i], times[i])
			}
			if math.Abs(more[i]-scale*once[i]) > 1e-9*(1+math.Abs(scale)) {
				t.Fatalf("scaled by %g: %g becomes %g", scale, once[i], more[i])
			}
		}
	})
}

// The filter against values of NumPy and SciPy; see testdata/report/filter.py.
func TestKernelAgreesWithSciPy(t *testing.T) {
	table := kernel()
	for _, c := range []struct{ x, want float64 }{
		{0, 1}, {0.5, 0.697282874042191}, {1, 0.108441142593507}, {2.25, 0.01185301766133},
		{7.125, 0.0316617677062031}, {17.5, -0.000467033986432133}, {18, 0.000258707973392923},
	} {
		i := int(c.x * kernelSteps)
		if math.Abs(table[i]-c.want) > 1e-12 {
			t.Errorf("kernel at %g is %.15g, want %.15g", c.x, table[i], c.want)
		}
	}
}
