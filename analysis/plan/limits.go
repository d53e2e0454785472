package plan

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// Limit is one limit of the hop.
type Limit struct {
	Name   string
	Value  float64
	Unit   string
	Source string // where the number is from
}

// limit returns the limits that the plan holds to.
func (p *Plan) limit() flight.Limits { return p.Written.Limits }

// limits takes the aircraft's limits, with calm air for a configuration that was not flown
// safely before, and after a hop that asks for calmer air.
func (p *Plan) limits(r Request) {
	p.safe = p.flownSafely(r)
	l := r.Aircraft.Limits.OrDefault()
	def := flight.DefaultLimits()
	set := r.Set
	from := func(value, set, def float64, source string) string {
		if set != 0 || value != def {
			return flight.AircraftFile
		}
		return "default; " + source
	}
	const own = "hopcard's own choice, low for short hops over a field"
	windFrom := from(l.WindMeanMS, set.WindMeanMS, def.WindMeanMS, own)
	gustFrom := from(l.GustSpreadMS, set.GustSpreadMS, def.GustSpreadMS, own)
	if class := r.Aircraft.WindClass.OrDefault(); !p.safe {
		const first = "calm air first: wind class of " + flight.AircraftFile + " or its default"
		if class.CalmMeanMS < l.WindMeanMS {
			l.WindMeanMS, windFrom = class.CalmMeanMS, first
		}
		if class.GustySpreadMS < l.GustSpreadMS {
			l.GustSpreadMS, gustFrom = class.GustySpreadMS, first
		}
	}
	p.Written.Limits = l
	p.Limits = []Limit{
		{"attitude, roll and pitch, from level", l.AttitudeDeg, "deg", from(l.AttitudeDeg, set.AttitudeDeg, def.AttitudeDeg, own)},
		{"rate, roll and pitch", l.RateDegS, "deg/s", from(l.RateDegS, set.RateDegS, def.RateDegS, own)},
		{"stick left to the nearer stop, at least", l.ControlLeftPercent, "%",
			from(l.ControlLeftPercent, set.ControlLeftPercent, def.ControlLeftPercent, "after MIL-H-8501A (1961), 3.2.1 and 3.3.4")},
		{"mean wind", l.WindMeanMS, "m/s", windFrom},
		{"gust spread (3 s gust less 3 s lull)", l.GustSpreadMS, "m/s", gustFrom},
	}
}

// abortShare is how much of a limit is used up when the input is broken off: voice, reaction
// and the aircraft's own following take the rest. Own choice.
const abortShare = 0.8

// aborts derives the abort criteria from the limits.
func (p *Plan) aborts() {
	l := p.limit()
	add := func(format string, args ...any) { p.Aborts = append(p.Aborts, fmt.Sprintf(format, args...)) }
	add("roll or pitch beyond %g deg from level (%.0f %% of the limit of %g deg), or faster than about %g deg/s: end the input, level, land",
		below(abortShare*l.AttitudeDeg), 100*abortShare, l.AttitudeDeg, below(abortShare*l.RateDegS))
	add("any swing that is larger the second time than the first, hands still or not: let the stick go back to trim, do not chase it, land")
	add("stick beyond %.0f %% of its travel from the middle in any axis, or held to one side by more than %.0f %%: land and trim",
		100-l.ControlLeftPercent, (100-l.ControlLeftPercent)/2)
	add("wind: mean above %g m/s (%.1f kt) or more than %g m/s (%.1f kt) between gust and lull, as the ground crew reads it: land",
		l.WindMeanMS, l.WindMeanMS/knotMS, l.GustSpreadMS, l.GustSpreadMS/knotMS)
	if rpm := p.Configuration.RotorSpeedRPM; rpm > 0 {
		add("rotor speed outside %.0f to %.0f rpm (5 %% about %g, unless its builder set a narrower band): land", 0.95*rpm, 1.05*rpm, rpm)
	}
	add("a new vibration, noise, smell or warning; the seat feels light; radio lost; anybody inside the safe distance: land")
}

// below rounds a criterion down to a whole number, never up past what it stands for.
func below(x float64) float64 { return math.Floor(x + 1e-9) }

const knotMS = 1852.0 / 3600
