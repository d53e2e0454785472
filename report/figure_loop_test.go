package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// bars are the vertical lines of a pen's width: how far each reaches.
func bars(f *drawing, widthPt float64) (x, highPt []float64) {
	for _, s := range f.shapes {
		if s.pen.widthPt == widthPt && len(s.points) == 2 && s.points[0].x == s.points[1].x {
			x, highPt = append(x, s.points[0].x), append(highPt, math.Abs(s.points[1].y-s.points[0].y))
		}
	}
	return x, highPt
}

// The bars of the margins stand where they are read, and are as long as the margins. Of
// k exp(-T s)/s the crossover is k, the phase margin 90 deg - T k, and the phase goes through
// -180 deg at pi/(2 T).
func TestLoopFigureMarksMargins(t *testing.T) {
	const crossover, delay = 2.2, 0.47
	d := flownDebrief()
	f := loopFigure(d, flight.RollAxis, room{250, 1})
	if f == nil {
		t.Fatal("not drawn")
	}
	x, high := bars(f, 2)
	if len(x) != 2 {
		t.Fatalf("%d thick bars, want two", len(x))
	}
	var c loopCurve
	for _, l := range d.Stability.Margins[0].Loop {
		c.add(l)
	}
	xs := scale{lo: c.omega[0] * 0.93, hi: c.omega[len(c.omega)-1] * 1.07, log: true}
	width := 250 - smallLeftPt - 4
	gains, phases := c.scale(c.gain, c.gainSD, 0, 5), c.scale(c.phase, c.phaseSD, -180, 45)
	for i, want := range []struct{ omega, high float64 }{
		{crossover, (90 - delay*crossover*degPerRad) / (phases.hi - phases.lo) * 46},
		{math.Pi / 2 / delay, 20 * math.Log10(math.Pi/2/delay/crossover) / (gains.hi - gains.lo) * 46},
	} {
		if off := math.Abs(x[i] - (smallLeftPt + width*xs.part(want.omega))); off > 1 {
			t.Errorf("bar %d stands %.2f pt off %g rad/s", i, off, want.omega)
		}
		if off := math.Abs(high[i] - want.high); off > 0.3 {
			t.Errorf("bar %d is %.2f pt long, want %.2f", i, high[i], want.high)
		}
	}
	if !hasText(f, "crossover 2.2 rad/s") || !hasText(f, "31°") || !hasText(f, "3.6 dB") {
		t.Error("a mark is without its number")
	}
}

// A loop unwrapped from another turn is drawn, and written, where its margins are.
func TestLoopIsPlacedByItsMargins(t *testing.T) {
	d := flownDebrief()
	m := &d.Stability.Margins[0]
	want := m.Loop[5].PhaseDeg
	for _, turns := range []float64{-2, -1, 0, 1, 3} {
		other := *m
		other.Loop = nil
		for _, l := range m.Loop {
			l.PhaseDeg += 360 * turns
			other.Loop = append(other.Loop, l)
		}
		if got := loopPoints(&other)[5].PhaseDeg; math.Abs(got-want) > 1e-9 {
			t.Errorf("%g turns off: %g deg, want %g", turns, got, want)
		}
		other.CrossoverRadS = nil
		if got := loopPoints(&other)[5].PhaseDeg; math.Abs(got-want) > 1e-9 {
			t.Errorf("%g turns off, no crossover: %g deg, want %g", turns, got, want)
		}
	}
	if loopPoints(&stability.Margin{}) != nil {
		t.Error("points of no loop")
	}
}

// What is no number is left out, too little is not drawn, and a biased pilot is called so.
func TestLoopFigureDoubts(t *testing.T) {
	d := flownDebrief()
	m := &d.Stability.Margins[0]
	m.Pilot.Biased = true
	m.Loop[3].GainDB, m.Loop[4].PhaseSDDeg = math.NaN(), math.Inf(1)
	f := loopFigure(d, flight.RollAxis, room{170, 1})
	finiteFigure(t, f)
	if !strings.Contains(f.caption, "Biased pilot") {
		t.Error("a biased pilot is not called so")
	}
	m.CrossoverRadS, m.PhaseMarginDeg, m.GainMarginDB = nil, nil, nil
	if x, _ := bars(loopFigure(d, flight.RollAxis, room{170, 1}), 2); len(x) != 0 {
		t.Error("a margin that was not measured is drawn")
	}
	m.Loop = m.Loop[:1]
	if loopFigure(d, flight.RollAxis, room{170, 1}) != nil || loopFigure(d, flight.PitchAxis, room{170, 1}) != nil {
		t.Error("a loop that was not measured is drawn")
	}
}

func finiteFigure(t *testing.T, f *drawing) {
	t.Helper()
	if f == nil {
		t.Fatal("not drawn")
	}
	for _, s := range f.shapes {
		for _, p := range s.points {
			if !finite(p.x) || !finite(p.y) || p.x < -10 || p.x > f.widthPt+10 || p.y < -10 || p.y > f.highPt+10 {
				t.Errorf("%s: point %v in %g by %g pt", f.title, p, f.widthPt, f.highPt)
			}
		}
	}
}

// Figures of the air take numbers that are none, and are not drawn from too few.
func TestAirFigures(t *testing.T) {
	d := flownDebrief()
	d.Wind.Minutes[2].SDMS, d.Wind.Minutes[3].RollRMS = math.NaN(), math.NaN()
	spectrum := d.Wind.Phases[1].Turbulence.Spectrum
	spectrum[1].Density = *flight.Plain(spectrum[1].Density.Value)
	spectrum[2].Density.Value, spectrum[3].Fit = 0, math.NaN()
	finiteFigure(t, activityFigure(d, room{120, 1}))
	finiteFigure(t, spectrumFigure(d, room{120, 1}))
	d.Responses[1].PhaseDelayS = est(0.09, math.Inf(-1), math.Inf(1))
	finiteFigure(t, bandwidthFigure(d, room{120, 1}))
	none := emptyDebrief()
	d.Wind.Minutes, none.Wind.Whole = d.Wind.Minutes[:1], &wind.Phase{}
	d.Responses[1].PhaseDelayS = nil
	if activityFigure(d, room{120, 1}) != nil || spectrumFigure(none, room{120, 1}) != nil || bandwidthFigure(d, room{120, 1}) != nil {
		t.Error("drawn from nothing")
	}
}

// The card says what the margins rest on, each caution once.
func TestCardMargins(t *testing.T) {
	d := syntheticDebrief()
	text := sectionText(t, d, "Damping and margins")
	for _, want := range []string{
		"pilot and aircraft, roll: crossover 2.20 rad/s (1.90 to 2.50), phase margin 30.8 deg (22.0 to 40.0), gain margin 3.6 dB (2.1 to 4.6)",
		"The pilot, with the logged gust as instrument: 1.57 % (1.31 to 1.83) per deg",
		"| roll, 0.2 s reaction | 52.0 (44.0 to 60.0) | 7.8 (6.2 to 9.1) | 3.84 (3.32 to 4.54) |",
		"pilot and aircraft, pitch: no margin measured as flown",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("not on the card: %q in\n%s", want, text)
		}
	}
	if n := strings.Count(text, "show what the pilot does about drift"); n != 1 {
		t.Errorf("what margins can show is said %d times", n)
	}
	if strings.Contains(text, "BIASED") {
		t.Error("an unbiased pilot is called biased")
	}
	d.Stability.Margins[0].Pilot.Biased = true
	if text := sectionText(t, d, "Damping and margins"); !strings.Contains(text, "BIASED") {
		t.Error("a biased pilot is not called so")
	}
	d.Stability.Margins = []stability.Margin{{Axis: flight.RollAxis, PhaseMarginDeg: est(31, 22, 40)}}
	if text := sectionText(t, d, "Damping and margins"); strings.Contains(text, "|") {
		t.Error("a table without assumed pilots says nothing more than the text")
	}
}

// Advice stands under the verdict, and the crew's notes in the remarks, line by line.
func TestCardAdviceAndRemarks(t *testing.T) {
	d := syntheticDebrief()
	d.Hop.Notes = "first line\n\nsecond \x1b[31mline\n" + strings.Repeat("more\n", 30)
	if text := sectionText(t, d, "Verdict"); !strings.Contains(text, "Step back: the aircraft swung more and more by itself. Calmer air: wait for it. hopcard advises.") {
		t.Errorf("advice is missing: %s", text)
	}
	text := sectionText(t, d, "Remarks")
	if !strings.HasPrefix(text, "first line second line more") || strings.Count(text, "more") != remarkLines-2+1 || !strings.Contains(text, "and more; the hop's notes") {
		t.Errorf("remarks: %s", text)
	}
	if !strings.Contains(plainText(htmlCard(t, d)), "Remarks first line second line more") {
		t.Error("remarks are not on the page")
	}
	if !strings.Contains(strings.Join(strings.Fields(pdfText(t, pdfCard(t, d, A4))), " "), "Remarks first line second line more") {
		t.Error("remarks are not in the PDF")
	}
}

// Each class has its column, and what it cannot tell is seen to be missing.
func TestAnswerRows(t *testing.T) {
	rows := answerRows(syntheticWind().Classes)
	want := [][]string{
		{"gusts, rad/s", "calm", "gusty"},
		{"roll, 1.2 to 2.4", "0.90 (0.50 to 1.30)", "1.10 (0.90 to 1.30)"},
		{"roll, 2.4 to 4.8", "0.40 (0.20 to 0.60)", notMeasured},
		{"pitch, 1.2 to 2.4", notMeasured, "0.70 (0.50 to 0.90)"},
	}
	if fmt.Sprint(rows) != fmt.Sprint(want) {
		t.Errorf("rows %q, want %q", rows, want)
	}
	if text := sectionText(t, syntheticDebrief(), "Gusts"); !strings.Contains(text, "| gusty | 160 | 4.2 | 1 | roll | 2.01") || !strings.Contains(text, "| calm | 79 | 1.1 | - | roll") {
		t.Errorf("flags are not in the table of classes: %s", text)
	}
}
