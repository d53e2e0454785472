package response

import (
	"math"
	"strings"

	"hopcard/flight"
)

// gustStepS is the step at which the wind, logged once or a few times per second, is drawn
// as straight lines between its readings before it goes to the grid.
const gustStepS = 0.04

// furtherCover is the least share of the record that a further input must cover to be used:
// what it does not cover is lost to the response.
const furtherCover = 0.8

// airflow is the wind over ground, as the velocity it comes with from north and from east.
type airflow struct {
	main                *flight.Channel // whose source and stamps it has
	fromNorth, fromEast func(i int) float64
}

// measuredWind returns the wind of the hop that may explain the motion: speed and direction,
// or north and east, of one source and on the same stamps. An estimate made on board is no
// measurement: it is worked out from the motion, and would explain it by itself.
func (a *analyser) measuredWind() (w airflow, ok bool) {
	speed, from := a.measured(flight.WindSpeed), a.measured(flight.WindDirectionFrom)
	north, east := a.measured(flight.WindNorth), a.measured(flight.WindEast)
	switch {
	case paired(speed, from):
		return airflow{speed, func(i int) float64 { return speed.Value[i] * math.Cos(from.Value[i]) },
			func(i int) float64 { return speed.Value[i] * math.Sin(from.Value[i]) }}, true
	case paired(north, east):
		return airflow{north, func(i int) float64 { return -north.Value[i] }, func(i int) float64 { return -east.Value[i] }}, true
	}
	return airflow{}, false
}

func paired(a, b *flight.Channel) bool {
	return a != nil && b != nil && a.Source == b.Source && len(a.TimeS) == len(b.TimeS) &&
		a.TimeS[0] == b.TimeS[0] && a.TimeS[len(a.TimeS)-1] == b.TimeS[len(b.TimeS)-1]
}

// measured is the surest channel of q that does not call itself an estimate.
func (a *analyser) measured(q flight.Quantity) *flight.Channel {
	var best *flight.Channel
	for i := range a.hop.Channels {
		c := &a.hop.Channels[i]
		if c.Quantity == q && filled(c) != nil && !isEstimate(c.Column) && (best == nil || c.Sure > best.Sure) {
			best = c
		}
	}
	return best
}

// isEstimate reports whether a column says that it is an estimate made on board.
func isEstimate(column string) bool {
	for _, w := range strings.FieldsFunc(strings.ToLower(column), func(r rune) bool { return r < 'a' || r > 'z' }) {
		switch w {
		case "est", "estimate", "estimated", "ekf":
			return true
		}
	}
	return false
}

// gusts returns the wind against the nose and from the right as channels, if wind and
// heading are logged on clocks that may be timed against each other. They are further
// inputs: what the air does to the aircraft is then not laid to the stick.
func (a *analyser) gusts() []*flight.Channel {
	wind, ok := a.measuredWind()
	heading := filled(a.hop.Channel(flight.Heading))
	if !ok || heading == nil {
		return nil
	}
	if _, ok := a.hop.CommonClock(wind.main, heading); !ok {
		return nil
	}
	head := &flight.Channel{Quantity: wind.main.Quantity, Source: wind.main.Source}
	right := &flight.Channel{Quantity: wind.main.Quantity, Source: wind.main.Source}
	stamps := wind.main.TimeS
	first, last := wind.reachOf(a.air)
	limit := max(2, 2.5*typicalStepS(stamps))
	nose := angleReader(heading)
	var h0, r0 float64
	for i := first; i < last; i++ {
		h1, r1 := components(wind.fromNorth(i), wind.fromEast(i), nose(stamps[i]))
		if i > first && stamps[i]-stamps[i-1] <= limit { // a gap stays one
			t0, t1 := stamps[i-1], stamps[i]
			n := max(1, int(math.Ceil((t1-t0)/gustStepS)))
			for k := range n {
				f := float64(k) / float64(n)
				head.TimeS = append(head.TimeS, t0+f*(t1-t0))
				head.Value = append(head.Value, h0+f*(h1-h0))
				right.Value = append(right.Value, r0+f*(r1-r0))
			}
		}
		h0, r0 = h1, r1
	}
	if len(head.TimeS) < 2 {
		return nil
	}
	right.TimeS = head.TimeS
	return []*flight.Channel{head, right}
}

// reachOf returns the readings from just before the spans to just after them.
func (w airflow) reachOf(spans []flight.Span) (first, last int) {
	const aroundS = 5
	if len(spans) == 0 {
		return 0, 0
	}
	return w.main.Index(spans[0].FromS - aroundS), w.main.Index(spans[len(spans)-1].ToS + aroundS)
}

// components resolves a wind, as it comes from north and east, against the nose and from
// the right.
func components(fromNorth, fromEast, headingRad float64) (head, right float64) {
	sin, cos := math.Sincos(headingRad)
	return fromNorth*cos + fromEast*sin, fromEast*cos - fromNorth*sin
}

// angleReader returns a reader of the reading at or after the stamp asked for; stamps must
// be asked for in ascending order.
func angleReader(c *flight.Channel) func(tS float64) float64 {
	j := 0
	return func(tS float64) float64 {
		for j < len(c.TimeS)-1 && c.TimeS[j] < tS {
			j++
		}
		return c.Value[j]
	}
}

// others returns the inputs beside the stick of the axis: the other stick, gusts, pedal and
// collective, as far as they may be timed against the motion and cover what is wanted. Yaw
// has the collective only.
func (a *analyser) others(ax axisChannels, axes []axisChannels, gusts []*flight.Channel, wanted []flight.Span, known reaches) []*flight.Channel {
	var out []*flight.Channel
	motion := ax.rate
	if motion == nil {
		motion = ax.attitude
	}
	further := []*flight.Channel{filled(a.hop.Channel(flight.Collective))}
	if ax.axis != flight.YawAxis {
		for _, o := range axes {
			if o.axis != ax.axis && o.axis != flight.YawAxis {
				out = append(out, o.stick)
			}
		}
		further = append(append([]*flight.Channel{}, gusts...), filled(a.hop.Channel(flight.Pedal)), further[0])
	}
	for _, c := range further {
		if c == nil {
			continue
		}
		if _, ok := a.hop.CommonClock(motion, c); !ok {
			continue
		}
		if total(intersect(wanted, known.of(c))) >= furtherCover*total(wanted) {
			out = append(out, c)
		}
	}
	return out
}

func total(spans []flight.Span) (s float64) {
	for _, x := range spans {
		s += x.LengthS()
	}
	return s
}
