package response

import (
	"context"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// noisyCurve is a rate response with errors of the given standard deviation in log gain and
// phase, independent from point to point of a grid that is wider than the band.
func noisyCurve(g func(s complex128) complex128, sd float64, seed uint64) curve {
	rng := rand.New(rand.NewPCG(seed, 5))
	c := exactCurve(g, 0.5, 15)
	for k := range c.phase {
		c.lnGain[k] += sd * rng.NormFloat64()
		c.phase[k] += sd * rng.NormFloat64()
		c.sd[k], c.bandRadS[k] = sd, 0.4
	}
	return c
}

// heard is an analyser with a result of pitch rate to compare a model with, and the cross spectra
// of a stick that was moved evenly up to 10 rad/s.
func heard(c curve) (*analyser, *Result, *spectrum.Response) {
	s := &spectrum.Response{}
	for w := 0.1; w < 10; w += 0.1 {
		k := min(len(c.lnOmega)-1, max(0, nearestFrequency(omegas(c), w)))
		s.OmegaRadS = append(s.OmegaRadS, w)
		s.H = append(s.H, cmplx.Rect(math.Exp(c.lnGain[k]), c.phase[k]))
		s.Coherence, s.Averages = append(s.Coherence, 0.99), append(s.Averages, 40)
		s.BandRadS, s.InputPower, s.SD = append(s.BandRadS, 0.4), append(s.InputPower, 1), append(s.SD, 0.02)
	}
	a := &analyser{ctx: context.Background(), settings: Settings{}.orDefault()}
	return a, &Result{Axis: flight.PitchAxis, Output: Rate, CorrelationLagS: correlationLag(s, plainWeight, 0)}, s
}

func omegas(c curve) []float64 {
	var w []float64
	for _, ln := range c.lnOmega {
		w = append(w, math.Exp(ln))
	}
	return w
}

// The checks of the model must find a wrong one, each in its own way, and leave a right one
// alone.
func TestModelIsChecked(t *testing.T) {
	head := func(s complex128) complex128 { return 2 * cmplx.Exp(-0.08*s) / (0.25*s + 1) }
	c := noisyCurve(head, 0.03, 3)
	right := fitModel(c, Rate, true, priors{})
	if right == nil {
		t.Fatal("no model")
	}
	spoiled := func(change func(p []float64)) *fitted {
		m := *right
		m.p = append([]float64{}, right.p...)
		change(m.p)
		return &m
	}
	delay := right.form.delay
	// A mode at 5 rad/s, damped by a twentieth, that a first-order form does not know.
	mode := noisyCurve(func(s complex128) complex128 {
		return head(s) * (1 + 0.5*s/(s*s+0.5*s+25))
	}, 0.02, 4)
	tgt := newTarget(mode, Rate)
	blind := fitForm(forms(priors{})[0], tgt)
	blind.curve, blind.whiteness = mode, tgt.whiteness(blind.form, blind.p)
	for _, m := range []struct {
		name  string
		m     *fitted
		c     curve
		wants []string
	}{
		{"as fitted", right, c, nil},
		{"60 ms too late", spoiled(func(p []float64) { p[delay] += 0.06 }), c, []string{"phase of the fitted model", "driven with the stick"}},
		{"60 ms too early", spoiled(func(p []float64) { p[delay] -= 0.06 }), c, []string{"phase of the fitted model", "driven with the stick"}},
		{"8 ms too late", spoiled(func(p []float64) { p[delay] += 0.008 }), c, nil},
		{"a mode left out", blind, mode, []string{"is no noise"}},
	} {
		a, r, lags := heard(m.c)
		a.check(r, m.m, lags, 0)
		var all []string
		for _, f := range a.out.Findings {
			if f.Code != flight.CodeModelDisagrees {
				t.Errorf("%s: finding %s", m.name, f.Code)
			}
			all = append(all, f.Text)
		}
		text := strings.Join(all, "\n")
		for _, want := range m.wants {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %q in %q", m.name, want, text)
			}
		}
		if len(m.wants) == 0 && text != "" {
			t.Errorf("%s: %s", m.name, text)
		}
	}
}

// Of models of the right form hardly one in a hundred may be called wrong by its residual.
func TestWhitenessOfRightModels(t *testing.T) {
	called := 0
	const runs = 200
	for seed := range uint64(runs) {
		c := noisyCurve(func(s complex128) complex128 { return 2 * cmplx.Exp(-0.08*s) / (0.25*s + 1) }, 0.04, seed)
		tgt := newTarget(c, Rate)
		m := fitForm(forms(priors{})[0], tgt)
		if w := tgt.whiteness(m.form, m.p); w == nil {
			t.Fatal("no whiteness")
		} else if w.Chance < leastChance {
			called++
		}
	}
	t.Logf("%d of %d", called, runs)
	if called > 6 { // 2 expected; more than 6 in one case of 200
		t.Errorf("%d of %d right models are called wrong", called, runs)
	}
}
