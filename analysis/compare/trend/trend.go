package trend

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"hopcard/analysis/compare"
	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Trend is the key numbers of several hops in time order.
type Trend struct {
	Hops   []Hop
	Series []Series // by axis, then in the order of a card
	// Tables has one table for each configuration, in the order in which they were first
	// flown.
	Tables []Table
	Notes  []string // to be shown with all of it
}

// Hop is one hop of a trend.
type Hop struct {
	Name          string
	StartedAt     time.Time // zero if unknown
	Configuration string    // empty if unknown
	// Change is what was changed since the hop before, nil if nothing was, as far as known.
	Change *Change
	// Air is the class of the whole flight, empty if no wind was measured; the mean wind
	// and the gust spread in m/s, nil if unknown.
	Air              wind.Class
	MeanMS, SpreadMS *flight.Estimate
	Proceed          debrief.Proceed
	Flags            int // unstable intervals
	Stops, Cautions  int // findings
}

// Change is a change of configuration.
type Change struct {
	From, To string // names of the configurations
	// What lists the dimensions that differ, as aircraft.toml spells them, with both values:
	// "bar.weight_kg 0.3 -> 0.45". It is empty if aircraft.toml does not tell.
	What []string
}

// Series is one number over all hops.
type Series struct {
	Key  string // stable, with axis: "roll_correlation_lag"
	Name string // in words, without the axis
	Axis flight.Axis
	Unit flight.Unit // of all estimates in the series; flight.Percent of full travel for sticks
	// Air is true if the number depends on the air: then only hops of one class compare.
	Air bool
	// Warning is to be shown with it, empty if there is nothing to beware of.
	Warning string
	Points  []Point // parallel to Trend.Hops
	Levels  []Level // of configurations that have a number with an interval
}

// Point is the number of one hop. Estimate is nil where the hop does not give it, and Reason
// says why.
type Point struct {
	Estimate *flight.Estimate
	Reason   string
}

// Level is the mean of a number over the hops of one configuration, in one class of air if
// the number depends on it.
type Level struct {
	Configuration string
	Air           wind.Class // empty where the air does not matter
	Hops          int        // that gave a number with an interval
	Mean          flight.Estimate
	// SpreadSD is the standard deviation from hop to hop beyond the hops' own errors, in the
	// unit of the mean or, if SpreadIsShare, as a share of it; NaN of one hop.
	SpreadSD      float64
	SpreadIsShare bool
}

// Table adds up the hops of one configuration by class of air.
type Table struct {
	Configuration string // empty for hops whose configuration is not known
	Hops          []string
	Classes       []wind.ClassRow // empty if no wind was measured
	// Flags counts the unstable intervals of its hops, Proceed its verdicts.
	Flags                int
	Yes, Caution, Refuse int
}

// Of sets hops side by side. It never fails: what a hop does not give is absent, with its
// reason.
func Of(hops []*debrief.Debrief) *Trend {
	hops = inOrder(hops)
	t := &Trend{}
	for i, d := range hops {
		h := hopOf(d)
		if i > 0 {
			h.Change = changed(hops[i-1], d)
		}
		t.Hops = append(t.Hops, h)
	}
	for _, n := range numbers() {
		t.Series = append(t.Series, n.series(hops))
	}
	t.Tables = tables(hops)
	t.Notes = notes(hops)
	return t
}

// inOrder sorts by date; what has none stands last, in order of name.
func inOrder(hops []*debrief.Debrief) []*debrief.Debrief {
	hops = slices.Clone(hops)
	slices.SortStableFunc(hops, func(a, b *debrief.Debrief) int {
		x, y := a.Hop.StartedAt, b.Hop.StartedAt
		switch {
		case x.IsZero() && y.IsZero():
			return strings.Compare(a.Hop.Name, b.Hop.Name)
		case x.IsZero():
			return 1
		case y.IsZero():
			return -1
		}
		return cmp.Or(x.Compare(y), strings.Compare(a.Hop.Name, b.Hop.Name))
	})
	return hops
}

func hopOf(d *debrief.Debrief) Hop {
	h := Hop{
		Name: d.Hop.Name, StartedAt: d.Hop.StartedAt, Configuration: d.Hop.Configuration, Air: compare.ClassOf(d),
		Proceed: d.Verdict.Proceed, Flags: len(d.Stability.Unstable),
	}
	if h.Air != "" {
		h.MeanMS, h.SpreadMS = d.Wind.Whole.MeanMS, d.Wind.Whole.SpreadMS
	}
	for _, f := range d.Findings {
		switch f.Severity {
		case flight.Stop:
			h.Stops++
		case flight.Caution:
			h.Cautions++
		}
	}
	return h
}

// tables adds up by configuration, in the order in which they were first flown.
func tables(hops []*debrief.Debrief) []Table {
	var list []Table
	rows := map[string][][]wind.ClassRow{}
	for _, d := range hops {
		name := d.Hop.Configuration
		i := slices.IndexFunc(list, func(t Table) bool { return t.Configuration == name })
		if i < 0 {
			i = len(list)
			list = append(list, Table{Configuration: name})
		}
		t := &list[i]
		t.Hops = append(t.Hops, d.Hop.Name)
		t.Flags += len(d.Stability.Unstable)
		switch d.Verdict.Proceed {
		case debrief.Yes:
			t.Yes++
		case debrief.Caution:
			t.Caution++
		case debrief.No:
			t.Refuse++
		}
		if !d.Wind.OnBoard {
			rows[name] = append(rows[name], d.Wind.Classes)
		}
	}
	for i := range list {
		list[i].Classes = wind.SumClasses(rows[list[i].Configuration]...)
	}
	return list
}

// notes says what holds for the whole trend.
func notes(hops []*debrief.Debrief) []string {
	var undated, unnamed []string
	for _, d := range hops {
		if d.Hop.StartedAt.IsZero() {
			undated = append(undated, d.Hop.Name)
		}
		if d.Hop.Configuration == "" {
			unnamed = append(unnamed, d.Hop.Name)
		}
	}
	var list []string
	if len(undated) > 0 {
		list = append(list, fmt.Sprintf("Without a date, and so last and in order of name: %s. Set started_at in hop.toml.", strings.Join(undated, ", ")))
	}
	if len(unnamed) > 0 {
		list = append(list, fmt.Sprintf("Without a configuration: %s. Set configuration in hop.toml, or a change cannot be seen.", strings.Join(unnamed, ", ")))
	}
	return append(list, "Each interval is the hop's own. A level is the mean of a configuration's hops, and its interval holds what "+
		"differs from hop to hop. Whether two configurations differ is for the comparison to say: of many numbers some look so by chance.")
}
