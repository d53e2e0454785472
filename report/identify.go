package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"hopcard/analysis/identify"
	"hopcard/flight"
)

// Identified is a rotor head as its hops show it, and what it says about a configuration.
type Identified struct {
	Fit      *identify.Result
	Forecast *identify.Forecast
	Changes  []identify.Changed // set by hand, beyond the configuration's own dimensions
}

// Identify writes fitted numbers and forecast as text for the terminal: what was flown
// against the dimensions, what the hops do not tell, what the change does, and what to beware
// of. The only error is one of w.
func Identify(w io.Writer, c Identified) error {
	p := &page{}
	var hops []string
	for _, h := range c.Fit.Hops {
		hops = append(hops, Short(h.Name, nameLength))
	}
	p.wrapped("", fmt.Sprintf("%s: the rotor head as flown in %s", Short(c.Fit.Configuration.Name, nameLength), strings.Join(hops, ", ")))
	p.blank()
	p.columns(parameterRows(c.Fit))
	differing(p, c.Fit)
	identifyNotTold(p, c.Fit)
	forecastRows(p, c)
	p.blank()
	p.line("assumed")
	for _, a := range c.Fit.Assumptions {
		p.wrapped("  - ", Short(a, textLength))
	}
	p.blank()
	p.line("beware")
	for _, text := range append(c.notes(), flownCautions()...) {
		p.wrapped("  - ", Short(text, textLength))
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// notes are those of the fit and of the forecast. What both say is said once, by the one
// that says more.
func (c Identified) notes() []string {
	all := append([]string{}, c.Fit.Notes...)
	for _, text := range c.Forecast.Notes {
		if !slices.ContainsFunc(all, func(said string) bool { return strings.HasPrefix(said, text) }) {
			all = append(all, text)
		}
	}
	return all
}

// shownUnit is the unit a number is shown in and the factor to it: short times in ms.
func shownUnit(u flight.Unit) (unit string, k float64) {
	if u == flight.Second {
		return "ms", 1e3
	}
	return unitText(u), 1
}

func parameterRows(r *identify.Result) [][]string {
	rows := [][]string{{"number", "unit", "as flown", "dimensions", ""}}
	for _, q := range r.Parameters {
		if q.Estimate == nil {
			continue
		}
		unit, k := shownUnit(q.Unit)
		paper, verdict := "-", ""
		if finite(q.Dimensions) {
			paper = significant(q.Dimensions*k, 3)
			verdict = string(q.Agreement)
			if q.Usual {
				paper += " usual"
			}
		}
		rows = append(rows, []string{q.Name, unit, worded(q.Estimate, k, "", finestOf(flight.Unit(unit))), paper, verdict})
	}
	return rows
}

// differing says by how much what was flown differs from the dimensions.
func differing(p *page, r *identify.Result) {
	for _, q := range r.Parameters {
		if q.Agreement != identify.Differs || !finite(q.Dimensions) {
			continue
		}
		unit, k := shownUnit(q.Unit)
		off := q.Estimate.Value - q.Dimensions
		text := fmt.Sprintf("%s %s", significant(math.Abs(off)*k, 2), unit)
		if q.Positive && q.Dimensions > 0 {
			text = significant(100*math.Abs(off)/q.Dimensions, 2) + " %"
		}
		way := "more"
		if off < 0 {
			way = "less"
		}
		p.wrapped("  ", fmt.Sprintf("%s is %s %s than the dimensions say", q.Name, strings.TrimSpace(text), way))
	}
}

func identifyNotTold(p *page, r *identify.Result) {
	p.blank()
	p.line("not told by these hops")
	for _, text := range r.NotTold {
		p.wrapped("  - ", Short(text, textLength))
	}
	if len(r.NotTold) == 0 {
		p.line("  nothing is missing")
	}
	p.line("told apart by no hop")
	for _, text := range r.Products {
		p.wrapped("  - ", Short(text, textLength))
	}
}

// forecastRows writes the numbers of the forecast.
func forecastRows(p *page, c Identified) {
	f := c.Forecast
	what := changesText(c)
	p.blank()
	if what == "" {
		p.line("what the fitted head says of the aircraft as flown")
	} else {
		p.wrapped("", "what the fitted head says of the change: "+what)
	}
	var still []string
	for _, row := range f.Rows {
		unit, k := shownUnit(row.Unit)
		title := row.Name
		if unit != "" {
			title += ", " + unit
		}
		move := moveText(row, k, unit)
		switch {
		case row.Withheld != "":
			p.wrapped("  ", title+": "+Short(row.Withheld, textLength))
		case row.Changed == nil && row.Flown == nil:
		case what == "":
			p.wrapped("  ", fmt.Sprintf("%s: %s; on paper %s", title, worded(row.Flown, k, "", finestOf(flight.Unit(unit))), paperText(row.Paper, k)))
		case move == "" && row.Flown != nil && row.Changed != nil:
			still = append(still, row.Name)
		default:
			p.line("  %s", title)
			p.wrapped("      ", fmt.Sprintf("%s -> %s%s", flownText(row.Flown, k, unit), flownText(row.Changed, k, unit), move))
		}
	}
	if len(still) > 0 {
		p.wrapped("  not moved: ", strings.Join(still, "; "))
	}
	if len(f.RestsOn) > 0 {
		p.wrapped("  ", "held at the dimensions, because no hop tells them: "+strings.Join(f.RestsOn, ", "))
	}
}

// changesText lists what differs from what was flown, empty if nothing does.
func changesText(c Identified) string {
	var parts []string
	if c.Forecast.From.Name != c.Forecast.To.Name {
		parts = append(parts, Short(c.Forecast.From.Name, nameLength)+" -> "+Short(c.Forecast.To.Name, nameLength))
	}
	for _, x := range c.Changes {
		parts = append(parts, fmt.Sprintf("%s %.6g -> %.6g", x.Key, x.From, x.To))
	}
	return strings.Join(parts, ", ")
}

func paperText(x, k float64) string {
	if !finite(x) {
		return "none"
	}
	return significant(x*k, 3)
}

// flownText words an estimate, "none" if there is no such number.
func flownText(e *flight.Estimate, k float64, unit string) string {
	if e == nil {
		return "none"
	}
	return worded(e, k, "", finestOf(flight.Unit(unit)))
}

// moveText words a difference, nothing if there is none.
func moveText(row identify.Row, k float64, unit string) string {
	e := row.Moves
	switch {
	case e == nil || e.Low == 0 && e.High == 0:
		return ""
	case math.Abs(e.Value) < 1e-6*math.Abs(row.Flown.Value) || math.Abs(e.Value) < 1e-9:
		return ""
	}
	return ", by " + worded(e, k, "", finestOf(flight.Unit(unit)))
}

// flownCautions stand under every forecast from hops.
func flownCautions() []string {
	return []string{
		"A forecast is as good as the model, which holds in the hover, for small angles. It says nothing about forward flight, ground effect, " +
			"blade loads, vibration, or mast bumping in low g.",
		paperCautions()[2],
		"Change one thing at a time, weigh and measure it, and fly it first in calm air; then compare. Local rules and a licensed inspection come before any card.",
	}
}

// IdentifyJSON writes fitted numbers and forecast as one JSON object. Estimates that the hops
// do not tell are absent, with a reason. The only error is one of w.
func IdentifyJSON(w io.Writer, c Identified) error {
	parameters, hops, rows := []object{}, []object{}, []object{}
	for _, q := range c.Fit.Parameters {
		parameters = append(parameters, parameterOf(q))
	}
	for _, h := range c.Fit.Hops {
		o := append(object{{"name", h.Name}}, known(value{"misfit", h.ChiSquare})...)
		if h.Problem != "" {
			o = append(o, member{"problem", h.Problem})
		}
		hops = append(hops, o)
	}
	for _, r := range c.Forecast.Rows {
		rows = append(rows, forecastOf(r))
	}
	return writeDocument(w, object{
		{"format", JSONFormat},
		{"configuration", c.Forecast.To.Name},
		{"fitted_on", c.Fit.Configuration.Name},
		{"hops", hops},
		{"parameters", parameters},
		{"not_told", append([]string{}, c.Fit.NotTold...)},
		{"products", append([]string{}, c.Fit.Products...)},
		{"changes", changesOf(c.Changes)},
		{"forecast", rows},
		{"rests_on", append([]string{}, c.Forecast.RestsOn...)},
		{"assumptions", append([]string{}, c.Fit.Assumptions...)},
		{"notes", c.notes()},
		{"cautions", flownCautions()},
	})
}

func parameterOf(q identify.Parameter) object {
	o := object{{"key", q.Key}, {"name", q.Name}, {"unit", unitText(q.Unit)}}
	if e := estimateOf(q.Estimate, 1); e != nil {
		o = append(o, member{"flown", e}, member{"hops", append([]string{}, q.Hops...)})
	} else {
		o = append(o, member{"reason", q.Reason}, member{"would_tell", q.Hint})
	}
	spread := value{"hop_spread", q.SpreadSD}
	if q.Positive {
		spread.name = "hop_spread_share"
	}
	o = append(o, known(value{"dimensions", q.Dimensions}, spread)...)
	if q.Agreement != identify.Unknown {
		o = append(o, member{"agreement", string(q.Agreement)})
	}
	return o
}

func forecastOf(r identify.Row) object {
	o := object{{"name", r.Name}, {"unit", unitText(r.Unit)}}
	for _, x := range []struct {
		name string
		e    *flight.Estimate
	}{{"flown", r.Flown}, {"changed", r.Changed}, {"moves", r.Moves}} {
		if e := estimateOf(x.e, 1); e != nil {
			o = append(o, member{x.name, e})
		}
	}
	o = append(o, known(value{"paper", r.Paper})...)
	if r.Withheld != "" {
		o = append(o, member{"withheld", r.Withheld})
	}
	return o
}
