package report

import (
	"fmt"
	"io"
	"strings"
)

// PredictHTML writes a prediction as one page that needs nothing else: the tables of the
// rotor head and of each axis, the design charts with the configurations marked, how the
// numbers move with each dimension, what was assumed, and what to beware of. The only error
// is one of w.
func PredictHTML(w io.Writer, c Prediction) error {
	var b strings.Builder
	htmlHead(&b, Short(c.Configuration.Name, nameLength)+": the rotor head on paper", "")
	out := htmlWriter{&b, 1, htmlWidthPt}
	for _, s := range sections(describePrediction(c).blocks) {
		out.section(s)
	}
	b.WriteString("</main>\n</body>\n</html>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// describePrediction puts the page together.
func describePrediction(c Prediction) *page {
	p := &page{}
	if c.Configuration.Note != "" {
		p.paragraph(markdown(c.Configuration.Note, textLength))
	}
	p.heading(2, "Rotor head")
	p.table(headRows(c))
	p.note("Phasing: " + markdown(c.phasing(), textLength) + ".")
	for _, x := range c.Changes {
		p.bullet(fmt.Sprintf("tried on paper: %s %.6g -> %.6g", markdown(x.Key, nameLength), x.From, x.To))
	}
	p.heading(2, "Answer")
	p.table(axisRows(c.Numbers))
	for _, text := range predictMeaningTexts() {
		p.note(upperFirst(text))
	}
	if len(c.Charts) > 0 {
		p.heading(2, "Design charts")
		for i := range c.Charts {
			p.figure(3, func(r room) *drawing { return designFigure(&c.Charts[i], r) })
		}
		p.note("Numbered dots are configurations of the logbook, each by its own dimensions: one lies off the curves where it differs in more than the chart shows.")
	}
	p.heading(2, "What moves what")
	for _, t := range sensitivityTables() {
		if rows := sensitivityTable(t.title, t.columns, c.Sensitivities); len(rows) > 1 {
			p.table(rows)
		}
	}
	p.note(upperFirst(sensitivityMeaning))
	p.heading(2, "Assumed")
	for _, a := range c.Numbers.Assumptions {
		p.bullet(markdown(a, textLength))
	}
	p.heading(2, "Beware")
	for _, text := range paperCautions() {
		p.bullet(text)
	}
	return p
}
