package trend

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

func est(value, half float64) *flight.Estimate {
	return &flight.Estimate{Value: value, Low: value - half, High: value + half}
}

func whinchat() *flight.Aircraft {
	light := flight.Configuration{Name: "light bar", RotorSpeedRPM: 520, Bar: &flight.Bar{WeightKg: 0.3, BarToBlade: 0.6}}
	heavy := light
	heavy.Name, heavy.Bar = "heavy bar", &flight.Bar{WeightKg: 0.45, BarToBlade: 0.6, PaddleChordM: 0.1}
	bare := light
	bare.Name, bare.Bar, bare.HubHeightM = "bare head", nil, 1.1
	return &flight.Aircraft{Name: "Whinchat", Configurations: []flight.Configuration{light, heavy, bare}}
}

// hop is a debrief of the given day of May with a correlation lag in roll; day 0 has no date.
func hop(name, configuration string, day int, lagS float64) *debrief.Debrief {
	d := &debrief.Debrief{
		Hop: &flight.Hop{Name: name, Configuration: configuration}, Aircraft: whinchat(),
		Responses: []response.Result{
			{Axis: flight.RollAxis, Input: flight.LatStick, Output: response.Rate, CorrelationLagS: est(lagS, 0.004), DoubletLagS: est(lagS+0.02, 0.004)},
			{Axis: flight.RollAxis, Input: flight.LatStick, Output: response.Attitude, BandwidthPhaseRadS: est(2.5, 0.2)},
		},
		Verdict: debrief.Verdict{Proceed: debrief.Yes},
	}
	if day > 0 {
		d.Hop.StartedAt = time.Date(2026, 5, day, 8, 0, 0, 0, time.UTC)
	}
	return d
}

func find(t *testing.T, tr *Trend, key string) Series {
	t.Helper()
	for _, s := range tr.Series {
		if s.Key == key {
			return s
		}
	}
	t.Fatalf("no series %s", key)
	return Series{}
}

func TestOrderChangesAndLevels(t *testing.T) {
	tr := Of([]*debrief.Debrief{
		hop("undated", "light bar", 0, 0.2), hop("third", "heavy bar", 9, 0.140), hop("first", "light bar", 2, 0.100),
		hop("fourth", "heavy bar", 10, 0.150), hop("second", "light bar", 3, 0.104),
	})
	var names []string
	for _, h := range tr.Hops {
		names = append(names, h.Name)
	}
	if got := strings.Join(names, " "); got != "first second third fourth undated" {
		t.Errorf("order %s", got)
	}
	for i, h := range tr.Hops {
		if (h.Change != nil) != (i == 2 || i == 4) {
			t.Errorf("%s: change %+v", h.Name, h.Change)
		}
	}
	want := &Change{From: "light bar", To: "heavy bar", What: []string{"bar.weight_kg 0.3 -> 0.45", "bar.paddle_chord_m not given -> 0.1"}}
	if !reflect.DeepEqual(tr.Hops[2].Change, want) {
		t.Errorf("change %+v", tr.Hops[2].Change)
	}
	lag := find(t, tr, "roll_correlation_lag")
	if lag.Unit != "ms" || len(lag.Points) != 5 || math.Abs(lag.Points[2].Estimate.Value-140) > 1e-9 || lag.Warning == "" {
		t.Errorf("%+v", lag)
	}
	if of := find(t, tr, "roll_doublet_lag"); math.Abs(of.Points[2].Estimate.Value-160) > 1e-9 || of.Warning != "" || len(of.Levels) != 2 {
		t.Errorf("lag of a doublet: %+v", of)
	}
	if len(lag.Levels) != 2 || lag.Levels[0].Configuration != "light bar" || lag.Levels[0].Hops != 3 || lag.Levels[1].Hops != 2 {
		t.Fatalf("levels %+v", lag.Levels)
	}
	if m := lag.Levels[1].Mean; math.Abs(m.Value-145) > 0.01 || !(m.Low < 140 && m.High > 150) {
		t.Errorf("mean %+v: two hops 10 ms apart tell little", m)
	}
	if all := strings.Join(tr.Notes, " "); !strings.Contains(all, "in order of name: undated.") {
		t.Errorf("notes %q", all)
	}
}

func TestUnknownConfigurationIsNoChange(t *testing.T) {
	tr := Of([]*debrief.Debrief{hop("a", "light bar", 1, 0.1), hop("b", "", 2, 0.1), hop("c", "bare head", 3, 0.1), hop("d", "light bar", 4, 0.1), hop("e", "odd head", 5, 0.1)})
	for i, want := range []bool{false, false, false, true, true} {
		if (tr.Hops[i].Change != nil) != want {
			t.Errorf("%s: change %+v", tr.Hops[i].Name, tr.Hops[i].Change)
		}
	}
	if got := tr.Hops[3].Change.What; !slices.Equal(got, []string{"bar added", "hub_height_m 1.1 -> not given"}) {
		t.Errorf("changed %q", got)
	}
	if got := tr.Hops[4].Change.What; len(got) != 0 {
		t.Errorf("changed to a head that aircraft.toml does not know: %q", got)
	}
	if lag := find(t, tr, "roll_correlation_lag"); len(lag.Levels) != 3 {
		t.Errorf("levels %+v", lag.Levels)
	}
	if all := strings.Join(tr.Notes, " "); !strings.Contains(all, "Without a configuration: b.") {
		t.Errorf("notes %q", all)
	}
}

// windy puts a flight in air of that class with margins, gusts and control used.
func windy(d *debrief.Debrief, class wind.Class, marginDeg float64) *debrief.Debrief {
	d.Wind.Whole = &wind.Phase{Class: class, MeanMS: est(4, 0.5)}
	d.Wind.Classes = []wind.ClassRow{{Class: class, TimeS: 100, MeanMS: 4}}
	d.Stability.Margins = []stability.Margin{{Axis: flight.RollAxis, PhaseMarginDeg: est(marginDeg, 5)}}
	d.Stability.Control = []stability.Control{{Axis: flight.RollAxis, LeftPercent: 35}}
	d.Stability.Modes = []stability.Mode{
		{Axis: flight.RollAxis, DampingRatio: est(0.5, 0.01), FrequencyRadS: est(2, 0.1)},
		{Axis: flight.RollAxis, DampingRatio: est(0.1, 0.08), FrequencyRadS: est(1, 0.1)},
	}
	d.Stability.Unstable = []stability.Unstable{{Axis: flight.RollAxis, Kind: stability.PilotCoupled}}
	d.Findings = []flight.Finding{{Severity: flight.Stop}, {Severity: flight.Note}, {Severity: flight.Caution}}
	return d
}

func TestNumbersOfTheAir(t *testing.T) {
	tr := Of([]*debrief.Debrief{
		windy(hop("a", "light bar", 1, 0.1), wind.Calm, 60), windy(hop("b", "light bar", 2, 0.1), wind.Gusty, 40),
		windy(hop("c", "light bar", 3, 0.1), wind.Gusty, 44), hop("d", "light bar", 4, 0.1),
	})
	margin := find(t, tr, "roll_phase_margin")
	if !margin.Air || len(margin.Levels) != 2 || margin.Levels[0].Air != wind.Calm || margin.Levels[1].Hops != 2 ||
		math.Abs(margin.Levels[1].Mean.Value-42) > 1e-6 {
		t.Errorf("levels %+v", margin.Levels)
	}
	if p := margin.Points[3]; p.Estimate != nil || p.Reason != "no wind measured" {
		t.Errorf("without wind %+v", p)
	}
	if p := find(t, tr, "roll_least_damping_ratio").Points[0]; p.Estimate == nil || p.Estimate.Value != 0.1 {
		t.Errorf("least damping %+v", p)
	}
	left := find(t, tr, "roll_control_left")
	if p := left.Points[0]; p.Estimate == nil || p.Estimate.Value != 35 || p.Estimate.HasInterval() || len(left.Levels) != 0 {
		t.Errorf("control left %+v", left)
	}
	if h := tr.Hops[0]; h.Air != wind.Calm || h.Stops != 1 || h.Cautions != 1 || h.Flags != 1 || h.MeanMS == nil {
		t.Errorf("%+v", h)
	}
	if table := tr.Tables[0]; len(tr.Tables) != 1 || table.Flags != 3 || table.Yes != 4 || len(table.Classes) != 2 ||
		table.Classes[1].TimeS != 200 || len(table.Hops) != 4 {
		t.Errorf("%+v", tr.Tables)
	}
}

// A margin is shown without a wind too, but is pooled with no other.
func TestMarginWithoutWind(t *testing.T) {
	d := hop("a", "light bar", 1, 0.1)
	d.Stability.Margins = []stability.Margin{{Axis: flight.RollAxis, PhaseMarginDeg: est(50, 5)}}
	margin := find(t, Of([]*debrief.Debrief{d}), "roll_phase_margin")
	if e := margin.Points[0].Estimate; e == nil || e.Value != 50 || len(margin.Levels) != 0 {
		t.Errorf("%+v", margin)
	}
}

// Every absent number has its reason, every number its place.
func TestSeriesAreWhole(t *testing.T) {
	tr := Of([]*debrief.Debrief{hop("a", "light bar", 1, 0.1), windy(hop("b", "heavy bar", 2, 0.1), wind.Steady, 50)})
	seen := map[string]bool{}
	for _, s := range tr.Series {
		if seen[s.Key] || s.Name == "" || len(s.Points) != 2 {
			t.Errorf("series %+v", s)
		}
		seen[s.Key] = true
		for _, p := range s.Points {
			if (p.Estimate == nil) != (p.Reason != "") {
				t.Errorf("%s: %+v", s.Key, p)
			}
		}
	}
	if tr := Of(nil); len(tr.Hops) != 0 || len(tr.Series) == 0 {
		t.Errorf("of nothing: %+v", tr)
	}
}

// The order in which hops are handed over is of no matter, and a later date for all changes
// no number.
func TestTrendProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "hops")
		names := []string{"light bar", "heavy bar", "bare head", ""}
		var hops, later []*debrief.Debrief
		for i := range n {
			c := rapid.SampledFrom(names).Draw(t, "configuration")
			lag := rapid.Float64Range(0.05, 0.3).Draw(t, "lag")
			day := rapid.IntRange(1, 20).Draw(t, "day")
			name := string(rune('a' + i))
			hops, later = append(hops, hop(name, c, day, lag)), append(later, hop(name, c, day+7, lag))
		}
		want := Of(hops)
		if got := Of(rapid.Permutation(hops).Draw(t, "turned")); !reflect.DeepEqual(plain(got), plain(want)) {
			t.Fatalf("order matters")
		}
		got := Of(later)
		for i := range got.Hops {
			got.Hops[i].StartedAt = got.Hops[i].StartedAt.AddDate(0, 0, -7)
		}
		if !reflect.DeepEqual(plain(got), plain(want)) {
			t.Fatalf("the date matters")
		}
	})
}

// plain makes NaN comparable.
func plain(tr *Trend) *Trend {
	for i := range tr.Series {
		for k := range tr.Series[i].Levels {
			if l := &tr.Series[i].Levels[k]; math.IsNaN(l.SpreadSD) {
				l.SpreadSD = -1
			}
		}
	}
	return tr
}
