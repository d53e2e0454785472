package rotor

import "math"

// PilotRoom is what room an aircraft leaves to a pilot who answers attitude with a gain after
// a reaction delay, his stick against the attitude, the other stick held. Gains are fractions
// of full travel per rad of attitude; NaN where there is none.
type PilotRoom struct {
	DelayS float64
	// MostGainPerRad is the gain at which the loop begins to grow, at AtRadS: one over the
	// largest response among the frequencies at which pilot and aircraft together fall
	// behind by 180 deg.
	MostGainPerRad float64
	AtRadS         float64
	// LeastGainPerRad is the gain that it takes to stop a hover oscillation that grows by
	// itself; zero if none does. Above MostGainPerRad no gain alone will do: the pilot must
	// lead.
	LeastGainPerRad float64
	// PhaseMarginDeg is what is left at half the most gain, 6 dB below it.
	PhaseMarginDeg float64
}

// PilotDelaysS are the reaction delays of assumed pilots: 0.2 to 0.4 s spans what is found of
// practised people who watch one thing (McRuer and Jex, IEEE Transactions on Human Factors in
// Electronics 8(3), 1967, 231-249, from memory).
func PilotDelaysS() []float64 { return []float64{0.2, 0.3, 0.4} }

// rooms are those of the assumed pilots.
func (s *bandwidthSearch) rooms(grows bool) []PilotRoom {
	var list []PilotRoom
	for _, delayS := range PilotDelaysS() {
		list = append(list, s.room(delayS, grows))
	}
	return list
}

// room follows the phase of pilot and aircraft over frequency. grows says that a hover
// oscillation grows with the stick held.
func (s *bandwidthSearch) room(delayS float64, grows bool) PilotRoom {
	nan := math.NaN()
	r := PilotRoom{DelayS: delayS, MostGainPerRad: nan, AtRadS: nan, LeastGainPerRad: 0, PhaseMarginDeg: nan}
	if grows {
		r.LeastGainPerRad = nan
	}
	behind := func(k int) float64 { return s.phase[k] - delayS*s.w[k]*180/math.Pi }
	// Whole turns below -180 deg.
	turn := func(deg float64) float64 { return math.Floor((deg + 180) / 360) }
	for k := 0; k+1 < len(s.w); k++ {
		p, q := behind(k), behind(k+1)
		if turn(p) == turn(q) {
			continue
		}
		level := 360*math.Max(turn(p), turn(q)) - 180
		f := (level - p) / (q - p)
		w := s.w[k] * math.Pow(s.w[k+1]/s.w[k], f)
		gain := 1 / math.Exp((1-f)*math.Log(s.size(k))+f*math.Log(s.size(k+1)))
		switch {
		case q < p && !(gain >= r.MostGainPerRad):
			r.MostGainPerRad, r.AtRadS = gain, w
		case q > p && grows && !(gain <= r.LeastGainPerRad):
			r.LeastGainPerRad = gain
		}
	}
	r.PhaseMarginDeg = s.marginAt(r, behind)
	return r
}

// size is the response at sample k, SI.
func (s *bandwidthSearch) size(k int) float64 {
	return math.Pow(10, s.gain[k]/20) * 100 * math.Pi / 180
}

// marginAt is the least phase margin of the crossovers at half the most gain.
func (s *bandwidthSearch) marginAt(r PilotRoom, behind func(k int) float64) float64 {
	least := math.NaN()
	if !(r.MostGainPerRad/2 > r.LeastGainPerRad) {
		return least
	}
	level := 2 / r.MostGainPerRad
	for k := 0; k+1 < len(s.w); k++ {
		a, b := s.size(k), s.size(k+1)
		if (a > level) == (b > level) {
			continue
		}
		f := math.Log(level/a) / math.Log(b/a)
		margin := math.Remainder(180+(1-f)*behind(k)+f*behind(k+1), 360)
		if !(math.Abs(margin) >= math.Abs(least)) {
			least = margin
		}
	}
	return least
}
