package wind

import (
	"math"

	"hopcard/flight"
)

// normal95 is the half width of a 95 % interval in standard errors.
const normal95 = 1.959963984540054

// sumAnswers combines the answers of several hops by axis and band, in the order of the
// first hop that has each.
func sumAnswers(rows []ClassRow) []ClassAnswer {
	var out []ClassAnswer
	for _, r := range rows {
		for _, a := range r.Answers {
			if !hasAnswer(out, a) {
				out = append(out, sumAnswer(rows, a))
			}
		}
	}
	return out
}

func (a ClassAnswer) like(b ClassAnswer) bool {
	return a.Axis == b.Axis && a.Input == b.Input && a.BandRadS == b.BandRadS
}

func hasAnswer(list []ClassAnswer, a ClassAnswer) bool {
	for _, b := range list {
		if a.like(b) {
			return true
		}
	}
	return false
}

// sumAnswer combines what all rows say of one axis and band. Scatter averages out over the
// hops; what the anemometer may hide does not, so the widest allowance of a hop stays.
func sumAnswer(rows []ClassRow, of ClassAnswer) ClassAnswer {
	of.RadPerMS, of.SERadPerMS = nil, math.NaN()
	var each []relative
	low, high := 1.0, 1.0
	for _, r := range rows {
		for _, a := range r.Answers {
			if !a.like(of) || a.RadPerMS == nil || !a.RadPerMS.HasInterval() || !(a.RadPerMS.Low > 0) {
				continue
			}
			e, se := *a.RadPerMS, a.SERadPerMS
			if !(se > 0) {
				se = (e.High - e.Low) / (2 * normal95)
			}
			each = append(each, relative{math.Log(e.Value), se / e.Value})
			if l := e.Value - normal95*se; l > 0 {
				low = math.Min(low, e.Low/l)
			}
			high = math.Max(high, e.High/(e.Value+normal95*se))
		}
	}
	if len(each) == 0 {
		return of
	}
	mean, se, factor := combine(each)
	v := math.Exp(mean)
	of.SERadPerMS = v * se
	of.RadPerMS = &flight.Estimate{Value: v, Low: v * math.Exp(-factor*se) * low, High: v * math.Exp(factor*se) * high}
	return of
}

// relative is the logarithm of one hop's answer and its standard error.
type relative struct{ log, se float64 }

// combine returns the mean over hops whose true answers may differ, its standard error and
// how many of them a 95 % interval is wide to each side.
//
// Weights are 1/(se^2 + tau^2), tau^2 the variance between hops by moments (DerSimonian
// and Laird 1986, Control. Clin. Trials 7, 177). The standard error is from the scatter
// about the mean, with Student's t of one less than the hops, but no less than the hops'
// own errors say (Hartung and Knapp 2001, Stat. Med. 20, 3875, as modified by Roever,
// Knapp and Friede 2015, BMC Med. Res. Methodol. 15, 99, from memory). Two hops that agree
// within their errors have nothing for t to tell: they get the interval of one.
func combine(each []relative) (mean, se, factor float64) {
	n := float64(len(each))
	if len(each) == 1 {
		return each[0].log, each[0].se, normal95
	}
	mean, weight, q := weighed(each, 0)
	squares := 0.0
	for _, e := range each {
		squares += math.Pow(e.se, -4)
	}
	tau2 := math.Max(0, (q-(n-1))/(weight-squares/weight))
	if len(each) == 2 && tau2 == 0 {
		return mean, 1 / math.Sqrt(weight), normal95 * math.Sqrt2
	}
	mean, weight, q = weighed(each, tau2)
	return mean, math.Sqrt(math.Max(1, q/(n-1)) / weight), studentT(n - 1)
}

// weighed returns the mean with weights 1/(se^2 + tau2), their sum, and the weighted sum of
// squares about it.
func weighed(each []relative, tau2 float64) (mean, weight, squares float64) {
	for _, e := range each {
		w := 1 / (e.se*e.se + tau2)
		mean += w * e.log
		weight += w
	}
	mean /= weight
	for _, e := range each {
		squares += (e.log - mean) * (e.log - mean) / (e.se*e.se + tau2)
	}
	return mean, weight, squares
}
