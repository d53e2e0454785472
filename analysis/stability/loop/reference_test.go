package loop

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"testing"
)

// TestAgainstOtherWays holds margins against crossings found by SciPy 1.10.1 with the exact
// delay, against the gains at which the roots of the closed loop cross over, and against
// margin() of Octave 7.3.0's control package 3.4.0 (testdata/loop/margins.py). One of the
// loops holds an aircraft that is unstable by itself.
func TestAgainstOtherWays(t *testing.T) {
	data, err := os.ReadFile("../../../testdata/loop/margins.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Loops []struct {
			Name      string
			Num, Den  []float64
			DelayS    float64   `json:"delay_s"`
			Crossover []float64 `json:"crossover_rad_s"`
			PhaseDeg  []float64 `json:"phase_margin_deg"`
			Up        *float64  `json:"gain_up"`
			Down      *float64  `json:"gain_down"`
			Gain      float64   `json:"octave_gain"`
			OctaveDeg float64   `json:"octave_phase_deg"`
			W180      float64   `json:"octave_w180_rad_s"`
		}
	}
	if err := json.Unmarshal(data, &ref); err != nil {
		t.Fatal(err)
	}
	if len(ref.Loops) != 4 {
		t.Fatalf("%d loops, want 4", len(ref.Loops))
	}
	poly := func(c []float64, s complex128) (v complex128) {
		for _, a := range c {
			v = v*s + complex(a, 0)
		}
		return v
	}
	for _, c := range ref.Loops {
		t.Run(c.Name, func(t *testing.T) {
			m := margins(sampled(func(s complex128) complex128 {
				return poly(c.Num, s) / poly(c.Den, s) * cmplx.Exp(-s*complex(c.DelayS, 0))
			}, 0.05, 30, 6000))
			worst := 0
			for i, p := range c.PhaseDeg {
				if math.Abs(p) < math.Abs(c.PhaseDeg[worst]) {
					worst = i
				}
			}
			if m.crossovers != len(c.Crossover) {
				t.Errorf("%d crossovers, want %d", m.crossovers, len(c.Crossover))
			}
			near(t, "crossover", m.crossover, c.Crossover[worst], 1e-4)
			near(t, "phase margin, deg", m.phase*degPerRad, c.PhaseDeg[worst], 1e-3)
			near(t, "phase margin by Octave, deg", m.phase*degPerRad, c.OctaveDeg, 1e-3)
			near(t, "gain up", math.Exp(m.gain), *c.Up, 1e-4)
			near(t, "gain up by Octave", math.Exp(m.gain), c.Gain, 1e-4)
			near(t, "w180", m.w180, c.W180, 1e-3)
			if c.Down == nil {
				if !math.IsNaN(m.low) {
					t.Errorf("gain down %.3f, want none", math.Exp(-m.low))
				}
				return
			}
			near(t, "gain down", math.Exp(-m.low), *c.Down, 1e-4)
		})
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.6f, want %.6f", what, got, want)
	}
}

// TestMostGain has the closed forms of an aircraft whose attitude is the integral of the
// stick, H = b/s, and a pilot of a gain after a delay: the loop begins to grow at
// pi/(2 tau b), and at a gain k it is the crossover model with wc = k b.
func TestMostGain(t *testing.T) {
	const b = 2.0
	h := sampled(func(s complex128) complex128 { return b / s }, 0.3, 20, 2000)
	for _, tau := range assumedDelaysS() {
		near(t, "most gain", math.Exp(mostGain(h, tau)), math.Pi/(2*tau*b), 1e-4)
		const k = 1.2
		m := margins(h.against(k, tau))
		near(t, "crossover", m.crossover, k*b, 1e-4)
		near(t, "phase margin, deg", m.phase*degPerRad, 90-degPerRad*tau*k*b, 1e-3)
		near(t, "gain margin, dB", m.gain*dbPerNeper, 20*math.Log10(math.Pi/(2*tau*k*b)), 1e-3)
	}
}
