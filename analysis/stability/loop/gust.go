package loop

import (
	"context"
	"math"
	"math/cmplx"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/analysis/segment/series"
	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// The logged gust is an instrument: it moves the aircraft and has nothing to do with the noise
// of the pilot's hand, so that
//
//	Y = -S(gust, stick)/S(gust, attitude)
//
// is right whatever that noise is (Wellstead 1978; Ljung 1999, section 13.5, from memory).
// It scatters more than the predictor does, because it uses only what the logged gust moves
// (on drawn hops by a factor of two to three): it stands judge over the predictor's answer,
// whose model of the noise it does not need.

// instrument is the logged wind on the grid of a record: two components, together whatever
// way the nose points. Gaps are NaN.
type instrument struct{ north, east []float64 }

// windWidthS is the width of the weight the wind comes to the grid with. What it takes off
// it takes off both spectra.
const windWidthS = 0.4

// instrumentOf returns the logged wind if it may be timed against the attitude; nil if there
// is none, or only one that was worked out on board from the motion it would explain.
func instrumentOf(h *flight.Hop, attitude *flight.Channel, g series.Grid) *instrument {
	for _, pair := range [][2]flight.Quantity{{flight.WindSpeed, flight.WindDirectionFrom}, {flight.WindNorth, flight.WindEast}} {
		a, b := h.Channel(pair[0]), h.Channel(pair[1])
		if a == nil || b == nil || a.Source != b.Source || a.Len() != b.Len() || a.Len() < 2 || onBoard(a.Column) {
			continue
		}
		if _, ok := h.CommonClock(a, attitude); !ok {
			continue
		}
		north, east := *a, *a
		if pair[0] == flight.WindSpeed {
			north.Value, east.Value = make([]float64, a.Len()), make([]float64, a.Len())
			for i, v := range a.Value {
				sin, cos := math.Sincos(b.Value[i])
				north.Value[i], east.Value[i] = v*cos, v*sin
			}
		} else {
			east = *b
		}
		return &instrument{series.Even(&north, g, windWidthS), series.Even(&east, g, windWidthS)}
	}
	return nil
}

// onBoard reports whether a column calls itself an estimate.
func onBoard(column string) bool {
	for _, w := range strings.FieldsFunc(strings.ToLower(column), func(r rune) bool { return r < 'a' || r > 'z' }) {
		switch w {
		case "est", "estimate", "estimated", "ekf":
			return true
		}
	}
	return false
}

// verdict is what the instrument says about a form.
type verdict struct {
	speaks    bool // enough of the attitude follows the logged gust
	coherence float64
	// excess is the weighted sum of squares of what form and instrument differ by, over
	// its degrees of freedom; most is what chance makes of it in one case of a hundred.
	excess, most float64
}

const (
	// verdictWindowS is the window of the instrument's spectra.
	verdictWindowS                 = 16.0
	verdictFromRadS, verdictToRadS = 0.8, 4.0
	// leastCoherence of attitude and gust for the gust to speak: below it the instrument is
	// drawn towards the ratio it is to correct.
	leastCoherence = 0.25
)

// judge compares a form with the instrument. Stick and attitude are made white by A of the
// predictor first, which their ratio does not feel: the windows then leak nothing.
func (i *instrument) judge(ctx context.Context, r *record, p *predictor, y *fitted) (v verdict, err error) {
	runs := i.runs(r, p)
	if len(runs) == 0 {
		return v, nil
	}
	window := int(math.Round(verdictWindowS / gridStepS))
	s, err := spectrum.Estimate(ctx, runs, gridStepS, spectrum.Settings{Window: window, MaxRadS: verdictToRadS})
	if err != nil {
		return v, ctx.Err() // too short for two windows
	}
	var sum, points, coherent float64
	for k, next := 0, verdictFromRadS; k < len(s.OmegaRadS); k++ {
		w := s.OmegaRadS[k]
		if w < next {
			continue
		}
		next = w + s.BandRadS
		form := y.at(w)
		answer, coherence, sd := instrumentAt(s, k, form)
		sd = math.Hypot(sd, y.relativeSD(w)*cmplx.Abs(form))
		d := cmplx.Abs(answer-form) / sd
		sum += d * d
		coherent += coherence
		points++
	}
	v.coherence = coherent / points
	v.excess = sum / (2 * points)
	v.most = distuv.ChiSquared{K: 2 * points}.Quantile(0.99) / (2 * points)
	v.speaks = v.coherence > max(leastCoherence, spectrum.CriticalCoherence(s.Effective-1, 0.05))
	return v, nil
}

// runs are the stretches of regulating in which the wind was logged: stick and attitude made
// white, and the wind.
func (i *instrument) runs(r *record, p *predictor) (runs [][][]float64) {
	stick, attitude := p.whitenedOf(r.highStick), p.whitenedOf(r.highAttitude)
	for _, s := range r.usable(len(p.own), len(p.own)) {
		from := s[0]
		for t := s[0]; t <= s[1]; t++ {
			if t < s[1] && i.north[t] == i.north[t] && i.east[t] == i.east[t] {
				continue
			}
			if t > from {
				runs = append(runs, [][]float64{stick[from:t], attitude[from:t], i.north[from:t], i.east[from:t]})
			}
			from = t + 1
		}
	}
	return runs
}

// instrumentAt is the pilot at bin k by both instruments together, their coherence with the
// attitude and the standard deviation of real and of imaginary part, the noise being what
// the form leaves of the stick.
func instrumentAt(s *spectrum.Spectra, k int, form complex128) (y complex128, coherence, sd float64) {
	nn, ee, ne := complex(s.Auto(2)[k], 0), complex(s.Auto(3)[k], 0), s.Cross(2, 3)[k]
	det := nn*ee - ne*cmplx.Conj(ne)
	na, ea, nu, eu := s.Cross(2, 1)[k], s.Cross(3, 1)[k], s.Cross(2, 0)[k], s.Cross(3, 0)[k]
	through := func(b, c complex128) complex128 {
		return (cmplx.Conj(na)*(ee*b-ne*c) + cmplx.Conj(ea)*(nn*c-cmplx.Conj(ne)*b)) / det
	}
	power := real(through(na, ea))
	noise := s.Auto(0)[k] + real(form*cmplx.Conj(form))*s.Auto(1)[k] + 2*real(form*s.Cross(0, 1)[k])
	return -through(nu, eu) / complex(power, 0), power / s.Auto(1)[k], math.Sqrt(noise / (2 * s.Effective * power))
}

// whitenedOf is A of the predictor on a series.
func (p *predictor) whitenedOf(x []float64) []float64 {
	out := make([]float64, len(x))
	for t := len(p.own); t < len(x); t++ {
		out[t] = x[t]
		for j := range p.own {
			out[t] -= p.theta[j] * x[t-1-j]
		}
	}
	return out
}
