package response

import (
	"fmt"
	"math"
	"math/cmplx"

	"hopcard/flight"
)

// couplingRadS is where the coupling is stated.
const couplingRadS = 2

// The band from which the phasing error is taken: above the slow motion, in which speed and
// position mix the axes by themselves, and as far as sweeps reach.
const (
	phasingFromRadS = 2
	phasingToRadS   = 10
	phasingStepRadS = 0.5
	// mostPhasingRad is the half width of the interval beyond which nothing is said: no one turns a
	// swashplate by a number less sure than that.
	mostPhasingRad = 6 * math.Pi / 180
)

// cross fills in what one axis does to the other, where both were measured against both
// sticks at once.
func (a *analyser) cross(all []*measured) {
	var roll, pitch *measured
	for _, m := range all {
		switch m.ax.axis {
		case flight.RollAxis:
			roll = m
		case flight.PitchAxis:
			pitch = m
		}
	}
	if roll == nil || pitch == nil || roll.leads != nil || pitch.leads != nil ||
		roll.apart > mostApart || pitch.apart > mostApart {
		return
	}
	p, q := roll.attitude, pitch.attitude
	if p == nil || q == nil {
		p, q = roll.rate, pitch.rate
	}
	if p == nil || q == nil || p.inputs < 2 || q.inputs < 2 {
		return
	}
	roll.couple(coupling(p, q), stepCoupling(p, q, a.settings))
	pitch.couple(coupling(q, p), stepCoupling(q, p, a.settings))
	if e := phasing(p, q); e.High-e.Low <= 2*mostPhasingRad {
		a.out.PhasingErrorRad = &e
	} else {
		a.noPhasing(e)
	}
}

func (m *measured) couple(e flight.Estimate, step *flight.Estimate) {
	for i := range m.results {
		m.results[i].Coupling, m.results[i].StepCoupling = &e, step
	}
}

// lostErrors is how many standard errors the amplitude of an answer must be above zero not to
// be lost in them: an amplitude is positive by nature, and of one that is zero the error of
// both its parts makes more than sqrt(-2 ln 0.05) of them in one case of twenty (Rayleigh).
const lostErrors = 2.448

// coupling returns the gain of the other axis to a stick over that of its own axis. Where
// the off-axis answer is lost in its error the interval begins at zero.
func coupling(own, other *predictor) flight.Estimate {
	on, off := cmplx.Abs(own.at(couplingRadS, 0)), cmplx.Abs(other.at(couplingRadS, 1))
	value := off / on
	at := []float64{couplingRadS}
	offSD := other.sds(at, 1)[0] // of the logarithm
	sd := value * math.Hypot(own.sds(at, 0)[0], offSD)
	e := flight.Estimate{Value: value, Low: max(0, value-1.96*sd), High: value + 1.96*sd}
	if lostErrors*offSD > 1 {
		e.Low = 0
	}
	return e
}

// phasing returns the angle D by which the disc tilts beside the direction the stick asks
// for, in rad of rotor azimuth, positive where aft stick also rolls right. With aft stick A
// and right stick B the blade pitch drives the disc by
//
//	A' = A cos D - B sin D,  B' = A sin D + B cos D.
//
// Each axis answers with dynamics of its own, Gq and Gp, and a stabiliser bar feeds the
// motion back to the blades by the same path F in both axes, before the turn D. The inverse
// of the matrix of responses is then inv(R(D)) inv(G) + F, up to the path of the stick
// that all four share. Of its four elements the sum of the off-diagonal ones is
// sin D (1/Gp - 1/Gq), the difference of the diagonal ones cos D (1/Gp - 1/Gq): with the
// determinant cancelled,
//
//	tan D = (Hp,lon + Hq,lat)/(Hp,lat - Hq,lon)
//
// at every frequency, bar or no bar (algebra from the disc and bar equations of the rotor
// model). It is fitted over the band by least squares. Roll and pitch must differ in
// inertia, as they do in any helicopter; if not, the interval says so.
//
// The interval follows from the errors of both predictors' parameters, which say how the four
// responses move together over the whole band, to first order.
func phasing(roll, pitch *predictor) flight.Estimate {
	var ws []float64
	for w := float64(phasingFromRadS); w <= phasingToRadS; w += phasingStepRadS {
		ws = append(ws, w)
	}
	n := len(ws)
	x, y, weight := make([]complex128, n), make([]complex128, n), make([]float64, n)
	pLat, pLon := roll.perturbed(ws, 0), roll.perturbed(ws, 1)
	qLon, qLat := pitch.perturbed(ws, 0), pitch.perturbed(ws, 1)
	var top, bottom float64
	for k := range ws {
		y[k], x[k] = pLon.h[k]+qLat.h[k], pLat.h[k]-qLon.h[k]
		weight[k] = 1 / (pLon.variance(k) + qLat.variance(k) + pLat.variance(k) + qLon.variance(k))
		top += weight[k] * (real(x[k])*real(y[k]) + imag(x[k])*imag(y[k]))
		bottom += weight[k] * (real(x[k])*real(x[k]) + imag(x[k])*imag(x[k]))
	}
	tan := top / bottom
	// What each independent error moves y - tan x by, along x.
	moved := func(off, on perturbation, sign float64) (variance float64) {
		for i := range off.d {
			var sum float64
			for k := range ws {
				d := off.d[i][k] - complex(sign*tan, 0)*on.d[i][k]
				sum += weight[k] * (real(x[k])*real(d) + imag(x[k])*imag(d))
			}
			variance += sum * sum
		}
		return variance
	}
	half := 1.96 * math.Sqrt(moved(pLon, pLat, 1)+moved(qLat, qLon, -1)) / bottom
	return flight.Estimate{Value: math.Atan(tan), Low: math.Atan(tan - half), High: math.Atan(tan + half)}
}

// perturbation is a response to one input at some frequencies, and what each of the
// independent errors of unit variance adds to it.
type perturbation struct {
	h []complex128
	d [][]complex128 // by error, then by frequency
}

func (p *predictor) perturbed(ws []float64, input int) perturbation {
	m := p.whitened(ws, input)
	e := perturbation{h: make([]complex128, len(ws)), d: make([][]complex128, m.Rows)}
	// The error that the limited memory makes goes with the others.
	sds := p.sdsOf(m)
	scale := make([]float64, len(ws))
	for k, short := range p.shortness(ws, sds, input) {
		e.h[k] = p.at(ws[k], input)
		scale[k] = math.Sqrt(1 + short/(sds[k]*sds[k]))
	}
	for i := range e.d {
		e.d[i] = make([]complex128, len(ws))
		for k := range ws {
			e.d[i][k] = e.h[k] * complex(scale[k]*m.Data[i*m.Stride+2*k], scale[k]*m.Data[i*m.Stride+2*k+1])
		}
	}
	return e
}

// variance is that of the response at frequency k, real and imaginary part together.
func (e perturbation) variance(k int) (v float64) {
	for _, d := range e.d {
		v += real(d[k])*real(d[k]) + imag(d[k])*imag(d[k])
	}
	return v
}

func (a *analyser) noPhasing(e flight.Estimate) {
	a.find(flight.Finding{
		Code: flight.CodeNotMeasurable, Severity: flight.Note,
		Text: fmt.Sprintf("The phasing error of the swashplate is not measurable: it lies between %.0f and %.0f deg of rotor azimuth.",
			e.Low*degPerRad, e.High*degPerRad),
		Advice: "Fly a sweep or doublets in roll and in pitch, each large enough to stand out.",
	})
}
