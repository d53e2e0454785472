package wind

import (
	"math"

	"hopcard/flight"
)

// SumClasses adds up the tables of several hops, of one configuration, say: means and
// mean squares weigh by time, extremes stay extremes.
func SumClasses(hops ...[]ClassRow) []ClassRow {
	var out []ClassRow
	for _, class := range []Class{Calm, Steady, Gusty} {
		var of []ClassRow
		for _, rows := range hops {
			for _, r := range rows {
				if r.Class == class {
					of = append(of, r)
				}
			}
		}
		if len(of) > 0 {
			out = append(out, sumRows(of))
		}
	}
	return out
}

func sumRows(rows []ClassRow) ClassRow {
	sum := ClassRow{Class: rows[0].Class, SpreadMS: math.NaN()}
	var mean, sd weighted
	for _, r := range rows {
		sum.TimeS += r.TimeS
		if sum.Flags >= 0 && r.Flags >= 0 {
			sum.Flags += r.Flags
		} else {
			sum.Flags = -1
		}
		mean.add(r.MeanMS, r.TimeS)
		sd.add(r.SDMS*r.SDMS, r.TimeS)
		if !(sum.SpreadMS >= r.SpreadMS) {
			sum.SpreadMS = r.SpreadMS
		}
	}
	sum.MeanMS, sum.SDMS = mean.value(), math.Sqrt(sd.value())
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		if m, ok := sumMotion(rows, axis); ok {
			sum.Motion = append(sum.Motion, m)
		}
		if w, ok := sumWork(rows, axis); ok {
			sum.Work = append(sum.Work, w)
		}
	}
	sum.Answers = sumAnswers(rows)
	return sum
}

func sumMotion(rows []ClassRow, axis flight.Axis) (sum Motion, ok bool) {
	sum.Axis = axis
	var attitude, rate weighted
	for _, r := range rows {
		for _, m := range r.Motion {
			if m.Axis != axis {
				continue
			}
			ok = true
			attitude.add(m.AttitudeRMS*m.AttitudeRMS, r.TimeS)
			rate.add(m.RateRMS*m.RateRMS, r.TimeS)
			sum.LargestAttitudeChange = math.Max(sum.LargestAttitudeChange, m.LargestAttitudeChange)
		}
	}
	sum.AttitudeRMS, sum.RateRMS = math.Sqrt(attitude.value()), math.Sqrt(rate.value())
	return sum, ok
}

func sumWork(rows []ClassRow, axis flight.Axis) (sum Work, ok bool) {
	sum.Axis, sum.LeftFraction = axis, math.Inf(1)
	var position, rate, turns, near weighted
	for _, r := range rows {
		for _, w := range r.Work {
			if w.Axis != axis {
				continue
			}
			ok = true
			position.add(w.RMS*w.RMS, r.TimeS)
			rate.add(w.RateRMSPerS*w.RateRMSPerS, r.TimeS)
			turns.add(w.ReversalsPerMin, r.TimeS)
			near.add(w.NearStopShare, r.TimeS)
			sum.LeftFraction = math.Min(sum.LeftFraction, w.LeftFraction)
		}
	}
	sum.RMS, sum.RateRMSPerS = math.Sqrt(position.value()), math.Sqrt(rate.value())
	sum.ReversalsPerMin, sum.NearStopShare = turns.value(), near.value()
	return sum, ok
}

// weighted is a mean by weight that leaves out NaN; NaN if nothing is left.
type weighted struct{ sum, weight float64 }

func (w *weighted) add(x, weight float64) {
	if !math.IsNaN(x) {
		w.sum += x * weight
		w.weight += weight
	}
}

func (w weighted) value() float64 {
	if w.weight == 0 {
		return math.NaN()
	}
	return w.sum / w.weight
}
