package stability

import (
	"math"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

// TestFollowClosedForm: a stick that follows by a known law gives it back.
func TestFollowClosedForm(t *testing.T) {
	const lag, angle, rate = 9, -0.7, -0.3
	h := hand{}
	for i := range 900 {
		s := float64(i) * stepS
		h.angle = append(h.angle, math.Sin(2*s)+0.4*math.Sin(4.3*s+1))
		h.rate = append(h.rate, 2*math.Cos(2*s)+0.4*4.3*math.Cos(4.3*s+1))
	}
	h.stick = make([]float64, len(h.angle))
	for i := lag; i < len(h.stick); i++ {
		h.stick[i] = angle*h.angle[i-lag] + rate*h.rate[i-lag]
	}
	f := h.fit(func(i int) bool { return i > 50 })
	if f.lag != lag || math.Abs(f.angle-angle) > 1e-9 || math.Abs(f.rate-rate) > 1e-9 || f.variance > 1e-12 {
		t.Errorf("got %+v, want %g angle %+g rate %d steps before", f, angle, rate, lag)
	}
	if got := f.at(2); math.Abs(got-math.Hypot(0.7, 0.6)) > 1e-9 {
		t.Errorf("strength at 2 rad/s %g", got)
	}
}

// TestBeginWhereTheHandGrowsHarder: from 40 s on the stick follows three times as hard.
func TestBeginWhereTheHandGrowsHarder(t *testing.T) {
	const lag, from = 8, 40.0
	grid := series.Over(flight.Span{FromS: 0, ToS: 60}, stepS)
	tr := &trace{axis: flight.RollAxis, grid: grid, bad: make([]bool, grid.N)}
	motion := func(s float64) float64 {
		size := 0.015
		if s > from && s < 50 {
			size *= math.Exp(0.3 * (s - from))
		}
		return size * (math.Sin(3.5*s) + 0.3*math.Sin(2.2*s))
	}
	for i := range grid.N {
		s := grid.TimeS(i)
		tr.attitude = append(tr.attitude, motion(s))
		tr.rate = append(tr.rate, (motion(s+0.001)-motion(s-0.001))/0.002)
		strength := 0.5
		if s > from && s < 50 {
			strength = 1.5
		}
		tr.stick = append(tr.stick, -strength*motion(s-lag*stepS)+0.015*math.Sin(5.1*s)*math.Sin(0.37*s))
	}
	tr.band = series.BandPass(tr.rate, stepS, lowRadS, highRadS)
	g := growth{span: flight.Span{FromS: from + 0.7, ToS: 50}, sigma: flight.Estimate{Value: 0.3}, omega: flight.Estimate{Value: 3.5}}
	tr.learn([]flight.Span{{FromS: 2, ToS: 58}}, nil, []growth{g})
	// The stick tells it within half a period, the swings of his hand.
	if got, ok := tr.harderSince(g); !ok || math.Abs(got-from) > math.Pi/g.omega.Value {
		t.Errorf("%v, harder since %.2f s, want %g", ok, got, from)
	}
	// A hand that is as ever tells nothing: the growth begins where its swings do.
	other := growth{span: flight.Span{FromS: 20, ToS: 30}, sigma: g.sigma, omega: g.omega}
	if got := tr.begin(PilotCoupled, other); got != 20 {
		t.Errorf("began at %.2f s, want 20", got)
	}
}

// TestBeginWhereTheStickStops: with the stick still, growth begins when it came to rest.
func TestBeginWhereTheStickStops(t *testing.T) {
	s := usualStory()
	s.stick = 0
	h := s.hop()
	for i, at := range h.Channels[2].TimeS {
		if at < 30.4 {
			h.Channels[2].Value[i] += 0.03 * math.Sin(1.9*at)
		}
	}
	segs, _ := segment.Find(h)
	tr := newTrace(h, flight.RollAxis, segment.Flights(segs))
	g := growth{span: flight.Span{FromS: 32, ToS: 38}, sigma: flight.Estimate{Value: s.sigma}, omega: flight.Estimate{Value: s.omega}}
	if got := tr.begin(Airframe, g); math.Abs(got-30.4) > 0.3 {
		t.Errorf("began at %.2f s, want 30.4", got)
	}
}
