package simulate

import "math"

// atmosphere makes the wind at the mast and at the aircraft as time goes on.
type atmosphere struct {
	air   Air
	stepS float64
	mean  *gusts // passes the mast, then the aircraft
	other *gusts // what the aircraft gets that the mast does not
	// Gusts so far, one per step: along and across.
	along, across           []float64
	otherAlong, otherAcross []float64
}

func newAtmosphere(s Scenario) *atmosphere {
	height := s.Air.HeightFt
	if height == 0 {
		height = 10
	}
	d := DrydenAt(height, s.Air.Gusts)
	return &atmosphere{
		air: s.Air, stepS: s.StepS,
		mean:  newGusts(d, s.StepS, stream(s.Seed, streamGust)),
		other: newGusts(d, s.StepS, stream(s.Seed, streamOtherGust)),
	}
}

// upTo makes the gusts up to step k.
func (a *atmosphere) upTo(k int) {
	for len(a.along) <= k {
		mean := at(a.air.Mean, float64(len(a.along))*a.stepS)
		x, y := a.mean.next(mean)
		a.along, a.across = append(a.along, x), append(a.across, y)
		if a.mixed() {
			x, y = a.other.next(mean)
			a.otherAlong, a.otherAcross = append(a.otherAlong, x), append(a.otherAcross, y)
		}
	}
}

// mixed reports whether the mast sees only part of what the aircraft gets.
func (a *atmosphere) mixed() bool { return a.air.MastM > 0 && a.air.Coherence < 1 }

// craft returns the velocity of the air towards north and east at the aircraft.
func (a *atmosphere) craft(tS float64) (north, east float64) {
	along, across := a.gustAt(tS)
	return a.components(tS, along, across)
}

func (a *atmosphere) gustAt(tS float64) (along, across float64) {
	k := int(math.Round(tS / a.stepS))
	a.upTo(k)
	if a.air.MastM == 0 {
		return a.along[k], a.across[k]
	}
	lead := a.air.MastM / max(at(a.air.Mean, tS), slowestCarryMS)
	j := max(k-int(math.Round(lead/a.stepS)), 0)
	if !a.mixed() {
		return a.along[j], a.across[j]
	}
	c, d := math.Sqrt(a.air.Coherence), math.Sqrt(1-a.air.Coherence)
	return c*a.along[j] + d*a.otherAlong[k], c*a.across[j] + d*a.otherAcross[k]
}

// mast returns the velocity of the air towards north and east at the anemometer.
func (a *atmosphere) mast(tS float64) (north, east float64) {
	k := int(math.Round(tS / a.stepS))
	a.upTo(k)
	return a.components(tS, a.along[k], a.across[k])
}

// components turns gusts along and across the mean wind into the flow towards north, east.
func (a *atmosphere) components(tS, along, across float64) (north, east float64) {
	sin, cos := math.Sincos(at(a.air.DirectionFrom, tS))
	total := at(a.air.Mean, tS) + along
	return -(total*cos - across*sin), -(total*sin + across*cos)
}

// against returns head wind and wind from the right at the aircraft.
func (a *atmosphere) against(tS, headingRad float64) (head, right float64) {
	north, east := a.craft(tS)
	sin, cos := math.Sincos(headingRad)
	return -(north*cos + east*sin), north*sin - east*cos
}
