package report

import (
	"hopcard/analysis/wind"
	"hopcard/flight"
)

type windJSON struct {
	Phases  []phaseJSON `json:"phases"`
	Whole   *phaseJSON  `json:"whole,omitempty"`
	OnBoard bool        `json:"on_board_estimate"`
	AfterS  *float64    `json:"answers_after_gust_s,omitempty"`
	Classes []classJSON `json:"classes"`
	// Activity is motion and stick work of a hop without a measured wind: no wind.
	Activity *activityJSON `json:"activity,omitempty"`
	Events   []eventsJSON  `json:"gust_average"`
	Minutes  []minuteJSON  `json:"activity_by_20_s"`
}

type activityJSON struct {
	TimeS  *float64     `json:"time_s,omitempty"`
	Flags  *int         `json:"flags,omitempty"`
	Motion []motionJSON `json:"motion"`
	Work   []workJSON   `json:"stick_work"`
}

// eventsJSON is the averaged answer to gusts, on the time of the gust's peak; lists are
// parallel.
type eventsJSON struct {
	Axis     flight.Axis    `json:"axis"`
	Input    wind.Component `json:"input"`
	TimeS    []float64      `json:"time_s"`
	DegPerMS []float64      `json:"deg_per_m_s"`
	Low      []float64      `json:"low_deg_per_m_s"`
	High     []float64      `json:"high_deg_per_m_s"`
}

// minuteJSON is 20 s of flight: how lively the air was and how lively the aircraft.
type minuteJSON struct {
	spanJSON
	Class wind.Class `json:"class"`
	SD    *float64   `json:"sd_m_s,omitempty"`
	Roll  *float64   `json:"roll_rms_deg,omitempty"`
	Pitch *float64   `json:"pitch_rms_deg,omitempty"`
	Stick *float64   `json:"stick_rms_percent,omitempty"`
}

// drydenJSON is the Dryden form fitted to the gusts of a phase.
type drydenJSON struct {
	AlongSD      *estimateJSON  `json:"along_sd_m_s,omitempty"`
	AlongLength  *estimateJSON  `json:"along_length_m,omitempty"`
	AcrossSD     *estimateJSON  `json:"across_sd_m_s,omitempty"`
	AcrossLength *estimateJSON  `json:"across_length_m,omitempty"`
	Spectrum     []spectrumJSON `json:"spectrum"`
}

type spectrumJSON struct {
	FrequencyHz *float64      `json:"frequency_hz,omitempty"`
	Density     *estimateJSON `json:"density_m2_s2_per_hz,omitempty"`
	Fit         *float64      `json:"fit_m2_s2_per_hz,omitempty"`
}

// classJSON is what the hop was like in one class of air.
type classJSON struct {
	Class  wind.Class   `json:"class"`
	TimeS  *float64     `json:"time_s,omitempty"`
	Mean   *float64     `json:"mean_m_s,omitempty"`
	SD     *float64     `json:"sd_m_s,omitempty"`
	Spread *float64     `json:"spread_m_s,omitempty"`
	Flags  *int         `json:"flags,omitempty"`
	Motion []motionJSON `json:"motion"`
	Work   []workJSON   `json:"stick_work"`
	Gust   []answerJSON `json:"gust"`
}

// answerJSON is the answer to the gusts of one class of air, stick held.
type answerJSON struct {
	Axis     flight.Axis    `json:"axis"`
	Input    wind.Component `json:"input"`
	BandRadS []float64      `json:"band_rad_s"`
	DegPerMS *estimateJSON  `json:"deg_per_m_s,omitempty"`
}

type phaseJSON struct {
	Class wind.Class `json:"class"`
	spanJSON
	Mean        *estimateJSON `json:"mean_m_s,omitempty"`
	SD          *estimateJSON `json:"sd_m_s,omitempty"`
	Gust3s      *estimateJSON `json:"gust3s_m_s,omitempty"`
	Lull3s      *estimateJSON `json:"lull3s_m_s,omitempty"`
	Spread      *estimateJSON `json:"spread_m_s,omitempty"`
	GustFactor  *estimateJSON `json:"gust_factor,omitempty"`
	Turbulence  *estimateJSON `json:"turbulence_intensity,omitempty"`
	Direction   *estimateJSON `json:"direction_deg,omitempty"`
	DirectionSD *estimateJSON `json:"direction_sd_deg,omitempty"`
	Length      *estimateJSON `json:"length_m,omitempty"`
	Head        *estimateJSON `json:"head_m_s,omitempty"`
	Cross       *estimateJSON `json:"cross_m_s,omitempty"`
	Dryden      *drydenJSON   `json:"dryden,omitempty"`
}

type motionJSON struct {
	Axis        flight.Axis `json:"axis"`
	AttitudeRMS *float64    `json:"attitude_rms_deg,omitempty"`
	RateRMS     *float64    `json:"rate_rms_deg_s,omitempty"`
	Largest     *float64    `json:"largest_change_deg,omitempty"`
}

type workJSON struct {
	Axis      flight.Axis `json:"axis"`
	RMS       *float64    `json:"rms_percent,omitempty"`
	RateRMS   *float64    `json:"rate_rms_percent_s,omitempty"`
	Reversals *float64    `json:"reversals_per_min,omitempty"`
	NearStop  *float64    `json:"near_stop_percent,omitempty"`
	Left      *float64    `json:"left_percent,omitempty"`
}

func classesOf(rows []wind.ClassRow) []classJSON {
	out := []classJSON{}
	for _, r := range rows {
		j := classJSON{
			Class: r.Class, TimeS: number(r.TimeS), Mean: number(r.MeanMS), SD: number(r.SDMS), Spread: number(r.SpreadMS),
			Gust: []answerJSON{},
		}
		if r.Flags >= 0 {
			j.Flags = &r.Flags
		}
		for _, a := range r.Answers {
			j.Gust = append(j.Gust, answerJSON{a.Axis, a.Input, bandOf(a.BandRadS), estimateOf(a.RadPerMS, degPerRad)})
		}
		j.Motion, j.Work = motionsOf(r.Motion), worksOf(r.Work)
		out = append(out, j)
	}
	return out
}

func motionsOf(list []wind.Motion) []motionJSON {
	out := []motionJSON{}
	for _, m := range list {
		out = append(out, motionJSON{
			m.Axis, number(m.AttitudeRMS * degPerRad), number(m.RateRMS * degPerRad), number(m.LargestAttitudeChange * degPerRad),
		})
	}
	return out
}

func worksOf(list []wind.Work) []workJSON {
	out := []workJSON{}
	for _, w := range list {
		out = append(out, workJSON{
			w.Axis, number(100 * w.RMS), number(100 * w.RateRMSPerS), number(w.ReversalsPerMin),
			number(100 * w.NearStopShare), number(100 * w.LeftFraction),
		})
	}
	return out
}

func activityOf(r *wind.ClassRow) *activityJSON {
	if r == nil {
		return nil
	}
	out := &activityJSON{TimeS: number(r.TimeS), Motion: motionsOf(r.Motion), Work: worksOf(r.Work)}
	if r.Flags >= 0 {
		out.Flags = &r.Flags
	}
	return out
}

// eventsOf leaves out the times at which an end of the interval is none.
func eventsOf(list []wind.Events) []eventsJSON {
	out := []eventsJSON{}
	for _, e := range list {
		j := eventsJSON{e.Axis, e.Input, []float64{}, []float64{}, []float64{}, []float64{}}
		for i := range min(len(e.TimeS), len(e.AttitudePerMS)) {
			a := e.AttitudePerMS[i].Times(degPerRad)
			if finite(e.TimeS[i]) && finite(a.Value) && finite(a.Low) && finite(a.High) {
				j.TimeS, j.DegPerMS = append(j.TimeS, rounded(e.TimeS[i])), append(j.DegPerMS, rounded(a.Value))
				j.Low, j.High = append(j.Low, rounded(a.Low)), append(j.High, rounded(a.High))
			}
		}
		out = append(out, j)
	}
	return out
}

func minutesOf(list []wind.Minute) []minuteJSON {
	out := []minuteJSON{}
	for _, m := range list {
		out = append(out, minuteJSON{spanOf(m.Span), m.Class, number(m.SDMS), number(m.RollRMS * degPerRad), number(m.PitchRMS * degPerRad), number(100 * m.StickRMS)})
	}
	return out
}

func drydenOf(tb *wind.Turbulence) *drydenJSON {
	if tb == nil {
		return nil
	}
	out := &drydenJSON{
		estimateOf(tb.AlongSDMS, 1), estimateOf(tb.AlongLengthM, 1), estimateOf(tb.AcrossSDMS, 1), estimateOf(tb.AcrossLengthM, 1), []spectrumJSON{},
	}
	for i := range tb.Spectrum {
		s := &tb.Spectrum[i]
		out.Spectrum = append(out.Spectrum, spectrumJSON{number(s.FrequencyHz), estimateOf(&s.Density, 1), number(s.Fit)})
	}
	return out
}

func windOf(w *wind.Result) windJSON {
	out := windJSON{
		Phases: []phaseJSON{}, OnBoard: w.OnBoard, AfterS: number(w.LeadS), Classes: classesOf(w.Classes),
		Activity: activityOf(w.Activity), Events: eventsOf(w.Events), Minutes: minutesOf(w.Minutes),
	}
	if w.Whole != nil {
		whole := phaseOf(w.Whole)
		out.Whole = &whole
	}
	for i := range w.Phases {
		out.Phases = append(out.Phases, phaseOf(&w.Phases[i]))
	}
	return out
}

func phaseOf(p *wind.Phase) phaseJSON {
	span := spanJSON{} // absent where the wind's clock is not the hop's
	if p.Span != (flight.Span{}) {
		span = spanOf(p.Span)
	}
	return phaseJSON{
		Class: p.Class, spanJSON: span,
		Mean: estimateOf(p.MeanMS, 1), SD: estimateOf(p.SDMS, 1),
		Gust3s: estimateOf(p.Gust3sMS, 1), Lull3s: estimateOf(p.Lull3sMS, 1),
		Spread: estimateOf(p.SpreadMS, 1), GustFactor: estimateOf(p.GustFactor, 1),
		Turbulence: estimateOf(p.TurbulenceIntensity, 1),
		Direction:  estimateOf(p.DirectionRad, degPerRad), DirectionSD: estimateOf(p.DirectionSDRad, degPerRad),
		Length: estimateOf(p.LengthM, 1), Head: estimateOf(p.HeadMS, 1), Cross: estimateOf(p.CrossMS, 1),
		Dryden: drydenOf(p.Turbulence),
	}
}

type gustJSON struct {
	Axis             flight.Axis    `json:"axis"`
	Input            wind.Component `json:"input"`
	BandRadS         []float64      `json:"band_rad_s"`
	DegPerMS         *estimateJSON  `json:"deg_per_m_s,omitempty"`
	RateDegSPerMS    *estimateJSON  `json:"rate_deg_s_per_m_s,omitempty"`
	SingleInput      *estimateJSON  `json:"single_input_deg_per_m_s,omitempty"`
	PartialCoherence *float64       `json:"partial_coherence,omitempty"`
	Events           int            `json:"events"`
	PeakDegPerMS     *estimateJSON  `json:"peak_deg_per_m_s,omitempty"`
	TimeToPeakS      *estimateJSON  `json:"time_to_peak_s,omitempty"`
	SettleS          *estimateJSON  `json:"settle_s,omitempty"`
	SettleAfterS     *float64       `json:"settle_after_s,omitempty"` // not settled before that
	ScatterSE        *float64       `json:"scatter_se_deg_per_m_s,omitempty"`
}

func gustsOf(w *wind.Result, gusts []wind.Gust) []gustJSON {
	out := []gustJSON{}
	for _, g := range gusts {
		out = append(out, gustJSON{
			g.Axis, g.Input, bandOf(g.BandRadS), estimateOf(g.RadPerMS, degPerRad), estimateOf(g.RateRadSPerMS, degPerRad),
			estimateOf(g.PilotInLoopRadPerMS, degPerRad), number(g.PartialCoherence), g.Events,
			estimateOf(g.PeakRadPerMS, degPerRad), estimateOf(g.TimeToPeakS, 1), estimateOf(g.SettleS, 1),
			number(lastsFor(w, &g)), scatterOf(&g),
		})
	}
	return out
}

// scatterOf is the standard error of the answer with the stick held, from scatter alone;
// nil where there is no answer.
func scatterOf(g *wind.Gust) *float64 {
	if g.RadPerMS == nil || !(g.SERadPerMS > 0) {
		return nil
	}
	return number(g.SERadPerMS * degPerRad)
}
