package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/flight"
)

func parsed(t interface{ Fatalf(string, ...any) }, d *debrief.Debrief) map[string]any {
	var b bytes.Buffer
	if err := JSON(&b, d); err != nil {
		t.Fatalf("JSON: %v", err)
	}
	var doc map[string]any
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatalf("not JSON: %v\n%s", err, b.Bytes())
	}
	return doc
}

// follow walks a path such as "responses.0.lag" through a parsed document.
func follow(doc any, path string) (any, error) {
	for _, part := range strings.Split(path, ".") {
		switch v := doc.(type) {
		case map[string]any:
			next, ok := v[part]
			if !ok {
				return nil, fmt.Errorf("no %q in %s", part, path)
			}
			doc = next
		case []any:
			var i int
			if _, err := fmt.Sscan(part, &i); err != nil || i >= len(v) {
				return nil, fmt.Errorf("no element %s in %s", part, path)
			}
			doc = v[i]
		default:
			return nil, fmt.Errorf("nothing under %q in %s", part, path)
		}
	}
	return doc, nil
}

// The names of the published format; a rename here breaks other people's programs.
func TestJSONNames(t *testing.T) {
	doc := parsed(t, syntheticDebrief())
	names := map[string]string{
		"":            "format hop sources findings segments responses phasing wind gust modes unstable margins control verdict",
		"hop":         "name started_at duration_s configuration",
		"sources.0":   "file role rows rate_hz clock_offset_s clock_drift_ppm aligned_by channels",
		"findings.1":  "code severity file channel from_s to_s text advice",
		"segments.1":  "kind axis from_s to_s",
		"responses.0": "axis input output spans frequency_rad_s gain_db phase_deg coherence gain_sd_db phase_sd_deg correlation_lag_s doublet_lag_s effective_delay_s lag model",
		"responses.1": "w180_rad_s bandwidth_phase_rad_s bandwidth_gain_rad_s bandwidth_rad_s phase_delay_s coupling step_coupling bandwidth_delay_correlation",
		"phasing":     "error_deg",
		"wind":        "phases",
		"gust.0":      "axis input band_rad_s deg_per_m_s single_input_deg_per_m_s partial_coherence events peak_deg_per_m_s settle_s scatter_se_deg_per_m_s",
		"modes.0":     "axis from_s to_s method frequency_rad_s damping_ratio time_to_double_s hover says",
		"unstable.0":  "axis kind from_s to_s frequency_rad_s growth_per_s reason",
		"margins.0":   "axis crossover_rad_s phase_margin_deg gain_margin_db gain_low_db pilot loop assumed says",
		"control.0":   "axis used_percent left_percent at_stop_s",
		"verdict":     "proceed reasons advice",

		"margins.0.pilot":     "method biased spans gain_percent_per_deg lead_s delay_s fit_percent",
		"margins.0.loop.3":    "frequency_rad_s gain_db phase_deg gain_sd_db phase_sd_deg",
		"margins.0.assumed.2": "delay_s most_gain_percent_per_deg crossover_rad_s phase_margin_deg gain_margin_db",

		"sources.0.channels.0":        "column quantity unit sign sure",
		"responses.0.lag.0":           "frequency_rad_s phase_deg time_s",
		"responses.0.model":           "form parameters fit_percent whiteness",
		"responses.0.model.whiteness": "points correlation chance",
		"wind.phases.0":               "class from_s to_s mean_m_s sd_m_s gust3s_m_s lull3s_m_s spread_m_s gust_factor turbulence_intensity direction_deg direction_sd_deg length_m",
	}
	for where, list := range names {
		for _, name := range strings.Fields(list) {
			if _, err := follow(doc, strings.TrimPrefix(where+"."+name, ".")); err != nil {
				t.Error(err)
			}
		}
	}
}

func TestJSONValues(t *testing.T) {
	doc := parsed(t, syntheticDebrief())
	for path, want := range map[string]any{
		"format":                                  1.0,
		"hop.started_at":                          "2031-07-19T06:10:30Z",
		"sources.0.clock_offset_s":                1942207830.0,
		"sources.1.aligned_by":                    "knocks",
		"findings.0.from_s":                       0.0,
		"findings.0.to_s":                         302.96,
		"findings.0.whole_record":                 true,
		"responses.0.spans.1.0":                   120.0,
		"responses.0.correlation_lag_s.low":       0.1761,
		"responses.0.points_left_out":             2.0,
		"responses.1.coupling.interval":           "none",
		"phasing.error_deg.value":                 17.6,
		"wind.phases.0.direction_deg.high":        255.0,
		"gust.0.scatter_se_deg_per_m_s":           0.15,
		"gust.1.settle_after_s":                   3.12,
		"margins.0.gain_low_db.low":               4.9,
		"modes.0.hover":                           true,
		"responses.0.doublet_lag_s.value":         0.2013,
		"responses.1.step_coupling.high":          0.31,
		"responses.1.bandwidth_delay_correlation": -0.62,
		"responses.0.model.whiteness.correlation": 0.18,
		"gust.0.deg_per_m_s.low":                  0.9,
		"gust.0.band_rad_s.1":                     3.0,
		"wind.classes.1.stick_work.0.rms_percent": 6.1,
		"wind.classes.1.flags":                    1.0,
		"wind.classes.0.gust.1.deg_per_m_s.high":  0.6,
		"verdict.reasons.1":                       "gust spread 5.3 m/s is above the limit of 4 m/s",
		"verdict.reason_details.0.from_s":         200.0,
		"responses.0.lag.0.phase_deg.value":       -51.0,
		"responses.1.bandwidth_gain_rad_s":        map[string]any{"value": 4.1, "low": 3.3, "interval": "open"},
		"responses.2.frequency_rad_s":             []any{},
		"sources.1.clock_drift_estimate_ppm":      map[string]any{"value": 41.5, "low": 33.0, "high": 50.0},
	} {
		got, err := follow(doc, path)
		if err != nil {
			t.Error(err)
		} else if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s = %v, want %v", path, got, want)
		}
	}
	for _, path := range []string{"responses.0.transport_delay_s", "modes.0.time_to_half_s", "margins.1.gain_margin_db", "margins.1.gain_low_db", "gust.0.settle_after_s", "gust.1.scatter_se_deg_per_m_s", "responses.0.timing", "responses.0.bandwidth_delay_correlation", "wind.classes.0.flags", "wind.classes.1.gust.0.deg_per_m_s", "margins.1.pilot"} {
		if v, err := follow(doc, path); err == nil {
			t.Errorf("%s = %v, want it absent", path, v)
		}
	}
	gains, err := follow(doc, "responses.0.gain_db")
	if err != nil || len(gains.([]any)) != 3 {
		t.Errorf("gain_db = %v, want the three frequencies with an error", gains)
	}
}

// A list is never null, whatever is missing.
func TestJSONNeverNull(t *testing.T) {
	for _, d := range []*debrief.Debrief{syntheticDebrief(), emptyDebrief()} {
		walk(t, "", parsed(t, d))
	}
}

func walk(t interface{ Fatalf(string, ...any) }, path string, v any) {
	switch v := v.(type) {
	case nil:
		t.Fatalf("%s is null", path)
	case map[string]any:
		for k, x := range v {
			walk(t, path+"."+k, x)
		}
	case []any:
		for i, x := range v {
			walk(t, fmt.Sprint(path, ".", i), x)
		}
	}
}

func TestParametersKeepOrderAndNames(t *testing.T) {
	got, err := compact(object{{"b", 1}, {"a", 2}, {"b", 3}})
	if want := `{"b":1,"a":2,"b_2":3}`; err != nil || string(got) != want {
		t.Errorf("got %s, %v; want %s", got, err, want)
	}
}

// anyNumber draws numbers that break writers of JSON among ordinary ones.
func anyNumber() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.Float64Range(-1e6, 1e6), rapid.Float64(),
		rapid.SampledFrom([]float64{0, math.Copysign(0, -1), math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, 5e-324}),
	)
}

func anyEstimate(t *rapid.T, label string) *flight.Estimate {
	if rapid.Bool().Draw(t, label+" known") {
		return est(anyNumber().Draw(t, label), anyNumber().Draw(t, label+" low"), anyNumber().Draw(t, label+" high"))
	}
	return nil
}

// Whatever the numbers and texts are, the document parses, holds no null, and texts come
// back as they were.
func TestJSONOfAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := syntheticDebrief()
		text := rapid.String().Draw(t, "text")
		d.Hop.Name, d.Hop.DurationS = text, anyNumber().Draw(t, "duration")
		d.Hop.Sources[0].Clock.OffsetS = anyNumber().Draw(t, "offset")
		d.Hop.Channels[0].Sure = anyNumber().Draw(t, "sure")
		d.PhasingErrorRad = anyEstimate(t, "phasing")
		d.Wind.Whole.MeanMS = anyEstimate(t, "wind")
		d.Wind.Gusts[0].PartialCoherence = anyNumber().Draw(t, "coherence")
		d.Wind.Gusts[0].BandRadS[0] = anyNumber().Draw(t, "band")
		d.Stability.Unstable[0].Span.FromS = anyNumber().Draw(t, "from")
		d.Stability.Control[0].LeftPercent = anyNumber().Draw(t, "left")
		d.Responses[0].Lag[0] = response.LagAt{FrequencyRadS: anyNumber().Draw(t, "lag")}
		d.Responses[0].GainDB = rapid.SliceOfN(anyNumber(), 0, 8).Draw(t, "gain")
		d.Responses[0].Model.Parameters[0] = response.Parameter{Name: text, Estimate: *est(anyNumber().Draw(t, "p"), 0, 1)}
		doc := parsed(t, d)
		walk(t, "", doc)
		if got, _ := follow(doc, "hop"); got.(map[string]any)["name"] != strings.ToValidUTF8(text, "\ufffd") {
			t.Fatalf("name came back as %q, want %q", got, text)
		}
		var b bytes.Buffer
		if err := Markdown(&b, d); err != nil {
			t.Fatalf("Markdown: %v", err)
		}
		if s := b.String(); strings.Contains(s, "NaN") && !strings.Contains(text, "NaN") || strings.Contains(s, "Inf ") {
			t.Fatalf("the card shows a number that is none:\n%s", s)
		}
	})
}
