package importers

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"hopcard/flight"
)

// Decisions returns the text of a hop.toml that lists every decision made while h was
// read: the columns of each log with their quantity, unit, sense and travel, and each
// clock. Every decision stands commented out, with how it was found and how sure it is,
// so that the same hop, with the same doubts told, is read with the text as without it
// until a line is made to count or is changed. What h took from hop.toml itself
// (configuration, notes, start, exclusions, marks) is set as it is in h.
func Decisions(h *flight.Hop) []byte {
	var b strings.Builder
	b.WriteString("# What hopcard found in the logs of this hop. A line that starts with # and a key says what was\n" +
		"# found; take its # away, and change the value if it is wrong, to decide it by hand.\n")
	fmt.Fprintf(&b, "format = %d\n", flight.SettingsFormat)
	if h.Configuration != "" {
		fmt.Fprintf(&b, "configuration = %s\n", flight.TOMLString(h.Configuration))
	}
	if !h.StartedAt.IsZero() {
		fmt.Fprintf(&b, "started_at = %s\n", h.StartedAt.Format(time.RFC3339Nano))
	}
	if h.Notes != "" {
		fmt.Fprintf(&b, "notes = %s\n", flight.TOMLString(h.Notes))
	}
	for _, e := range h.Exclude {
		fmt.Fprintf(&b, "\n[[exclude]]\nfrom_s = %s\nto_s = %s\n", tomlNumber(e.FromS), tomlNumber(e.ToS))
	}
	for i := range h.Sources {
		decidedFile(&b, h, i)
	}
	for _, m := range h.Marks {
		if m.File == "" {
			fmt.Fprintf(&b, "\n[[mark]]\ntime_s = %s\ntext = %s\n", tomlNumber(m.TimeS), flight.TOMLString(m.Text))
		}
	}
	return []byte(b.String())
}

// decidedFile writes the decisions about source i.
func decidedFile(b *strings.Builder, h *flight.Hop, i int) {
	s := &h.Sources[i]
	fmt.Fprintf(b, "\n[[file]]\nname = %s\n", flight.TOMLString(s.File))
	if s.Dress != "" {
		fmt.Fprintf(b, "# written with %s\n", remark(s.Dress))
	}
	if len(h.Sources) > 1 {
		decidedClock(b, &s.Clock)
	}
	if len(s.TimeColumns) == 0 {
		b.WriteString("# no log of rows and columns: what its columns mean is fixed\n")
		return
	}
	for _, t := range s.TimeColumns {
		fmt.Fprintf(b, "\n[[file.column]]\nname = %s\n", flight.TOMLString(t.Column))
		fmt.Fprintf(b, "#quantity = %s\n", flight.TOMLString(string(flight.Time)))
		if t.Unit != flight.NoUnit {
			fmt.Fprintf(b, "#unit = %s\n", flight.TOMLString(string(t.Unit)))
		}
	}
	for k := range h.Channels {
		if c := &h.Channels[k]; c.Source == i && !c.Derived {
			decidedColumn(b, c)
		}
	}
	for _, f := range h.Findings {
		if f.File == s.File && f.Code == flight.CodeUnrecognised && f.Channel != "" {
			fmt.Fprintf(b, "\n# %s\n", remark(f.Text))
		}
	}
}

func decidedClock(b *strings.Builder, c *flight.Clock) {
	fmt.Fprintf(b, "# clock: stamp in s = clock_offset_s + (1 + clock_drift_ppm/1e6) * hop time; tied by: %s", c.AlignedBy)
	if c.AlignedBy == flight.AlignNone { // no decision was made: nothing to be made to count as it is
		fmt.Fprintf(b, "\n# both logs are shown as if they had started together, at stamp %s, which ties nothing;\n# clock_offset_s, clock_drift_ppm and clock_interval_s set by hand would\n", tomlNumber(c.OffsetS))
		return
	}
	if c.ResidualS == c.ResidualS {
		fmt.Fprintf(b, "; rms residual %.2g s", c.ResidualS)
	}
	fmt.Fprintf(b, "\n#clock_offset_s = %s%s\n", tomlNumber(c.OffsetS), between(c.Offset))
	fmt.Fprintf(b, "#clock_drift_ppm = %s%s\n", tomlNumber(c.DriftPPM), between(c.Drift))
	if c.IntervalS > 0 {
		fmt.Fprintf(b, "#clock_interval_s = %s # a stamp is good to that either way (95 %%)\n", tomlNumber(c.IntervalS))
	}
}

// between words the interval of an estimate as a remark.
func between(e *flight.Estimate) string {
	if e == nil || !e.HasInterval() {
		return ""
	}
	return fmt.Sprintf(" # %.6g to %.6g (95 %%)", e.Low, e.High)
}

func decidedColumn(b *strings.Builder, c *flight.Channel) {
	fmt.Fprintf(b, "\n[[file.column]]\nname = %s\n", flight.TOMLString(c.Column))
	fmt.Fprintf(b, "#quantity = %s # %.0f %% sure of quantity, unit and sense\n", flight.TOMLString(string(c.Quantity)), 100*c.Sure)
	if c.Withheld != "" {
		fmt.Fprintf(b, "# withheld from every answer: %s\n", remark(c.Withheld))
	}
	if c.Unit != flight.NoUnit {
		how := "as written in the log"
		if c.Guessed {
			how = "worked out from the values: the log does not say"
		}
		fmt.Fprintf(b, "#unit = %s # %s\n", flight.TOMLString(string(c.Unit)), how)
	}
	sense := "as usual"
	if c.Sign < 0 {
		sense = "turned round"
	}
	fmt.Fprintf(b, "#sign = %d # %s\n", c.Sign, sense)
	if c.Quantity.Dimension() == flight.StickTravel && c.Scale != 0 {
		fmt.Fprintf(b, "#neutral = %s # as written in the log, and the change from there to the stop:\n#full_throw = %s\n",
			tomlNumber(c.Zero), tomlNumber(1/c.Scale))
	}
}

// tomlNumber writes a float so that it reads back the same; TOML tells it from a whole
// number by its point or exponent.
func tomlNumber(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "nan"
	}
	s := strconv.FormatFloat(v, 'g', -1, 64)
	if !strings.ContainsAny(s, ".e") {
		s += ".0"
	}
	return s
}

// remark makes a text fit for a comment: one line, no control characters.
func remark(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7F || r == 0xFFFD {
			return '?'
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
}
