package report

import (
	"strings"

	"hopcard/analysis/plan"
)

// cardPlan says on the card of a hop what of its plan was flown; nothing if there was none.
func cardPlan(p *page, f *plan.Flown) {
	if f == nil {
		return
	}
	p.heading(2, "Flown against the plan")
	if f.NotDone() > 0 {
		p.table(planRows(f))
		p.blank()
	}
	var done []string
	for _, r := range f.Rows {
		if r.Done {
			done = append(done, markdown(r.Item, nameLength))
		}
	}
	switch {
	case f.NotDone() == 0:
		p.paragraph("Everything as planned: " + strings.Join(done, "; ") + ".")
	case len(done) > 0:
		p.paragraph("As planned: " + strings.Join(done, "; ") + ".")
	}
}

// planRows is the table of what was not flown as planned.
func planRows(f *plan.Flown) [][]string {
	rows := [][]string{{"not as planned", "planned", "flown", "where"}}
	for _, r := range f.Rows {
		if r.Done {
			continue
		}
		where := ""
		if r.Span.LengthS() > 0 {
			where = spanText(r.Span)
		}
		rows = append(rows, []string{markdown(r.Item, nameLength), markdown(r.Planned, nameLength), markdown(r.Flown, nameLength+20), where})
	}
	return rows
}

// planOf is what of the plan was flown, for JSON; nil if there was no plan.
func planOf(f *plan.Flown) any {
	if f == nil {
		return nil
	}
	inputs, rows := []object{}, []object{}
	for _, i := range f.Plan.Inputs {
		inputs = append(inputs, inputOf(i))
	}
	for _, r := range f.Rows {
		o := object{{"item", r.Item}, {"planned", r.Planned}, {"flown", r.Flown}, {"as_planned", r.Done}}
		if r.Span.LengthS() > 0 {
			s := spanOf(r.Span)
			o = append(o, member{"from_s", s.FromS}, member{"to_s", s.ToS})
		}
		rows = append(rows, o)
	}
	return object{{"configuration", f.Plan.Configuration}, {"last_hop", f.Plan.LastHop}, {"step", string(f.Plan.Step)},
		{"wish_ms", rounded(f.Plan.WishMS)}, {"inputs", inputs}, {"rows", rows}}
}
