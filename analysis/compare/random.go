package compare

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// number is one hop's number on the scale it is compared on.
type number struct {
	y, sd float64
}

// contrast is the difference of two groups of numbers.
type contrast struct {
	meanA, seA   float64
	meanB, seB   float64
	d, se, df    float64
	tau2         float64 // NaN where it cannot be told
	ownA, ownB   float64 // mean variance of a hop's own error
	hopsA, hopsB int
}

// singleDF are the degrees of freedom of the t that a single hop's interval is taken for.
const singleDF = 4

// normal95 is the half width of a 95 % interval in standard deviations.
const normal95 = 1.959963984540054

// contrastOf compares the groups; each must have a number.
func contrastOf(a, b []number) contrast {
	c := contrast{hopsA: len(a), hopsB: len(b), ownA: ownVariance(a), ownB: ownVariance(b), tau2: math.NaN()}
	if len(a) == 1 && len(b) == 1 {
		// sd is a 95 % half width over 1.96: of this t it is less.
		k := normal95 / studentT(singleDF).Quantile(0.975)
		c.meanA, c.seA, c.meanB, c.seB = a[0].y, k*a[0].sd, b[0].y, k*b[0].sd
		c.d, c.se, c.df = c.meanB-c.meanA, math.Hypot(c.seA, c.seB), singleDF
		return c
	}
	df := float64(len(a) + len(b) - 2)
	c.tau2 = pauleMandel(a, b, df)
	floor := math.Max(c.tau2, medianVariance(a, b))
	ma, mb := weigh(a, floor), weigh(b, floor)
	c.meanA, c.meanB, c.d = ma.mean, mb.mean, mb.mean-ma.mean
	q := (ma.squares + mb.squares) / df
	c.seA, c.seB = ma.error(q), mb.error(q)
	c.se = math.Hypot(c.seA, c.seB)
	c.df = math.Max(1, ma.effective+mb.effective-2)
	return c
}

// chance is the two-sided probability of a difference at least as large between equals.
func (c contrast) chance() float64 {
	return math.Min(1, 2*studentT(c.df).Survival(math.Abs(c.d)/c.se))
}

// half is the half width of the 95 % interval of the difference.
func (c contrast) half() float64 { return c.se * studentT(c.df).Quantile(0.975) }

func studentT(df float64) distuv.StudentsT { return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df} }

// weighing is what a group comes to with weights 1/(sd2 + extra).
type weighing struct {
	mean, weight float64
	squares      float64 // weighted, about the mean
	own          float64 // variance of the mean from the hops' own errors alone
	effective    float64 // number of hops that count (Kish, Survey Sampling, 1965, 11.7, from memory)
}

func weigh(group []number, extra float64) weighing {
	var m weighing
	var sum2, own float64
	for _, n := range group {
		w := 1 / (n.sd*n.sd + extra)
		m.mean += w * n.y
		m.weight += w
		sum2 += w * w
		own += w * w * n.sd * n.sd
	}
	m.mean /= m.weight
	m.own, m.effective = own/(m.weight*m.weight), m.weight*m.weight/sum2
	for _, n := range group {
		m.squares += (n.y - m.mean) * (n.y - m.mean) / (n.sd*n.sd + extra)
	}
	return m
}

// error is the standard error of the mean from the mean square q of both groups, never
// less than the hops' own errors say: hops that agree by accident are not believed.
func (m weighing) error(q float64) float64 { return math.Sqrt(math.Max(q/m.weight, m.own)) }

// medianVariance is the median of the hops' own variances, the lower of two middle ones.
func medianVariance(a, b []number) float64 {
	var v []float64
	for _, n := range append(append([]number{}, a...), b...) {
		v = append(v, n.sd*n.sd)
	}
	sort.Float64s(v)
	return v[(len(v)-1)/2]
}

// pauleMandel returns the variance between hops at which the weighted squares about the
// groups' means are what they should be, df; zero if they are less without any.
func pauleMandel(a, b []number, df float64) float64 {
	excess := func(tau2 float64) float64 {
		return weigh(a, tau2).squares + weigh(b, tau2).squares - df
	}
	if excess(0) <= 0 {
		return 0
	}
	low, high := 0.0, spread(a)+spread(b)
	for excess(high) > 0 {
		low, high = high, 2*high
	}
	for high-low > 1e-13*high {
		mid := (low + high) / 2
		if excess(mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// spread is the squared range of the group's values, a scale to start from.
func spread(group []number) float64 {
	if len(group) == 0 {
		return 0
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, n := range group {
		low, high = math.Min(low, n.y), math.Max(high, n.y)
	}
	return (high - low) * (high - low)
}

func ownVariance(group []number) float64 {
	sum := 0.0
	for _, n := range group {
		sum += n.sd * n.sd
	}
	return sum / float64(len(group))
}

// hopsNeeded returns how many hops each side would need in all for a difference delta to be
// called real at the level alpha four times in five, adding to what there is; ok is false
// if more than most.
func (c contrast) hopsNeeded(delta, alpha float64, most int) (a, b int, ok bool) {
	tau2 := c.tau2
	if math.IsNaN(tau2) {
		tau2 = 0
	}
	for n := 2; n <= most; n++ {
		a, b = max(c.hopsA, n), max(c.hopsB, n)
		t := studentT(float64(a + b - 2))
		se := math.Sqrt((tau2+c.ownA)/float64(a) + (tau2+c.ownB)/float64(b))
		if (t.Quantile(1-alpha/2)+t.Quantile(0.8))*se <= delta {
			return a, b, true
		}
	}
	return 0, 0, false
}
