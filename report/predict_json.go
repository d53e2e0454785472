package report

import (
	"io"
	"math"

	"hopcard/analysis/identify"
	"hopcard/analysis/rotor"
)

// PredictJSON writes a prediction as one JSON object. Numbers that do not exist are absent;
// none has an interval, they are the model's. phasing_error_deg is the advance angle less
// the lag of the blades: positive where the input comes too early. The only error is one
// of w.
func PredictJSON(w io.Writer, c Prediction) error {
	n := c.Numbers
	phasingDeg := n.PhasingErrorRad * degPerRad
	if c.Configuration.AdvanceDeg == 0 {
		phasingDeg = math.NaN() // assumed, not known
	}
	sensitivities := []object{}
	for _, s := range c.Sensitivities {
		sensitivities = append(sensitivities, object{
			{"dimension", s.Key}, {"step", rounded(s.Step)}, {"number", s.Number.Name},
			{"unit", string(s.Number.Unit)}, {"per_step", rounded(s.PerStep)},
		})
	}
	return writeDocument(w, object{
		{"format", JSONFormat},
		{"configuration", c.Configuration.Name},
		{"changes", changesOf(c.Changes)},
		{"head", known(
			value{"lock_number", n.Head.LockNumber}, value{"flap_frequency_per_rev", n.FlapFrequencyPerRev},
			value{"lag_deg", n.LagRad * degPerRad}, value{"phasing_error_deg", phasingDeg},
			value{"disc_following_time_s", n.DiscTimeS}, value{"bar_following_time_s", n.BarTimeS},
			value{"disc_tilt_at_full_stick_deg", n.StickDiscRad * degPerRad}, value{"control_delay_s", n.Head.DelayS})},
		{"phasing", c.phasing()},
		{"axes", []object{axisOf("roll", n.Roll), axisOf("pitch", n.Pitch)}},
		{"sensitivities", sensitivities},
		{"charts", chartsOf(c.Charts)},
		{"assumptions", append([]string{}, n.Assumptions...)},
		{"cautions", paperCautions()},
	})
}

func changesOf(changes []identify.Changed) []object {
	out := []object{}
	for _, x := range changes {
		out = append(out, object{{"dimension", x.Key}, {"from", rounded(x.From)}, {"to", rounded(x.To)}})
	}
	return out
}

type value struct {
	name string
	x    float64
}

// known is the object of the values that are numbers.
func known(values ...value) object {
	o := object{}
	for _, v := range values {
		if x := number(v.x); x != nil {
			o = append(o, member{v.name, *x})
		}
	}
	return o
}

func axisOf(name string, a rotor.AxisPrediction) object {
	o := append(object{{"axis", name}}, known(
		value{"bandwidth_rad_s", a.Bandwidth.BandwidthRadS}, value{"w180_rad_s", a.Bandwidth.W180RadS},
		value{"phase_delay_s", a.Bandwidth.PhaseDelayS}, value{"coupling", a.Coupling})...)
	for _, m := range []struct {
		name string
		mode *rotor.Mode
	}{{"hover_oscillation", a.Hover}, {"short_oscillation", a.Short}} {
		if m.mode != nil {
			half := m.mode.TimeToHalfS()
			values := []value{{"frequency_rad_s", m.mode.NaturalRadS()}, {"damping_ratio", m.mode.DampingRatio()}}
			if half > 0 {
				values = append(values, value{"time_to_half_s", half})
			} else {
				values = append(values, value{"time_to_double_s", -half})
			}
			o = append(o, member{m.name, known(values...)})
		}
	}
	pilots := []object{}
	for _, r := range a.Pilots {
		pilots = append(pilots, known(value{"reaction_s", r.DelayS}, value{"most_gain_percent_per_deg", perDegree(r.MostGainPerRad)},
			value{"at_rad_s", r.AtRadS}, value{"least_gain_percent_per_deg", perDegree(r.LeastGainPerRad)},
			value{"phase_margin_at_half_deg", r.PhaseMarginDeg}))
	}
	o = append(o, member{"pilots", pilots})
	gusts := []object{}
	for k, w := range rotor.GustAtRadS() {
		gusts = append(gusts, known(value{"frequency_rad_s", w}, value{"deg_per_m_s", a.GustRadPerMS[k] * degPerRad}))
	}
	return append(o, member{"gust", gusts})
}
