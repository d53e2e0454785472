package response

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// The words must turn the swashplate the right way. The sticks of a coupled head are turned
// as the sentence says, and what roll does to the aft stick must vanish; turned the other way
// it must not.
func TestPhasingCorrectionUncouples(t *testing.T) {
	for _, errorDeg := range []float64{18, -12} {
		head := simulate.BareHead()
		head.AdvanceRad += errorDeg/degPerRad - head.PhasingErrorRad()
		m, err := rotor.NewModel(head)
		if err != nil {
			t.Fatal(err)
		}
		d := head.PhasingErrorRad()
		text := PhasingCorrection(flight.Estimate{Value: d, Low: d - 0.02, High: d + 0.02}, "")
		turn := math.Abs(d) // clockwise seen from above: an aft command goes left
		if strings.Contains(text, "counter-clockwise") {
			turn = -turn
		} else if !strings.Contains(text, "clockwise seen from above") {
			t.Fatalf("no sense of turning in %q", text)
		}
		rollToAft := func(turn float64) float64 {
			// Commanded aft, the turned swashplate is driven aft and to the right.
			aft, right := math.Cos(turn), -math.Sin(turn)
			w := []float64{6}
			roll := complex(aft, 0)*m.Response(rotor.LonStick, rotor.Roll, w)[0] +
				complex(right, 0)*m.Response(rotor.LatStick, rotor.Roll, w)[0]
			pitch := complex(aft, 0)*m.Response(rotor.LonStick, rotor.Pitch, w)[0] +
				complex(right, 0)*m.Response(rotor.LatStick, rotor.Pitch, w)[0]
			return cmplx.Abs(roll / pitch)
		}
		if before, after, wrong := rollToAft(0), rollToAft(turn), rollToAft(-turn); after > 0.02 || before < 0.2 || wrong < 1.5*before {
			t.Errorf("error %g deg, %q: roll over pitch %.3f before, %.3f after, %.3f the other way", errorDeg, text, before, after, wrong)
		}
	}
}

func TestPhasingCorrectionWords(t *testing.T) {
	deg := func(v, half float64) flight.Estimate {
		return flight.Estimate{Value: v / degPerRad, Low: (v - half) / degPerRad, High: (v + half) / degPerRad}
	}
	for _, c := range []struct {
		e     flight.Estimate
		turns string
		want  string
	}{
		{deg(18, math.NaN()), "", "How far to turn the swashplate is not known well enough to say."},
		{deg(18, math.Inf(1)), "", "How far to turn the swashplate is not known well enough to say."},
		{deg(18, 2), "", "Turn the swashplate input 18 deg (16 to 20) clockwise seen from above."},
		{deg(18, 2), "clockwise", "Turn the swashplate input 18 deg (16 to 20) clockwise seen from above, with the rotation."},
		{deg(18, 2), "counter-clockwise", "Turn the swashplate input 18 deg (16 to 20) clockwise seen from above, against the rotation."},
		{deg(-7, 3), "counter-clockwise", "Turn the swashplate input 7 deg (4 to 10) counter-clockwise seen from above, with the rotation."},
		{deg(-7, 3), "clockwise", "Turn the swashplate input 7 deg (4 to 10) counter-clockwise seen from above, against the rotation."},
		{deg(0.5, 1.2), "clockwise", "No correction of the phasing: the error is nil within 2 deg."},
	} {
		if got := PhasingCorrection(c.e, c.turns); got != c.want {
			t.Errorf("%v %q: %q, want %q", c.e, c.turns, got, c.want)
		}
	}
}

// HQ-7 of the reference values, c and d: limited by gain, and without a gain bandwidth. Both
// must raise the caution, a plain rate type must not.
func TestPilotCaution(t *testing.T) {
	est := func(v float64) *flight.Estimate {
		if math.IsNaN(v) {
			return nil
		}
		return &flight.Estimate{Value: v, Low: 0.98 * v, High: 1.02 * v}
	}
	for _, c := range []struct {
		name string
		g    func(s complex128) complex128
		want bool
	}{
		{"limited by gain", func(s complex128) complex128 { return (s/2 + 1) * cmplx.Exp(-0.15*s) / (s * (s/6 + 1)) }, true},
		{"no gain bandwidth", func(s complex128) complex128 { return 9 * cmplx.Exp(-0.3*s) / (s*s + 4.2*s + 9) }, true},
		{"rate type", func(s complex128) complex128 { return cmplx.Exp(-0.08*s) / (s * (0.25*s + 1)) }, false},
	} {
		curve := exactCurve(c.g, 0.3, 40)
		h := handlingOf(curve, curve.lnGain, curve.phase)
		a := &analyser{}
		a.pilotCaution(&Result{Axis: flight.RollAxis, W180RadS: est(h.w180), BandwidthPhaseRadS: est(h.phaseBandwidth),
			BandwidthGainRadS: est(h.gainBandwidth)}, h)
		if got := len(a.out.Findings) == 1 && a.out.Findings[0].Severity == flight.Caution; got != c.want {
			t.Errorf("%s: caution %v, want %v (%v)", c.name, got, c.want, a.out.Findings)
		}
	}
}

// The share of the stick that answers gusts grows with the pilot's gain and with the gusts,
// and warns only where no wind is logged beside the aircraft.
func TestAnsweringShare(t *testing.T) {
	share := func(change func(p *plant)) (Result, Analysis) {
		p := defaultPlant()
		change(&p)
		h, segs := p.fly()
		a := analyse(t, h, segs)
		return result(t, a, flight.PitchAxis, Rate), a
	}
	open, _ := share(func(p *plant) { p.pilotGain = 0 })
	usual, a := share(func(p *plant) {})
	rough, b := share(func(p *plant) { p.gust, p.sweep, p.pilotGain = 0.02, 0.02, 0.8 })
	for _, r := range []Result{open, usual, rough} {
		t.Logf("share %.3f (%.3f to %.3f), motion behind %.2f, stick behind %.2f by %.2f s, residual %.3f", r.AnsweringShare.Value,
			r.AnsweringShare.Low, r.AnsweringShare.High, r.TwoSided.MotionBehind, r.TwoSided.StickBehind, r.TwoSided.StickBehindS,
			r.ResidualCorrelation)
	}
	if open.AnsweringShare.Value > 0.01 || usual.AnsweringShare.Value > 0.2 || rough.AnsweringShare.Value < 0.4 {
		t.Errorf("shares %.3f with hands of stone, %.3f as usual, %.3f in strong gusts", open.AnsweringShare.Value,
			usual.AnsweringShare.Value, rough.AnsweringShare.Value)
	}
	if rough.TwoSided.StickBehind > -0.3 || rough.TwoSided.StickBehindS < 0.3 {
		t.Errorf("strong gusts: stick behind the motion by %.2f s with %.2f", rough.TwoSided.StickBehindS, rough.TwoSided.StickBehind)
	}
	if hasFinding(a, flight.CodeLowCoherence, flight.Caution) || !hasFinding(b, flight.CodeLowCoherence, flight.Caution) {
		t.Errorf("warned as usual, or not in strong gusts: %v", b.Findings)
	}
	for _, r := range []Result{usual, rough} {
		if math.Abs(r.ResidualCorrelation) > 0.1 {
			t.Errorf("residual is not white: %.3f", r.ResidualCorrelation)
		}
	}
}

// Times as revolutions: at the logged rotor speed, or that of the settings.
func TestRevolutions(t *testing.T) {
	s := simulate.DrawExcited(31, simulate.Sweep, 0)
	h := simulate.Fly(s).Hop()
	segs, _ := segment.Find(h)
	r := result(t, analyse(t, h, segs), flight.RollAxis, Rate)
	if math.Abs(r.RotorSpeedRadS/s.Head.RotorSpeedRadS-1) > 0.01 {
		t.Fatalf("rotor speed %.2f rad/s, want %.2f", r.RotorSpeedRadS, s.Head.RotorSpeedRadS)
	}
	for _, l := range r.Lag {
		if l.Revolutions == nil || math.Abs(l.Revolutions.Value-l.TimeS.Value*r.RotorSpeedRadS/(2*math.Pi)) > 1e-9 {
			t.Errorf("%s: %v revolutions for %v s", l.At, l.Revolutions, l.TimeS)
		}
	}
	if r.AddLag("crossover", 1000) || !r.AddLag("crossover", 3) || r.Lag[len(r.Lag)-1].At != "crossover" {
		t.Error("a lag was stated where nothing was measured, or not where it was")
	}
}
