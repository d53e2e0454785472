package report

import (
	"fmt"
	"html"
	"io"
	"strings"

	"hopcard/analysis/compare/trend"
)

// LogbookHTML writes the trend over a logbook as one page that needs nothing else: the hops
// with their verdicts, what was changed between them, a chart of each key number over the
// hops, and what each configuration did by class of air. The only error is one of w.
func LogbookHTML(w io.Writer, title string, t *trend.Trend) error {
	var b strings.Builder
	title = "Logbook: " + orElse(Short(title, nameLength), "no name")
	htmlHead(&b, title, "")
	out := htmlWriter{&b, 1, htmlWidthPt}
	for _, s := range sections(describeLogbook(t).blocks) {
		out.section(s)
	}
	b.WriteString("</main>\n</body>\n</html>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// htmlHead begins a page that loads and runs nothing; class is that of its main part.
func htmlHead(b *strings.Builder, title, class string) {
	title = html.EscapeString(title)
	b.WriteString("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n" +
		// Readers then load nothing even if something slipped through.
		"<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n" +
		"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n")
	fmt.Fprintf(b, "<title>%s</title>\n<style>\n%s</style>\n</head>\n<body>\n", title, cardStyle)
	if class != "" {
		class = fmt.Sprintf(" class=%q", class)
	}
	fmt.Fprintf(b, "<main%s>\n<h1>%s</h1>\n", class, title)
}

// describeLogbook puts the page together.
func describeLogbook(t *trend.Trend) *page {
	p := &page{}
	p.heading(2, fmt.Sprintf("%d %s", len(t.Hops), plural(len(t.Hops), "hop", "hops")))
	p.table(logbookRows(t))
	for i, h := range t.Hops {
		if h.Change != nil {
			p.bullet(fmt.Sprintf("%s: before hop %d: %s", changeLetter(t, i), i+1, markdown(changeText(h.Change), textLength)))
		}
	}
	p.heading(2, "Key numbers over the hops")
	var none []string
	for i := range t.Series {
		s := &t.Series[i]
		if !measuredIn(s) {
			none = append(none, seriesTitle(s))
			continue
		}
		p.figure(3, func(r room) *drawing { return trendFigure(t, s, r) })
	}
	if len(none) > 0 {
		p.note("Not measured in any hop: " + markdown(strings.Join(none, "; "), textLength) + ".")
	}
	p.note(trendFigureMeaning())
	for i := range t.Tables {
		logbookTable(p, &t.Tables[i])
	}
	p.heading(2, "How to read it")
	for _, n := range t.Notes {
		p.bullet(markdown(n, textLength))
	}
	p.bullet("hopcard advises. The pilot, the local rules and a licensed inspection decide.")
	return p
}

// logbookRows is the table of the hops, in time order.
func logbookRows(t *trend.Trend) [][]string {
	rows := [][]string{{"", "hop", "date", "configuration", "changed", "air", "wind, m/s", "gust spread, m/s", "flags", "cautions, stops", "verdict"}}
	for i, h := range t.Hops {
		date := "no date"
		if !h.StartedAt.IsZero() {
			date = h.StartedAt.UTC().Format("2006-01-02 15:04")
		}
		rows = append(rows, []string{
			fmt.Sprint(i + 1), markdown(h.Name, nameLength), date, orElse(markdown(h.Configuration, nameLength), "not said"),
			changeLetter(t, i), orElse(string(h.Air), "not logged"), tableCell(h.MeanMS, 1, "deg"), tableCell(h.SpreadMS, 1, "deg"),
			fmt.Sprint(h.Flags), fmt.Sprintf("%d, %d", h.Cautions, h.Stops), verdictWord(h.Proceed),
		})
	}
	return rows
}

// changeLetter is the letter of the change before a hop, empty if nothing was changed: A, B,
// to Z, then AA.
func changeLetter(t *trend.Trend, hop int) string {
	if t.Hops[hop].Change == nil {
		return ""
	}
	n := 0
	for _, h := range t.Hops[:hop+1] {
		if h.Change != nil {
			n++
		}
	}
	letters := ""
	for ; n > 0; n = (n - 1) / 26 {
		letters = string(rune('A'+(n-1)%26)) + letters
	}
	return letters
}

// logbookTable is what one configuration did in which air, summed over its hops.
func logbookTable(p *page, t *trend.Table) {
	name := orElse(markdown(t.Configuration, nameLength), "configuration not said")
	p.heading(2, fmt.Sprintf("%s: %d %s", name, len(t.Hops), plural(len(t.Hops), "hop", "hops")))
	var hops []string
	for _, h := range t.Hops {
		hops = append(hops, markdown(h, nameLength))
	}
	p.paragraph(fmt.Sprintf("%s. %d %s; verdicts: %d go on, %d caution, %d stop.", strings.Join(hops, ", "), t.Flags, plural(t.Flags, "flag", "flags"), t.Yes, t.Caution, t.Refuse))
	if len(t.Classes) == 0 {
		p.paragraph("No wind was measured.")
		return
	}
	p.table(classRows(t.Classes))
	meaning := classMeaning() + " Summed over the hops."
	if rows := answerRows(t.Classes); len(rows) > 1 {
		p.table(rows)
		meaning += " The other table: the answer to gusts with the stick held, deg per m/s."
	}
	p.note(meaning)
}
