package report

import (
	"math"
	"time"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

func est(value, low, high float64) *flight.Estimate {
	return &flight.Estimate{Value: value, Low: low, High: high}
}

func deg(value, low, high float64) *flight.Estimate {
	e := est(value, low, high).Times(1 / degPerRad)
	return &e
}

// syntheticHop is a hop of two loggers with one of everything that a report shows.
func syntheticHop() *flight.Hop {
	t := []float64{0, 0.02, 0.04, 0.06}
	v := []float64{0, 0.1, 0.1, 0}
	return &flight.Hop{
		Name: "marsh-03", StartedAt: time.Date(2031, 7, 19, 6, 10, 30, 0, time.UTC), DurationS: 302.96,
		Configuration: "light bar", Notes: "second hop of the morning",
		Sources: []flight.Source{
			{File: "a08.csv", Role: flight.RoleAttitude, Rows: 15149, RateHz: 50, Dress: "commas, decimal point, ISO 8601 time",
				Clock: flight.Clock{OffsetS: 1942207830, AlignedBy: flight.AlignUTC}},
			{File: "b08.csv", Role: flight.RoleStick, Rows: 14900, RateHz: 50,
				Clock: flight.Clock{OffsetS: 108.7344, DriftPPM: 41.5, AlignedBy: flight.AlignKnocks, IntervalS: 0.0021,
					Offset: est(108.7344, 108.7323, 108.7365), Drift: est(41.5, 33, 50), ResidualS: 0.0011}},
			{File: "marks.csv", Rows: 1, Clock: flight.Clock{AlignedBy: flight.AlignUser, IntervalS: 1}},
		},
		Channels: []flight.Channel{
			{Quantity: flight.Roll, TimeS: t, Value: v, Column: "roll_deg", Unit: flight.Deg, Sign: 1, Scale: 1, Sure: 1},
			{Quantity: flight.PitchRate, TimeS: t, Value: v, Column: "q", Unit: flight.DegPerS, Guessed: true, Sign: -1, Scale: 1, Sure: 0.8},
			{Quantity: flight.LatStick, TimeS: t, Value: v, Source: 1, Column: "x_lat", Unit: flight.UnitTravel, Sign: 1, Scale: 1, Sure: 0.95},
		},
		Findings: syntheticFindings(),
		Marks:    []flight.Mark{{TimeS: 61.5, Text: "gust from the hedge", File: "marks.csv"}},
		Exclude:  []flight.Span{{FromS: 10, ToS: 12.5}},
	}
}

func syntheticFindings() []flight.Finding {
	return []flight.Finding{
		{Code: flight.CodeLeadsStick, Severity: flight.Stop, Channel: "pitch rate",
			Text: "pitch rate leads the stick by 65 ms, which no aircraft can do", Advice: "Check the clock of b08.csv."},
		{Code: flight.CodeGap, Severity: flight.Caution, File: "b08.csv", Span: flight.Span{FromS: 101.2, ToS: 103.9},
			Text: "no rows for 2.7 s", Advice: "Look at the card's contacts."},
		{Code: flight.CodeUnitGuessed, Severity: flight.Note, File: "a08.csv", Channel: "q",
			Text: "no unit given; the values fit deg/s (80 % sure)", Advice: "Name the unit in hop.toml."},
	}
}

func syntheticResponses() []response.Result {
	return []response.Result{
		{
			Axis: flight.RollAxis, Input: flight.LatStick, Output: response.Rate,
			Spans: []flight.Span{{FromS: 60, ToS: 95}, {FromS: 120, ToS: 150}},
			// The last two frequencies carry no error that is a number.
			FrequencyRadS: []float64{1, 2, 4, 8, 16}, GainDB: []float64{-2, -3, -6, -12, math.Inf(-1)},
			PhaseDeg: []float64{-20, -35, -60, -95, math.NaN()}, Coherence: []float64{0.95, 0.97, 0.9, 0.7, 0},
			GainSDDB: []float64{0.3, 0.2, 0.4, math.Inf(1), math.Inf(1)}, PhaseSDDeg: []float64{2, 1.5, 3, math.Inf(1), math.Inf(1)},
			CorrelationLagS: est(0.1824, 0.1761, 0.1889), WeightedCorrelationLagS: est(0.1790, 0.1701, 0.1880),
			DoubletLagS:     est(0.2013, 0.1952, 0.2074),
			EffectiveDelayS: est(0.118, 0.112, 0.124),
			Lag: []response.LagAt{{FrequencyRadS: math.Pi, PhaseDeg: flight.Estimate{Value: -51, Low: -54, High: -48},
				TimeS: flight.Estimate{Value: 0.283, Low: 0.267, High: 0.3}}},
			Model: &response.Model{Form: "first-order rate with delay", FitPercent: 91.4, Whiteness: &response.Whiteness{Points: 12, Correlation: 0.18, Chance: 0.2}, Parameters: []response.Parameter{
				{Name: "gain_deg_s_per_percent", Estimate: *est(0.8123, 0.79, 0.8346)},
				{Name: "time_constant_s", Estimate: *flight.Plain(0.21)},
			}},
		},
		{
			Axis: flight.RollAxis, Input: flight.LatStick, Output: response.Attitude,
			W180RadS: est(6.42, 6.1, 6.74), BandwidthPhaseRadS: est(3.4, 3.2, 3.6), BandwidthGainRadS: est(4.1, 3.3, math.Inf(1)),
			BandwidthRadS: est(3.4, 3.2, 3.6), PhaseDelayS: est(0.0994, 0.087, 0.112), Coupling: flight.Plain(0.21),
			BandwidthDelayCorrelation: -0.62, StepCoupling: est(0.25, 0.19, 0.31),
		},
		{Axis: flight.PitchAxis, Input: flight.LonStick, Output: response.Rate},
		// Off-axis: must not be taken for the answer to the pitch stick.
		{Axis: flight.PitchAxis, Input: flight.LatStick, Output: response.Rate, CorrelationLagS: est(9.9, 9.8, 10)},
	}
}

func syntheticWind() wind.Result {
	whole := wind.Phase{
		Class: wind.Gusty, Span: flight.Span{FromS: 41.2, ToS: 280.1}, MeanMS: est(4.13, 3.9, 4.36), SDMS: est(1.2, 1.1, 1.3),
		Gust3sMS: flight.Plain(7.24), Lull3sMS: flight.Plain(1.93), SpreadMS: flight.Plain(5.31),
		GustFactor: est(1.75, 1.6, 1.9), TurbulenceIntensity: est(0.29, 0.26, 0.32),
		DirectionRad: deg(250, 245, 255), DirectionSDRad: deg(14, 12, 16), LengthM: est(38, 22, 71),
	}
	first, second := whole, whole
	first.Span.ToS, first.Class = 120, wind.Steady
	second.Span.FromS = 120
	return wind.Result{
		Whole: &whole, Phases: []wind.Phase{first, second}, LeadS: math.NaN(),
		Gusts: []wind.Gust{
			{Axis: flight.RollAxis, Input: wind.CrossGust, BandRadS: [2]float64{0.5, 3}, RadPerMS: deg(1.2, 0.9, 1.5), PartialCoherence: 0.62,
				PilotInLoopRadPerMS: deg(0.8, 0.6, 1), Events: 9, PeakRadPerMS: deg(2.1, 1.6, 2.6), SettleS: est(3.4, 2.8, 4.1), SERadPerMS: 0.15 / degPerRad},
			{Axis: flight.PitchAxis, Input: wind.HeadGust, BandRadS: [2]float64{0.5, 3}, PartialCoherence: math.NaN(), SERadPerMS: math.NaN(),
				Events: 7, PeakRadPerMS: deg(1.4, 1, 1.8)},
		},
		Events: []wind.Events{
			{Axis: flight.RollAxis, Input: wind.CrossGust, SettleAfterS: math.NaN(), StickPeakPerMS: math.NaN()},
			{Axis: flight.PitchAxis, Input: wind.HeadGust, PeakRadPerMS: deg(1.4, 1, 1.8), SettleAfterS: 3.12, StickPeakPerMS: math.NaN()},
		},
		Classes: []wind.ClassRow{{Class: wind.Calm, TimeS: 78.8, MeanMS: 1.1, SDMS: 0.2, SpreadMS: math.NaN(), Flags: -1,
			Motion: []wind.Motion{{Axis: flight.RollAxis, AttitudeRMS: 0.01, RateRMS: 0.02}}, Answers: []wind.ClassAnswer{
				{Axis: flight.RollAxis, Input: wind.CrossGust, BandRadS: [2]float64{1.2, 2.4}, RadPerMS: deg(0.9, 0.5, 1.3)},
				{Axis: flight.RollAxis, Input: wind.CrossGust, BandRadS: [2]float64{2.4, 4.8}, RadPerMS: deg(0.4, 0.2, 0.6)},
			}}, {Class: wind.Gusty, Flags: 1, Answers: []wind.ClassAnswer{
			{Axis: flight.RollAxis, Input: wind.CrossGust, BandRadS: [2]float64{0.6, 1.2}},
			{Axis: flight.RollAxis, Input: wind.CrossGust, BandRadS: [2]float64{1.2, 2.4}, RadPerMS: deg(1.1, 0.9, 1.3)},
			{Axis: flight.PitchAxis, Input: wind.HeadGust, BandRadS: [2]float64{1.2, 2.4}, RadPerMS: deg(0.7, 0.5, 0.9)},
		}, TimeS: 160.1, MeanMS: 4.2, SDMS: 1.2, SpreadMS: 5.31,
			Motion: []wind.Motion{{Axis: flight.RollAxis, AttitudeRMS: 0.035, RateRMS: 0.06, LargestAttitudeChange: 0.3},
				{Axis: flight.PitchAxis, AttitudeRMS: 0.03, RateRMS: math.NaN(), LargestAttitudeChange: 0.2}},
			Work: []wind.Work{{Axis: flight.RollAxis, RMS: 0.061, RateRMSPerS: 0.2, ReversalsPerMin: 41, NearStopShare: 0.01, LeftFraction: 0.07}},
		}},
	}
}

func syntheticStability() stability.Result {
	return stability.Result{
		Modes: []stability.Mode{{
			Axis: flight.PitchAxis, Span: flight.Span{FromS: 200, ToS: 214}, Method: "matrix pencil",
			FrequencyRadS: est(0.486, 0.45, 0.52), DampingRatio: est(-0.2, -0.26, -0.14), TimeToDoubleS: est(7.13, 5.5, 10.2),
			Hover: true, Says: "slow hover oscillation, period 13.2 s, doubles in 7.1 s if left alone: usual without a bar, the pilot must hold it",
		}},
		Damping: []stability.DampingPoint{{Axis: flight.PitchAxis, TimeS: 203, Ratio: *est(-0.19, -0.27, -0.11), FrequencyRadS: 0.48}},
		Unstable: []stability.Unstable{
			{Axis: flight.PitchAxis, Kind: stability.Airframe, Span: flight.Span{FromS: 200, ToS: 214}, FrequencyRadS: est(0.486, 0.45, 0.52),
				GrowthPerS: est(0.097, 0.068, 0.126), Reason: "pitch grew from 2.1 to 8.0 deg in 14 s with the stick still"},
			{Axis: flight.RollAxis, Kind: stability.Limit, Span: flight.Span{FromS: 231.4, ToS: 232.6}, Reason: "roll reached 17.2 deg, the limit is 15 deg"},
		},
		Margins: syntheticMargins(),
		Control: []stability.Control{{Axis: flight.RollAxis, UsedPercent: 93.2, LeftPercent: 6.8, LowPercent: -93.2, HighPercent: 71, AtStopS: 0.6,
			SpanInFlight: flight.Span{FromS: 41.2, ToS: 280.1}}},
	}
}

// syntheticMargins has the loop of an integrator with delay, 2.2 exp(-0.47 s)/s, whose phase
// margin is 90 deg - 0.47 s 2.2 rad/s; another axis was not measured, but for the aircraft.
func syntheticMargins() []stability.Margin {
	const crossover, delay = 2.2, 0.47
	roll := stability.Margin{
		Axis: flight.RollAxis, CrossoverRadS: est(crossover, 1.9, 2.5), PhaseMarginDeg: est(90-delay*crossover*degPerRad, 22, 40),
		GainMarginDB: est(20*math.Log10(math.Pi/2/delay/crossover), 2.1, 4.6), GainLowDB: est(6.3, 4.9, 7.8),
		Pilot: &stability.Pilot{
			Method: "with the logged gust as instrument", Spans: []flight.Span{{FromS: 100, ToS: 180}},
			GainPerRad: est(0.9, 0.75, 1.05), LeadS: est(0.4, 0.2, 0.6), DelayS: est(0.31, 0.26, 0.36), FitPercent: 78,
		},
		Assumed: []stability.AssumedPilot{
			{DelayS: 0.2, MostGainPerRad: est(2.2, 1.9, 2.6), CrossoverRadS: est(2.1, 1.8, 2.4), PhaseMarginDeg: est(52, 44, 60), GainMarginDB: est(7.8, 6.2, 9.1)},
			{DelayS: 0.3, MostGainPerRad: est(1.6, 1.4, 1.9), CrossoverRadS: est(2.1, 1.8, 2.4), PhaseMarginDeg: est(40, 32, 48), GainMarginDB: est(5.0, 3.6, 6.3)},
			{DelayS: 0.4, MostGainPerRad: est(1.2, 1.0, 1.4), CrossoverRadS: est(2.1, 1.8, 2.4), PhaseMarginDeg: est(28, 20, 36), GainMarginDB: est(2.5, 1.1, 3.8)},
		},
		Says: "Stick and attitude alone show what the pilot does about drift only as far as attitude shows it.",
	}
	for w := 0.5; w < 8; w *= 1.2 {
		roll.Loop = append(roll.Loop, stability.LoopPoint{FrequencyRadS: w, GainDB: 20 * math.Log10(crossover/w), PhaseDeg: -90 - delay*w*degPerRad,
			GainSDDB: 0.6 + 0.05*w, PhaseSDDeg: 3 + w})
	}
	pitch := stability.Margin{
		Axis: flight.PitchAxis, Assumed: []stability.AssumedPilot{{DelayS: 0.3, MostGainPerRad: est(1.1, 0.8, 1.5)}}, Says: roll.Says,
	}
	return []stability.Margin{roll, pitch}
}

// syntheticDebrief is a debrief with one of everything, made up by hand.
func syntheticDebrief() *debrief.Debrief {
	h := syntheticHop()
	return &debrief.Debrief{
		Hop: h,
		Aircraft: &flight.Aircraft{
			Format: 1, Name: "Whinchat", Field: "Marsh End", RotorTurns: "counter-clockwise", Limits: flight.DefaultLimits(),
			Configurations: []flight.Configuration{{Name: "light bar", Note: "0.4 kg each side"}},
		},
		Findings: syntheticFindings(),
		Segments: []flight.Segment{
			{Kind: flight.Ground, Span: flight.Span{FromS: 0, ToS: 35}},
			{Kind: flight.Sweep, Axis: flight.RollAxis, Span: flight.Span{FromS: 60, ToS: 95}, BandRadS: [2]float64{0.9, 11.2}},
		},
		Responses: syntheticResponses(), PhasingErrorRad: deg(17.6, 15.9, 19.3),
		Wind: syntheticWind(), Stability: syntheticStability(),
		Verdict: debrief.Verdict{Proceed: debrief.No, Reasons: []debrief.Reason{
			{Text: "pitch grows with the stick still", Span: flight.Span{FromS: 200, ToS: 214}, Weight: debrief.No},
			{Text: "gust spread 5.3 m/s is above the limit of 4 m/s", Weight: debrief.Caution},
		}, Advice: []string{"Step back: the aircraft swung more and more by itself.", "Calmer air: wait for it."}},
	}
}

// emptyDebrief is what remains of a hop in which nothing could be measured.
func emptyDebrief() *debrief.Debrief {
	return &debrief.Debrief{
		Hop: &flight.Hop{Name: "empty"}, Aircraft: &flight.Aircraft{Limits: flight.DefaultLimits()},
		Verdict: debrief.Verdict{Proceed: debrief.Caution},
	}
}
