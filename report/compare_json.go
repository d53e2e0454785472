package report

import (
	"io"

	"hopcard/analysis/compare"
)

// CompareJSON writes a comparison as one JSON object. Every row has key, name, unit and
// verdict (real, between two
// hops, alike, open, withheld); what a row does not have is absent. The only
// error is one of w.
func CompareJSON(w io.Writer, r *compare.Result) error {
	rows := []object{}
	for i := range r.Rows {
		rows = append(rows, compareRowOf(&r.Rows[i]))
	}
	return writeDocument(w, object{
		{"format", JSONFormat},
		{"a", object{{"name", r.A}, {"hops", append([]string{}, r.HopsA...)}}},
		{"b", object{{"name", r.B}, {"hops", append([]string{}, r.HopsB...)}}},
		{"compared", r.Compared},
		{"notes", append([]string{}, r.Notes...)},
		{"rows", rows},
	})
}

func compareRowOf(r *compare.Row) object {
	o := object{{"key", r.Key}, {"name", r.Name}}
	text := func(name, s string) {
		if s != "" {
			o = append(o, member{name, s})
		}
	}
	text("axis", string(r.Axis))
	text("air", string(r.Class))
	o = append(o, member{"unit", unitText(r.Unit)}, member{"verdict", string(r.Verdict)}, member{"sentence", r.Sentence})
	if e := estimateOf(r.A, 1); e != nil {
		o = append(o, member{"a", e})
	}
	if e := estimateOf(r.B, 1); e != nil {
		o = append(o, member{"b", e})
	}
	o = append(o, member{"hops_a", append([]string{}, r.HopsA...)}, member{"hops_b", append([]string{}, r.HopsB...)})
	if e := estimateOf(r.Difference, 1); e != nil {
		o = append(o, member{"difference", e}, member{"difference_unit", unitText(r.DifferenceUnit)},
			member{"between_two_hops", r.BetweenHops})
		o = append(o, known(value{"hop_spread", r.HopSpread}, value{"chance", r.Chance}, value{"chance_corrected", r.Corrected},
			value{"odds_at_most", r.OddsAtMost})...)
	}
	text("reason", r.Reason)
	text("to_settle", r.Settle)
	text("warning", r.Warning)
	return o
}
