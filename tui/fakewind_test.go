package tui

import (
	"math"

	"hopcard/analysis/wind"
	"hopcard/flight"
)

func fakeTurbulence() *wind.Turbulence {
	tb := &wind.Turbulence{AlongSDMS: around(0.9, 0.1), AlongLengthM: around(24, 9),
		Expected: wind.Dryden{SDMS: 0.8, LengthM: 21}, HeightM: 1.5}
	for f := 0.01; f < 1.5; f *= 1.6 {
		density := 9 / (1 + math.Pow(f/0.05, 2))
		p := wind.SpectrumPoint{FrequencyHz: f, Fit: density,
			Density: flight.Estimate{Value: density * (1 + 0.3*math.Sin(40*f)), Low: 0.6 * density, High: 1.7 * density}}
		if f > 0.5 {
			p.Fit = math.NaN()
		}
		tb.Spectrum = append(tb.Spectrum, p)
	}
	return tb
}

func fakeEvents() wind.Events {
	e := wind.Events{Axis: flight.RollAxis, Input: wind.CrossGust, PeakTimesS: []float64{20, 41, 77}, GustMS: []float64{2, -1.5, 3}}
	for t := -4.0; t <= 20; t += 0.25 {
		v := 0.0
		if t > 0 {
			v = 0.02 * t * math.Exp(-t/2)
		}
		e.TimeS = append(e.TimeS, t)
		e.AttitudePerMS = append(e.AttitudePerMS, *around(v, 0.004))
	}
	return e
}

func fakeClasses() []wind.ClassRow {
	row := func(c wind.Class, k float64) wind.ClassRow {
		return wind.ClassRow{Class: c, TimeS: 50, MeanMS: 3 * k, SDMS: 0.8 * k, SpreadMS: math.NaN(), Flags: int(k),
			Answers: []wind.ClassAnswer{{Axis: flight.RollAxis, Input: wind.CrossGust, BandRadS: [2]float64{0.5, 2}, RadPerMS: around(0.02*k, 0.004)},
				{Axis: flight.PitchAxis, Input: wind.HeadGust, BandRadS: [2]float64{0.5, 2}}},
			Motion: []wind.Motion{{Axis: flight.RollAxis, AttitudeRMS: 0.02 * k, RateRMS: 0.05 * k}, {Axis: flight.PitchAxis, AttitudeRMS: 0.03 * k, RateRMS: math.NaN()}},
			Work:   []wind.Work{{Axis: flight.RollAxis, RMS: 0.06 * k, ReversalsPerMin: 41, LeftFraction: 0.59}}}
	}
	return []wind.ClassRow{row(wind.Steady, 1), row(wind.Gusty, 1.6)}
}
