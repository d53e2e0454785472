package rotor

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"hopcard/flight"
)

// Prediction is what the model says about a configuration in the hover. NaN where there is
// no such number.
type Prediction struct {
	Head        Head
	Model       *Model
	Assumptions []string // in words, to be shown beside every number

	FlapFrequencyPerRev float64 // with pitch-flap coupling
	LagRad              float64 // blades, in azimuth
	ControlGain         float64 // flap per blade pitch
	PhasingErrorRad     float64
	DiscTimeS           float64
	BarTimeS            float64 // NaN without a bar
	// StickDiscRad is the disc tilt that full stick holds against nothing, bar included.
	StickDiscRad float64
	Pitch, Roll  AxisPrediction
}

// AxisPrediction is what the model says about one axis, the other axis's stick held.
type AxisPrediction struct {
	Bandwidth Bandwidth
	// Coupling is off-axis over on-axis attitude at 2 rad/s.
	Coupling float64
	// Hover is the slowest oscillation of the axis with the stick held, Short the fastest
	// slower than the disc; nil where the axis has none.
	Hover, Short *Mode
	// GustRadPerMS is attitude per m/s of gust at GustAtRadS, stick held.
	GustRadPerMS []float64
	// GustBandRadPerMS is rms attitude over rms gust in each of GustBandsRadS, stick held, as
	// hops are measured.
	GustBandRadPerMS []float64
	// Pilots is what room it leaves to the pilots of PilotDelaysS.
	Pilots []PilotRoom
}

// GustAtRadS are the frequencies at which the answer to gusts is predicted.
func GustAtRadS() []float64 { return []float64{0.5, 1, 2, 4} }

// GustBandsRadS are the bands in which answers to gusts are measured (package wind).
func GustBandsRadS() [][2]float64 {
	return [][2]float64{{0.3, 0.6}, {0.6, 1.2}, {1.2, 2.4}, {2.4, 4.8}}
}

// Predict runs the model for a configuration. The error is that of FromConfiguration.
func Predict(c flight.Configuration, s Surroundings) (*Prediction, error) {
	h, assumptions, err := FromConfiguration(c, s)
	if err != nil {
		return nil, err
	}
	p, err := PredictHead(h)
	if err != nil {
		return nil, err
	}
	p.Assumptions = assumptions
	return p, nil
}

// PredictHead runs the model for plain parameters. The error wraps ErrNotPhysical.
func PredictHead(h Head) (*Prediction, error) {
	m, err := NewModel(h)
	if err != nil {
		return nil, err
	}
	lag, gain := LagAndGain(h.HingeOffset, h.LockNumber, h.Delta3Rad)
	p := &Prediction{
		Head: h, Model: m, LagRad: lag, ControlGain: gain, PhasingErrorRad: h.PhasingErrorRad(),
		FlapFrequencyPerRev: math.Sqrt(EffectiveFlapFrequencySquared(h.HingeOffset, h.LockNumber, h.Delta3Rad)),
		DiscTimeS:           h.DiscTimeS(), BarTimeS: math.NaN(),
		StickDiscRad: gain * h.ThrowRad * h.StickToBlade,
	}
	if h.HasBar() {
		p.BarTimeS = h.BarTimeS
		p.StickDiscRad += gain * h.ThrowRad * h.BarToBlade * h.StickToPaddle
	}
	d := m.modal()
	modes := d.modes()
	p.Pitch = d.axis(flight.PitchAxis, modes, 1/p.DiscTimeS)
	p.Roll = d.axis(flight.RollAxis, modes, 1/p.DiscTimeS)
	return p, nil
}

// axis predicts one axis; modes faster than the disc are not of the body.
func (d *modal) axis(a flight.Axis, modes []Mode, discPerS float64) AxisPrediction {
	in, wind, att, off := LonStick, HeadWind, Pitch, Roll
	if a == flight.RollAxis {
		in, wind, att, off = LatStick, WindFromRight, Roll, Pitch
	}
	own, gust := d.response(in, att), d.response(wind, att)
	search := newSearch(own)
	p := AxisPrediction{Bandwidth: search.bandwidth(), Coupling: cmplx.Abs(d.response(in, off)(2)) / cmplx.Abs(own(2))}
	for _, w := range GustAtRadS() {
		p.GustRadPerMS = append(p.GustRadPerMS, cmplx.Abs(gust(w)))
	}
	for _, band := range GustBandsRadS() {
		p.GustBandRadPerMS = append(p.GustBandRadPerMS, bandGain(gust, band))
	}
	for k := range modes {
		mode := &modes[k]
		if mode.Axis != a || !mode.Oscillates() || mode.NaturalRadS() > discPerS {
			continue
		}
		if p.Hover == nil {
			p.Hover = mode
		} else {
			p.Short = mode
		}
	}
	p.Pilots = search.rooms(p.Hover != nil && p.Hover.DampingRatio() < 0)
	return p
}

// Number is one number of a prediction, with its name in words and its unit.
type Number struct {
	Name  string
	Unit  flight.Unit
	Value float64 // in Unit; NaN where there is none
}

// Bends reports whether the number is a size that may be zero: it bends there, and a slope
// says nothing about its error.
func (n Number) Bends() bool { return strings.Contains(n.Name, "coupling") }

// Numbers lists a prediction's figures in the order a card shows them.
func (p *Prediction) Numbers() []Number {
	const perDeg = 180 / math.Pi
	list := []Number{
		{"Lock number", flight.NoUnit, p.Head.LockNumber},
		{"flap frequency per revolution", flight.NoUnit, p.FlapFrequencyPerRev},
		{"phase lag of the blades", flight.Deg, p.LagRad * perDeg},
		{"phasing error", flight.Deg, p.PhasingErrorRad * perDeg},
		{"following time of the disc", flight.Second, p.DiscTimeS},
		{"following time of the bar", flight.Second, p.BarTimeS},
		{"disc tilt at full stick", flight.Deg, p.StickDiscRad * perDeg},
	}
	for _, a := range []struct {
		name string
		axis AxisPrediction
	}{{"pitch", p.Pitch}, {"roll", p.Roll}} {
		list = append(list, a.axis.numbers(a.name)...)
	}
	return list
}

// GustBandName names the answer to gusts in a band as Numbers does.
func GustBandName(axis string, bandRadS [2]float64) string {
	return fmt.Sprintf("%s, deg per m/s of gust of %g to %g rad/s", axis, bandRadS[0], bandRadS[1])
}

func (p AxisPrediction) numbers(axis string) []Number {
	const perDeg = 180 / math.Pi
	nan := math.NaN()
	mode := func(what string, m *Mode) []Number {
		w, z := nan, nan
		if m != nil {
			w, z = m.NaturalRadS(), m.DampingRatio()
		}
		return []Number{
			{axis + ", " + what + " oscillation", flight.RadPerS, w},
			{axis + ", damping ratio of the " + what + " oscillation", flight.NoUnit, z},
		}
	}
	list := []Number{
		{axis + ", bandwidth", flight.RadPerS, p.Bandwidth.BandwidthRadS},
		{axis + ", frequency of 180 deg lag", flight.RadPerS, p.Bandwidth.W180RadS},
		{axis + ", phase delay", flight.Second, p.Bandwidth.PhaseDelayS},
		{axis + ", coupling at 2 rad/s", flight.NoUnit, p.Coupling},
	}
	list = append(list, mode("hover", p.Hover)...)
	list = append(list, mode("short", p.Short)...)
	for _, r := range p.Pilots {
		list = append(list, Number{fmt.Sprintf("%s, most gain of a pilot of %g s", axis, r.DelayS), flight.Unit("%/deg"), r.MostGainPerRad * 100 / perDeg})
	}
	for k, w := range GustAtRadS() {
		list = append(list, Number{fmt.Sprintf("%s, deg per m/s of gust at %g rad/s", axis, w), flight.NoUnit, p.GustRadPerMS[k] * perDeg})
	}
	for k, b := range GustBandsRadS() {
		list = append(list, Number{GustBandName(axis, b), flight.NoUnit, p.GustBandRadPerMS[k] * perDeg})
	}
	return list
}
