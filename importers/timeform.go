package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// timeForm says how a file writes time.
type timeForm struct {
	label       string // the column or columns, as written
	unit        flight.Unit
	guessed     bool
	absolute    bool // counts from a known day: baseDay
	zoned       bool // known to be UTC
	dayless     bool // a time of day without a date
	hopSeconds  bool // typed by hand as seconds of the hop
	minutes     bool // typed by hand as hh:mm
	baseDay     int64
	wrapPeriodS float64
	restarted   bool    // the clock began anew within the file
	startS      float64 // instant of stamp zero, seconds since 1970, of absolute stamps
	stamp, date *column
	words       string
}

// timeColumns picks the column, or the date and clock columns, that carry the time.
func (f *logFile) timeColumns() error {
	var number, clock, date, iso *column
	take := func(to **column, c *column) {
		if *to == nil {
			*to = c
		}
	}
	for _, c := range f.columns {
		switch {
		case c.kind == isoCell:
			take(&iso, c)
		case c.kind == clockCell:
			take(&clock, c)
		case c.kind == dateCell:
			take(&date, c)
		case c.quantity == flight.Time && c.kind == numberCell:
			take(&number, c)
		}
	}
	t := &f.time
	switch {
	case iso != nil:
		t.stamp, t.unit, t.absolute = iso, flight.ISO8601, true
		t.words = "time as ISO 8601"
	case clock != nil:
		t.stamp, t.date, t.unit, t.wrapPeriodS = clock, date, flight.ClockTime, 86400
		t.absolute, t.dayless = date != nil, date == nil
		t.words = "time as hh:mm:ss"
		if date != nil {
			t.words, t.wrapPeriodS = "date and time columns", 0
		}
	case number != nil:
		t.stamp, t.unit = number, number.unit
	default:
		return f.noTime()
	}
	t.label = t.stamp.header
	t.stamp.quantity = flight.Time
	t.baseDay = f.firstDay()
	for _, c := range f.columns {
		if c == t.stamp || c == t.date || (c.quantity != flight.Time && c.kind < isoCell) {
			continue
		}
		if c.quantity == flight.Time || c.kind >= isoCell {
			f.add(flight.CodeUnrecognised, flight.Note, c.header, flight.Span{},
				fmt.Sprintf("column %q also holds a time; %q is used", c.header, t.label), "")
			c.quantity, c.kind = "", skipCell
		}
	}
	if t.date != nil {
		t.date.quantity = flight.Time
	}
	return nil
}

func (f *logFile) noTime() error {
	for _, c := range f.columns {
		if c.quantity == flight.Time {
			return fmt.Errorf("line %d: the time in column %q (%q) is in no form that is known; see the manual for the forms",
				f.dress.dataLine, c.header, f.firstCell(c.index))
		}
	}
	return fmt.Errorf("line %d: no column holds the time; name it in hop.toml (quantity = \"time\")", f.dress.headerLine)
}

func (f *logFile) firstCell(k int) string {
	if len(f.dress.sample) == 0 {
		return ""
	}
	return f.dress.sample[0][k]
}

// firstDay returns the day of the first stamp that says one.
func (f *logFile) firstDay() int64 {
	t := &f.time
	for _, row := range f.dress.sample {
		switch {
		case t.stamp.kind == isoCell:
			if s, zoned, ok := parseISO([]byte(row[t.stamp.index]), 0); ok {
				t.zoned = zoned || words(splitWords(t.label)).has("utc", "gps", "zulu", "gmt")
				return int64(math.Floor(s / 86400))
			}
		case t.date != nil:
			if s, ok := parseDate([]byte(row[t.date.index]), 0); ok {
				t.zoned = words(splitWords(t.label+" "+t.date.header)).has("utc", "gps", "zulu", "gmt")
				return int64(math.Round(s / 86400))
			}
		default:
			return 0
		}
	}
	return 0
}

// seconds returns the stamps in seconds, NaN where none is readable. Numbers stay in
// written units until guessTimeUnit has settled them.
func (t *timeForm) seconds() []float64 {
	v := t.stamp.values
	if t.date == nil {
		return v
	}
	for i, d := range t.date.values {
		v[i] += d
	}
	return v
}

// columns lists the columns that the stamps were read from, in the order of the file.
func (t *timeForm) columns() []flight.TimeColumn {
	stamp := flight.TimeColumn{Column: t.stamp.header, Unit: t.unit}
	if t.date == nil {
		return []flight.TimeColumn{stamp}
	}
	date := flight.TimeColumn{Column: t.date.header}
	if t.date.index > t.stamp.index {
		return []flight.TimeColumn{stamp, date}
	}
	return []flight.TimeColumn{date, stamp}
}

// guessTimeUnit settles the unit of number stamps and scales them to seconds.
func (f *logFile) guessTimeUnit(raw []float64) error {
	t := &f.time
	if t.stamp.kind != numberCell {
		return nil
	}
	first := math.NaN()
	for _, v := range raw {
		if v == v {
			first = v
			break
		}
	}
	step := medianStep(raw)
	if u, ok := epochUnit(first); ok && (t.unit == flight.NoUnit || t.unit == u) {
		k, _, _ := u.Scale()
		t.unit, t.absolute, t.zoned = u, true, true
		t.baseDay = int64(math.Floor(first * k / 86400))
		t.words = fmt.Sprintf("time in %s since 1970", u)
		return scaleStamps(raw, k, float64(t.baseDay)*86400/k)
	}
	if t.unit == flight.NoUnit {
		u, sure := likelyTimeUnit(step, len(raw))
		if u == flight.NoUnit {
			return fmt.Errorf("column %q: a step of %.4g from row to row fits no unit of time; name the unit in hop.toml", t.label, step)
		}
		t.unit, t.guessed = u, true
		f.add(flight.CodeUnitGuessed, guessSeverity(sure), t.label, flight.Span{},
			fmt.Sprintf("the time column says no unit; a step of %.4g makes it %s (%.0f rows a second), %.0f %% sure",
				step, u, 1/stepSeconds(step, u), 100*sure), "name the unit in hop.toml if this is wrong")
	} else if err := f.doubtTimeUnit(step, len(raw)); err != nil {
		return err
	}
	k, _, _ := t.unit.Scale()
	if t.unit == flight.MilliS || t.unit == flight.MicroS {
		t.wrapPeriodS = (1 << 32) * k
	}
	t.words = fmt.Sprintf("time in %s", t.unit)
	return scaleStamps(raw, k, 0)
}

// doubtTimeUnit looks whether the unit that was said makes a rate that a logger can
// write. Otherwise the data decide if they are clear, and the file is refused if not.
func (f *logFile) doubtTimeUnit(step float64, rows int) error {
	t := &f.time
	s := stepSeconds(step, t.unit)
	if step <= 0 || s > 5e-5 && s < 600 {
		return nil
	}
	u, sure := likelyTimeUnit(step, rows)
	if t.stamp.user != nil && t.stamp.user.Unit != flight.NoUnit || u == flight.NoUnit || sure < 0.9 {
		return fmt.Errorf("column %q: a step of %.4g %s from row to row would be %.3g rows a second, which no logger writes; name the right unit in hop.toml",
			t.label, step, t.unit, 1/s)
	}
	f.add(flight.CodeUnitContradiction, flight.Caution, t.label, flight.Span{},
		fmt.Sprintf("the time is said to be in %s, but a step of %.4g from row to row would then be %.3g rows a second; taken for %s, %.3g rows a second, %.0f %% sure",
			t.unit, step, 1/s, u, 1/stepSeconds(step, u), 100*sure),
		"name the unit of the time column in hop.toml")
	t.unit, t.guessed = u, true
	return nil
}

func stepSeconds(step float64, u flight.Unit) float64 {
	k, _, _ := u.Scale()
	return step * k
}

func guessSeverity(sure float64) flight.Severity {
	if sure >= 0.9 {
		return flight.Note
	}
	return flight.Caution
}

// scaleStamps turns written stamps into seconds. Division by a whole number rounds once
// where multiplication by its inverse would round twice.
func scaleStamps(v []float64, k, base float64) error {
	inverse := math.Round(1 / k)
	for i := range v {
		v[i] = (v[i] - base) / inverse
	}
	return nil
}

// epochUnit recognises a count since 1970 of a date between 2001 and 2100.
func epochUnit(v float64) (flight.Unit, bool) {
	for _, u := range []flight.Unit{flight.Second, flight.MilliS, flight.MicroS, flight.NanoS} {
		k, _, _ := u.Scale()
		if s := v * k; s > 1e9 && s < 4.1e9 {
			return u, true
		}
	}
	return flight.NoUnit, false
}

// likelyTimeUnit picks the unit that makes both the rate and the length of the record
// those of a hop: best 4 to 1000 rows a second and 5 s to 4 h; a wind log may be slower.
func likelyTimeUnit(step float64, rows int) (flight.Unit, float64) {
	best, bestScore, second := flight.NoUnit, 0.0, 0.0
	for _, u := range []flight.Unit{flight.Second, flight.MilliS, flight.MicroS, flight.NanoS} {
		s := stepSeconds(step, u)
		length := s * float64(rows)
		if s <= 0 || 1/s < 0.05 || 1/s > 10000 {
			continue
		}
		score := 1.0
		switch rate := 1 / s; {
		case rate < 0.45 || rate > 2100:
			score = 0.02
		case rate < 4 || rate > 1100:
			score = 0.7
		}
		switch {
		case length < 1.9:
			score *= 0.05
		case length < 5 || length > 4*3600:
			score *= 0.3
		}
		if score > bestScore {
			best, bestScore, second = u, score, bestScore
		} else if score > second {
			second = score
		}
	}
	if bestScore == 0 {
		return flight.NoUnit, 0
	}
	return best, 0.98 * bestScore / (bestScore + 0.9*second)
}
