package wind

import (
	"context"
	"errors"
	"math"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// ClassAnswer is how far gusts of one class of air threw the aircraft in one axis and band,
// stick held, from that class's own seconds.
type ClassAnswer struct {
	Axis     flight.Axis
	Input    Component
	BandRadS [2]float64
	// RadPerMS is rms attitude over rms gust in the band, nil where those seconds cannot
	// tell it.
	RadPerMS *flight.Estimate
	// SERadPerMS is its standard error from scatter alone. The ends of the interval also
	// hold what the anemometer may hide, which is the same on every hop. NaN if unknown.
	SERadPerMS float64
}

// CountFlags fills in, for each class, how many of the spans of growing oscillations began
// in it. Where no wind was measured on the hop's clock all count as the flight's own.
func (r *Result) CountFlags(spans []flight.Span) {
	for i := range r.Classes {
		row := &r.Classes[i]
		row.Flags = 0
		for _, s := range spans {
			for _, p := range r.Phases {
				if p.Class == row.Class && p.Span.Contains(s.FromS) {
					row.Flags++
				}
			}
		}
	}
	if r.Activity != nil {
		r.Activity.Flags = len(spans)
	}
}

// classAnswers fills the answers of each class of air. What one class answers with says
// nothing about another: linear as the model is, blades near their stops and a busier pilot
// are not, so each class is solved from its own seconds.
func (f finder) classAnswers(ctx context.Context, a answers, known bool) error {
	if len(f.r.Classes) == 1 {
		f.r.Classes[0].Answers = classForm(f.r.Gusts)
		return nil
	}
	for i := range f.r.Classes {
		row := &f.r.Classes[i]
		gusts, err := a.within(f.r.Phases, row.Class).heldOnly(ctx, known)
		if err != nil {
			return err
		}
		row.Answers = classForm(gusts)
	}
	return nil
}

// classForm keeps what a table by class says of answers.
func classForm(gusts []Gust) []ClassAnswer {
	var out []ClassAnswer
	for _, g := range gusts {
		out = append(out, ClassAnswer{Axis: g.Axis, Input: g.Input, BandRadS: g.BandRadS,
			RadPerMS: g.RadPerMS, SERadPerMS: g.SERadPerMS})
	}
	return out
}

// within returns a with everything outside the phases of a class taken out, and the mean
// wind of that class.
func (a answers) within(ps []Phase, class Class) answers {
	a.ready, a.readySums = nil, nil
	mean, time := 0.0, 0.0
	keep := make([]bool, a.g.n)
	for _, p := range ps {
		if p.Class != class {
			continue
		}
		mean += p.MeanMS.Value * p.Span.LengthS()
		time += p.Span.LengthS()
		for i := range keep {
			keep[i] = keep[i] || p.Span.Contains(a.g.at(i))
		}
	}
	mean /= time
	if a.meanMS > 0 { // the lag in time of a length of wind
		a.lagS *= a.meanMS / math.Max(mean, 0.5)
		a.meanMS = mean
	}
	for c, x := range a.x {
		a.x[c] = make([]float64, len(x))
		for i, v := range x {
			if !keep[i] {
				v = math.NaN()
			}
			a.x[c][i] = v
		}
	}
	return a
}

// heldOnly returns the answers with the stick held, none if the record is too short or the
// place of the anemometer is not known. A mast that stands away feels the gusts of each class
// of air a different time before the aircraft.
func (a answers) heldOnly(ctx context.Context, known bool) ([]Gust, error) {
	if !known || !a.stick || a.windS > slowestAnswerS {
		return nil, nil
	}
	var sp *spectrum.Spectra
	if a.far {
		more, ok := a.carriedS(a.sheets())
		if !ok {
			return nil, ctx.Err()
		}
		a = a.carriedBy(more)
		var err error
		if sp, err = a.spectra(ctx, shortWindowS); errors.Is(err, spectrum.ErrOneWindow) {
			return nil, nil
		} else if err != nil {
			return nil, err
		}
	}
	held, err := a.held(ctx)
	if err != nil {
		return nil, err
	}
	var out []Gust
	for _, band := range a.bands() {
		for _, p := range ownPairs() {
			g := Gust{Axis: p.axis, Input: p.input, BandRadS: band}
			a.stickHeld(&g, p.in, held[p.out], a.followed(sp, p.in, p.side, p.out, band))
			out = append(out, g)
		}
	}
	return out, nil
}
