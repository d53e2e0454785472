package tui

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// A made-up debrief. Nothing in it is computed: the screens are tested on what they
// show, not on what it means.

func around(v, half float64) *flight.Estimate {
	return &flight.Estimate{Value: v, Low: v - half, High: v + half}
}

// fakeChannel samples f for lengthS at rateHz.
func fakeChannel(q flight.Quantity, lengthS, rateHz float64, f func(t float64) float64) flight.Channel {
	n := int(lengthS * rateHz)
	c := flight.Channel{Quantity: q, Column: string(q), Unit: flight.Deg, Sign: 1, Scale: 1, Sure: 0.9,
		TimeS: make([]float64, n), Value: make([]float64, n)}
	for i := range n {
		c.TimeS[i] = float64(i) / rateHz
		c.Value[i] = f(c.TimeS[i])
	}
	return c
}

// fakeChannels are made once for each length and rate: nobody writes to samples.
func fakeChannels(lengthS, rateHz float64) []flight.Channel {
	madeLock.Lock()
	defer madeLock.Unlock()
	key := [2]float64{lengthS, rateHz}
	if made[key] == nil {
		made[key] = makeChannels(lengthS, rateHz)
	}
	return slices.Clone(made[key])
}

var (
	madeLock sync.Mutex
	made     = map[[2]float64][]flight.Channel{}
)

func makeChannels(lengthS, rateHz float64) []flight.Channel {
	rng := rand.New(rand.NewPCG(1, 1))
	noise := func(k float64) float64 { return k * rng.NormFloat64() }
	flown := func(t float64) float64 { // 0 on the ground, 1 in the air
		return min(max((t-10)/2, 0), 1) * min(max((lengthS-8-t)/2, 0), 1)
	}
	grows := func(t float64) float64 {
		if t > 60 && t < 70 {
			return math.Exp((t-70)/4) * math.Sin(5*t)
		}
		return 0
	}
	stick := func(t, phase float64) float64 { return flown(t) * 0.12 * math.Sin(0.9*t+phase+2*math.Sin(0.07*t)) }
	cs := []flight.Channel{
		fakeChannel(flight.LatStick, lengthS, rateHz, func(t float64) float64 { return stick(t, 0) + noise(0.01) }),
		fakeChannel(flight.LonStick, lengthS, rateHz, func(t float64) float64 { return stick(t, 1) + noise(0.01) }),
		fakeChannel(flight.Roll, lengthS, rateHz, func(t float64) float64 { return 0.6*stick(t-0.2, 0) + 0.2*grows(t) + noise(0.002) }),
		fakeChannel(flight.Pitch, lengthS, rateHz, func(t float64) float64 { return 0.5*stick(t-0.25, 1) + noise(0.002) }),
		fakeChannel(flight.RollRate, lengthS, rateHz, func(t float64) float64 { return 0.9*stick(t+0.8, 0) + grows(t) + noise(0.01) }),
		fakeChannel(flight.PitchRate, lengthS, rateHz, func(t float64) float64 { return 0.8*stick(t+0.8, 1) + noise(0.01) }),
		fakeChannel(flight.RotorSpeed, lengthS, rateHz/10, func(t float64) float64 { return 52 + noise(0.2) }),
	}
	w := fakeChannel(flight.WindSpeed, lengthS, 4, func(t float64) float64 { return 3.5 + math.Sin(0.5*t) + noise(0.4) })
	w.Source = 1
	for i := 160; i < 200 && i < w.Len(); i++ { // a gap in the wind, 40 to 50 s
		w.Value[i] = math.NaN()
	}
	return append(cs, w)
}

func fakeResponse(a flight.Axis, o response.Output, delayS float64) response.Result {
	r := response.Result{Axis: a, Input: a.Stick(), Output: o}
	for k := range 60 {
		w := 0.4 * math.Pow(50, float64(k)/59)
		c := 0.97 / (1 + math.Pow(w/9, 4))
		gain := -20 * math.Log10(1+w/3)
		phase := -w*delayS*180/math.Pi - math.Atan(w/3)*180/math.Pi
		if o == response.Attitude {
			gain, phase = gain-20*math.Log10(w), phase-90
		}
		e := math.Sqrt((1 - c) / (2 * c * 20))
		r.FrequencyRadS = append(r.FrequencyRadS, w)
		r.GainDB = append(r.GainDB, gain+3*e*math.Sin(17*w))
		r.PhaseDeg = append(r.PhaseDeg, phase+20*e*math.Cos(13*w))
		r.Coherence = append(r.Coherence, c)
		r.GainSDDB = append(r.GainSDDB, 8.7*e)
		r.PhaseSDDeg = append(r.PhaseSDDeg, 57*e)
	}
	if o == response.Attitude {
		r.BandwidthPhaseRadS, r.BandwidthGainRadS = around(2.31, 0.12), around(2.86, 0.3)
		r.BandwidthRadS, r.W180RadS = around(2.31, 0.12), around(4.61, 0.22)
		r.PhaseDelayS = around(delayS*0.9, 0.006)
		r.Lag = []response.LagAt{
			{FrequencyRadS: 1, PhaseDeg: *around(-118, 3), TimeS: *around(0.489, 0.02)},
			{FrequencyRadS: 3, PhaseDeg: *around(-151, 4), TimeS: *around(0.355, 0.02)}}
		return r
	}
	r.CorrelationLagS, r.WeightedCorrelationLagS = around(delayS+0.1, 0.012), around(delayS+0.08, 0.01)
	r.EffectiveDelayS = around(delayS, 0.008)
	r.Coupling = around(0.21, 0.05)
	r.Model = &response.Model{Form: "first-order rate with delay", FitPercent: 87.4,
		Parameters: []response.Parameter{{Name: "gain_1_s", Estimate: *around(1.2, 0.1)}, {Name: "break_rad_s", Estimate: *around(3.1, 0.4)}}}
	return r
}

func fakeUnstable() []stability.Unstable {
	return []stability.Unstable{
		{Axis: flight.RollAxis, Kind: stability.PilotCoupled, Span: flight.Span{FromS: 60, ToS: 70},
			FrequencyRadS: around(5, 0.2), GrowthPerS: around(0.25, 0.06),
			Reason: "roll oscillation at 5.0 rad/s grew by 0.25 per s while the stick followed 140 deg behind the attitude"},
		{Axis: flight.PitchAxis, Kind: stability.ControlStop, Span: flight.Span{FromS: 82, ToS: 82.6},
			Reason: "longitudinal stick at 93 % of its travel"},
	}
}

// fakeDamping falls below zero in the flag, and is open before it.
func fakeDamping() []stability.DampingPoint {
	var ps []stability.DampingPoint
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		for t := 14.0; t < 106; t++ {
			ratio, half := 0.35+0.1*math.Sin(t/7), 0.15
			switch {
			case a == flight.RollAxis && t >= 60 && t < 70:
				ratio, half = -0.12, 0.05
			case a == flight.RollAxis && t >= 56 && t < 60:
				ratio, half = 0.03, 0.1
			case t >= 35 && t < 40:
				continue // a test input
			}
			ps = append(ps, stability.DampingPoint{Axis: a, TimeS: t, Ratio: *around(ratio, half), FrequencyRadS: 4.9})
		}
	}
	return ps
}

func fakeSegments() []flight.Segment {
	return []flight.Segment{
		{Kind: flight.Ground, Span: flight.Span{FromS: 0, ToS: 10}},
		{Kind: flight.LiftOff, Span: flight.Span{FromS: 10, ToS: 13}},
		{Kind: flight.Hover, Span: flight.Span{FromS: 13, ToS: 108}},
		{Kind: flight.Doublet, Axis: flight.RollAxis, Span: flight.Span{FromS: 20, ToS: 24}},
		{Kind: flight.Doublet, Axis: flight.PitchAxis, Span: flight.Span{FromS: 27, ToS: 31}},
		{Kind: flight.Sweep, Axis: flight.RollAxis, Span: flight.Span{FromS: 35, ToS: 58}},
		{Kind: flight.HandsStill, Span: flight.Span{FromS: 90, ToS: 96}},
		{Kind: flight.Landing, Span: flight.Span{FromS: 108, ToS: 112}},
	}
}

func fakeFindings() []flight.Finding {
	return []flight.Finding{
		{Code: flight.CodeRateFactor, Severity: flight.Caution, File: "attitude.csv", Channel: "p",
			Text:   "the derivative of roll attitude is 0.97 (0.96 to 0.98) of the roll rate",
			Advice: "check the rate scale of the logger"},
		{Code: flight.CodeGap, Severity: flight.Note, File: "wind.csv", Span: flight.Span{FromS: 40, ToS: 50},
			Text: "no wind for 10.0 s", Advice: "nothing, the wind statistics leave it out"},
	}
}

func fakeDebrief(name string, lengthS, rateHz float64) *debrief.Debrief {
	h := &flight.Hop{Name: name, DurationS: lengthS, Configuration: "bar 400 g",
		StartedAt: time.Date(2025, 5, 11, 9, 30, 0, 0, time.UTC), Channels: fakeChannels(lengthS, rateHz),
		Sources: []flight.Source{
			{File: "attitude.csv", Role: flight.RoleMixed, Rows: 12000, RateHz: rateHz, Dress: "commas, decimal point, time in ms",
				Clock: flight.Clock{AlignedBy: flight.AlignSingle}},
			{File: "wind.csv", Role: flight.RoleWind, Rows: 480, RateHz: 4, Dress: "semicolons, decimal comma",
				Clock: flight.Clock{AlignedBy: flight.AlignUTC, OffsetS: 12.482, DriftPPM: 14, Offset: around(12.482, 0.01), IntervalS: 0.01}},
		},
		Marks: []flight.Mark{{TimeS: 75, Text: "felt a wallow"}},
	}
	d := &debrief.Debrief{Hop: h, Aircraft: &flight.Aircraft{Name: "Whinchat", Field: "Marsh End"},
		Findings: fakeFindings(), Segments: fakeSegments(), PhasingErrorRad: around(0.07, 0.02)}
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		d.Responses = append(d.Responses, fakeResponse(a, response.Attitude, 0.11), fakeResponse(a, response.Rate, 0.11))
	}
	d.Wind.Whole = &wind.Phase{Class: wind.Steady, Span: flight.Span{FromS: 10, ToS: 112}, MeanMS: around(3.5, 0.2),
		SDMS: around(0.9, 0.1), Gust3sMS: around(4.8, 0.2), Lull3sMS: around(2.3, 0.2), SpreadMS: around(2.5, 0.3), GustFactor: flight.Plain(1.37)}
	d.Wind.Phases = []wind.Phase{{Class: wind.Steady, Span: flight.Span{FromS: 10, ToS: 60}, MeanMS: around(3.2, 0.2), SpreadMS: around(2, 0.3)},
		{Class: wind.Gusty, Span: flight.Span{FromS: 60, ToS: 112}, MeanMS: around(3.8, 0.2), SpreadMS: around(3.5, 0.3)}}
	d.Wind.Whole.Turbulence = fakeTurbulence()
	d.Wind.Events = []wind.Events{fakeEvents()}
	d.Wind.Classes = fakeClasses()
	d.Wind.LeadS = math.NaN()
	for i := range 4 {
		k := float64(i + 1)
		d.Wind.Minutes = append(d.Wind.Minutes, wind.Minute{SDMS: 0.4 * k, Class: []wind.Class{wind.Steady, wind.Gusty}[i/2], RollRMS: 0.01 * k, PitchRMS: math.NaN()})
	}
	d.Wind.Gusts = []wind.Gust{{Axis: flight.RollAxis, BandRadS: [2]float64{0.5, 2}, Input: wind.CrossGust, RadPerMS: around(0.02, 0.004), PartialCoherence: 0.44, Events: 7, SettleS: around(2.1, 0.5)}}
	d.Stability = stability.Result{Unstable: fakeUnstable(),
		Modes: []stability.Mode{{Axis: flight.RollAxis, Span: flight.Span{FromS: 90, ToS: 96}, Method: "matrix pencil",
			FrequencyRadS: around(0.6, 0.1), DampingRatio: around(-0.04, 0.05), TimeToDoubleS: around(28, 9)}},
		Control: []stability.Control{{Axis: flight.RollAxis, UsedPercent: 41, LeftPercent: 59, LowPercent: -38, HighPercent: 41},
			{Axis: flight.PitchAxis, UsedPercent: 93, LeftPercent: 7, LowPercent: -31, HighPercent: 93, AtStopS: 0.6}},
		Damping: fakeDamping(),
		Margins: fakeMargins(),
	}
	d.Verdict = debrief.Verdict{Proceed: debrief.No, Reasons: []debrief.Reason{
		{Text: "pilot-coupled growing oscillation in roll at 60.0 s", Span: flight.Span{FromS: 60, ToS: 70}, Weight: debrief.No},
		{Text: "only 7 % of longitudinal stick left", Weight: debrief.Caution}},
		Advice: []string{"Do not go on: find out what grew before the next hop.", "Step back to the last configuration that was flown without a flag."}}
	return d
}

// fakeMargins are of an integrator with a delay of 0.25 s, which has 90 deg - 0.25 s x
// 1.9 rad/s = 63 deg of phase at its crossover and 10.4 dB of gain (pi/2 over 0.25 s x 1.9
// rad/s); pitch shows no pilot.
func fakeMargins() []stability.Margin {
	roll := stability.Margin{Axis: flight.RollAxis, CrossoverRadS: around(1.9, 0.2), PhaseMarginDeg: around(63, 8), GainMarginDB: around(10.4, 1.5),
		Pilot: &stability.Pilot{Method: "the logged gust as instrument", GainPerRad: around(0.8, 0.1), LeadS: around(0.3, 0.1), DelayS: around(0.25, 0.04), FitPercent: 81},
		Assumed: []stability.AssumedPilot{
			{DelayS: 0.2, MostGainPerRad: around(2.1, 0.3), CrossoverRadS: around(1.8, 0.2), PhaseMarginDeg: around(69, 8), GainMarginDB: around(12.3, 1.5)},
			{DelayS: 0.3, MostGainPerRad: around(1.4, 0.2)}, {DelayS: 0.4}},
		Says: "The loop is cut at the stick and holds what the pilot does about drift only as far as it follows the attitude."}
	for k := range 40 {
		w := 0.4 * math.Pow(30, float64(k)/39)
		roll.Loop = append(roll.Loop, stability.LoopPoint{FrequencyRadS: w, GainDB: 20 * math.Log10(1.9/w),
			PhaseDeg: -90 - 0.25*w*degPerRad, GainSDDB: 0.5 + 0.1*w, PhaseSDDeg: 3 + w})
	}
	pitch := stability.Margin{Axis: flight.PitchAxis, Says: "The pilot could not be measured."}
	return []stability.Margin{roll, pitch}
}

// fakeConfigurations are a head with a bar and one without.
func fakeConfigurations() []flight.Configuration {
	bare := flight.Configuration{Name: "bare", RotorSpeedRPM: 500, MassKg: 250, HubHeightM: 1.1, RollInertiaKgM2: 70, PitchInertKgM2: 140,
		RotorRadiusM: 3, BladeChordM: 0.17, LiftSlope: 5.7, FlapInertiaKg: 22, AdvanceDeg: 90, CyclicThrowDeg: 8}
	bar := bare
	bar.Name = "bar 400 g"
	bar.Bar = &flight.Bar{WeightKg: 0.4, WeightAtM: 0.6, InertiaKgM2: 0.35, PaddleChordM: 0.08, PaddleFromM: 0.4, PaddleToM: 0.55,
		BarToBlade: 0.6, StickToBlade: 0.5, StickToPaddle: 0.7}
	return []flight.Configuration{bar, bare}
}

// fakeBook lists n hops; fakeLoad loads them, one in five without success.
func fakeBook(n int) *flight.Logbook {
	b := &flight.Logbook{Dir: "logbook", Aircraft: &flight.Aircraft{Name: "Whinchat", Field: "Marsh End", Configurations: fakeConfigurations()}, HasAircraft: true}
	for i := range n {
		b.Hops = append(b.Hops, flight.HopEntry{Name: fmt.Sprintf("hop-%02d", i+1), Path: fmt.Sprintf("logbook/hop-%02d", i+1)})
	}
	return b
}

func fakeLoad(_ context.Context, e flight.HopEntry, progress func(float64, string)) (*debrief.Debrief, error) {
	progress(0.5, "reading attitude.csv")
	if e.Name == "hop-05" {
		return nil, fmt.Errorf("hop-05/sticks.csv:1: no column of numbers; name the columns in hop.toml")
	}
	d := fakeDebrief(e.Name, 120, 100)
	if e.Name == "hop-02" {
		d.Verdict = debrief.Verdict{Proceed: debrief.Yes}
		d.Stability.Unstable = nil
		d.Wind = wind.Result{}
	}
	return d, nil
}

func fakeCard(w io.Writer, d *debrief.Debrief) error {
	_, err := fmt.Fprintf(w, "# Test card %s\n\nVerdict: %s\n\n| number | value |\n", d.Hop.Name, d.Verdict.Proceed)
	return err
}

func fakeExport(_ context.Context, d *debrief.Debrief, format string) (string, error) {
	if d.Hop.Name == "hop-02" {
		return "", errors.New("no space left")
	}
	return "card-" + d.Hop.Name + "." + format, nil
}

func fakeOptions(n int) Options {
	return Options{Logbook: fakeBook(n), Load: fakeLoad, Card: fakeCard, Export: fakeExport,
		AddMark:    func(flight.HopEntry, flight.MarkSettings) error { return nil },
		RemoveMark: func(flight.HopEntry, flight.MarkSettings) error { return nil },
		Decide:     fakeDecide,
		Note: func(e flight.HopEntry, c flight.Change) (flight.Edit, error) {
			text, err := c("")
			return flight.Edit{After: text}, err
		}}
}

// fakeDecide makes the change in no file.
func fakeDecide(ctx context.Context, e flight.HopEntry, c flight.Change, progress func(float64, string)) (*debrief.Debrief, flight.Edit, error) {
	text, err := c("")
	if err != nil {
		return nil, flight.Edit{}, err
	}
	d, err := fakeLoad(ctx, e, progress)
	return d, flight.Edit{After: text}, err
}
