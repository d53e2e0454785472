package plan

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"hopcard/analysis/response"
	"hopcard/flight"
)

func within(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g", what, got, want)
	}
}

// flat is a craft and an input of length lengthS with one coherence over a band.
func flat(lengthS, bandHz, coherence float64) (*craft, input) {
	top := 2 * math.Pi * bandHz
	c := &craft{w: make([]float64, 4001)}
	for k := range c.w {
		c.w[k] = top * float64(k) / 4000
		c.noise = append(c.noise, (1-coherence)/coherence)
	}
	return c, input{1, func(float64) float64 { return lengthS }, lengthS}
}

// The Cramer-Rao bound of a delay for a flat coherence in closed form, as REFERENCES has it:
// var = 3 pi/[T W^3 c/(1-c)], W the end of the band in rad/s (Knapp and Carter 1976; the values
// were confirmed there by simulation).
func TestDelayBound(t *testing.T) {
	for _, c := range []struct{ lengthS, bandHz, coherence, wantS float64 }{
		{60, 2, 0.5, 8.897e-3}, {60, 2, 0.8, 4.449e-3}, {120, 1, 0.6, 14.529e-3}, {40, 2, 0.9, 3.632e-3},
	} {
		craft, in := flat(c.lengthS, c.bandHz, c.coherence)
		within(t, "bound", craft.delaySD([]input{in}), c.wantS, 2e-4)
	}
}

// sqrt((1-c)/(2 c n)), values of REFERENCES for Bendat and Piersol, table 9.6: n = T B.
func TestPhaseError(t *testing.T) {
	for _, c := range []struct{ coherence, n, want float64 }{
		{0.8, 10, 0.111803}, {0.6, 16, 0.144338}, {0.9, 20, 0.0527046}, {0.6, 64, 0.0721688},
	} {
		craft, in := flat(c.n/resolutionHz, 2, c.coherence)
		within(t, "phase error", craft.phaseSD(6, []input{in}), c.want, 1e-4)
	}
}

// The energy of an input in time equals that over frequency (Parseval).
func TestEnergies(t *testing.T) {
	const size, holdS = 0.06, 0.8
	grid := logGrid(1e-3, 3000, 60000)
	within(t, "doublet", integrate(grid, doubletInput(1, size, holdS).density)/math.Pi, size*size*2*holdS, 2e-3)
	s := sweepShape{0.63, 12, 45, 0.04, 0.08}
	var sum float64
	const stepS = 0.002
	ratio := math.Log(s.toRadS / s.fromRadS)
	for tS := 0.0; tS < s.lengthS; tS += stepS {
		phase := s.fromRadS * s.lengthS / ratio * (math.Exp(ratio*tS/s.lengthS) - 1)
		u := (s.size + (s.sizeEnd-s.size)*tS/s.lengthS) * math.Sin(phase)
		sum += u * u * stepS
	}
	within(t, "sweep", integrate(logGrid(s.fromRadS, s.toRadS, 4000), sweepInput(1, s).density)/math.Pi, sum, 0.02)
}

// Of a sweep whose size stays, each share of the energy takes an equal share of log frequency.
func TestBand90(t *testing.T) {
	b, ok := Band90(flight.PlannedInput{Kind: flight.Sweep, LengthS: 45, SizePercent: 5, FromRadS: 1, ToRadS: 10})
	if !ok {
		t.Fatal("no band")
	}
	within(t, "from", b[0], math.Pow(10, 0.05), 0.01)
	within(t, "to", b[1], math.Pow(10, 0.95), 0.01)
	down, _ := Band90(flight.PlannedInput{Kind: flight.Sweep, LengthS: 45, SizePercent: 5, FromRadS: 10, ToRadS: 1})
	if down != b {
		t.Errorf("a falling sweep has %v, a rising one %v", down, b)
	}
	d, _ := Band90(flight.PlannedInput{Kind: flight.Doublet, LengthS: 1.6})
	if !(d[0] > 0.5 && d[0] < 2 && d[1] > 4 && d[1] < 40) {
		t.Errorf("doublet: %v", d)
	}
	if _, ok := Band90(flight.PlannedInput{Kind: flight.Hover}); ok {
		t.Error("a hover has a band")
	}
}

// A doublet on a pure rate response, attitude = k times the integral of the stick: it climbs to
// k h at the end of the first hold and comes back.
func TestDoubletPeak(t *testing.T) {
	const k, holdS = 1.2, 0.8
	c := &craft{w: logGrid(0.02, 80, 3000)}
	for _, w := range c.w {
		c.attitude = append(c.attitude, complex(k, 0)/complex(0, w))
	}
	within(t, "peak", c.doubletPeakRad(holdS), k*holdS, 0.03)
}

// The floor of noise out of a coherence: an input of known energy and a stated coherence give
// back T c/(1-c) as signal, whatever the stick did.
func TestNoiseOfCoherence(t *testing.T) {
	stick := &flight.Channel{Quantity: flight.LatStick}
	for i := range 4000 {
		tS := float64(i) * 0.02
		stick.TimeS = append(stick.TimeS, tS)
		stick.Value = append(stick.Value, 0.05*math.Sin(0.3*tS+0.02*tS*tS))
	}
	spans := []flight.Span{{FromS: 0, ToS: 75}}
	r := response.Result{Spans: spans, FrequencyRadS: []float64{0.3, 1, 3, 9, 20}, Coherence: []float64{0.8, 0.8, 0.8, 0.8, 0.8}}
	c := &craft{w: logGrid(0.4, 3, 40)}
	c.noise = noiseOf(c.w, &r, stick)
	flown := flownInput(c.w, spans, stick)
	for k := range c.w {
		within(t, "signal", c.signal(k, []input{flown}), 75*0.8/0.2, 0.01)
	}
	// The energy itself, against the trapezoidal sum over time.
	var energy float64
	for _, v := range stick.Value[:3750] {
		energy += v * v * 0.02
	}
	grid := logGrid(0.05, 60, 800)
	within(t, "energy", integrate(grid, flownInput(grid, spans, stick).density)/math.Pi, energy, 0.1)
}

// More of any input never widens the interval; twice as much narrows it by the square root of 2.
func TestMoreIsNarrower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := unknown()
		n := rapid.IntRange(1, 20).Draw(t, "sweeps")
		s := sweepShape{0.63, 12, 45, rapid.Float64Range(0.01, 0.1).Draw(t, "size"), 0.1}
		one, two := c.delaySD([]input{sweepInput(n, s)}), c.delaySD([]input{sweepInput(2*n, s)})
		if math.Abs(one/two-math.Sqrt2) > 1e-9 {
			t.Errorf("twice %d sweeps: %g after %g", n, two, one)
		}
		if both := c.delaySD([]input{sweepInput(n, s), doubletInput(2, 0.03, 0.8)}); both > one {
			t.Errorf("doublets added: %g after %g", both, one)
		}
	})
}
