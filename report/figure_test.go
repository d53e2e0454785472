package report

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// channelOf makes a channel of evenly spaced samples.
func channelOf(rateHz float64, value []float64) *flight.Channel {
	c := &flight.Channel{Value: value}
	for i := range value {
		c.TimeS = append(c.TimeS, float64(i)/rateHz)
	}
	return c
}

// flownDebrief is syntheticDebrief with traces as long as the hop, for figures.
func flownDebrief() *debrief.Debrief {
	d := syntheticDebrief()
	const stepS = 0.5
	d.Hop.Channels = nil
	for i, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.LatStick, flight.LonStick, flight.WindSpeed} {
		c := flight.Channel{Quantity: q, Column: string(q), Sign: 1, Scale: 1, Sure: 1}
		if q.Dimension() == flight.StickTravel {
			c.Source = 1
		}
		for t := 0.0; t < d.Hop.DurationS; t += stepS {
			c.TimeS = append(c.TimeS, t)
			c.Value = append(c.Value, 0.1*math.Sin(0.3*t+float64(i))+float64(i/4)*3)
		}
		d.Hop.Channels = append(d.Hop.Channels, c)
	}
	for t := 60.0; t < 200; t += 10 {
		for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
			d.Stability.Damping = append(d.Stability.Damping, stability.DampingPoint{Axis: axis, TimeS: t,
				Ratio: flight.Estimate{Value: 0.1 * math.Sin(t), Low: 0.1*math.Sin(t) - 0.1, High: 0.1*math.Sin(t) + 0.1}, FrequencyRadS: 1})
		}
	}
	e := wind.Events{Axis: flight.RollAxis, Input: wind.CrossGust}
	for t := -2.0; t < 10; t += 0.5 {
		v := 0.03 * math.Exp(-t*t/9)
		e.TimeS, e.AttitudePerMS = append(e.TimeS, t), append(e.AttitudePerMS, flight.Estimate{Value: v, Low: v - 0.01, High: v + 0.01})
	}
	d.Wind.Events = []wind.Events{e}
	tb := &wind.Turbulence{AlongSDMS: est(1.2, 1, 1.4), AlongLengthM: est(38, 22, 71)}
	for f := 0.01; f < 0.5; f *= 1.6 {
		v := 12 / (1 + math.Pow(20*f, 2))
		tb.Spectrum = append(tb.Spectrum, wind.SpectrumPoint{FrequencyHz: f, Density: flight.Estimate{Value: 1.1 * v, Low: 0.7 * v, High: 2 * v}, Fit: v})
	}
	d.Wind.Phases[1].Turbulence = tb
	for i := range 12 {
		k := 0.3 + 0.1*float64(i)
		d.Wind.Minutes = append(d.Wind.Minutes, wind.Minute{SDMS: k, RollRMS: 0.03 * k, PitchRMS: 0.02 + 0.01*math.Sin(k), StickRMS: math.NaN()})
	}
	return d
}

// A thinned trace loses neither the highest nor the lowest sample, and stays small.
func TestTraceKeepsSpikes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.SliceOfN(rapid.Float64Range(-1, 1), 10, 3000).Draw(t, "value")
		spike := rapid.IntRange(0, len(value)-2).Draw(t, "spike")
		value[spike] = 50
		columns := rapid.IntRange(1, 200).Draw(t, "columns")
		c := channelOf(100, value)
		runs := trace(c, flight.Span{ToS: float64(len(value)) / 100}, columns, 2)
		low, high := reach(runs)
		wantLow := math.Inf(1)
		for _, v := range value {
			wantLow = min(wantLow, 2*v)
		}
		if high != 100 || low != wantLow {
			t.Fatalf("reach %v to %v, want %v to 100", low, high, wantLow)
		}
		n, last := 0, math.Inf(-1)
		for _, run := range runs {
			n += len(run)
			for _, p := range run {
				if p.x < last {
					t.Fatalf("time runs backward at %v", p.x)
				}
				last = p.x
			}
		}
		if n > 2*columns+2 {
			t.Fatalf("%d points in %d columns", n, columns)
		}
	})
}

// A gap, and a sample that is no number, end the line.
func TestTraceBreaks(t *testing.T) {
	c := channelOf(10, []float64{1, 2, math.NaN(), 3, 4, 5, 6, 7, 8, 9})
	for i := 6; i < len(c.TimeS); i++ {
		c.TimeS[i] += 3
	}
	runs := trace(c, flight.Span{ToS: 10}, 500, 1)
	if len(runs) != 3 || len(runs[0]) != 2 || len(runs[1]) != 3 || len(runs[2]) != 4 {
		t.Errorf("runs %v", runs)
	}
	if got := trace(c, flight.Span{FromS: 20, ToS: 30}, 500, 1); len(got) != 0 {
		t.Errorf("beyond the record: %v", got)
	}
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		s    scale
		most int
		want []float64
	}{
		{scale{lo: 0, hi: 100}, 5, []float64{0, 20, 40, 60, 80, 100}},
		{scale{lo: -15, hi: 15}, 3, []float64{-10, 0, 10}},
		{scale{lo: -40, hi: 40}, 3, []float64{-40, -20, 0, 20, 40}}, // 50 would leave one
		{scale{lo: -270, hi: -90, step: 45}, 3, []float64{-270, -225, -180, -135, -90}},
		{scale{lo: 0.9, hi: 11, log: true}, 3, []float64{1, 2, 3, 4, 6, 8, 10}},
		{scale{lo: 0.1, hi: 10, log: true}, 3, []float64{0.1, 0.2, 0.5, 1, 2, 5, 10}},
	} {
		got := c.s.ticks(c.most)
		if len(got) != len(c.want) {
			t.Errorf("%+v: ticks %v, want %v", c.s, got, c.want)
			continue
		}
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-9 {
				t.Errorf("%+v: ticks %v, want %v", c.s, got, c.want)
				break
			}
		}
	}
}

func TestRoundScaleHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-1e4, 1e4).Draw(t, "lo")
		hi := lo + rapid.Float64Range(0, 1e4).Draw(t, "width")
		s := roundScale(lo, hi, 1)
		slack := 1e-6 * (s.hi - s.lo)
		if s.lo > lo+slack || s.hi < hi-slack || !(s.hi > s.lo) || len(s.ticks(3)) < 2 {
			t.Fatalf("%v to %v gives %+v with ticks %v", lo, hi, s, s.ticks(3))
		}
	})
	for _, bad := range []float64{math.NaN(), math.Inf(1)} {
		if s := roundScale(bad, bad, 4); !(s.hi > s.lo) || !finite(s.lo) {
			t.Errorf("%v gives %+v", bad, s)
		}
	}
}

// Nothing is drawn on the time axis whose clock is not on it, and the figure says so.
func TestFlightLeavesOutOtherClocks(t *testing.T) {
	d := flownDebrief()
	with := flightFigure(d, room{500, 1})
	d.Hop.Sources[1].Clock.AlignedBy = flight.AlignNone
	without := flightFigure(d, room{500, 1})
	if !hasText(with, "lat stick") || hasText(without, "lat stick") {
		t.Error("lateral stick: drawn without a clock, or not drawn with one")
	}
	if want := "lateral stick is not drawn"; !strings.Contains(without.caption, want) {
		t.Errorf("caption %q does not say %q", without.caption, want)
	}
}

func hasText(f *drawing, text string) bool {
	for _, s := range f.shapes {
		if s.text == text {
			return true
		}
	}
	return false
}

// No number drawn is a NaN or infinite, and nothing lies far outside the figure.
func TestFiguresAreFinite(t *testing.T) {
	d := flownDebrief()
	d.Stability.Damping = []stability.DampingPoint{
		{Axis: flight.RollAxis, TimeS: 60, Ratio: flight.Estimate{Value: 0.1, Low: math.Inf(-1), High: 9}},
		{Axis: flight.PitchAxis, TimeS: 61, Ratio: *flight.Plain(-40)},
		{Axis: flight.PitchAxis, TimeS: math.NaN(), Ratio: *flight.Plain(0.2)},
	}
	d.Hop.Marks = append(d.Hop.Marks, flight.Mark{TimeS: math.NaN()})
	figures := []*drawing{flightFigure(d, room{500, 1}), responseFigure(d, flight.RollAxis, room{250, 1}), responseFigure(d, flight.PitchAxis, room{250, 1}), gustFigure(d, flight.RollAxis, room{250, 1})}
	for _, g := range flagGroups(d.Stability.Unstable) {
		figures = append(figures, flagFigure(d, g, room{250, 1}))
	}
	drawn := 0
	for _, f := range figures {
		if f == nil {
			continue
		}
		drawn++
		for _, s := range f.shapes {
			for _, p := range s.points {
				if !finite(p.x) || !finite(p.y) || p.x < -10 || p.x > f.widthPt+10 || p.y < -10 || p.y > f.highPt+10 {
					t.Errorf("%s: point %v in %g by %g pt", f.title, p, f.widthPt, f.highPt)
				}
			}
		}
	}
	if drawn < 5 {
		t.Errorf("only %d figures drawn", drawn)
	}
}

// The curve of attitude is drawn where there is one; points without error are left out.
func TestResponseFigure(t *testing.T) {
	d := syntheticDebrief()
	f := responseFigure(d, flight.RollAxis, room{250, 1})
	if f == nil || f.title != "Stick to roll rate" {
		t.Fatalf("figure %+v", f)
	}
	for _, want := range []string{"bandwidth 3.40 rad/s", "180° behind, ω 6.42 rad/s"} {
		if !hasText(f, want) {
			t.Errorf("no mark %q", want)
		}
	}
	r := d.Responses[0]
	r.Output = response.Attitude
	d.Responses = append(d.Responses, r)
	if f := responseFigure(d, flight.RollAxis, room{250, 1}); f.title != "Stick to roll attitude" {
		t.Errorf("drew %s", f.title)
	}
	if f := responseFigure(d, flight.PitchAxis, room{250, 1}); f != nil {
		t.Errorf("drew %s without a curve", f.title)
	}
}

// Events do not depend on the order in which flags come, but for their numbers, and no two
// flags of an axis that are near one another are in different ones.
func TestFlagEventsNeedNoOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		flags := make([]stability.Unstable, rapid.IntRange(0, 12).Draw(t, "flags"))
		for i := range flags {
			from := rapid.Float64Range(0, 60).Draw(t, "from")
			flags[i].Axis = swungAxes()[rapid.IntRange(0, 1).Draw(t, "axis")]
			flags[i].Span = flight.Span{FromS: from, ToS: from + rapid.Float64Range(0, 9).Draw(t, "length")}
		}
		order := rapid.Permutation(indices(len(flags))).Draw(t, "order")
		other := make([]stability.Unstable, len(flags))
		for i, k := range order {
			other[i] = flags[k]
		}
		a, b := flagEvents(flags), flagEvents(other)
		for i := range flags {
			for k := range flags {
				if (b[i] == b[k]) != (a[order[i]] == a[order[k]]) {
					t.Fatalf("flags %v in another order fall into other events", flags)
				}
				u, o := flags[i], flags[k]
				near := u.Axis == o.Axis && u.Span.FromS < o.Span.ToS+eventGapS && o.Span.FromS < u.Span.ToS+eventGapS
				if near && a[i] != a[k] {
					t.Fatalf("%v and %v are near, yet in two events", u, o)
				}
			}
		}
	})
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func TestNumbersText(t *testing.T) {
	for _, c := range []struct {
		index []int
		want  string
	}{{[]int{0}, "1"}, {[]int{2, 3}, "3, 4"}, {[]int{2, 3, 4, 5}, "3-6"}, {[]int{0, 2, 3, 4, 8, 9}, "1, 3-5, 9, 10"}} {
		if got := numbersText(c.index); got != c.want {
			t.Errorf("%v: %q, want %q", c.index, got, c.want)
		}
	}
}

func TestFlagGroups(t *testing.T) {
	flag := func(axis flight.Axis, from, to float64) stability.Unstable {
		return stability.Unstable{Axis: axis, Kind: stability.Limit, Span: flight.Span{FromS: from, ToS: to}}
	}
	flags := []stability.Unstable{flag("roll", 10, 12), flag("pitch", 11, 12), flag("roll", 13, 14), flag("roll", 40, 41)}
	groups := flagGroups(flags)
	var titles []string
	for _, g := range groups {
		titles = append(titles, g.title(flags))
	}
	want := []string{"1, 3: roll, limit, 10.0 s to 14.0 s", "2: pitch, limit, 11.0 s to 12.0 s", "4: roll, limit, 40.0 s to 41.0 s"}
	if len(titles) != len(want) {
		t.Fatalf("groups %q", titles)
	}
	for i := range want {
		if titles[i] != want[i] {
			t.Errorf("group %q, want %q", titles[i], want[i])
		}
	}
}
