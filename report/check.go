package report

import (
	"fmt"
	"io"
	"strings"

	"hopcard/flight"
)

// Check writes what was recognised in the logs of a hop and what is wrong with them, as
// tables for the terminal. The only error is one of w.
func Check(w io.Writer, h *flight.Hop) error {
	p := &page{}
	p.line("%s: %d %s, %s s", Short(h.Name, nameLength), len(h.Sources), plural(len(h.Sources), "file", "files"), seconds(h.DurationS))
	p.blank()
	checkFiles(p, h)
	for i := range h.Sources {
		checkColumns(p, h, i)
	}
	checkFindings(p, h)
	_, err := io.WriteString(w, p.b.String())
	return err
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func checkFiles(p *page, h *flight.Hop) {
	rows := [][]string{{"file", "role", "rows", "rate", "clock", "stamp at hop time 0"}}
	for i := range h.Sources {
		s := &h.Sources[i]
		rows = append(rows, []string{
			Short(s.File, 28), roleText(h, i), fmt.Sprint(s.Rows),
			plain(s.RateHz, rateDecimals(s.RateHz), "Hz"), clockText(&s.Clock), fixed(s.Clock.OffsetS, 4) + " s",
		})
	}
	p.columns(rows)
	for i := range h.Sources {
		if s := &h.Sources[i]; s.Dress != "" {
			p.wrapped("  "+Short(s.File, 28)+" is written as: ", Short(s.Dress, textLength))
		}
	}
}

// roleText says what source i is used for.
func roleText(h *flight.Hop, i int) string {
	if s := &h.Sources[i]; s.Role == flight.RoleNone && marksIn(h, s.File) > 0 {
		return "marks"
	}
	return orElse(string(h.Sources[i].Role), "not used")
}

// marksIn counts the event marks that a file holds.
func marksIn(h *flight.Hop, file string) int {
	n := 0
	for _, m := range h.Marks {
		if m.File == file {
			n++
		}
	}
	return n
}

func rateDecimals(rateHz float64) int {
	if rateHz < 10 {
		return 2
	}
	return 1
}

func clockText(c *flight.Clock) string {
	if c.AlignedBy == flight.AlignNone || c.AlignedBy == "" {
		return "not aligned"
	}
	text := string(c.AlignedBy)
	if c.IntervalS > 0 && finite(c.IntervalS) {
		text += fmt.Sprintf(", within %s ms", significant(c.IntervalS*1e3, 2))
	}
	if c.DriftPPM != 0 && finite(c.DriftPPM) {
		text += fmt.Sprintf(", drift %s ppm", fixed(c.DriftPPM, 0))
	}
	return text
}

func checkColumns(p *page, h *flight.Hop, source int) {
	rows := [][]string{{"column", "is", "in", "sign", "sure"}}
	for i := range h.Channels {
		c := &h.Channels[i]
		if c.Source != source {
			continue
		}
		unit, sign, column := orElse(Short(string(c.Unit), 12), "-"), "as here", Short(c.Column, 28)
		if c.Guessed {
			unit += " (guessed)"
		}
		if c.Sign < 0 {
			sign = "turned"
		}
		if c.Derived {
			column = orElse(column, "-") + " (computed)"
		}
		rows = append(rows, []string{column, Short(string(c.Quantity), 28), unit, sign, plain(c.Sure*100, 0, "%")})
	}
	p.blank()
	p.line("%s", Short(h.Sources[source].File, nameLength))
	marks := marksIn(h, h.Sources[source].File)
	if marks > 0 {
		p.line("  %d %s of the crew", marks, plural(marks, "mark", "marks"))
	}
	switch {
	case len(rows) > 1:
		p.columns(rows)
	case marks == 0:
		p.line("  no column was recognised")
	}
}

// checkFindings lists the findings, worst first, in the order given within a severity.
func checkFindings(p *page, h *flight.Hop) {
	p.blank()
	if len(h.Findings) == 0 {
		p.line("nothing found wrong with the data")
		return
	}
	count := map[flight.Severity]int{}
	for _, f := range h.Findings {
		count[f.Severity]++
	}
	order := []flight.Severity{flight.Stop, flight.Caution, flight.Note}
	var words []string
	for _, s := range order {
		if n := count[s]; n > 0 {
			words = append(words, fmt.Sprintf("%d %s", n, s))
		}
	}
	p.line("findings: %s", strings.Join(words, ", "))
	for _, s := range order {
		for _, f := range h.Findings {
			if f.Severity == s {
				checkFinding(p, f)
			}
		}
	}
}

func checkFinding(p *page, f flight.Finding) {
	where := []string{}
	if f.File != "" {
		where = append(where, Short(f.File, nameLength))
	}
	if f.Channel != "" {
		where = append(where, Short(f.Channel, nameLength))
	}
	if f.Span != (flight.Span{}) {
		where = append(where, spanText(f.Span))
	}
	p.line("  %s  %s", pad(strings.ToUpper(string(f.Severity)), 7), orElse(strings.Join(where, ", "), "whole hop"))
	p.wrapped("           ", Short(f.Text, textLength))
	if f.Advice != "" {
		p.wrapped("           -> ", Short(f.Advice, textLength))
	}
}

// CheckJSON writes what Check says of each hop as one JSON object with the names that
// JSON uses: {"format": 1, "hops": [{"hop", "sources", "findings"}]}.
func CheckJSON(w io.Writer, hops ...*flight.Hop) error {
	list := []object{}
	for _, h := range hops {
		list = append(list, object{
			{"hop", hopOf(h)}, {"sources", sourcesOf(h)}, {"findings", findingsOf(h, h.Findings)},
		})
	}
	return writeDocument(w, object{{"format", JSONFormat}, {"hops", list}})
}
