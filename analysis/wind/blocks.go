package wind

import (
	"math"

	"hopcard/flight"
)

// blockS is the length of the stretches in which motion is set against the spread of the
// wind: several gusts long, short against the flight.
const blockS = 20.0

// Minute is a third of a minute of flight: how lively the air was and how lively the
// aircraft. Rms are about the block's mean; NaN if not logged.
type Minute struct {
	Span  flight.Span
	Class Class   // of the phase it lies in
	SDMS  float64 // standard deviation of the wind speed
	// RollRMS and PitchRMS are in rad, StickRMS of both sticks together, root of the sum
	// of squares, in fractions of full travel.
	RollRMS, PitchRMS, StickRMS float64
}

// minutes cuts the phases into blocks of blockS; what is left over at a phase's end, and
// blocks in which wind is missing for more than a fifth, are left out.
func minutes(h *flight.Hop, th thinned, ps []Phase) []Minute {
	channel := map[flight.Quantity]*flight.Channel{}
	for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.LatStick, flight.LonStick} {
		channel[q] = timed(h, th.all.main, q)
	}
	rms := func(q flight.Quantity, span flight.Span) float64 {
		var p pooled
		p.add(loggedIn(h, channel[q], span))
		return p.rms()
	}
	var out []Minute
	for _, p := range ps {
		for k := range int(p.Span.LengthS() / blockS) {
			from := p.Span.FromS + float64(k)*blockS
			m := Minute{Span: flight.Span{FromS: from, ToS: from + blockS}, Class: p.Class}
			wind := th.all.cut(m.Span)
			if float64(len(wind.t))*wind.stepS < 0.8*blockS {
				continue
			}
			_, m.SDMS = meanSD(wind.speed)
			m.RollRMS, m.PitchRMS = rms(flight.Roll, m.Span), rms(flight.Pitch, m.Span)
			m.StickRMS = math.Hypot(rms(flight.LatStick, m.Span), rms(flight.LonStick, m.Span))
			out = append(out, m)
		}
	}
	return out
}
