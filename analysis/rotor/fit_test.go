package rotor

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"
)

func barHead() Head {
	h := teetering()
	h.RollInertiaKgM2 = 75
	h.BarTimeS, h.BarToBlade, h.StickToBlade, h.StickToPaddle, h.DelayS = 0.7, 0.5, 0.6, 1, 0.06
	h.AdvanceRad, h.SpeedTilt = 96*deg, DefaultSpeedTilt
	return h
}

// measure is all four stick responses and both gust responses with random errors.
func measure(t *testing.T, h Head, sd float64, rng *rand.Rand) []Measured {
	m := mustModel(t, h)
	w := LogSpace(0.5, 12, 20)
	var list []Measured
	for _, c := range []struct {
		in  Input
		out State
	}{{LonStick, PitchRate}, {LonStick, RollRate}, {LatStick, RollRate}, {LatStick, PitchRate}, {HeadWind, Pitch}, {WindFromRight, Roll}} {
		d := Measured{Input: c.in, Output: c.out, OmegaRadS: w, H: m.Response(c.in, c.out, w)}
		for k := range d.H {
			if rng != nil {
				d.H[k] *= cmplx.Exp(complex(sd*rng.NormFloat64(), sd*rng.NormFloat64()))
			}
			d.SD = append(d.SD, math.Max(sd, 1e-3))
		}
		list = append(list, d)
	}
	return list
}

func unknowns() []Unknown {
	return []Unknown{UnknownThrow, UnknownLockNumber, UnknownSpeedTilt, UnknownRollInertia, UnknownBarTime,
		UnknownBarToBlade, UnknownDelay, UnknownAdvance}
}

// moved starts the fit well off the truth.
func moved(h Head) Head {
	h.ThrowRad *= 1.3
	h.LockNumber *= 0.8
	h.SpeedTilt *= 1.25
	h.RollInertiaKgM2 *= 1.2
	h.BarTimeS *= 0.7
	h.BarToBlade *= 1.2
	h.DelayS, h.AdvanceRad = 0.02, 90*deg
	return h
}

func TestFitRecoversExactly(t *testing.T) {
	want := barHead()
	fit, err := FitHead(moved(want), unknowns(), measure(t, want, 0, nil))
	if err != nil {
		t.Fatal(err)
	}
	if len(fit.NotTold) > 0 || fit.ChiSquare > 1e-6 {
		t.Errorf("not told %v, chi-square %g", fit.NotTold, fit.ChiSquare)
	}
	for _, u := range unknowns() {
		got, truth := fit.Head, want
		g, _, _, _ := u.at(&got)
		w, _, _, _ := u.at(&truth)
		near(t, string(u), *g, *w, 1e-5*math.Abs(*w))
	}
}

// With errors as large as stated, the 95 % intervals cover the truth 95 times in 100 (here
// between 90 and 99 over 8 parameters and 30 fits; 120 fits gave 95.5), and chi-square is
// about one.
func TestFitIntervalsCover(t *testing.T) {
	want := barHead()
	rng := rand.New(rand.NewPCG(3, 4))
	inside, all, chi := 0, 0, 0.0
	const runs = 30
	for range runs {
		fit, err := FitHead(moved(want), unknowns(), measure(t, want, 0.05, rng))
		if err != nil {
			t.Fatal(err)
		}
		chi += fit.ChiSquare / runs
		for _, p := range fit.Parameters {
			all++
			truth := want
			v, _, _, shown := p.Name.at(&truth)
			if p.Estimate != nil && p.Estimate.Low <= *v*shown && *v*shown <= p.Estimate.High {
				inside++
			}
		}
	}
	share := float64(inside) / float64(all)
	t.Logf("coverage %.3f, chi-square %.3f", share, chi)
	if share < 0.90 || share > 0.99 {
		t.Errorf("coverage %.3f", share)
	}
	if chi < 0.93 || chi > 1.07 {
		t.Errorf("chi-square %.3f", chi)
	}
}

// A bare head's throw and its stick-to-blade ratio act only as their product, and a bar that
// is not there tells nothing: no numbers then, and their names.
func TestFitNamesWhatItCannotTell(t *testing.T) {
	h := teetering()
	h.DelayS, h.SpeedTilt = 0.05, DefaultSpeedTilt
	m := mustModel(t, h)
	w := LogSpace(0.5, 12, 20)
	d := Measured{Input: LonStick, Output: PitchRate, OmegaRadS: w, H: m.Response(LonStick, PitchRate, w)}
	for range w {
		d.SD = append(d.SD, 0.02)
	}
	data := []Measured{d}
	want := h.ThrowRad * h.StickToBlade
	h.StickToPaddle = 1
	h.ThrowRad *= 1.4
	fit, err := FitHead(h, []Unknown{UnknownThrow, UnknownStickToBlade, UnknownDelay, UnknownStickToPaddle}, data)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "their product", fit.Head.ThrowRad*fit.Head.StickToBlade, want, 1e-6*want)
	all := strings.Join(fit.NotTold, "; ")
	for _, p := range fit.Parameters {
		told := p.Estimate != nil
		if want := p.Name == UnknownDelay; told != want {
			t.Errorf("%s told: %v, want %v", p.Name, told, want)
		}
		if !told && !strings.Contains(all, string(p.Name)) {
			t.Errorf("%s is not named in %q", p.Name, all)
		}
	}
	if !strings.Contains(all, "cyclic throw, stick to blade") {
		t.Errorf("the pair is not named together: %q", all)
	}
}

func TestFitRefuses(t *testing.T) {
	good := measure(t, barHead(), 0, nil)
	bad := measure(t, barHead(), 0, nil)
	bad[0].H[3] = cmplx.NaN()
	h := barHead()
	none := h
	none.BarTimeS, none.BarToBlade = 0, 0
	for name, err := range map[string]error{
		"not a number":    second(FitHead(h, unknowns(), bad)),
		"nothing unknown": second(FitHead(h, nil, good)),
		"no data":         second(FitHead(h, unknowns(), nil)),
		"no bar":          second(FitHead(none, []Unknown{UnknownBarTime}, good)),
	} {
		if !errors.Is(err, ErrNoFit) {
			t.Errorf("%s: error %v", name, err)
		}
	}
	h.MassKg = -1
	if _, err := FitHead(h, unknowns(), good); !errors.Is(err, ErrNotPhysical) {
		t.Errorf("negative mass: %v", err)
	}
}

func second(_ *Fit, err error) error { return err }

// Answers to gusts known as sizes only, with a phasing error known as a number, tell what the
// same responses tell point by point: flap-back and the advance angle.
func TestFitToBandsAndPhasing(t *testing.T) {
	want := barHead()
	m := mustModel(t, want)
	data := Data{Responses: measure(t, want, 0, nil)[:1], PhasingRad: &Scalar{want.PhasingErrorRad(), 1e-4}}
	for _, b := range [][2]float64{{0.3, 0.6}, {0.6, 1.2}, {1.2, 2.4}} {
		data.Bands = append(data.Bands, MeasuredBand{HeadWind, Pitch, b, m.BandGain(HeadWind, Pitch, b), 0.02})
	}
	start := want
	start.SpeedTilt, start.AdvanceRad = 0.5, 92*deg
	fit, err := FitData(start, []Unknown{UnknownSpeedTilt, UnknownAdvance, UnknownDelay}, data)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flap-back", fit.Head.SpeedTilt, want.SpeedTilt, 1e-6)
	near(t, "advance angle", fit.Head.AdvanceRad, want.AdvanceRad, 1e-6)
	near(t, "its error", math.Sqrt(fit.Covariance[1][1]), 1e-4, 1e-5)
	for name, bad := range map[string]Data{
		"band without a gain": {Bands: []MeasuredBand{{HeadWind, Pitch, [2]float64{1, 2}, 0, 0.1}}},
		"band turned round":   {Bands: []MeasuredBand{{HeadWind, Pitch, [2]float64{2, 1}, 1, 0.1}}},
		"phasing exact":       {PhasingRad: &Scalar{0.1, 0}},
	} {
		if _, err := FitData(start, []Unknown{UnknownSpeedTilt}, bad); !errors.Is(err, ErrNoFit) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Coordinates and back is the same head.
func TestCoordinates(t *testing.T) {
	h := barHead()
	x := Coordinates(h, unknowns())
	got := AtCoordinates(moved(h), unknowns(), x)
	for _, u := range unknowns() {
		a, _ := u.Of(h)
		b, _ := u.Of(got)
		near(t, string(u), b, a, 1e-12*math.Abs(a))
	}
}
