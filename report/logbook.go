package report

import (
	"fmt"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/flight"
)

// LogbookLine words one hop in one line for the list of a logbook: name, date,
// configuration, air, delay, flags and verdict.
func LogbookLine(d *debrief.Debrief) string {
	date := "no date"
	if !d.Hop.StartedAt.IsZero() {
		date = d.Hop.StartedAt.UTC().Format("2006-01-02 15:04")
	}
	air := "wind not logged"
	if d.Wind.Whole != nil {
		air = string(d.Wind.Whole.Class)
	}
	parts := []string{
		pad(Short(d.Hop.Name, 24), 14), pad(date, 16),
		pad(orElse(Short(d.Hop.Configuration, 24), "no configuration"), 16), pad(air, 15),
		pad(lagSummary(d), 34), pad(flagCount(len(d.Stability.Unstable)), 8), verdictWord(d.Verdict.Proceed),
	}
	return strings.Join(parts, "  ")
}

func flagCount(n int) string {
	switch n {
	case 0:
		return "no flags"
	case 1:
		return "1 flag"
	}
	return fmt.Sprintf("%d flags", n)
}

// lagSummary gives the correlation lag of roll and pitch, the one lag that needs no
// model and no definition of bandwidth.
func lagSummary(d *debrief.Debrief) string {
	var parts []string
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		e := firstOf(onAxis(d, a), func(r *response.Result) *flight.Estimate { return r.CorrelationLagS })
		if e != nil && finite(e.Value) {
			parts = append(parts, fmt.Sprintf("%s %s ms", a, fixed(e.Value*1e3, 0)))
		}
	}
	if len(parts) == 0 {
		return "correlation lag not measured"
	}
	return "correlation lag " + strings.Join(parts, ", ")
}
