package tui

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hopcard/flight"
)

// subject is what a line of the data screen, or an order, decides about: a column of a
// file, a file, or the hop if both are empty.
type subject struct {
	file, column string
}

func (s subject) String() string {
	switch {
	case s.column != "":
		return s.column + " of " + s.file
	case s.file != "":
		return s.file
	}
	return "the hop"
}

// valueOf turns the text of a decision into a value of hop.toml, nil to leave it to
// hopcard. What is wrong with it is said in one line.
func valueOf(key, text string) (value any, wrong string) {
	text = strings.TrimSpace(text)
	if text == "" || text == asFound {
		return nil, ""
	}
	switch key {
	case "sign":
		switch text {
		case "1", "+1", senseOurs:
			return 1, ""
		case "-1", senseTurned:
			return -1, ""
		}
		return nil, fmt.Sprintf("sign %q: it is 1 where the file's sense is as ours, -1 where it is turned", text)
	case "skip":
		switch text {
		case leftOut, "true":
			return true, ""
		}
		return nil, ""
	case "neutral", "full_throw", "clock_offset_s", "clock_drift_ppm", "clock_interval_s":
		v, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Sprintf("%s %q is not a number", strings.ReplaceAll(key, "_", " "), text)
		}
		return v, ""
	case "quantity":
		if !slices.Contains(flight.Quantities(), flight.Quantity(text)) {
			var known []string
			for _, q := range flight.Quantities() {
				known = append(known, string(q))
			}
			return nil, fmt.Sprintf("quantity %q is not known%s", text, flight.Nearest(text, known))
		}
	case "unit":
		if !slices.Contains(flight.Units(), flight.Unit(text)) {
			var known []string
			for _, u := range flight.Units() {
				known = append(known, string(u))
			}
			return nil, fmt.Sprintf("unit %q is not known%s", text, flight.Nearest(text, known))
		}
	}
	return text, ""
}

// Words of the data screen.
const (
	senseOurs   = "as ours"
	senseTurned = "turned"
	leftOut     = "left out"
	inUse       = "used"
)

func senseText(sign int) string {
	if sign < 0 {
		return senseTurned
	}
	return senseOurs
}

// columnChannel is the channel read from a column, nil if none is.
func columnChannel(h *flight.Hop, s subject) *flight.Channel {
	for i := range h.Channels {
		c := &h.Channels[i]
		if c.Column == s.column && h.Sources[c.Source].File == s.file && !c.Derived {
			return c
		}
	}
	return nil
}

// columnForm decides on a column.
func columnForm(o *opened, s subject) form {
	set := o.set.File(s.file).Column(s.column)
	if set == nil {
		set = &flight.ColumnSettings{}
	}
	quantity := field{label: "quantity", key: "quantity", text: orFound(string(set.Quantity)), choices: []string{asFound}}
	for _, q := range flight.Quantities() {
		quantity.choices = append(quantity.choices, string(q))
	}
	unit := field{label: "unit", key: "unit", text: orFound(string(set.Unit))}
	sense := field{label: "sense", key: "sign", text: asFound, choices: []string{asFound, senseOurs, senseTurned}}
	if set.Sign != 0 {
		sense.text = senseText(set.Sign)
	}
	neutral := field{label: "neutral", key: "neutral", text: numberText(set.Neutral)}
	throw := field{label: "full throw", key: "full_throw", text: numberText(set.FullThrow)}
	use := field{label: "use", key: "skip", text: inUse, choices: []string{inUse, leftOut}}
	if set.Skip {
		use.text = leftOut
	}
	fields := []field{quantity, unit, sense, neutral, throw, use}
	if c := columnChannel(o.d.Hop, s); c != nil {
		quantity.found, unit.found, sense.found = string(c.Quantity), string(c.Unit), senseText(c.Sign)
		if c.Quantity.Dimension() == flight.StickTravel && c.Scale != 0 {
			neutral.found, throw.found = number(c.Zero), number(1/c.Scale)
		}
		fields = []field{quantity, unit, sense, neutral, throw, use}
		if c.Quantity.Dimension() != flight.StickTravel && set.Neutral == nil && set.FullThrow == nil {
			fields = []field{quantity, unit, sense, use} // only a stick has travel
		}
	}
	f := form{open: true, title: clean(s.String()), about: s, fields: fields}
	f.fitUnits()
	return f.begun()
}

// fileForm decides on a file.
func fileForm(o *opened, s subject) form {
	set := o.set.File(s.file)
	if set == nil {
		set = &flight.FileSettings{}
	}
	offset := field{label: "clock offset s", key: "clock_offset_s", text: numberText(set.ClockOffsetS)}
	within := field{label: "good to ± s", key: "clock_interval_s", text: numberText(set.ClockIntervalS)}
	drift := field{label: "drift ppm", key: "clock_drift_ppm", text: numberText(set.ClockDriftPPM)}
	use := field{label: "use", key: "skip", text: inUse, choices: []string{inUse, leftOut}}
	if set.Skip {
		use.text = leftOut
	}
	for _, src := range o.d.Hop.Sources {
		if src.File == s.file {
			offset.found = strconv.FormatFloat(src.Clock.OffsetS, 'f', 3, 64)
			if src.Clock.IntervalS > 0 {
				within.found = number(src.Clock.IntervalS)
			}
			drift.found = number(src.Clock.DriftPPM)
		}
	}
	f := form{open: true, title: clean(s.String()) + ": stamp = offset + (1 + drift/1000000) × hop time", about: s, fields: []field{offset, within, drift, use}}
	return f.begun()
}

// hopForm decides on the hop as a whole.
func hopForm(o *opened) form {
	c := field{label: "configuration", key: "configuration", text: o.d.Hop.Configuration}
	if a := o.d.Aircraft; a != nil && len(a.Configurations) > 0 {
		c.choices, c.text = []string{asFound}, orFound(c.text)
		for i := range a.Configurations {
			c.choices = append(c.choices, a.Configurations[i].Name)
		}
		if !slices.Contains(c.choices, c.text) {
			c.choices = append(c.choices, c.text)
		}
	}
	f := form{open: true, title: "the hop", fields: []field{c}}
	return f.begun()
}

// begun notes what every field said when the form was opened.
func (f form) begun() form {
	for i := range f.fields {
		f.fields[i].was = f.fields[i].text
	}
	return f
}

func orFound(s string) string {
	if s == "" {
		return asFound
	}
	return s
}

func numberText(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}

// turn turns the sense of a column round.
func (d *desk) turn(s subject) string {
	c := columnChannel(d.current.d.Hop, s)
	if c == nil {
		return clean(s.String()) + " is not used: it has no sense to turn"
	}
	sign := -1
	if c.Sign < 0 {
		sign = 1
	}
	d.decided(fmt.Sprintf("sense of %s %s", s.column, senseText(sign)), flight.Decision{File: s.file, Column: s.column, Key: "sign", Value: sign})
	return ""
}

// isLeftOut reports whether the settings leave a file or column out.
func (o *opened) isLeftOut(s subject) bool {
	f := o.set.File(s.file)
	if s.column == "" {
		return f != nil && f.Skip
	}
	c := f.Column(s.column)
	return c != nil && c.Skip
}

// use leaves a file or column out, or takes it in again.
func (d *desk) use(s subject, in bool) {
	word, v := " left out", any(true)
	if in {
		word, v = " taken in again", nil
	}
	d.decided(s.String()+word, flight.Decision{File: s.file, Column: s.column, Key: "skip", Value: v})
}
