package report

import (
	"hopcard/analysis/debrief"
	"hopcard/flight"
)

type hopJSON struct {
	Name          string   `json:"name"`
	StartedAt     string   `json:"started_at,omitempty"`
	DurationS     *float64 `json:"duration_s,omitempty"`
	Configuration string   `json:"configuration"`
	Notes         string   `json:"notes,omitempty"`
}

func hopOf(h *flight.Hop) hopJSON {
	return hopJSON{h.Name, dateOf(h.StartedAt), timeS(h.DurationS), h.Configuration, h.Notes}
}

type aircraftJSON struct {
	Name       string     `json:"name"`
	Field      string     `json:"field"`
	RotorTurns string     `json:"rotor_turns"`
	Limits     limitsJSON `json:"limits"`
}

type limitsJSON struct {
	AttitudeDeg        *float64 `json:"attitude_deg,omitempty"`
	RateDegS           *float64 `json:"rate_deg_s,omitempty"`
	WindMeanMS         *float64 `json:"wind_mean_m_s,omitempty"`
	GustSpreadMS       *float64 `json:"gust_spread_m_s,omitempty"`
	ControlLeftPercent *float64 `json:"control_left_percent,omitempty"`
	DampingRatio       *float64 `json:"damping_ratio,omitempty"`
	PhaseMarginDeg     *float64 `json:"phase_margin_deg,omitempty"`
	GainMarginDB       *float64 `json:"gain_margin_db,omitempty"`
}

func aircraftOf(a *flight.Aircraft) aircraftJSON {
	l := a.Limits
	return aircraftJSON{a.Name, a.Field, a.RotorTurns, limitsJSON{
		number(l.AttitudeDeg), number(l.RateDegS), number(l.WindMeanMS), number(l.GustSpreadMS),
		number(l.ControlLeftPercent), number(l.DampingRatio), number(l.PhaseMarginDeg), number(l.GainMarginDB),
	}}
}

type sourceJSON struct {
	File          string        `json:"file"`
	Role          flight.Role   `json:"role"`
	Rows          int           `json:"rows"`
	RateHz        *float64      `json:"rate_hz,omitempty"`
	ClockOffsetS  *float64      `json:"clock_offset_s,omitempty"`
	ClockDriftPPM *float64      `json:"clock_drift_ppm,omitempty"`
	AlignedBy     string        `json:"aligned_by"`
	Offset        *estimateJSON `json:"clock_offset_estimate_s,omitempty"`
	Drift         *estimateJSON `json:"clock_drift_estimate_ppm,omitempty"`
	ResidualS     *float64      `json:"clock_residual_s,omitempty"`
	IntervalS     *float64      `json:"clock_half_interval_s,omitempty"`
	Dress         string        `json:"dress,omitempty"`
	SHA256        string        `json:"sha256,omitempty"`
	Channels      []channelJSON `json:"channels"`
}

type channelJSON struct {
	Column   string          `json:"column"`
	Quantity flight.Quantity `json:"quantity"`
	Unit     flight.Unit     `json:"unit"`
	Sign     int             `json:"sign"`
	Sure     *float64        `json:"sure,omitempty"`
	Guessed  bool            `json:"unit_guessed,omitempty"`
	Derived  bool            `json:"derived,omitempty"`
	Samples  int             `json:"samples"`
}

func sourcesOf(h *flight.Hop) []sourceJSON {
	out := []sourceJSON{}
	for i, s := range h.Sources {
		c := s.Clock
		j := sourceJSON{
			File: s.File, Role: s.Role, Rows: s.Rows, RateHz: number(s.RateHz),
			ClockOffsetS: exact(c.OffsetS), ClockDriftPPM: number(c.DriftPPM), AlignedBy: string(c.AlignedBy),
			Offset: exactEstimate(c.Offset), Drift: estimateOf(c.Drift, 1), ResidualS: number(c.ResidualS),
			IntervalS: number(c.IntervalS), Dress: s.Dress, SHA256: s.SHA256, Channels: []channelJSON{},
		}
		for _, t := range s.TimeColumns {
			// Stamps in a wrong unit do not pass the reader: what is here is sure.
			j.Channels = append(j.Channels, channelJSON{
				t.Column, flight.Time, t.Unit, 1, number(1), false, false, s.Rows,
			})
		}
		for k := range h.Channels {
			if ch := &h.Channels[k]; ch.Source == i {
				j.Channels = append(j.Channels, channelJSON{
					ch.Column, ch.Quantity, ch.Unit, ch.Sign, number(ch.Sure), ch.Guessed, ch.Derived,
					ch.Len(),
				})
			}
		}
		out = append(out, j)
	}
	return out
}

// exactEstimate is estimateOf with every digit: offsets may count from an epoch.
func exactEstimate(e *flight.Estimate) *estimateJSON {
	out := estimateOf(e, 1)
	if out != nil {
		out.Value = e.Value
		if out.Low != nil {
			out.Low = exact(e.Low)
		}
		if out.High != nil {
			out.High = exact(e.High)
		}
	}
	return out
}

type findingJSON struct {
	Code     flight.Code     `json:"code"`
	Severity flight.Severity `json:"severity"`
	File     string          `json:"file"`
	Channel  string          `json:"channel"`
	spanJSON
	Whole  bool   `json:"whole_record,omitempty"`
	Text   string `json:"text"`
	Advice string `json:"advice"`
}

func findingsOf(h *flight.Hop, findings []flight.Finding) []findingJSON {
	out := []findingJSON{}
	for _, f := range findings {
		span, whole := wholeOr(h, f.Span)
		out = append(out, findingJSON{f.Code, f.Severity, f.File, f.Channel, span, whole, f.Text, f.Advice})
	}
	return out
}

type segmentJSON struct {
	Kind flight.SegmentKind `json:"kind"`
	Axis flight.Axis        `json:"axis"`
	spanJSON
	BandRadS []float64 `json:"band_rad_s,omitempty"`
}

func segmentsOf(segments []flight.Segment) []segmentJSON {
	out := []segmentJSON{}
	for _, s := range segments {
		j := segmentJSON{Kind: s.Kind, Axis: s.Axis, spanJSON: spanOf(s.Span)}
		if s.BandRadS != [2]float64{} {
			j.BandRadS = bandOf(s.BandRadS)
		}
		out = append(out, j)
	}
	return out
}

// bandOf lists the two ends of a frequency band, or nothing if one is no number.
func bandOf(band [2]float64) []float64 {
	if !finite(band[0]) || !finite(band[1]) {
		return []float64{}
	}
	return []float64{rounded(band[0]), rounded(band[1])}
}

type markJSON struct {
	TimeS *float64 `json:"time_s,omitempty"`
	Text  string   `json:"text"`
	File  string   `json:"file"`
}

func marksOf(h *flight.Hop) []markJSON {
	out := []markJSON{}
	for _, m := range h.Marks {
		out = append(out, markJSON{timeS(m.TimeS), m.Text, m.File})
	}
	return out
}

type verdictJSON struct {
	Proceed debrief.Proceed `json:"proceed"`
	Reasons []string        `json:"reasons"`
	Advice  []string        `json:"advice"`
	Details []reasonJSON    `json:"reason_details"`
}

type reasonJSON struct {
	Text   string          `json:"text"`
	Weight debrief.Proceed `json:"weight"`
	spanJSON
	Whole bool `json:"whole_record,omitempty"`
}

func verdictOf(h *flight.Hop, v debrief.Verdict) verdictJSON {
	out := verdictJSON{v.Proceed, []string{}, append([]string{}, v.Advice...), []reasonJSON{}}
	for _, r := range v.Reasons {
		span, whole := wholeOr(h, r.Span)
		out.Reasons = append(out.Reasons, r.Text)
		out.Details = append(out.Details, reasonJSON{r.Text, r.Weight, span, whole})
	}
	return out
}
