package wind

import (
	"context"
	"fmt"
	"math"

	"hopcard/flight"
)

// answers fills how far gusts threw the aircraft, or says why that cannot be told.
func (f finder) answers(ctx context.Context, s series, span flight.Span, around surroundings) error {
	if s.onBoard {
		return nil // already said why
	}
	// Lift-off and landing are not answers to gusts.
	const edgeS = 3
	span.FromS += edgeS
	span.ToS -= edgeS
	a, why := gather(f.h, s, span, around)
	if why != "" {
		f.withheld(why, "")
		return nil
	}
	var err error
	f.r.Gusts, f.r.OffAxis, f.r.LeadS, err = a.sensitivity(ctx)
	if err != nil {
		return err
	}
	switch {
	case len(f.r.Gusts) == 0:
		f.withheld(fmt.Sprintf("no stretch of two windows of %.0f s without a gap", longWindowS), "hover longer")
	case !a.stick:
		f.withheld("the sticks were not logged on a clock common with the wind, so the aircraft's answer cannot be told from the pilot's", "log both sticks")
	case !anyHeld(f.r.Gusts):
		where := "where the anemometer stands for the aircraft cannot be told"
		if !math.IsNaN(f.r.LeadS) {
			where = fmt.Sprintf("the anemometer felt gusts about %.1f s before the aircraft", f.r.LeadS)
		}
		f.withheld("sticks and logged gusts leave too much of the motion unexplained, so gusts that were not logged moved the aircraft ("+where+"); with the pilot in the loop the answer is given up to the high end that the coherence allows",
			"put the anemometer nearer to the aircraft")
	}
	return nil
}

// withheld says that gust answers with the stick held are not given.
func (f finder) withheld(why, advice string) {
	f.add(flight.CodeNotMeasurable, flight.Note, flight.Span{}, "answer to gusts with the stick held is withheld: "+why, advice)
}

func anyHeld(gs []Gust) bool {
	for _, g := range gs {
		if g.RadPerMS != nil {
			return true
		}
	}
	return false
}
