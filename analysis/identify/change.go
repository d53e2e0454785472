package identify

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// Changed is one dimension with a new value.
type Changed struct {
	Key      string // as in aircraft.toml
	From, To float64
}

// ErrChange is wrapped by errors about changes that cannot be made.
var ErrChange = errors.New("change")

// Change returns c with dimensions set, each written as in aircraft.toml: "bar.weight_kg=0.45".
// c is left as it is. The error wraps ErrChange and names the nearest key.
func Change(c flight.Configuration, sets []string) (flight.Configuration, []Changed, error) {
	if c.Bar != nil {
		bar := *c.Bar
		c.Bar = &bar
	}
	var list []Changed
	for _, set := range sets {
		key, text, ok := strings.Cut(set, "=")
		key, text = strings.TrimSpace(key), strings.TrimSpace(text)
		if !ok {
			return c, nil, fmt.Errorf("%w %q: write it as key=value, such as bar.weight_kg=0.45", ErrChange, set)
		}
		d, err := dimension(key)
		if err != nil {
			return c, nil, err
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return c, nil, fmt.Errorf("%w %q: %q is no number", ErrChange, set, text)
		}
		place := d.Of(&c)
		if place == nil {
			return c, nil, fmt.Errorf("%w %q: configuration %q has no bar; start from one that has", ErrChange, set, c.Name)
		}
		for _, old := range list {
			if old.Key == key {
				return c, nil, fmt.Errorf("%w %q: %s is changed twice", ErrChange, set, key)
			}
		}
		list = append(list, Changed{key, *place, v})
		*place = v
	}
	return c, list, nil
}

func dimension(key string) (rotor.Dimension, error) {
	var known []string
	for _, d := range rotor.Dimensions() {
		if d.Key == key {
			return d, nil
		}
		known = append(known, d.Key)
	}
	return rotor.Dimension{}, fmt.Errorf("%w: no dimension is called %q%s", ErrChange, key, flight.Nearest(key, known))
}

// head carries the fitted head h of the flown configuration over to another one: every
// parameter in the ratio in which the dimensions change, dead time and advance angle by
// their difference. What the flown configuration does not have is that of the dimensions.
// The error wraps ErrChange or is that of rotor.FromConfiguration.
func (r *Result) head(h rotor.Head, to flight.Configuration) (rotor.Head, error) {
	from := pinned(r.Configuration, r.Dimensions)
	if r.Configuration.AdvanceDeg == 0 {
		switch {
		case to.AdvanceDeg == 0:
			to.AdvanceDeg = from.AdvanceDeg // left where it is
		default:
			return rotor.Head{}, fmt.Errorf("%w of advance_angle_deg: %q does not give that of the hops, so that the change is not known", ErrChange, r.Configuration.Name)
		}
	}
	to, err := benchBar(from, to, r.Surroundings)
	if err != nil {
		return rotor.Head{}, err
	}
	a, _, err := rotor.FromConfiguration(from, r.Surroundings)
	if err != nil {
		return rotor.Head{}, err
	}
	b, _, err := rotor.FromConfiguration(to, r.Surroundings)
	if err != nil {
		return rotor.Head{}, err
	}
	a.SpeedTilt, b.SpeedTilt = speedTilt(a), speedTilt(b)
	out := b
	for _, u := range rotor.Unknowns() {
		one := []rotor.Unknown{u}
		x, y, z := rotor.Coordinates(h, one)[0], rotor.Coordinates(a, one)[0], rotor.Coordinates(b, one)[0]
		if v := x + z - y; !math.IsNaN(v) && !math.IsInf(v, 0) {
			out = rotor.AtCoordinates(out, one, []float64{v})
		}
	}
	return out, out.Check()
}

// pinned gives the configuration the advance angle that its head has, so that a change of
// the hinge shows as a phasing error.
func pinned(c flight.Configuration, h rotor.Head) flight.Configuration {
	if c.AdvanceDeg == 0 {
		c.AdvanceDeg = h.AdvanceRad * perDeg
	}
	return c
}

// benchBar carries a following time measured on the bench over to changed weights, paddles
// or rotor speed: it goes before those dimensions, and would hide the change.
func benchBar(from, to flight.Configuration, s rotor.Surroundings) (flight.Configuration, error) {
	if from.Bar == nil || to.Bar == nil || to.Bar.FollowingTimeS == 0 || to.Bar.FollowingTimeS != from.Bar.FollowingTimeS {
		return to, nil
	}
	before, errBefore := paperTimeS(from, s)
	after, errAfter := paperTimeS(to, s)
	bar := *to.Bar
	switch {
	case errBefore == nil && errAfter == nil:
		bar.FollowingTimeS *= after / before
	case sameBar(*from.Bar, bar):
		bar.FollowingTimeS *= from.RotorSpeedRPM / to.RotorSpeedRPM // as the damping of its paddles
	default:
		return to, fmt.Errorf("%w of the bar: following_time_s goes before its dimensions, and those do not say by how much it changes; change following_time_s", ErrChange)
	}
	to.Bar = &bar
	return to, nil
}

// paperTimeS is the bar's following time by its dimensions alone.
func paperTimeS(c flight.Configuration, s rotor.Surroundings) (float64, error) {
	bar := *c.Bar
	bar.FollowingTimeS = 0
	c.Bar = &bar
	h, _, err := rotor.FromConfiguration(c, s)
	return h.BarTimeS, err
}

// sameBar reports whether two bars agree in what their following time depends on.
func sameBar(a, b flight.Bar) bool {
	a.BarToBlade, a.StickToBlade, a.StickToPaddle = b.BarToBlade, b.StickToBlade, b.StickToPaddle
	return a == b
}
