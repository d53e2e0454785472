package trend

import (
	"fmt"
	"strconv"

	"hopcard/analysis/debrief"
	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// changed is what was changed between two hops, nil if their configuration is the same or
// not known.
func changed(before, after *debrief.Debrief) *Change {
	from, to := before.Hop.Configuration, after.Hop.Configuration
	if from == to || from == "" || to == "" {
		return nil
	}
	c := &Change{From: from, To: to}
	a, b := configurationOf(before), configurationOf(after)
	if a == nil || b == nil {
		return c
	}
	c.What = Differences(*a, *b)
	return c
}

func configurationOf(d *debrief.Debrief) *flight.Configuration {
	if d.Aircraft == nil {
		return nil
	}
	return d.Aircraft.Configuration(d.Hop.Configuration)
}

// Differences lists the dimensions in which two configurations differ, as aircraft.toml
// spells them, with both values; a dimension that is not given is "not given".
func Differences(a, b flight.Configuration) []string {
	var list []string
	switch {
	case a.Bar == nil && b.Bar != nil:
		list = append(list, "bar added")
	case a.Bar != nil && b.Bar == nil:
		list = append(list, "bar taken off")
	}
	for _, d := range rotor.Dimensions() {
		x, y := d.Of(&a), d.Of(&b)
		if x == nil || y == nil || *x == *y {
			continue
		}
		list = append(list, fmt.Sprintf("%s %s -> %s", d.Key, given(*x), given(*y)))
	}
	return list
}

func given(v float64) string {
	if v == 0 {
		return "not given"
	}
	return strconv.FormatFloat(v, 'g', 6, 64)
}
