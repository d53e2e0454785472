package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hopcard/analysis/response"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Flown sets what was flown beside what was planned.
type Flown struct {
	Plan *flight.Plan
	Rows []Row
}

// Row is one item of a plan.
type Row struct {
	Item    string
	Planned string
	Flown   string
	// Done is false where less was flown than planned, something else, or beyond a limit.
	Done bool
	// Span is where to look, zero if it is the whole hop.
	Span flight.Span
}

// NotDone counts the rows that are not as planned.
func (f *Flown) NotDone() int {
	n := 0
	for _, r := range f.Rows {
		if !r.Done {
			n++
		}
	}
	return n
}

// Parts are the parts of a debrief that a plan is held against.
type Parts struct {
	Hop       *flight.Hop
	Segments  []flight.Segment
	Responses []response.Result
	Wind      wind.Result
}

// Check holds a hop against its plan; nil if there is none.
func Check(p *flight.Plan, d Parts) *Flown {
	if p == nil {
		return nil
	}
	c := &checker{plan: p, d: d, out: &Flown{Plan: p}}
	c.configuration()
	c.inputs()
	c.unplanned()
	c.delays()
	c.knocks()
	c.wind()
	c.within(flight.Roll, flight.Pitch, p.Limits.AttitudeDeg, "attitude", "deg")
	c.within(flight.RollRate, flight.PitchRate, p.Limits.RateDegS, "rate", "deg/s")
	return c.out
}

type checker struct {
	plan *flight.Plan
	d    Parts
	out  *Flown
}

func (c *checker) add(item, planned, flown string, done bool, span flight.Span) {
	c.out.Rows = append(c.out.Rows, Row{item, planned, flown, done, span})
}

func (c *checker) configuration() {
	if c.plan.Configuration == "" {
		return
	}
	flown := c.d.Hop.Configuration
	if flown == "" {
		flown = "not stated in " + flight.HopFile
	}
	c.add("configuration", c.plan.Configuration, flown, c.plan.Configuration == c.d.Hop.Configuration, flight.Span{})
}

// kindAxis is what inputs are counted by.
type kindAxis struct {
	kind flight.SegmentKind
	axis flight.Axis
}

func (k kindAxis) String() string { return strings.TrimSpace(string(k.axis) + " " + plural(k.kind)) }

func plural(k flight.SegmentKind) string {
	switch k {
	case flight.Steps, flight.HandsStill, flight.Hover:
		return string(k)
	}
	return string(k) + "s"
}

// flown lists the segments of a kind. Hands still are those in which neither stick moved.
func (c *checker) flown(k kindAxis) []flight.Segment {
	var out []flight.Segment
	for _, s := range c.d.Segments {
		if s.Kind == k.kind && s.Axis == k.axis {
			out = append(out, s)
		}
	}
	return out
}

func (c *checker) planned() (keys []kindAxis, of map[kindAxis][]flight.PlannedInput) {
	of = map[kindAxis][]flight.PlannedInput{}
	for _, i := range c.plan.Inputs {
		k := kindAxis{i.Kind, i.Axis}
		if of[k] == nil {
			keys = append(keys, k)
		}
		of[k] = append(of[k], i)
	}
	return keys, of
}

func (c *checker) inputs() {
	keys, of := c.planned()
	for _, k := range keys {
		switch k.kind {
		case flight.Hover:
			c.hover(of[k])
		case flight.HandsStill:
			c.still(of[k])
		default:
			c.moved(k, of[k])
		}
	}
}

// hover counts all time in the hover, in as many pieces as it was.
func (c *checker) hover(planned []flight.PlannedInput) {
	want, got := 0.0, 0.0
	for _, i := range planned {
		want += float64(i.Count) * i.LengthS
	}
	for _, s := range c.flown(kindAxis{kind: flight.Hover}) {
		got += s.Span.LengthS()
	}
	c.add("hover, no input", fmt.Sprintf("%.0f s", want), fmt.Sprintf("%.0f s in all", got), got >= 0.9*want, flight.Span{})
}

func (c *checker) still(planned []flight.PlannedInput) {
	count, length := 0, math.Inf(1)
	for _, i := range planned {
		count += i.Count
		length = min(length, i.LengthS)
	}
	var long []flight.Segment
	longest := 0.0
	for _, s := range c.flown(kindAxis{kind: flight.HandsStill}) {
		longest = max(longest, s.Span.LengthS())
		if s.Span.LengthS() >= 0.8*length { // a hand comes back a little early
			long = append(long, s)
		}
	}
	flown := "none"
	if longest > 0 {
		flown = fmt.Sprintf("%d so long, longest %.1f s", len(long), longest)
	}
	c.add("hands still, both sticks", fmt.Sprintf("%d of %g s", count, length), flown, len(long) >= count, hull(long))
}

// sizeSlack is the factor by which the stick may have gone further or less far than planned and
// still count as planned: no hand is exact.
const sizeSlack = 1.5

func (c *checker) moved(k kindAxis, planned []flight.PlannedInput) {
	count, least, most := 0, math.Inf(1), 0.0
	for _, i := range planned {
		count += i.Count
		least, most = min(least, i.SizePercent), max(most, i.SizePercent, i.SizeEndPercent)
	}
	segs := c.flown(k)
	want := fmt.Sprintf("%d of %s %%", count, between(least, most))
	got, done := "none", false
	if len(segs) > 0 {
		done = len(segs) >= count
		got = fmt.Sprint(len(segs))
		low, high := c.sizes(segs)
		if high > 0 {
			got += fmt.Sprintf(" of %s %%", between(low, high))
		}
		switch {
		case high > sizeSlack*most:
			got, done = got+", larger than planned", false
		case high > 0 && high < least/sizeSlack:
			got, done = got+", smaller than planned", false
		}
	}
	c.add(k.String(), want, got, done, hull(segs))
	if k.kind == flight.Sweep {
		c.band(k, planned, segs)
	}
}

func between(low, high float64) string {
	a, b := fmt.Sprintf("%.3g", low), fmt.Sprintf("%.3g", high)
	if a == b {
		return a
	}
	return a + " to " + b
}

// sizes are half the smallest and the largest travel of the stick in the segments, percent.
func (c *checker) sizes(segs []flight.Segment) (low, high float64) {
	low = math.Inf(1)
	for _, s := range segs {
		if d := 100 * travel(c.d.Hop, s) / 2; d > 0 {
			low, high = min(low, d), max(high, d)
		}
	}
	if high == 0 {
		return 0, 0
	}
	return math.Round(low), math.Round(high)
}

// bandSlack is by how much the ends of a flown band may fall short, as a factor; that is
// about how well the energy's ends are found.
const bandSlack = 1.5

// band compares the band that holds 90 % of the sweeps' energy.
func (c *checker) band(k kindAxis, planned []flight.PlannedInput, segs []flight.Segment) {
	want := [2]float64{math.Inf(1), 0}
	for _, i := range planned {
		if b, ok := Band90(i); ok {
			want = [2]float64{min(want[0], b[0]), max(want[1], b[1])}
		}
	}
	got, done := "none", false
	if len(segs) > 0 {
		b := [2]float64{math.Inf(1), 0}
		for _, s := range segs {
			b = [2]float64{min(b[0], s.BandRadS[0]), max(b[1], s.BandRadS[1])}
		}
		got = fmt.Sprintf("from %.2g to %.2g rad/s", b[0], b[1])
		done = b[0] <= bandSlack*want[0] && b[1] >= want[1]/bandSlack
	}
	c.add(k.String()+", 90 % of the energy", fmt.Sprintf("from %.2g to %.2g rad/s", want[0], want[1]), got, done, hull(segs))
}

// unplanned lists test inputs that no plan asked for.
func (c *checker) unplanned() {
	_, of := c.planned()
	for _, kind := range []flight.SegmentKind{flight.Doublet, flight.Steps, flight.Sweep, flight.Rap} {
		for _, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis, flight.YawAxis} {
			k := kindAxis{kind, axis}
			if segs := c.flown(k); len(segs) > 0 && of[k] == nil {
				c.add(k.String(), "none", fmt.Sprint(len(segs)), false, hull(segs))
			}
		}
	}
}

// delays says whether the wished interval was reached, in the axes that were planned.
func (c *checker) delays() {
	if c.plan.WishMS == 0 {
		return
	}
	for _, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis, flight.YawAxis} {
		if !slices.ContainsFunc(c.plan.Inputs, func(i flight.PlannedInput) bool { return i.Moves() && i.Axis == axis }) {
			continue
		}
		got, done := "not measured", false
		if r := result(c.d.Responses, axis, response.Rate); r != nil && r.CorrelationLagS != nil {
			if e := r.CorrelationLagS; e.HasInterval() {
				half := (e.High - e.Low) / 2 * 1e3
				got, done = fmt.Sprintf("within %.1f ms", half), half <= c.plan.WishMS
			}
		}
		c.add(string(axis)+" correlation lag", fmt.Sprintf("within %g ms", c.plan.WishMS), got, done, flight.Span{})
	}
}

// airborne is from lift-off to landing.
func airborne(segs []flight.Segment) (flight.Span, bool) {
	var out flight.Span
	found := false
	for _, s := range segs {
		switch s.Kind {
		case flight.Ground, flight.SpinUp, flight.SpinDown, flight.ControlCheck, flight.Knocks:
			continue
		}
		if !found {
			out, found = s.Span, true
			continue
		}
		out.FromS, out.ToS = min(out.FromS, s.Span.FromS), max(out.ToS, s.Span.ToS)
	}
	return out, found
}

// hull is from the first start to the last end.
func hull(segs []flight.Segment) flight.Span {
	var out flight.Span
	for i, s := range segs {
		if i == 0 {
			out = s.Span
		}
		out.FromS, out.ToS = min(out.FromS, s.Span.FromS), max(out.ToS, s.Span.ToS)
	}
	return out
}
