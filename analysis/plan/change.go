package plan

import (
	"math"
	"strconv"
	"strings"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// Change is one thing that differs from the last hop's configuration.
type Change struct {
	What string // in words
	Unit string
	// From and To are zero where only the words tell.
	From, To float64
}

// String words the change: "bar weight 0.3 -> 0.45 kg".
func (c Change) String() string {
	if c.From == 0 && c.To == 0 {
		return c.What
	}
	word := func(x float64) string {
		if x == 0 {
			return "not given"
		}
		return strconv.FormatFloat(x, 'g', 6, 64)
	}
	return strings.TrimSpace(c.What + " " + word(c.From) + " -> " + word(c.To) + " " + c.Unit)
}

// Changes lists what differs from one configuration to another. A bar that is fitted or taken
// off is one change, whatever its dimensions.
func Changes(from, to flight.Configuration) []Change {
	var out []Change
	switch {
	case from.Bar == nil && to.Bar != nil:
		out = append(out, Change{What: "stabiliser bar fitted" + barText(to.Bar)})
	case from.Bar != nil && to.Bar == nil:
		out = append(out, Change{What: "stabiliser bar taken off"})
	}
	for _, d := range rotor.Dimensions() {
		a, b := d.Of(&from), d.Of(&to)
		if a == nil || b == nil || near(*a, *b) {
			continue
		}
		what, unit := dimensionWords(d.Key)
		out = append(out, Change{what, unit, *a, *b})
	}
	return out
}

func barText(b *flight.Bar) string {
	if b.WeightKg == 0 {
		return ""
	}
	return ", " + strconv.FormatFloat(b.WeightKg, 'g', 6, 64) + " kg at each tip"
}

// near takes what only the writing of a number tells apart for the same.
func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(math.Abs(a), math.Abs(b)) }

// dimensionWords parts a key of aircraft.toml into words and unit.
func dimensionWords(key string) (what, unit string) {
	for _, u := range []struct{ suffix, unit string }{
		{"_kg_m2", "kg m2"}, {"_per_rad", "per rad"}, {"_angle_deg", "deg"}, {"_deg", "deg"},
		{"_rpm", "rpm"}, {"_kg", "kg"}, {"_m", "m"}, {"_s", "s"},
	} {
		if rest, ok := strings.CutSuffix(key, u.suffix); ok {
			key, unit = rest, u.unit
			break
		}
	}
	if key == "advance" {
		key = "advance_angle"
	}
	words := strings.ReplaceAll(strings.ReplaceAll(key, ".", " "), "_", " ")
	return strings.Replace(words, "bar bar to blade", "mixing of bar into blade", 1), unit
}

// change says what differs from the last hop.
func (p *Plan) change(r Request) {
	if r.Last == nil {
		return
	}
	p.Written.LastHop = r.Last.Hop.Name
	last := r.Aircraft.Configuration(r.Last.Hop.Configuration)
	if last == nil {
		return
	}
	p.ChangesKnown = true
	p.Changes = Changes(*last, *p.Configuration)
	if len(p.Changes) == 0 && last.Name != p.Configuration.Name {
		p.Changes = []Change{{What: "from " + last.Name + " to " + p.Configuration.Name + ", which aircraft.toml describes with the same numbers"}}
	}
	for _, c := range p.Changes {
		p.Written.Changed = append(p.Written.Changed, c.String())
	}
}
