package report

import (
	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

type responseJSON struct {
	Axis          flight.Axis     `json:"axis"`
	Input         flight.Quantity `json:"input"`
	Output        response.Output `json:"output"`
	Spans         [][2]float64    `json:"spans"`
	FrequencyRadS []float64       `json:"frequency_rad_s"`
	GainDB        []float64       `json:"gain_db"`
	PhaseDeg      []float64       `json:"phase_deg"`
	Coherence     []float64       `json:"coherence"`
	GainSDDB      []float64       `json:"gain_sd_db"`
	PhaseSDDeg    []float64       `json:"phase_sd_deg"`
	LeftOut       int             `json:"points_left_out,omitempty"`
	// Timing is "withheld" where phase_deg rests on a wrong clock, and absent otherwise.
	Timing     string `json:"timing,omitempty"`
	TimingSays string `json:"timing_says,omitempty"`

	CorrelationLag *estimateJSON `json:"correlation_lag_s,omitempty"`
	WeightedLag    *estimateJSON `json:"weighted_correlation_lag_s,omitempty"`
	DoubletLag     *estimateJSON `json:"doublet_lag_s,omitempty"`
	TransportDelay *estimateJSON `json:"transport_delay_s,omitempty"`
	EffectiveDelay *estimateJSON `json:"effective_delay_s,omitempty"`
	DiscFollowing  *estimateJSON `json:"disc_following_s,omitempty"`
	BarFollowing   *estimateJSON `json:"bar_following_s,omitempty"`
	Lag            []lagJSON     `json:"lag"`
	RotorSpeed     *float64      `json:"rotor_speed_rad_s,omitempty"`
	ClockHalfWidth *float64      `json:"clock_half_width_s,omitempty"`

	W180           *estimateJSON `json:"w180_rad_s,omitempty"`
	BandwidthPhase *estimateJSON `json:"bandwidth_phase_rad_s,omitempty"`
	BandwidthGain  *estimateJSON `json:"bandwidth_gain_rad_s,omitempty"`
	Bandwidth      *estimateJSON `json:"bandwidth_rad_s,omitempty"`
	PhaseDelay     *estimateJSON `json:"phase_delay_s,omitempty"`
	Correlation    *float64      `json:"bandwidth_delay_correlation,omitempty"`
	Coupling       *estimateJSON `json:"coupling,omitempty"`
	StepCoupling   *estimateJSON `json:"step_coupling,omitempty"`
	Model          *modelJSON    `json:"model,omitempty"`

	TwoSided       *twoSidedJSON `json:"two_sided_correlation,omitempty"`
	AnsweringShare *estimateJSON `json:"stick_answering_gusts_percent,omitempty"`
}

type lagJSON struct {
	At            string        `json:"at,omitempty"`
	FrequencyRadS *float64      `json:"frequency_rad_s,omitempty"`
	PhaseDeg      *estimateJSON `json:"phase_deg,omitempty"`
	TimeS         *estimateJSON `json:"time_s,omitempty"`
	Revolutions   *estimateJSON `json:"rotor_revolutions,omitempty"`
}

// twoSidedJSON is the cross-correlation of stick and rate at its largest on each side of
// zero: what follows the stick, and the stick that follows.
type twoSidedJSON struct {
	MotionBehindS *float64 `json:"motion_behind_s,omitempty"`
	MotionBehind  *float64 `json:"motion_behind,omitempty"`
	StickBehindS  *float64 `json:"stick_behind_s,omitempty"`
	StickBehind   *float64 `json:"stick_behind,omitempty"`
}

func twoSidedOf(t *response.TwoSided) *twoSidedJSON {
	if t == nil {
		return nil
	}
	return &twoSidedJSON{number(t.MotionBehindS), number(t.MotionBehind), number(t.StickBehindS), number(t.StickBehind)}
}

type modelJSON struct {
	Form       string         `json:"form"`
	Parameters object         `json:"parameters"`
	FitPercent *float64       `json:"fit_percent,omitempty"`
	Whiteness  *whitenessJSON `json:"whiteness,omitempty"`
}

// whitenessJSON says whether what the model leaves of the response is noise: chance is how
// often noise would correlate from frequency to frequency by as much.
type whitenessJSON struct {
	Points      int      `json:"points"`
	Correlation *float64 `json:"correlation,omitempty"`
	Chance      *float64 `json:"chance,omitempty"`
}

func responsesOf(d *debrief.Debrief) []responseJSON {
	out := []responseJSON{}
	for i := range d.Responses {
		r := &d.Responses[i]
		j := responseJSON{
			Axis: r.Axis, Input: r.Input, Output: r.Output, Spans: spansOf(r.Spans), Lag: []lagJSON{},
			CorrelationLag: estimateOf(r.CorrelationLagS, 1), WeightedLag: estimateOf(r.WeightedCorrelationLagS, 1),
			TransportDelay: estimateOf(r.TransportDelayS, 1), EffectiveDelay: estimateOf(r.EffectiveDelayS, 1),
			W180: estimateOf(r.W180RadS, 1), BandwidthPhase: estimateOf(r.BandwidthPhaseRadS, 1),
			BandwidthGain: estimateOf(r.BandwidthGainRadS, 1), Bandwidth: estimateOf(r.BandwidthRadS, 1),
			PhaseDelay: estimateOf(r.PhaseDelayS, 1), Coupling: estimateOf(r.Coupling, 1), Model: modelOf(r.Model),
			DiscFollowing: estimateOf(r.DiscFollowingS, 1), BarFollowing: estimateOf(r.BarFollowingS, 1),
			TwoSided: twoSidedOf(r.TwoSided), AnsweringShare: estimateOf(r.AnsweringShare, 100),
			DoubletLag: estimateOf(r.DoubletLagS, 1), StepCoupling: estimateOf(r.StepCoupling, 1),
		}
		if TimingWithheld(d, r) {
			j.Timing, j.TimingSays = "withheld", timingSays(r.Axis)
		}
		if r.BandwidthDelayCorrelation != 0 {
			j.Correlation = number(r.BandwidthDelayCorrelation)
		}
		if r.RotorSpeedRadS > 0 {
			j.RotorSpeed = number(r.RotorSpeedRadS)
		}
		if r.ClockHalfWidthS > 0 {
			j.ClockHalfWidth = number(r.ClockHalfWidthS)
		}
		for _, l := range r.Lag {
			j.Lag = append(j.Lag, lagJSON{l.At, number(l.FrequencyRadS), estimateOf(&l.PhaseDeg, 1), estimateOf(&l.TimeS, 1), estimateOf(l.Revolutions, 1)})
		}
		j.fillCurves(r)
		out = append(out, j)
	}
	return out
}

// fillCurves copies the frequencies at which every number is one. A frequency with an
// infinite error says nothing and would break readers that expect numbers; how many
// were left out is written down.
func (j *responseJSON) fillCurves(r *response.Result) {
	columns := [][]float64{r.FrequencyRadS, r.GainDB, r.PhaseDeg, r.Coherence, r.GainSDDB, r.PhaseSDDeg}
	kept := make([][]float64, len(columns))
	for c := range kept {
		kept[c] = []float64{}
	}
	for i := range r.FrequencyRadS {
		ok := true
		for _, c := range columns {
			ok = ok && i < len(c) && finite(c[i])
		}
		if !ok {
			j.LeftOut++
			continue
		}
		for c := range columns {
			kept[c] = append(kept[c], rounded(columns[c][i]))
		}
	}
	j.FrequencyRadS, j.GainDB, j.PhaseDeg = kept[0], kept[1], kept[2]
	j.Coherence, j.GainSDDB, j.PhaseSDDeg = kept[3], kept[4], kept[5]
}

func modelOf(m *response.Model) *modelJSON {
	if m == nil {
		return nil
	}
	out := &modelJSON{Form: m.Form, Parameters: object{}, FitPercent: number(m.FitPercent)}
	if w := m.Whiteness; w != nil {
		out.Whiteness = &whitenessJSON{w.Points, number(w.Correlation), number(w.Chance)}
	}
	for _, p := range m.Parameters {
		if e := estimateOf(&p.Estimate, 1); e != nil {
			out.Parameters = append(out.Parameters, member{p.Name, e})
		}
	}
	return out
}

type phasingJSON struct {
	ErrorDeg   *estimateJSON `json:"error_deg,omitempty"`
	Correction string        `json:"correction,omitempty"`
}

func phasingOf(d *debrief.Debrief) phasingJSON {
	if d.PhasingErrorRad == nil {
		return phasingJSON{}
	}
	return phasingJSON{
		estimateOf(d.PhasingErrorRad, degPerRad),
		response.PhasingCorrection(*d.PhasingErrorRad, d.Aircraft.RotorTurns),
	}
}

type modeJSON struct {
	Axis flight.Axis `json:"axis"`
	spanJSON
	Method       string        `json:"method"`
	Frequency    *estimateJSON `json:"frequency_rad_s,omitempty"`
	Damping      *estimateJSON `json:"damping_ratio,omitempty"`
	TimeToHalf   *estimateJSON `json:"time_to_half_s,omitempty"`
	TimeToDouble *estimateJSON `json:"time_to_double_s,omitempty"`
	// Hover tells the slow oscillation of the hover from quicker rocking.
	Hover bool   `json:"hover"`
	Says  string `json:"says,omitempty"`
}

func modesOf(modes []stability.Mode) []modeJSON {
	out := []modeJSON{}
	for _, m := range modes {
		out = append(out, modeJSON{
			m.Axis, spanOf(m.Span), m.Method, estimateOf(m.FrequencyRadS, 1), estimateOf(m.DampingRatio, 1),
			estimateOf(m.TimeToHalfS, 1), estimateOf(m.TimeToDoubleS, 1), m.Hover, m.Says,
		})
	}
	return out
}

type dampingJSON struct {
	Axis          flight.Axis   `json:"axis"`
	TimeS         *float64      `json:"time_s,omitempty"`
	Ratio         *estimateJSON `json:"damping_ratio,omitempty"`
	FrequencyRadS *float64      `json:"frequency_rad_s,omitempty"`
}

// dampingOf lists the apparent damping over time.
func dampingOf(points []stability.DampingPoint) []dampingJSON {
	out := []dampingJSON{}
	for i := range points {
		d := &points[i]
		out = append(out, dampingJSON{d.Axis, timeS(d.TimeS), estimateOf(&d.Ratio, 1), number(d.FrequencyRadS)})
	}
	return out
}

type unstableJSON struct {
	Axis flight.Axis    `json:"axis"`
	Kind stability.Kind `json:"kind"`
	spanJSON
	Frequency *estimateJSON `json:"frequency_rad_s,omitempty"`
	Growth    *estimateJSON `json:"growth_per_s,omitempty"`
	Reason    string        `json:"reason"`
}

func unstableOf(list []stability.Unstable) []unstableJSON {
	out := []unstableJSON{}
	for _, u := range list {
		out = append(out, unstableJSON{
			u.Axis, u.Kind, spanOf(u.Span), estimateOf(u.FrequencyRadS, 1), estimateOf(u.GrowthPerS, 1), u.Reason,
		})
	}
	return out
}

type controlJSON struct {
	Axis        flight.Axis `json:"axis"`
	UsedPercent *float64    `json:"used_percent,omitempty"`
	LeftPercent *float64    `json:"left_percent,omitempty"`
	AtStopS     *float64    `json:"at_stop_s,omitempty"`
	LowPercent  *float64    `json:"low_percent,omitempty"`
	HighPercent *float64    `json:"high_percent,omitempty"`
	spanJSON
}

func controlOf(list []stability.Control) []controlJSON {
	out := []controlJSON{}
	for _, c := range list {
		out = append(out, controlJSON{
			c.Axis, number(c.UsedPercent), number(c.LeftPercent), number(c.AtStopS),
			number(c.LowPercent), number(c.HighPercent), spanOf(c.SpanInFlight),
		})
	}
	return out
}
