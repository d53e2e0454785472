package simulate

import (
	"math"
	"math/rand/v2"
)

// Dryden holds intensity and scale length of low-altitude turbulence.
type Dryden struct {
	SigmaMS float64 // along and across the wind
	LengthM float64
}

const footM = 0.3048

// DrydenAt gives the horizontal intensity and length of MIL-F-8785C (1980), 3.7.3.4, at a
// height of 10 to 1000 ft above ground, for a wind at 20 ft in m/s. The height is clamped.
func DrydenAt(heightFt, windAt20FtMS float64) Dryden {
	h := min(max(heightFt, 10), 1000)
	k := 0.177 + 0.000823*h
	return Dryden{
		SigmaMS: 0.1 * windAt20FtMS / math.Pow(k, 0.4),
		LengthM: h / math.Pow(k, 1.2) * footM,
	}
}

// AlongPSD is the one-sided density of the gust along the wind, (m/s)^2 per rad/s, at omega
// rad/s, carried by the mean wind in m/s: (sigma^2 2L/(pi V)) / (1 + (L omega/V)^2).
func (d Dryden) AlongPSD(omegaRadS, meanMS float64) float64 {
	tau := d.LengthM / meanMS
	return d.SigmaMS * d.SigmaMS * 2 * tau / math.Pi / (1 + tau*tau*omegaRadS*omegaRadS)
}

// AcrossPSD is the same across the wind:
// (sigma^2 L/(pi V)) (1 + 3 (L omega/V)^2) / (1 + (L omega/V)^2)^2.
func (d Dryden) AcrossPSD(omegaRadS, meanMS float64) float64 {
	tau := d.LengthM / meanMS
	x := tau * tau * omegaRadS * omegaRadS
	return d.SigmaMS * d.SigmaMS * tau / math.Pi * (1 + 3*x) / ((1 + x) * (1 + x))
}

// gusts makes samples of both horizontal gust components by exact discrete equivalents of
// the forming filters, started in their steady state.
type gusts struct {
	sigma, length float64
	stepS         float64
	rng           *rand.Rand
	along         float64 // unit variance
	x1, x2        float64 // across: one and two lags of unit white noise times sqrt(tau)
	started       bool
	kept          kept
}

// kept holds the factors of one step, which change only with the mean wind: r is step over
// tau, l11 to l22 the Cholesky factor of lagCovariance.
type kept struct{ tau, r, f, noise, l11, l21, l22 float64 }

func keepFor(tau, stepS float64) kept {
	r := stepS / tau
	f := math.Exp(-r)
	q11, q12, q22 := lagCovariance(r)
	k := kept{tau: tau, r: r, f: f, noise: math.Sqrt(1 - f*f), l11: math.Sqrt(q11)}
	k.l21 = q12 / k.l11
	k.l22 = math.Sqrt(max(q22-k.l21*k.l21, 0))
	return k
}

func newGusts(d Dryden, stepS float64, rng *rand.Rand) *gusts {
	return &gusts{sigma: d.SigmaMS, length: d.LengthM, stepS: stepS, rng: rng}
}

// slowestCarry keeps the filters finite in still air: gusts then drift past this fast.
const slowestCarryMS = 0.5

// next returns the gust along and across a wind of the given mean.
//
// Along: a first-order lag of white noise. Across: with lags x1 = n/(1+tau s) and
// x2 = x1/(1+tau s), (1 + sqrt3 tau s)/(1 + tau s)^2 is sqrt3 x1 + (1 - sqrt3) x2.
func (g *gusts) next(meanMS float64) (along, across float64) {
	tau := g.length / max(meanMS, slowestCarryMS)
	n0, n1, n2 := g.rng.NormFloat64(), g.rng.NormFloat64(), g.rng.NormFloat64()
	if !g.started {
		// Steady covariance of (x1, x2), times tau: 1/2, 1/4, 1/4.
		g.along, g.x1 = n0, math.Sqrt(0.5)*n1
		g.x2 = 0.5*g.x1 + math.Sqrt(0.125)*n2
		g.started = true
	} else {
		if tau != g.kept.tau {
			g.kept = keepFor(tau, g.stepS)
		}
		k := &g.kept
		g.along = k.f*g.along + k.noise*n0
		g.x2 = k.f*g.x2 + k.f*k.r*g.x1 + k.l21*n1 + k.l22*n2
		g.x1 = k.f*g.x1 + k.l11*n1
	}
	return g.sigma * g.along, g.sigma * (math.Sqrt(3)*g.x1 + (1-math.Sqrt(3))*g.x2)
}

// lagCovariance is the covariance that one step of r = step/tau adds to (x1, x2), times
// tau: the integrals of e^-2z, z e^-2z and z^2 e^-2z from 0 to r. Series for small r, where
// the closed form cancels.
func lagCovariance(r float64) (q11, q12, q22 float64) {
	q11 = -math.Expm1(-2*r) / 2
	if r < 0.02 {
		r2 := r * r
		return q11, r2 * (0.5 - 2*r/3 + r2/2 - 4*r2*r/15), r2 * r * (1.0/3 - r/2 + 2*r2/5 - 2*r2*r/9)
	}
	e := math.Exp(-2 * r)
	return q11, (1 - e*(1+2*r)) / 4, (1 - e*(1+2*r+2*r*r)) / 4
}

// at interpolates points; before the first and after the last the value stays.
func at(points []Point, tS float64) float64 {
	if len(points) == 0 {
		return 0
	}
	if tS <= points[0].TimeS {
		return points[0].Value
	}
	for i := 1; i < len(points); i++ {
		if a, b := points[i-1], points[i]; tS <= b.TimeS {
			return a.Value + (b.Value-a.Value)*(tS-a.TimeS)/(b.TimeS-a.TimeS)
		}
	}
	return points[len(points)-1].Value
}
