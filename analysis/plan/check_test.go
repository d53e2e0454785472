package plan_test

import (
	"strings"
	"testing"

	"hopcard/analysis/plan"
	"hopcard/analysis/simulate"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

func row(t *testing.T, f *plan.Flown, item string) plan.Row {
	t.Helper()
	for _, r := range f.Rows {
		if r.Item == item {
			return r
		}
	}
	t.Fatalf("no row %q in %+v", item, f.Rows)
	return plan.Row{}
}

// simpleHop is ninety seconds of hover with what is given.
func simpleHop(inputs ...flight.Segment) plan.Parts {
	h := &flight.Hop{Configuration: "bar", Sources: []flight.Source{{Clock: flight.Clock{AlignedBy: flight.AlignSingle}}}}
	for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.RollRate, flight.PitchRate, flight.LatStick, flight.LonStick, flight.Pedal} {
		c := flight.Channel{Quantity: q, Sure: 1}
		for i := range 2000 {
			c.TimeS, c.Value = append(c.TimeS, float64(i)*0.05), append(c.Value, 0.01)
		}
		h.Channels = append(h.Channels, c)
	}
	segs := []flight.Segment{
		{Kind: flight.Ground, Span: flight.Span{FromS: 0, ToS: 5}},
		{Kind: flight.LiftOff, Span: flight.Span{FromS: 5, ToS: 8}},
		{Kind: flight.Hover, Span: flight.Span{FromS: 8, ToS: 60}},
		{Kind: flight.Landing, Span: flight.Span{FromS: 95, ToS: 98}},
	}
	return plan.Parts{Hop: h, Segments: append(segs, inputs...)}
}

func doublet(axis flight.Axis, fromS float64) flight.Segment {
	return flight.Segment{Kind: flight.Doublet, Axis: axis, Span: flight.Span{FromS: fromS, ToS: fromS + 1.6}, BandRadS: [2]float64{1, 8}}
}

// pull moves a stick by a doublet of a size about its trim.
func pull(p plan.Parts, s flight.Segment, size float64) {
	c := p.Hop.Channel(s.Axis.Stick())
	mid := (s.Span.FromS + s.Span.ToS) / 2
	for i, t := range c.TimeS {
		switch {
		case s.Span.Contains(t) && t < mid:
			c.Value[i] += size
		case s.Span.Contains(t):
			c.Value[i] -= size
		}
	}
}

func TestCheckCountsInputs(t *testing.T) {
	p := &flight.Plan{Format: 1, Inputs: []flight.PlannedInput{
		{Kind: flight.Doublet, Axis: flight.RollAxis, Count: 2, LengthS: 1.6, SizePercent: 6},
		{Kind: flight.Doublet, Axis: flight.PitchAxis, Count: 1, LengthS: 1.6, SizePercent: 6},
		{Kind: flight.Sweep, Axis: flight.PitchAxis, Count: 1, LengthS: 45, SizePercent: 3, SizeEndPercent: 6, FromRadS: 0.63, ToRadS: 12},
		{Kind: flight.HandsStill, Count: 2, LengthS: 5},
		{Kind: flight.Hover, Count: 1, LengthS: 45},
	}}
	p.Inputs = append(p.Inputs, flight.PlannedInput{Kind: flight.Doublet, Axis: flight.YawAxis, Count: 1, LengthS: 1.6, SizePercent: 10})
	inputs := []flight.Segment{doublet(flight.YawAxis, 50), doublet(flight.RollAxis, 62), doublet(flight.RollAxis, 70), doublet(flight.PitchAxis, 78),
		{Kind: flight.HandsStill, Span: flight.Span{FromS: 84, ToS: 89}},
		{Kind: flight.HandsStill, Axis: flight.RollAxis, Span: flight.Span{FromS: 90, ToS: 94}},
		{Kind: flight.Rap, Axis: flight.RollAxis, Span: flight.Span{FromS: 94, ToS: 94.2}}}
	d := simpleHop(inputs...)
	pull(d, inputs[0], 0.05)
	pull(d, inputs[1], 0.06)
	pull(d, inputs[2], 0.07)
	pull(d, inputs[3], 0.12)
	f := plan.Check(p, d)
	for _, want := range []plan.Row{
		{Item: "roll doublets", Planned: "2 of 6 %", Flown: "2 of 6 to 7 %", Done: true},
		{Item: "pitch doublets", Planned: "1 of 6 %", Flown: "1 of 12 %, larger than planned"},
		{Item: "yaw doublets", Planned: "1 of 10 %", Flown: "1 of 5 %, smaller than planned"},
		{Item: "pitch sweeps", Planned: "1 of 3 to 6 %", Flown: "none"},
		{Item: "hands still, both sticks", Planned: "2 of 5 s", Flown: "1 so long, longest 5.0 s"},
		{Item: "hover, no input", Planned: "45 s", Flown: "52 s in all", Done: true},
		{Item: "roll raps", Planned: "none", Flown: "1"},
	} {
		got := row(t, f, want.Item)
		got.Span = flight.Span{}
		if got != want {
			t.Errorf("%+v, want %+v", got, want)
		}
	}
	if s := row(t, f, "roll doublets").Span; s.FromS != 62 || s.ToS != 71.6 {
		t.Errorf("doublets at %v", s)
	}
	if f.NotDone() != 6 { // with the sweep's band
		t.Errorf("%d not as planned: %+v", f.NotDone(), f.Rows)
	}
}

func TestCheckLimits(t *testing.T) {
	p := &flight.Plan{Format: 1, Configuration: "bar", Limits: flight.Limits{AttitudeDeg: 12, RateDegS: 60, WindMeanMS: 2, GustSpreadMS: 3}}
	good := simpleHop()
	good.Wind.Whole = &wind.Phase{MeanMS: flight.Plain(1.5), SpreadMS: flight.Plain(2)}
	if f := plan.Check(p, good); f.NotDone() != 0 {
		t.Errorf("a hop inside its limits: %+v", f.Rows)
	}
	for _, c := range []struct {
		name, item, says string
		change           func(*plan.Parts)
	}{
		{"other configuration", "configuration", "bare", func(d *plan.Parts) { d.Hop.Configuration = "bare" }},
		{"configuration not stated", "configuration", "not stated in hop.toml", func(d *plan.Parts) { d.Hop.Configuration = "" }},
		{"wind not logged", "wind", "not logged", func(d *plan.Parts) { d.Wind.Whole = nil }},
		{"windy", "wind", "mean 4.0 m/s", func(d *plan.Parts) { d.Wind.Whole.MeanMS = flight.Plain(4) }},
		{"gusty", "wind", "gust spread 5.0 m/s", func(d *plan.Parts) { d.Wind.Whole.SpreadMS = flight.Plain(5) }},
		{"rolled far", "attitude, roll and pitch", "to 20 deg", func(d *plan.Parts) {
			c := d.Hop.Channel(flight.Roll)
			for i := 700; i < 800; i++ {
				c.Value[i] = -0.35
			}
		}},
		{"no rates", "rate, roll and pitch", "not logged", func(d *plan.Parts) { d.Hop.Channels = append(d.Hop.Channels[:2:2], d.Hop.Channels[4:]...) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := simpleHop()
			d.Wind.Whole = &wind.Phase{MeanMS: flight.Plain(1.5), SpreadMS: flight.Plain(2)}
			c.change(&d)
			f := plan.Check(p, d)
			if r := row(t, f, c.item); r.Done || !strings.Contains(r.Flown, c.says) || f.NotDone() != 1 {
				t.Errorf("%+v, want %q in it alone; %+v", r, c.says, f.Rows)
			}
		})
	}
}

func TestCheckKnocks(t *testing.T) {
	p := &flight.Plan{Format: 1, KnocksBefore: 3, KnocksAfter: 3}
	knock := func(fromS float64) flight.Segment {
		return flight.Segment{Kind: flight.Knocks, Span: flight.Span{FromS: fromS, ToS: fromS + 3}}
	}
	two := func(how flight.Alignment) []flight.Source {
		return []flight.Source{{Clock: flight.Clock{AlignedBy: flight.AlignUser}}, {Clock: flight.Clock{AlignedBy: how}}}
	}
	for _, c := range []struct {
		name    string
		sources []flight.Source
		knocks  []flight.Segment
		done    bool
		says    string
	}{
		{"both", two(flight.AlignKnocks), []flight.Segment{knock(1), knock(99)}, true, "before and after"},
		{"before only", two(flight.AlignKnocks), []flight.Segment{knock(1)}, false, "before only; clocks by user and knocks"},
		{"after only", two(flight.AlignNone), []flight.Segment{knock(99)}, false, "after only; clocks by user and nothing"},
		{"none", two(flight.AlignNone), nil, false, "none found"},
		{"not needed", two(flight.AlignUTC), nil, true, "none found; clocks by user and UTC"},
		{"one log", []flight.Source{{Clock: flight.Clock{AlignedBy: flight.AlignSingle}}}, nil, true, "not needed, one log"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := simpleHop(c.knocks...)
			d.Hop.Sources = c.sources
			if r := row(t, plan.Check(p, d), "knocks"); r.Done != c.done || !strings.Contains(r.Flown, c.says) {
				t.Errorf("%+v, want done %v and %q", r, c.done, c.says)
			}
		})
	}
}

func TestCheckWithoutPlan(t *testing.T) {
	if f := plan.Check(nil, simpleHop()); f != nil {
		t.Errorf("%+v", f)
	}
	if f := plan.Check(&flight.Plan{Format: 1}, simpleHop()); len(f.Rows) != 0 && f.NotDone() != 0 {
		t.Errorf("an empty plan: %+v", f.Rows)
	}
}

// A hop flown as planned is found to be as planned.
func TestFlownAsPlanned(t *testing.T) {
	a := measured()
	e := last("light bar")
	p := mustMake(t, plan.Request{Aircraft: a, Configuration: "light bar", Last: e, Same: []plan.Earlier{*e}})
	s := machine(3)
	s.Head, s.Pilot = simulate.BarHead("light bar", 0.5), simulate.BarPilot()
	s.Air = simulate.Air{Mean: simulate.Constant(1), DirectionFrom: simulate.Constant(1), Gusts: 1}
	f := flown(s, p)
	h := f.Hop()
	segs, rs := measure(t, h)
	d := plan.Parts{Hop: h, Segments: segs, Responses: rs}
	d.Wind.Whole = &wind.Phase{MeanMS: flight.Plain(1)}
	got := plan.Check(&p.Written, d)
	for _, r := range got.Rows {
		if !r.Done {
			t.Errorf("%+v", r)
		}
	}
}
