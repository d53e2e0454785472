package wind

import (
	"context"
	"fmt"
	"math"

	"hopcard/flight"
)

// answers fills how far gusts threw the aircraft, or says why that cannot be told.
func (f finder) answers(ctx context.Context, th thinned, span flight.Span, around surroundings) error {
	if th.all.onBoard {
		return nil // already said why
	}
	// Lift-off and landing are not answers to gusts.
	const edgeS = 3
	span.FromS += edgeS
	span.ToS -= edgeS
	a, why := gather(f.h, th, span, around)
	if why != "" {
		f.withheld(why, "")
		return nil
	}
	a, lead, known, err := a.place(ctx)
	if err != nil {
		return err
	}
	f.r.LeadS = lead
	f.r.Gusts, f.r.OffAxis, err = a.sensitivity(ctx, known)
	if err != nil {
		return err
	}
	if err := f.classAnswers(ctx, a, known); err != nil {
		return err
	}
	f.events(a)
	f.cup(a, around.set)
	switch {
	case len(f.r.Gusts) == 0:
		f.withheld(fmt.Sprintf("no stretch of two windows of %.0f s without a gap", longWindowS), "hover longer")
	case !a.stick:
		f.withheld("the sticks were not logged on a clock common with the wind, so the aircraft's answer cannot be told from the pilot's", "log both sticks")
	case a.windS > slowestAnswerS:
		f.withheld(fmt.Sprintf("wind was logged every %.2g s, and quick gusts then pass for slow ones", a.windS), "log wind at 4 Hz or faster")
	case !known:
		f.withheld("no lead of the anemometer explains the motion clearly better than others ("+f.leadInWords()+")", "put the anemometer nearer to the aircraft, or hover longer")
	case !anyHeld(f.r.Gusts):
		f.withheld("sticks and logged gusts leave too much of the motion unexplained, so gusts that were not logged moved the aircraft ("+f.leadInWords()+"); with the pilot in the loop the answer is given up to the high end that the coherence allows",
			"put the anemometer nearer to the aircraft")
	default:
		f.bandsWithheld()
	}
	return nil
}

func (f finder) leadInWords() string {
	if math.IsNaN(f.r.LeadS) {
		return "how long after the anemometer the aircraft answers cannot be told"
	}
	return fmt.Sprintf("the aircraft answers about %.1f s after the anemometer", f.r.LeadS)
}

// bandsWithheld names the bands of answers that are given in others.
func (f finder) bandsWithheld() {
	for _, g := range f.r.Gusts {
		if g.RadPerMS == nil {
			f.withheld(fmt.Sprintf("%s at %.2g to %.2g rad/s: a mode there grows or dies out so slowly, or the answer scatters or hangs on the anemometer's noise so much, that this record cannot tell it",
				g.Axis, g.BandRadS[0], g.BandRadS[1]), "hover longer")
		}
	}
}

// cup warns where an anemometer of unknown distance constant may be too slow for the
// bands given.
func (f finder) cup(a answers, set Settings) {
	mean := f.r.Whole.MeanMS.Value
	const usualM = 3.0 // of light cups and vanes (WMO-No. 8, 5.2: 2 to 5 m)
	for _, g := range f.r.Gusts {
		m := math.Min(usualM, a.cupM)
		if set.DistanceConstantM == 0 && m > 0 && g.RadPerMS != nil && g.BandRadS[1] > mean/m {
			f.add(flight.CodeNotMeasurable, flight.Note, flight.Span{},
				fmt.Sprintf("the anemometer's distance constant is not known: if it is as much as %.1f m, answers to gusts above %.1f rad/s are given too high; their low ends allow for %.1f m, the most that the gusts' own spectrum leaves open", m, mean/m, a.cupM),
				"state distance_constant_m in aircraft.toml, a small one if the anemometer has no moving parts")
			return
		}
	}
}

// events averages the answers to single gusts and copies the numbers to the bands.
func (f finder) events(a answers) {
	for _, p := range [2]struct {
		axis           flight.Axis
		in, out, stick int
	}{{flight.RollAxis, crossGust, rollOut, latStick}, {flight.PitchAxis, headGust, pitchOut, lonStick}} {
		e := a.events(p.axis, p.in, p.out, p.stick)
		if e == nil {
			continue
		}
		f.r.Events = append(f.r.Events, *e)
		for i := range f.r.Gusts {
			g := &f.r.Gusts[i]
			if g.Axis != p.axis {
				continue
			}
			g.Events, g.TimeToPeakS, g.SettleS = len(e.GustMS), e.TimeToPeakS, e.SettleS
			if peak := e.PeakRadPerMS; peak != nil {
				size := peak.Times(math.Copysign(1, peak.Value))
				g.PeakRadPerMS = &size
			}
		}
	}
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
