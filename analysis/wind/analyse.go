package wind

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/sourcegraph/conc"

	"hopcard/flight"
)

// Settings of Analyse. The zero value is usable.
type Settings struct {
	// Class holds the thresholds between calm, steady and gusty air; zero fields take
	// their defaults.
	Class flight.WindClass
	// DistanceConstantM is the length of wind in which the anemometer follows a change
	// to 63 %, in metres; 0 if unknown: fitted turbulence and answers to gusts are
	// then those to the anemometer's readings, and above (mean wind)/(distance constant)
	// in rad/s, about 2 rad/s for a usual cup, answers come out high: the low ends of
	// their intervals allow for the slowest that the gusts' spectrum leaves open, at most
	// 4 m. Give a small one for an anemometer without moving parts.
	DistanceConstantM float64
}

// Analyse says what the air did between lift-off and landing, flown; an empty span stands
// for the whole record. The error is that of ctx; a hop without wind is a result with
// Whole nil and a finding.
func Analyse(ctx context.Context, h *flight.Hop, flown flight.Span, set Settings) (Result, error) {
	r := Result{LeadS: math.NaN()}
	if err := ctx.Err(); err != nil {
		return r, err
	}
	s, ok := pick(h)
	if !ok {
		r.Findings = append(r.Findings, flight.Finding{
			Code: flight.CodeMissing, Severity: flight.Note, Channel: string(flight.WindSpeed),
			Text:   "no wind was logged: the air of this hop is unknown and answers measured in it may be biased by gusts",
			Advice: "log wind speed and direction near the aircraft, at 4 Hz or faster",
		})
		r.Activity = activity(h, flown)
		return r, nil
	}
	f := finder{h: h, main: s.main, r: &r}
	f.source(s)
	if h.SourceOf(s.main).Clock.AlignedBy == flight.AlignNone {
		f.noClock()
		th := s.thin()
		r.Whole = statistics(th, flight.Span{}, surroundings{set: set})
		r.Whole.addTurbulence(th, surroundings{set: set})
		r.Activity = activity(h, flown)
		return r, nil
	}
	s = s.without(h.Exclude)
	span := record(s)
	if flown.LengthS() > 0 {
		span = f.coverage(s, flown)
		s = s.cut(flown)
	}
	if len(s.t) == 0 {
		r.Activity = activity(h, flown)
		return r, nil
	}
	if s.onBoard {
		r.Activity = activity(h, flown)
	}
	around := look(h, s.main, set)
	th := s.thin()
	r.Whole = statistics(th, span, around)
	if err := ctx.Err(); err != nil {
		return r, err
	}
	phases, parts := phases(th, span, around)
	r.Phases = phases
	// Nothing else needs the turbulence, and fitting it takes its time.
	fitted := slices.Clone(phases)
	var fits conc.WaitGroup
	fits.Go(func() {
		for i := range fitted {
			fitted[i].addTurbulence(parts[i], around)
		}
	})
	r.Classes = classTable(h, s.main, r.Phases)
	r.Minutes = minutes(h, th, r.Phases)
	err := f.answers(ctx, th, span, around)
	fits.Wait()
	for i, p := range fitted {
		r.Phases[i].Turbulence, r.Phases[i].LengthM = p.Turbulence, p.LengthM
	}
	// Turbulence is that of air that does not change: with several phases the whole has
	// none.
	if len(r.Phases) == 1 {
		r.Whole.Turbulence, r.Whole.LengthM = fitted[0].Turbulence, fitted[0].LengthM
	}
	return r, err
}

// record returns the span the readings stand for.
func record(s series) flight.Span {
	if len(s.t) == 0 {
		return flight.Span{}
	}
	step := s.stepS
	if math.IsInf(step, 1) {
		step = 0
	}
	return flight.Span{FromS: s.t[0], ToS: s.t[len(s.t)-1] + step}
}

// look finds what stands beside the wind on a clock that can be timed against it.
func look(h *flight.Hop, wind *flight.Channel, set Settings) surroundings {
	around := surroundings{set: set}
	if c := h.Channel(flight.Heading); c != nil && c.Len() > 1 {
		if _, ok := h.CommonClock(wind, c); ok {
			around.heading = func() func(float64) float64 { return angleAt(c) }
		}
	}
	if c := h.Channel(flight.Height); c != nil && c.Len() > 1 {
		if _, ok := h.CommonClock(wind, c); ok {
			around.heights = func(span flight.Span) []float64 {
				from, to := c.Index(span.FromS), c.Index(span.ToS)
				return some(c.Value[from:to], 2000)
			}
		}
	}
	return around
}

// finder writes the findings.
type finder struct {
	h    *flight.Hop
	main *flight.Channel
	r    *Result
}

func (f finder) add(code flight.Code, sev flight.Severity, span flight.Span, text, advice string) {
	f.r.Findings = append(f.r.Findings, flight.Finding{
		Code: code, Severity: sev, File: f.h.SourceOf(f.main).File, Channel: f.main.Column,
		Span: span, Text: text, Advice: advice,
	})
}

// source says what the wind record is and how gusts were formed from it.
func (f finder) source(s series) {
	f.r.OnBoard = s.onBoard
	if s.onBoard {
		f.add(flight.CodeNotMeasurable, flight.Caution, flight.Span{},
			"the wind is an estimate made on board from the aircraft's own motion, not a measurement: gusts and the answer to them cannot be told apart",
			"put an anemometer beside the field")
	}
	if s.dropped > 0 {
		f.add(flight.CodeNotANumber, flight.Note, flight.Span{},
			fmt.Sprintf("%d of %d readings are no wind speed (negative or above 120 m/s) and were left out", s.dropped, s.dropped+len(s.t)), "")
	}
	if s.gust != nil || s.lull != nil {
		f.add(flight.CodeCoarse, flight.Note, flight.Span{},
			"gust or lull are taken as noted beside the mean; over how many seconds they were averaged is not known", "")
		return
	}
	switch {
	case len(s.t) < 2:
	case s.stepS <= 0.5:
	case s.stepS <= slowestMeanS:
		f.add(flight.CodeCoarse, flight.Note, flight.Span{},
			fmt.Sprintf("wind was logged every %.3g s: gust and lull are means of %d readings; a gust between them is missed",
				s.stepS, max(1, int(math.Round(gustS/s.stepS)))),
			"log wind at 4 Hz or faster")
	case s.stepS <= gustS:
		f.add(flight.CodeCoarse, flight.Caution, flight.Span{},
			fmt.Sprintf("wind was logged every %.3g s: gust and lull are the highest and lowest single readings, no 3 s means", s.stepS),
			"log wind at 4 Hz or faster")
	default:
		f.add(flight.CodeCoarse, flight.Caution, flight.Span{},
			fmt.Sprintf("wind was logged every %.3g s: no 3 s gust, lull or spread can be given; the class rests on single readings and may be kinder than the air was", s.stepS),
			"log wind at 4 Hz or faster, or note the gust beside the mean")
	}
}

func (f finder) noClock() {
	f.add(flight.CodeNoClock, flight.Caution, flight.Span{},
		"the wind logger's clock could not be put on the hop clock: its statistics are of its whole record, not of the flight; phases and gust answers are withheld",
		"knock both loggers together before and after the flight, or state the offset in hop.toml")
}

// coverage reports flight that the wind log does not cover, and returns the span of
// flight that it does.
func (f finder) coverage(s series, flown flight.Span) flight.Span {
	rec := record(s)
	span := flight.Span{FromS: math.Max(flown.FromS, rec.FromS), ToS: math.Min(flown.ToS, rec.ToS)}
	if !(span.ToS > span.FromS) {
		f.add(flight.CodeWindShort, flight.Caution, flown,
			fmt.Sprintf("the wind log covers none of the flight (wind %.1f to %.1f s, flight %.1f to %.1f s)",
				rec.FromS, rec.ToS, flown.FromS, flown.ToS), "start the wind logger before spin-up and stop it after")
		return span
	}
	slack := math.Max(s.stepS, 1)
	if span.FromS > flown.FromS+slack || span.ToS < flown.ToS-slack {
		f.add(flight.CodeWindShort, flight.Caution, flown,
			fmt.Sprintf("the wind log covers %.0f of %.0f s of the flight (%.1f to %.1f s): the numbers are of that part",
				span.LengthS(), flown.LengthS(), span.FromS, span.ToS), "start the wind logger before spin-up and stop it after")
	}
	if lost, longest := s.gapsIn(span); lost > 0.05*span.LengthS() || lost > 5 {
		f.add(flight.CodeWindShort, flight.Caution, span,
			fmt.Sprintf("the wind log has gaps of %.0f s in all within the flight, the longest %.0f s: no number reaches across them",
				lost, longest), "")
	}
	return span
}

// gapsIn returns the time without readings inside span and its longest stretch.
func (s series) gapsIn(span flight.Span) (totalS, longestS float64) {
	for i := 1; i < len(s.t); i++ {
		from, to := math.Max(s.t[i-1]+s.stepS, span.FromS), math.Min(s.t[i], span.ToS)
		if s.t[i]-s.t[i-1] > s.gapS && to > from {
			totalS += to - from
			longestS = math.Max(longestS, to-from)
		}
	}
	return totalS, longestS
}
