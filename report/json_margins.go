package report

import (
	"math"
	"slices"

	"hopcard/analysis/stability"
	"hopcard/flight"
)

// percentPerDeg turns fractions of full stick travel per rad into percent per degree.
const percentPerDeg = 100 / degPerRad

type marginJSON struct {
	Axis        flight.Axis   `json:"axis"`
	Crossover   *estimateJSON `json:"crossover_rad_s,omitempty"`
	PhaseMargin *estimateJSON `json:"phase_margin_deg,omitempty"`
	GainMargin  *estimateJSON `json:"gain_margin_db,omitempty"`
	GainLow     *estimateJSON `json:"gain_low_db,omitempty"` // by how much the gain may fall
	Pilot       *pilotJSON    `json:"pilot,omitempty"`
	Loop        []loopJSON    `json:"loop"`
	Assumed     []assumedJSON `json:"assumed"`
	Says        string        `json:"says,omitempty"`
}

// pilotJSON is the pilot as measured. Lead_s and delay_s are of the fitted pilot, whose
// stick is -gain (1 + lead s) exp(-delay s) times attitude.
type pilotJSON struct {
	Method string        `json:"method"`
	Biased bool          `json:"biased"`
	Spans  [][2]float64  `json:"spans"`
	Gain   *estimateJSON `json:"gain_percent_per_deg,omitempty"`
	LeadS  *estimateJSON `json:"lead_s,omitempty"`
	DelayS *estimateJSON `json:"delay_s,omitempty"`
	Fit    *float64      `json:"fit_percent,omitempty"`
}

type loopJSON struct {
	FrequencyRadS *float64 `json:"frequency_rad_s,omitempty"`
	GainDB        *float64 `json:"gain_db,omitempty"`
	PhaseDeg      *float64 `json:"phase_deg,omitempty"`
	GainSDDB      *float64 `json:"gain_sd_db,omitempty"`
	PhaseSDDeg    *float64 `json:"phase_sd_deg,omitempty"`
}

type assumedJSON struct {
	DelayS      *float64      `json:"delay_s,omitempty"`
	MostGain    *estimateJSON `json:"most_gain_percent_per_deg,omitempty"`
	Crossover   *estimateJSON `json:"crossover_rad_s,omitempty"`
	PhaseMargin *estimateJSON `json:"phase_margin_deg,omitempty"`
	GainMargin  *estimateJSON `json:"gain_margin_db,omitempty"`
}

func marginsOf(list []stability.Margin) []marginJSON {
	out := []marginJSON{}
	for i := range list {
		m := &list[i]
		j := marginJSON{
			Axis: m.Axis, Crossover: estimateOf(m.CrossoverRadS, 1), PhaseMargin: estimateOf(m.PhaseMarginDeg, 1),
			GainMargin: estimateOf(m.GainMarginDB, 1), GainLow: estimateOf(m.GainLowDB, 1), Pilot: pilotOf(m.Pilot), Loop: []loopJSON{}, Assumed: []assumedJSON{}, Says: m.Says,
		}
		for _, l := range loopPoints(m) {
			j.Loop = append(j.Loop, loopJSON{
				number(l.FrequencyRadS), number(l.GainDB), number(l.PhaseDeg), number(l.GainSDDB), number(l.PhaseSDDeg),
			})
		}
		for _, a := range m.Assumed {
			j.Assumed = append(j.Assumed, assumedJSON{
				number(a.DelayS), estimateOf(a.MostGainPerRad, percentPerDeg), estimateOf(a.CrossoverRadS, 1),
				estimateOf(a.PhaseMarginDeg, 1), estimateOf(a.GainMarginDB, 1),
			})
		}
		out = append(out, j)
	}
	return out
}

// loopPoints is the open loop with its phase placed by whole turns, so that at the crossover it
// lies the phase margin above -180 deg, and otherwise begins within half a turn of that.
func loopPoints(m *stability.Margin) []stability.LoopPoint {
	if len(m.Loop) == 0 {
		return nil
	}
	at, want := 0, -180.0
	if c := m.CrossoverRadS; c != nil && m.PhaseMarginDeg != nil && finite(m.PhaseMarginDeg.Value) {
		want += m.PhaseMarginDeg.Value
		for i, l := range m.Loop {
			if math.Abs(l.FrequencyRadS-c.Value) < math.Abs(m.Loop[at].FrequencyRadS-c.Value) {
				at = i
			}
		}
	}
	turns := math.Round((m.Loop[at].PhaseDeg - want) / 360)
	if turns == 0 || !finite(turns) {
		return m.Loop
	}
	out := slices.Clone(m.Loop)
	for i := range out {
		out[i].PhaseDeg -= 360 * turns
	}
	return out
}

func pilotOf(p *stability.Pilot) *pilotJSON {
	if p == nil {
		return nil
	}
	return &pilotJSON{
		p.Method, p.Biased, spansOf(p.Spans), estimateOf(p.GainPerRad, percentPerDeg), estimateOf(p.LeadS, 1),
		estimateOf(p.DelayS, 1), number(p.FitPercent),
	}
}
