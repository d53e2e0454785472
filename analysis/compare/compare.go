package compare

import (
	"context"
	"errors"
	"fmt"

	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Side is one of the two configurations: its name and its hops.
type Side struct {
	Name string
	Hops []*debrief.Debrief
}

// Verdict is what a row says.
type Verdict string

// The verdicts. TwoHops: real, but between two hops, one a side, which may differ for other
// reasons than the configuration. Alike: the 95 % interval of the difference lies within
// what is worth knowing. Open: neither a difference nor its absence is shown.
const (
	Real     Verdict = "real"
	TwoHops  Verdict = "between two hops"
	Alike    Verdict = "alike"
	Open     Verdict = "open"
	Withheld Verdict = "withheld"
)

// Row is one key number of both sides. Of a withheld row only what identifies it, A and B
// where known, and Reason are set.
type Row struct {
	Key   string // stable name, with axis and band
	Name  string // in words
	Axis  flight.Axis
	Class wind.Class // air in which it was compared; empty if the air does not matter
	// A and B are the numbers of the sides in Unit, nil if not measured; over several hops
	// their mean.
	Unit flight.Unit
	A, B *flight.Estimate
	// HopsA and HopsB name the hops that gave a number.
	HopsA, HopsB []string
	// Difference is B less A in DifferenceUnit: Unit, or percent of A.
	Difference     *flight.Estimate
	DifferenceUnit flight.Unit
	// BetweenHops is true where each side has one hop: the difference is one between these
	// two hops, whatever made it.
	BetweenHops bool
	// HopSpread is the standard deviation from hop to hop beyond the hops' own errors, in
	// DifferenceUnit; NaN where it cannot be told.
	HopSpread float64
	// Chance is how often equal configurations would show as much in this row alone,
	// Corrected the same with all rows compared in mind.
	Chance, Corrected float64
	// OddsAtMost to 1 for a difference, a bound from Corrected.
	OddsAtMost float64
	Verdict    Verdict
	Sentence   string // the row in plain words
	Reason     string // why it is withheld
	Settle     string // what flying would settle it; of open rows, those of TwoHops and what waits for the same air
	Warning    string // to be shown with it
}

// Result is the comparison of two sides.
type Result struct {
	A, B     string
	HopsA    []string
	HopsB    []string
	Rows     []Row
	Compared int      // rows that are not withheld
	Notes    []string // to be shown with every row
}

// ErrNoHops is returned where a side has no hop.
var ErrNoHops = errors.New("compare: no hop")

// Level is the chance of calling any row real when the configurations are equal.
const Level = 0.05

// Compare compares side b with side a: differences are b less a. The error is ErrNoHops,
// wrapped, or the context's; a hop may not be on both sides (*SharedError).
func Compare(ctx context.Context, a, b Side) (*Result, error) {
	for _, s := range []Side{a, b} {
		if len(s.Hops) == 0 {
			return nil, fmt.Errorf("%w on the side of %s", ErrNoHops, s.Name)
		}
	}
	if err := shared(a, b); err != nil {
		return nil, err
	}
	r := &Result{A: a.Name, B: b.Name, HopsA: hopNames(a), HopsB: hopNames(b)}
	var tests []*tested
	for _, m := range measures() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		tests = append(tests, m.test(a, b)...)
	}
	judge(tests)
	for _, t := range tests {
		if t.row.Verdict != Withheld {
			r.Compared++
		}
	}
	for _, t := range tests {
		t.word(a.Name, b.Name, r.Compared)
		r.Rows = append(r.Rows, t.row)
	}
	r.notes(a, b)
	return r, nil
}

// SharedError is returned for a hop that stands on both sides.
type SharedError struct{ Hop string }

func (e *SharedError) Error() string {
	return fmt.Sprintf("hop %s is on both sides; a hop can only be compared with others", e.Hop)
}

func shared(a, b Side) error {
	for _, x := range a.Hops {
		for _, y := range b.Hops {
			if x == y || x.Hop.Dir != "" && x.Hop.Dir == y.Hop.Dir {
				return &SharedError{x.Hop.Name}
			}
		}
	}
	return nil
}

func hopNames(s Side) []string {
	names := []string{}
	for _, d := range s.Hops {
		names = append(names, d.Hop.Name)
	}
	return names
}

// notes says what holds for the whole comparison.
func (r *Result) notes(a, b Side) {
	if len(a.Hops) == 1 && len(b.Hops) == 1 {
		r.Notes = append(r.Notes, "One hop a side: what differs from hop to hop anyway cannot be told, so each difference is "+
			"between these two hops, not between the configurations. A second hop of each would tell.")
	}
	for _, s := range []Side{a, b} {
		names := map[string]bool{}
		for _, d := range s.Hops {
			names[d.Hop.Configuration] = true
		}
		if len(names) > 1 {
			r.Notes = append(r.Notes, fmt.Sprintf("The hops of %s were flown with different configurations.", s.Name))
		}
	}
	r.Notes = append(r.Notes, fmt.Sprintf("%d rows are compared at once; real means that equal configurations would show "+
		"any such row in one comparison of twenty at most.", r.Compared))
}
