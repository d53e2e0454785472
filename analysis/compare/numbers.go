package compare

import (
	"math"

	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// KeyNumber is one of the numbers that configurations are compared by.
type KeyNumber struct {
	Key  string // stable name, with axis and band
	Name string // in words, without the axis
	Axis flight.Axis
	Unit flight.Unit // of what Read returns
	// Positive numbers are compared by their ratio.
	Positive bool
	// Air is true if the number only compares within one class of air.
	Air bool
	// Warning is to be shown with it, empty if there is nothing to beware of.
	Warning string
	m       measure
}

// Reading is what one hop gives of a number; Estimate is nil where it gives none, and Reason
// says why.
type Reading struct {
	Estimate *flight.Estimate
	Reason   string
}

// KeyNumbers lists the numbers that Compare compares, in the order of its rows.
func KeyNumbers() []KeyNumber {
	var list []KeyNumber
	for _, m := range measures() {
		list = append(list, KeyNumber{Key: m.key, Name: m.name, Axis: m.axis, Unit: m.unit, Positive: m.ratio,
			Air: m.air, Warning: m.warning, m: m})
	}
	return list
}

// Read takes the number from each hop, by the same definition from all: where there are
// several, the one that most hops give. A number that depends on the air is that of the
// class of the whole flight; margins are there without a wind too, in air not known.
func (n KeyNumber) Read(hops []*debrief.Debrief) []Reading {
	var best []Reading
	most := -1
	for _, g := range n.m.gauges {
		list, found := make([]Reading, len(hops)), 0
		for i, d := range hops {
			if list[i] = n.m.reading(d, g); list[i].Estimate != nil {
				found++
			}
		}
		if found > most {
			best, most = list, found
		}
	}
	return best
}

func (m measure) reading(d *debrief.Debrief, g gauge) Reading {
	class := ClassOf(d)
	e, why := g(d, class)
	if e == nil || math.IsNaN(e.Value) {
		if m.air && class == "" {
			why = "no wind measured"
		}
		return Reading{Reason: why}
	}
	v := e.Times(m.k)
	return Reading{Estimate: &v}
}

// ClassOf is the class of air of a whole flight, empty if no wind was measured: an estimate
// made on board from the aircraft's own motion is none.
func ClassOf(d *debrief.Debrief) wind.Class { return classOf(d) }

// Pooled is what several hops say together.
type Pooled struct {
	// Mean has an interval with what differs from hop to hop; of one hop it is the hop's own.
	Mean flight.Estimate
	// SpreadSD is the standard deviation from hop to hop beyond the hops' own errors, as a
	// share of the mean for positive numbers; NaN of one hop.
	SpreadSD float64
	Hops     int // that have an interval, and so count
}

// Pool returns the mean of one number over hops, in the way of Compare; positive numbers are
// pooled by their logarithms. ok is false if none has an interval.
func Pool(estimates []flight.Estimate, positive bool) (p Pooled, ok bool) {
	var group []number
	var only flight.Estimate
	for _, e := range estimates {
		if n, ok := numberOf(e, positive); ok {
			group, only = append(group, n), e
		}
	}
	if p.Hops = len(group); p.Hops == 0 {
		return Pooled{}, false
	}
	if p.Hops == 1 {
		return Pooled{Mean: only, SpreadSD: math.NaN(), Hops: 1}, true
	}
	df := float64(p.Hops - 1)
	tau2 := pauleMandel(group, nil, df)
	w := weigh(group, math.Max(tau2, medianVariance(group, nil)))
	half := w.error(w.squares/df) * studentT(math.Max(1, w.effective-1)).Quantile(0.975)
	p.Mean = flight.Estimate{Value: w.mean, Low: w.mean - half, High: w.mean + half}
	p.SpreadSD = math.Sqrt(tau2)
	if positive {
		p.Mean = flight.Estimate{Value: math.Exp(p.Mean.Value), Low: math.Exp(p.Mean.Low), High: math.Exp(p.Mean.High)}
		p.SpreadSD = math.Expm1(p.SpreadSD)
	}
	return p, true
}
