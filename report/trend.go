package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"hopcard/analysis/compare/trend"
	"hopcard/flight"
)

// Trend writes the trend over a logbook as text for the terminal: the hops in time order
// with the changes between them, each number over the hops with its interval drawn to scale,
// what each configuration did in which air, and what to know when reading it. The only error
// is one of w.
func Trend(w io.Writer, t *trend.Trend) error {
	p := &page{}
	p.line("the key numbers over %d %s", len(t.Hops), plural(len(t.Hops), "hop", "hops"))
	p.blank()
	trendHops(p, t)
	var none []string
	for i := range t.Series {
		s := &t.Series[i]
		if !measuredIn(s) {
			none = append(none, seriesTitle(s))
			continue
		}
		trendSeries(p, t, s)
	}
	if len(none) > 0 {
		p.blank()
		p.wrapped("not measured in any hop: ", strings.Join(none, "; "))
	}
	for i := range t.Tables {
		trendTable(p, &t.Tables[i])
	}
	p.blank()
	p.line("how to read it")
	for _, n := range append(trendMeanings(), t.Notes...) {
		p.wrapped("  - ", Short(n, textLength))
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

func measuredIn(s *trend.Series) bool {
	for _, x := range s.Points {
		if x.Estimate != nil {
			return true
		}
	}
	return false
}

// seriesTitle is "roll, correlation lag, ms".
func seriesTitle(s *trend.Series) string {
	text := s.Name
	if s.Axis != "" {
		text = string(s.Axis) + ", " + text
	}
	if u := unitText(s.Unit); u != "" {
		text += ", " + u
	}
	return text
}

// trendHops is the table of hops, with a line for each change.
func trendHops(p *page, t *trend.Trend) {
	rows := [][]string{{"", "hop", "date", "configuration", "air", "m/s", "flags", "verdict"}}
	for i, h := range t.Hops {
		date, air := "no date", "-"
		if !h.StartedAt.IsZero() {
			date = h.StartedAt.UTC().Format("2006-01-02")
		}
		wind := "-"
		if h.Air != "" {
			air = string(h.Air)
			if h.MeanMS != nil {
				wind = figure(h.MeanMS.Value, 1)
			}
		}
		mark := ""
		if h.Change != nil {
			mark = "*"
		}
		rows = append(rows, []string{fmt.Sprintf("%d%s", i+1, mark), Short(h.Name, 14), date, orElse(Short(h.Configuration, 16), "not said"), air,
			wind, fmt.Sprint(h.Flags), verdictWord(h.Proceed)})
	}
	p.columns(rows)
	for i, h := range t.Hops {
		if h.Change != nil {
			p.wrapped(fmt.Sprintf("  %d* ", i+1), changeText(h.Change))
		}
	}
}

// changeText is "bare head -> light bar: bar added".
func changeText(c *trend.Change) string {
	text := Short(c.From, nameLength) + " -> " + Short(c.To, nameLength)
	if len(c.What) > 0 {
		text += ": " + strings.Join(c.What, ", ")
	}
	return text
}

// barWidth is how many characters an interval is drawn in.
const barWidth = 28

// trendSeries writes one number over the hops.
func trendSeries(p *page, t *trend.Trend, s *trend.Series) {
	p.blank()
	title := seriesTitle(s)
	if s.Air {
		title += "; compare hops in the same air only"
	}
	p.wrapped("", title)
	low, high := rangeOf(s)
	var rows [][]string
	width, names := 0, 0
	for _, h := range t.Hops {
		names = max(names, utf8.RuneCountInString(Short(h.Name, 14)))
	}
	for i, x := range s.Points {
		mark := ""
		if t.Hops[i].Change != nil {
			mark = "*"
		}
		row := []string{fmt.Sprintf("%d%s", i+1, mark), Short(t.Hops[i].Name, 14), "", ""}
		if s.Air {
			row[1] = pad(row[1], names) + "  " + string(t.Hops[i].Air)
		}
		if x.Estimate == nil {
			row[2] = "- " + Short(x.Reason, 50)
		} else {
			row[2] = worded(x.Estimate, 1, "", finestOf(s.Unit))
			row[3] = intervalBar(x.Estimate, low, high)
			width = max(width, utf8.RuneCountInString(row[2]))
		}
		rows = append(rows, row)
	}
	trendLines(p, rows, width)
	if s.Warning != "" {
		p.wrapped("  ", Short(s.Warning, textLength))
	}
	for _, l := range s.Levels {
		if l.Hops > 1 {
			p.wrapped("  ", levelText(s, l))
		}
	}
}

// trendLines writes rows in columns; the reasons of absent numbers may run on over the bar.
func trendLines(p *page, rows [][]string, width int) {
	first, second := 0, 0
	for _, r := range rows {
		first, second = max(first, utf8.RuneCountInString(r[0])), max(second, utf8.RuneCountInString(r[1]))
	}
	for _, r := range rows {
		line := fmt.Sprintf("  %s  %s  %s  %s", pad(r[0], first), pad(r[1], second), pad(r[2], width), r[3])
		p.line("%s", strings.TrimRight(line, " "))
	}
}

// levelText is the mean of a configuration over its hops.
func levelText(s *trend.Series, l trend.Level) string {
	air := ""
	if l.Air != "" {
		air = ", " + string(l.Air) + " air"
	}
	text := fmt.Sprintf("mean of %d hops with %s%s: %s", l.Hops, Short(l.Configuration, nameLength), air,
		worded(&l.Mean, 1, unitText(s.Unit), finestOf(s.Unit)))
	switch {
	case !(l.SpreadSD > 0):
	case l.SpreadIsShare:
		text += fmt.Sprintf("; differs by %s %% from hop to hop", significant(100*l.SpreadSD, 2))
	default:
		text += fmt.Sprintf("; differs by %s from hop to hop", significant(l.SpreadSD, 2))
	}
	return text
}

// rangeOf is what the intervals of a series span; open ends are left out.
func rangeOf(s *trend.Series) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, x := range s.Points {
		if x.Estimate == nil {
			continue
		}
		for _, v := range []float64{x.Estimate.Value, x.Estimate.Low, x.Estimate.High} {
			if finite(v) {
				low, high = math.Min(low, v), math.Max(high, v)
			}
		}
	}
	return low, high
}

// intervalBar draws an interval between low and high, the value as an o.
func intervalBar(e *flight.Estimate, low, high float64) string {
	if !(high > low) || !finite(e.Value) {
		return ""
	}
	at := func(v float64) int {
		return max(0, min(barWidth-1, int(math.Round((v-low)/(high-low)*(barWidth-1)))))
	}
	bar := []rune(strings.Repeat(" ", barWidth))
	from, to := e.Low, e.High
	if !finite(from) {
		from = e.Value
	}
	if !finite(to) {
		to = e.Value
	}
	for i := at(from); i <= at(to); i++ {
		bar[i] = '-'
	}
	if finite(e.Low) {
		bar[at(from)] = '|'
	}
	if finite(e.High) {
		bar[at(to)] = '|'
	}
	bar[at(e.Value)] = 'o'
	return strings.TrimRight(string(bar), " ")
}

// trendTable writes what one configuration did in which air.
func trendTable(p *page, t *trend.Table) {
	p.blank()
	p.wrapped("", fmt.Sprintf("%s: %d %s, %d %s; verdicts: %d yes, %d caution, %d no", orElse(Short(t.Configuration, nameLength), "configuration not said"),
		len(t.Hops), plural(len(t.Hops), "hop", "hops"), t.Flags, plural(t.Flags, "flag", "flags"), t.Yes, t.Caution, t.Refuse))
	if len(t.Classes) == 0 {
		p.line("  no wind measured")
		return
	}
	p.columns(classRows(t.Classes))
}

func trendMeanings() []string {
	return []string{
		"a star marks the first hop after a change of configuration; o is the value, |---| its 95 % interval, all of one number on one scale",
		"the tables at the end add up each configuration's hops by class of air: attitude, rate and stick are rms about their mean, " +
			"left is the least of the stick's travel left to a stop",
	}
}
