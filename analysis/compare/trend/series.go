package trend

import (
	"math"

	"hopcard/analysis/compare"
	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// number is one number of a trend and how it is read from hops.
type number struct {
	key, name string
	axis      flight.Axis
	unit      flight.Unit
	air       bool
	positive  bool
	warning   string
	read      func(hops []*debrief.Debrief) []compare.Reading
}

// numbers lists the numbers of a trend: those of the comparison that say how late, how quick,
// how steady and how near a limit the aircraft is, and three of a trend's own.
func numbers() []number {
	known := map[string]compare.KeyNumber{}
	for _, n := range compare.KeyNumbers() {
		known[n.Key] = n
	}
	var list []number
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		take := func(keys ...string) {
			for _, key := range keys {
				n, ok := known[string(axis)+"_"+key]
				if !ok {
					panic("trend: no key number " + key)
				}
				list = append(list, number{key: n.Key, name: n.Name, axis: axis, unit: n.Unit, air: n.Air, positive: n.Positive,
					warning: n.Warning, read: n.Read})
			}
		}
		take("correlation_lag", "doublet_lag", "phase_lag_1_hz", "effective_delay", "phase_delay")
		list = append(list, phaseBandwidth(axis), leastDamping(axis))
		take("gust_stick_held_1.2_2.4", "gust_peak", "stick_speed_rms")
		list = append(list, controlLeft(axis))
		take("most_gain", "phase_margin", "gain_margin")
	}
	p := known["phasing_error"]
	return append(list, number{key: p.Key, name: p.Name, unit: p.Unit, read: p.Read})
}

// each reads one hop at a time.
func each(of func(d *debrief.Debrief) (*flight.Estimate, string)) func([]*debrief.Debrief) []compare.Reading {
	return func(hops []*debrief.Debrief) []compare.Reading {
		list := make([]compare.Reading, len(hops))
		for i, d := range hops {
			e, why := of(d)
			if e != nil && !math.IsNaN(e.Value) {
				list[i].Estimate = e
				continue
			}
			list[i].Reason = why
		}
		return list
	}
}

func phaseBandwidth(axis flight.Axis) number {
	return number{
		key: string(axis) + "_bandwidth_phase", name: "phase bandwidth", axis: axis, unit: flight.RadPerS, positive: true,
		read: each(func(d *debrief.Debrief) (*flight.Estimate, string) {
			for i := range d.Responses {
				r := &d.Responses[i]
				if r.Axis == axis && r.Input == axis.Stick() && r.Output == response.Attitude {
					return r.BandwidthPhaseRadS, "not measured"
				}
			}
			return nil, "no answer of " + string(axis) + " to the stick"
		}),
	}
}

// leastDamping is the least damping ratio of any mode seen in the axis: the one to beware of,
// which the best measured one, that compare takes, need not be.
func leastDamping(axis flight.Axis) number {
	return number{
		key: string(axis) + "_least_damping_ratio", name: "damping ratio of the least damped swing", axis: axis,
		warning: "of whatever swings were seen in the hop: another hop may have shown another one",
		read: each(func(d *debrief.Debrief) (*flight.Estimate, string) {
			var least *stability.Mode
			for i := range d.Stability.Modes {
				m := &d.Stability.Modes[i]
				if m.Axis == axis && m.DampingRatio != nil && (least == nil || m.DampingRatio.Value < least.DampingRatio.Value) {
					least = m
				}
			}
			if least == nil {
				return nil, "no swing measured"
			}
			return least.DampingRatio, ""
		}),
	}
}

func controlLeft(axis flight.Axis) number {
	return number{
		key: string(axis) + "_control_left", name: "control left to the nearer stop", axis: axis, unit: flight.Percent,
		warning: "the least of the flight, so without an interval; it depends on what was flown",
		read: each(func(d *debrief.Debrief) (*flight.Estimate, string) {
			for _, c := range d.Stability.Control {
				if c.Axis == axis {
					return flight.Plain(c.LeftPercent), ""
				}
			}
			return nil, "no stick logged in flight"
		}),
	}
}

// series reads the number from all hops and means it by configuration.
func (n number) series(hops []*debrief.Debrief) Series {
	s := Series{Key: n.key, Name: n.name, Axis: n.axis, Unit: n.unit, Air: n.air, Warning: n.warning}
	type place struct {
		configuration string
		air           wind.Class
	}
	of := map[place][]flight.Estimate{}
	var order []place
	for i, r := range n.read(hops) {
		s.Points = append(s.Points, Point(r))
		p := place{configuration: hops[i].Hop.Configuration}
		if r.Estimate == nil || p.configuration == "" {
			continue
		}
		if n.air {
			if p.air = compare.ClassOf(hops[i]); p.air == "" {
				continue // in air not known: like no other
			}
		}
		if of[p] == nil {
			order = append(order, p)
		}
		of[p] = append(of[p], *r.Estimate)
	}
	for _, p := range order {
		if pooled, ok := compare.Pool(of[p], n.positive); ok {
			s.Levels = append(s.Levels, Level{Configuration: p.configuration, Air: p.air, Hops: pooled.Hops, Mean: pooled.Mean,
				SpreadSD: pooled.SpreadSD, SpreadIsShare: n.positive})
		}
	}
	return s
}
