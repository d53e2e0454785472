package response

import (
	"math"
	"math/cmplx"
	"testing"
)

// exactCurve samples an attitude response without error on a grid even in log frequency.
func exactCurve(g func(s complex128) complex128, from, to float64) curve {
	var c curve
	last := -math.Pi / 2
	grid := logGrid(from, to, 400)
	for _, w := range grid {
		h := g(complex(0, w))
		last = place(cmplx.Phase(h), last)
		c.lnOmega = append(c.lnOmega, math.Log(w))
		c.lnGain = append(c.lnGain, math.Log(cmplx.Abs(h)))
		c.phase = append(c.phase, last)
		c.sd = append(c.sd, 1e-6)
		c.bandRadS = append(c.bandRadS, 0.1)
	}
	return c
}

// Cases from closed form and exact evaluation of ADS-33E-PRF's definitions, 6 dB taken
// literally; NaN where there is no such number. The last is the textbook helicopter near
// hover (Franklin, Powell and Emami-Naeini) with a delay.
func TestHandlingOfExactResponses(t *testing.T) {
	delay := func(tau float64, s complex128) complex128 { return cmplx.Exp(-complex(tau, 0) * s) }
	none := math.NaN()
	for _, c := range []struct {
		name                           string
		g                              func(s complex128) complex128
		from                           float64
		phase, w180, gain, phaseDelayS float64
	}{
		{"integrator with delay", func(s complex128) complex128 { return delay(0.1, s) / s },
			0.3, math.Pi / 0.4, math.Pi / 0.2, 7.87263, 0.05},
		{"rate type, slow", func(s complex128) complex128 { return delay(0.08, s) / (s * (0.25*s + 1)) },
			0.3, 2.60400, 6.71526, 4.41544, 0.058447},
		{"rate type, long delay", func(s complex128) complex128 { return delay(0.15, s) / (s * (0.15*s + 1)) },
			0.3, 2.68419, 5.73556, 3.38176, 0.104106},
		{"limited by gain", func(s complex128) complex128 { return (s/2 + 1) * delay(0.15, s) / (s * (s/6 + 1)) },
			0.3, 7.91102, 12.40914, 4.45814, 0.080390},
		{"attitude type, well damped, long delay", func(s complex128) complex128 { return 9 * delay(0.3, s) / (s*s + 4.2*s + 9) },
			0.3, 2.85448, 3.96128, none, 0.230051},
		{"attitude type, poorly damped", func(s complex128) complex128 { return 9 * delay(0.1, s) / (s*s + 1.8*s + 9) },
			0.3, 3.45353, 5.04447, 3.90658, 0.080843},
		{"attitude type, well damped", func(s complex128) complex128 { return 9 * delay(0.1, s) / (s*s + 4.2*s + 9) },
			0.3, 3.97756, 6.67585, 4.58460, 0.076040},
		{"textbook helicopter, unstable", func(s complex128) complex128 {
			return delay(0.1, s) * (6.3*s + 0.028) / (s*s*s + 0.42*s*s - 0.006*s + 0.098)
		}, 0.5, none, 1.96026, 1.37658, 0.073488},
	} {
		t.Run(c.name, func(t *testing.T) {
			curve := exactCurve(c.g, c.from, 40)
			h := handlingOf(curve, curve.lnGain, curve.phase)
			const tol = 1e-3
			for _, v := range []struct {
				what      string
				got, want float64
			}{
				{"phase bandwidth", h.phaseBandwidth, c.phase}, {"w180", h.w180, c.w180},
				{"gain bandwidth", h.gainBandwidth, c.gain}, {"phase delay", h.phaseDelayS, c.phaseDelayS},
			} {
				if math.IsNaN(v.want) != math.IsNaN(v.got) || math.Abs(v.got/v.want-1) > tol {
					t.Errorf("%s = %.6g, want %.6g", v.what, v.got, v.want)
				}
			}
			want := c.phase
			if c.gain < c.phase {
				want = c.gain
			}
			if math.IsNaN(want) != math.IsNaN(h.bandwidth) || math.Abs(h.bandwidth/want-1) > tol {
				t.Errorf("bandwidth = %.6g, want %.6g", h.bandwidth, want)
			}
		})
	}
}

// The branch of the phase: the textbook helicopter without delay has these principal
// phases; unwrapping upward from zero frequency through its unstable mode would add a turn.
func TestPlaceOnBranch(t *testing.T) {
	for _, c := range []struct{ angleDeg, wantDeg float64 }{
		{-177.379, -177.379}, {-168.958, -168.958}, {89, 89}, {90, 90}, {91, -269}, {270, -90}, {-270, 90}, {175, -185},
	} {
		got := place(c.angleDeg/degPerRad, -math.Pi/2) * degPerRad
		if math.Abs(got-c.wantDeg) > 1e-9 {
			t.Errorf("%g deg is put at %g, want %g", c.angleDeg, got, c.wantDeg)
		}
	}
}

// Phase as time: a delay of 0.1 s behind an integrator lags 107.19 deg at 3 rad/s, which is
// 0.6236 s although the delay is 0.1 s.
func TestPhaseAsTime(t *testing.T) {
	c := exactCurve(func(s complex128) complex128 { return cmplx.Exp(-0.1*s) / s }, 1, 10)
	p, ok := c.interpolate(c.phase, math.Log(3))
	if !ok || math.Abs(p*degPerRad+107.19) > 0.01 || math.Abs(-p/3-0.62360) > 1e-4 {
		t.Errorf("phase %.3f deg, time %.5f s", p*degPerRad, -p/3)
	}
}

// Bandwidth and phase delay that move against each other in every sample are correlated by -1;
// samples without one of them say nothing.
func TestBandwidthAndDelayTogether(t *testing.T) {
	nan := math.NaN()
	s := []handling{{bandwidth: 1, phaseDelayS: 0.3}, {bandwidth: 2, phaseDelayS: 0.2}, {bandwidth: nan, phaseDelayS: 9}, {bandwidth: 3, phaseDelayS: 0.1}}
	if c := together(s); math.Abs(c+1) > 1e-9 {
		t.Errorf("correlation %g, want -1", c)
	}
	if c := together(s[:1]); c != 0 {
		t.Errorf("correlation of one sample %g", c)
	}
}
