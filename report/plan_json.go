package report

import (
	"io"

	"hopcard/analysis/plan"
	"hopcard/flight"
)

// PlanJSON writes the plan as one JSON object: what is to be flown, inside which limits, and
// what is expected of it. The only error is one of w.
func PlanJSON(w io.Writer, c *plan.Plan) error {
	limits, inputs, axes, changes := []object{}, []object{}, []object{}, []object{}
	for _, l := range c.Limits {
		limits = append(limits, object{{"name", l.Name}, {"value", rounded(l.Value)}, {"unit", l.Unit}, {"source", l.Source}})
	}
	for _, i := range c.Written.Inputs {
		inputs = append(inputs, inputOf(i))
	}
	for _, a := range c.Axes {
		axes = append(axes, object{
			{"axis", string(a.Axis)}, {"basis", string(a.Basis)}, {"hops", append([]string{}, a.Hops...)},
			{"correlation_lag_half_width_s", number(a.HalfWidthS)}, {"not_removed_by_repeats_s", number(a.FloorS)},
			{"phase_lag_1hz_half_width_s", number(a.PhaseHalfWidthS)}, {"wish_reached", a.Reached},
			{"doublet_attitude_deg", number(a.DoubletRad * degPerRad)}, {"sweep_attitude_deg", number(a.SweepRad * degPerRad)},
			{"doublet_band_rad_s", [2]float64{rounded(a.DoubletBandRadS[0]), rounded(a.DoubletBandRadS[1])}},
		})
	}
	for _, ch := range c.Changes {
		changes = append(changes, object{{"what", ch.What}, {"unit", ch.Unit}, {"from", rounded(ch.From)}, {"to", rounded(ch.To)}, {"text", ch.String()}})
	}
	return writeDocument(w, object{
		{"format", JSONFormat},
		{"hop", c.Hop},
		{"aircraft", c.Aircraft.Name},
		{"configuration", c.Configuration.Name},
		{"last_hop", c.Written.LastHop},
		{"step", string(c.Written.Step)},
		{"changes_known", c.ChangesKnown},
		{"changes", changes},
		{"why", append([]string{}, c.Why...)},
		{"cautions", append([]string{}, c.Cautions...)},
		{"wish_ms", rounded(c.Written.WishMS)},
		{"inputs", inputs},
		{"axes", axes},
		{"flight_s", rounded(c.FlightS)},
		{"limits", limits},
		{"abort", append([]string{}, c.Aborts...)},
		{"knocks_before", c.Written.KnocksBefore},
		{"knocks_after", c.Written.KnocksAfter},
	})
}

// inputOf is one input with what it has: what does not apply is absent.
func inputOf(i flight.PlannedInput) object {
	o := object{{"kind", string(i.Kind)}}
	if i.Axis != "" {
		o = append(o, member{"axis", string(i.Axis)})
	}
	o = append(o, member{"count", i.Count}, member{"length_s", rounded(i.LengthS)})
	for _, v := range []value{{"size_percent", i.SizePercent}, {"size_end_percent", i.SizeEndPercent},
		{"from_rad_s", i.FromRadS}, {"to_rad_s", i.ToRadS}} {
		if v.x != 0 {
			o = append(o, member{v.name, rounded(v.x)})
		}
	}
	return o
}
