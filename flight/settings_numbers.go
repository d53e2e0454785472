package flight

import (
	"fmt"
	"math"
	"strings"
)

// numberRule is what a number of aircraft.toml must be: from least to most, with the least
// itself only if it may be least. A number that is left out is not looked at.
type numberRule struct {
	table, key  string
	where       string // the table as an error names it
	value       *float64
	least, most float64
	mayBeLeast  bool
	unit        string
	usual       float64 // of limits and wind classes: what holds where the line is left out
}

// checkNumbers makes sure that every number of aircraft.toml can be meant. text is what a
// was decoded from: it tells a zero that is written from a number left out, which a zero
// would be taken for, and on which line a number stands.
func (a *Aircraft) checkNumbers(path, text string) error {
	at := numberLines(text)
	rules := a.numberRules()
	for i := range a.Configurations {
		rules = append(rules, a.Configurations[i].numberRules(fmt.Sprintf("configuration.%d", i))...)
	}
	for _, r := range rules {
		line, written := at[r.table+"."+r.key]
		v := *r.value
		if v == 0 && !written || r.allows(v) {
			continue
		}
		return &SettingsError{path, line, r.says(v)}
	}
	for i, c := range a.Configurations {
		if b := c.Bar; b != nil && b.PaddleToM != 0 && b.PaddleToM <= b.PaddleFromM {
			return &SettingsError{path, at[fmt.Sprintf("configuration.%d.bar.paddle_to_m", i)], fmt.Sprintf(
				"configuration %q, bar: paddle_to_m = %g: write the outer radius (m), above paddle_from_m = %g", c.Name, b.PaddleToM, b.PaddleFromM)}
		}
	}
	return nil
}

func (r *numberRule) allows(v float64) bool {
	return (v > r.least || v == r.least && r.mayBeLeast) && v <= r.most && !math.IsInf(v, 0)
}

// says says what is wrong with v, and what to write.
func (r *numberRule) says(v float64) string {
	want := "above"
	if r.mayBeLeast {
		want = "from"
	}
	want = fmt.Sprintf("a number %s %g", want, r.least)
	if math.IsInf(r.least, -1) {
		want = "a number"
	}
	if !math.IsInf(r.most, 1) {
		want += fmt.Sprintf(" to %g", r.most)
	}
	if r.unit != "" {
		want += " (" + r.unit + ")"
	}
	without := "if it is not known"
	if r.table == "limits" || r.table == "wind_class" {
		without = fmt.Sprintf("for the usual %g", r.usual)
	}
	return fmt.Sprintf("%s: %s = %g: write %s, or leave the line out %s", r.where, r.key, v, want, without)
}

func (a *Aircraft) numberRules() []numberRule {
	inf, l, d, w := math.Inf(1), &a.Limits, DefaultLimits(), DefaultWindClass()
	return []numberRule{
		{"limits", "attitude_deg", "limits", &l.AttitudeDeg, 0, 180, false, "deg", d.AttitudeDeg},
		{"limits", "rate_deg_s", "limits", &l.RateDegS, 0, inf, false, "deg/s", d.RateDegS},
		{"limits", "wind_mean_m_s", "limits", &l.WindMeanMS, 0, inf, false, "m/s", d.WindMeanMS},
		{"limits", "gust_spread_m_s", "limits", &l.GustSpreadMS, 0, inf, false, "m/s", d.GustSpreadMS},
		{"limits", "control_left_percent", "limits", &l.ControlLeftPercent, 0, 100, false, "percent", d.ControlLeftPercent},
		{"limits", "damping_ratio", "limits", &l.DampingRatio, -1, 1, true, "", d.DampingRatio},
		{"limits", "phase_margin_deg", "limits", &l.PhaseMarginDeg, 0, 180, false, "deg", d.PhaseMarginDeg},
		{"limits", "gain_margin_db", "limits", &l.GainMarginDB, 0, inf, false, "dB", d.GainMarginDB},
		{"wind_class", "calm_mean_m_s", "wind_class", &a.WindClass.CalmMeanMS, 0, inf, false, "m/s", w.CalmMeanMS},
		{"wind_class", "gusty_spread_m_s", "wind_class", &a.WindClass.GustySpreadMS, 0, inf, false, "m/s", w.GustySpreadMS},
		{"anemometer", "distance_constant_m", "anemometer", &a.Anemometer.DistanceConstantM, 0, inf, true, "m", 0},
	}
}

// numberRules are those of a configuration written in that table. Angles may have either
// sign, and so may the links that mix: a bell crank turns a sense round.
func (c *Configuration) numberRules(table string) []numberRule {
	inf, where := math.Inf(1), fmt.Sprintf("configuration %q", c.Name)
	rules := []numberRule{
		{table, "rotor_speed_rpm", where, &c.RotorSpeedRPM, 0, inf, false, "rpm", 0},
		{table, "mass_kg", where, &c.MassKg, 0, inf, false, "kg", 0},
		{table, "hub_height_m", where, &c.HubHeightM, 0, inf, false, "m above the centre of gravity", 0},
		{table, "roll_inertia_kg_m2", where, &c.RollInertiaKgM2, 0, inf, false, "kg m2", 0},
		{table, "pitch_inertia_kg_m2", where, &c.PitchInertKgM2, 0, inf, false, "kg m2", 0},
		{table, "rotor_radius_m", where, &c.RotorRadiusM, 0, inf, false, "m", 0},
		{table, "blade_chord_m", where, &c.BladeChordM, 0, inf, false, "m", 0},
		{table, "lift_slope_per_rad", where, &c.LiftSlope, 0, inf, false, "per rad", 0},
		{table, "flap_inertia_kg_m2", where, &c.FlapInertiaKg, 0, inf, false, "kg m2", 0},
		{table, "hinge_offset", where, &c.HingeOffset, 0, 0.5, true, "of the radius", 0},
		{table, "delta3_deg", where, &c.Delta3Deg, -90, 90, true, "deg", 0},
		{table, "advance_angle_deg", where, &c.AdvanceDeg, -360, 360, true, "deg", 0},
		{table, "cyclic_throw_deg", where, &c.CyclicThrowDeg, 0, 90, false, "deg", 0},
	}
	b := c.Bar
	if b == nil {
		return rules
	}
	table, where = table+".bar", where+", bar"
	return append(rules, []numberRule{
		{table, "weight_kg", where, &b.WeightKg, 0, inf, true, "kg", 0},
		{table, "weight_at_m", where, &b.WeightAtM, 0, inf, true, "m", 0},
		{table, "inertia_kg_m2", where, &b.InertiaKgM2, 0, inf, true, "kg m2", 0},
		{table, "paddle_chord_m", where, &b.PaddleChordM, 0, inf, true, "m", 0},
		{table, "paddle_from_m", where, &b.PaddleFromM, 0, inf, true, "m", 0},
		{table, "paddle_to_m", where, &b.PaddleToM, 0, inf, true, "m", 0},
		{table, "bar_to_blade", where, &b.BarToBlade, -inf, inf, false, "", 0},
		{table, "stick_to_blade", where, &b.StickToBlade, -inf, inf, false, "", 0},
		{table, "stick_to_paddle", where, &b.StickToPaddle, -inf, inf, false, "", 0},
		{table, "following_time_s", where, &b.FollowingTimeS, 0, inf, false, "s", 0},
	}...)
}

// numberLines says on which line of aircraft.toml each key stands, 1-based: "limits.rate_deg_s",
// "configuration.0.mass_kg", "configuration.0.bar.weight_kg". Values written as tables in
// one line are not looked into.
func numberLines(text string) map[string]int {
	at := map[string]int{}
	ts, err := scanTables(text)
	if err != nil {
		return at // it was decoded all the same; then the file is named without a line
	}
	n := -1
	for _, t := range ts {
		table := t.path
		if table == "configuration" {
			n++
		}
		if rest, ok := strings.CutPrefix(table, "configuration"); ok {
			table = fmt.Sprintf("configuration.%d%s", n, rest)
		}
		for _, k := range t.keys {
			name := strings.TrimPrefix(table+"."+k.name, ".")
			at[name] = strings.Count(text[:k.from], "\n") + 1
		}
	}
	return at
}
