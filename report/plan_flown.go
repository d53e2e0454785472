package report

import (
	"hopcard/analysis/plan"
)

// cardPlan says on the card of a hop what of its plan was flown; nothing if there was none.
func cardPlan(p *page, f *plan.Flown) {
	if f == nil {
		return
	}
	p.heading(2, "Flown against the plan")
	p.table(planRows(f))
	p.blank()
	switch n := f.NotDone(); n {
	case 0:
		p.paragraph("Everything as planned.")
	case 1:
		p.paragraph("One item is not as planned: marked NO.")
	default:
		p.paragraph(numberWord(n) + " items are not as planned: marked NO.")
	}
}

// planRows is the table of what was planned and flown.
func planRows(f *plan.Flown) [][]string {
	rows := [][]string{{"item", "planned", "flown", "as planned", "where"}}
	for _, r := range f.Rows {
		done := "yes"
		if !r.Done {
			done = "NO"
		}
		where := ""
		if r.Span.LengthS() > 0 {
			where = spanText(r.Span)
		}
		rows = append(rows, []string{markdown(r.Item, nameLength), markdown(r.Planned, nameLength), markdown(r.Flown, nameLength+20), done, where})
	}
	return rows
}

func numberWord(n int) string {
	words := []string{"No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten"}
	if n < len(words) {
		return words[n]
	}
	return "More than ten"
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
