package report

import (
	"fmt"
	"io"
	"strings"

	"hopcard/analysis/compare"
	"hopcard/flight"
)

// Compare writes a comparison as text for the terminal: what is real, what is alike, what
// is open and how to settle it, and what cannot be compared. The only error is one of w.
func Compare(w io.Writer, r *compare.Result) error {
	p := &page{}
	p.line("%s against %s", Short(r.B, nameLength), Short(r.A, nameLength))
	p.wrapped("  A  ", sideText(r.A, r.HopsA))
	p.wrapped("  B  ", sideText(r.B, r.HopsB))
	p.blank()
	for _, n := range r.Notes {
		p.paragraph(Short(n, textLength))
	}
	for _, g := range []struct {
		verdict compare.Verdict
		title   string
	}{
		{compare.Real, "real differences between the configurations"},
		{compare.TwoHops, "real differences between two hops, which another hop of each must confirm"},
		{compare.Alike, "alike: the difference is less than is worth knowing"},
		{compare.Open, "open: no difference shown, nor that there is none"},
	} {
		compareGroup(p, r.Rows, g.verdict, g.title)
	}
	compareWithheld(p, r.Rows)
	p.blank()
	p.line("how to read it")
	for _, text := range compareMeanings() {
		p.wrapped("  - ", text)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

func sideText(name string, hops []string) string {
	var cut []string
	for _, h := range hops {
		cut = append(cut, Short(h, nameLength))
	}
	if list := strings.Join(cut, ", "); list != name {
		return Short(name, nameLength) + ": " + list
	}
	return Short(name, nameLength)
}

func compareGroup(p *page, rows []compare.Row, verdict compare.Verdict, title string) {
	told := verdict == compare.Real // that there is none is worth a line
	if told {
		p.blank()
		p.line("%s", title)
	}
	found := false
	for i := range rows {
		r := &rows[i]
		if r.Verdict != verdict {
			continue
		}
		if !told {
			told = true
			p.blank()
			p.line("%s", title)
		}
		found = true
		compareRow(p, r)
	}
	if told && !found {
		p.line("  none")
	}
}

func compareRow(p *page, r *compare.Row) {
	const indent = "      "
	p.wrapped("  - ", Short(r.Sentence, textLength))
	text := fmt.Sprintf("A %s, B %s", worded(r.A, 1, unitText(r.Unit), finestOf(r.Unit)), worded(r.B, 1, unitText(r.Unit), finestOf(r.Unit)))
	real := r.Verdict == compare.Real || r.Verdict == compare.TwoHops
	if real {
		text += "; odds at most " + oddsText(r.OddsAtMost)
	}
	if !real || r.Corrected >= 0.001 {
		text += "; chance with all rows in mind " + chanceText(r.Corrected)
	}
	if hops := len(r.HopsA) + len(r.HopsB); !r.BetweenHops {
		text += fmt.Sprintf("; %d %s", hops, plural(hops, "hop", "hops"))
	}
	p.wrapped(indent, text)
	if r.Warning != "" {
		p.wrapped(indent, Short(r.Warning, textLength))
	}
	if r.Settle != "" && r.Verdict != compare.TwoHops { // said by the heading of those
		p.wrapped(indent+"to settle it: ", Short(r.Settle, textLength))
	}
}

// unitText is a unit as it stands behind a number.
func unitText(u flight.Unit) string {
	if u == flight.Percent {
		return "%"
	}
	return string(u)
}

// finestOf is the finest decimal that makes sense in a unit.
func finestOf(u flight.Unit) int {
	switch u {
	case flight.Deg, "ms", "dB":
		return 1
	case flight.NoUnit:
		return 3
	}
	return 2
}

func oddsText(odds float64) string { return significant(odds, 2) + " to 1" }

func chanceText(p float64) string {
	if p < 0.001 {
		return "below 0.001"
	}
	return significant(p, 2)
}

// compareWithheld lists what could not be compared, by reason.
func compareWithheld(p *page, rows []compare.Row) {
	var reasons []string
	names, settle := map[string][]string{}, map[string]string{}
	for _, r := range rows {
		if r.Verdict != compare.Withheld {
			continue
		}
		name := r.Name
		if r.Axis != "" {
			name = string(r.Axis) + " " + name
		}
		if r.Class != "" {
			name += " in " + string(r.Class) + " air"
		}
		if names[r.Reason] == nil {
			reasons = append(reasons, r.Reason)
		}
		names[r.Reason] = append(names[r.Reason], name)
		settle[r.Reason] = orElse(settle[r.Reason], r.Settle)
	}
	if len(reasons) == 0 {
		return
	}
	p.blank()
	p.line("not compared")
	for _, reason := range reasons {
		p.wrapped("  - ", Short(reason, textLength)+": "+strings.Join(names[reason], "; "))
		if s := settle[reason]; s != "" {
			p.wrapped("      to settle it: ", Short(s, textLength))
		}
	}
}

func compareMeanings() []string {
	return []string{
		"Differences are B less A, with the 95 % interval of the difference in brackets; those in % are of A.",
		"Real: the difference would come about by chance, in any row of such a comparison, less than once in twenty. It is one of the aircraft as flown, by this pilot, in this air: other things that changed with the configuration are not told apart from it.",
		"Odds are a bound: at even odds before, the data speaks for a difference at most so strongly.",
		"Change one thing at a time, and fly it in calm air first. The pilot and the local rules decide.",
	}
}
