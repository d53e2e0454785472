package wind

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"hopcard/flight"
)

// cellS is the width of the cells whose means stand for the record where only its slow
// part matters: short against the 3 s of a gust.
const cellS = 0.5

// moments holds what a correlated record says about its mean and spread.
type moments struct {
	n        int
	mean, sd float64 // of the record; sd with n-1
	// varMean is the variance of the mean and dof the degrees of freedom of that
	// variance; effVar is the number of independent readings for the spread. NaN if the
	// record is too short to tell.
	varMean, dof, effVar float64
}

// effectiveN returns the number of independent readings that would give the mean as well
// as this record does.
func (m moments) effectiveN() float64 { return m.sd * m.sd / m.varMean }

// effective computes the moments of x, stamped t, whose usual step is stepS.
//
// The variance of the mean of a correlated record is the sum of its autocovariance over
// all lags divided by its number (Bayley and Hammersley 1946, J. R. Stat. Soc. Suppl. 8,
// 184). The sum is cut at the first negative value, beyond which the estimate is mostly
// noise. Taking off the sample mean lowers each term by the variance of the mean itself
// (Anderson 1971, The Statistical Analysis of Time Series, 8.2); that is put back.
// Readings of the spread: Bartlett's sum over the squared autocorrelation (1946).
func effective(t, x []float64, stepS float64) moments {
	m := moments{n: len(x), varMean: math.NaN(), dof: math.NaN(), effVar: math.NaN()}
	m.mean, m.sd = meanSD(x)
	if m.n < 4 {
		return m
	}
	cells := cellMeans(t, x, stepS)
	c := autocovariance(cells, m.mean)
	if len(c) == 0 || c[0] <= 0 {
		return m // equal readings tell of the logger's step, not of the air
	}
	k := 0
	for k+1 < len(c) && c[k+1] > 0 {
		k++
	}
	used := 0
	for _, v := range cells {
		if !math.IsNaN(v) {
			used++
		}
	}
	sum, squares := c[0], 1.0
	for i := 1; i <= k; i++ {
		sum += 2 * c[i]
		rho := c[i] / c[0]
		squares += 2 * rho * rho
	}
	width := float64(2*k+1) / float64(used)
	if width >= 0.75 {
		return m // slower than the record is long
	}
	m.varMean = sum / (1 - width) / float64(used)
	m.dof = math.Max(1, 1/width)
	m.effVar = math.Min(float64(m.n-1), float64(used)/squares)
	return m
}

// meanEstimate returns the mean with its interval, NaN ends if there is none.
func (m moments) meanEstimate() *flight.Estimate {
	e := flight.Plain(m.mean)
	if !math.IsNaN(m.varMean) {
		half := studentT(m.dof) * math.Sqrt(m.varMean)
		e.Low, e.High = m.mean-half, m.mean+half
	}
	return e
}

// sdEstimate returns the standard deviation of the record with the interval of that of
// the air.
func (m moments) sdEstimate() *flight.Estimate {
	e := flight.Plain(m.sd)
	eff := m.effectiveN()
	if math.IsNaN(m.effVar) || m.effVar < 3 || !(eff > 1.5) {
		return e
	}
	// A record shows less than all of the variance, because its own mean is taken off.
	variance := m.sd * m.sd / (1 - 1/eff)
	chi := distuv.ChiSquared{K: m.effVar}
	e.Low = math.Min(m.sd, math.Sqrt(variance*m.effVar/chi.Quantile(0.975)))
	e.High = math.Max(m.sd, math.Sqrt(variance*m.effVar/chi.Quantile(0.025)))
	return e
}

// studentT returns the 97.5 % quantile of Student's t.
func studentT(dof float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(0.975)
}

// ratio returns a/b for positive a and b with an interval from those of the two, taken
// as independent (Donner and Zou 2012, Stat. Methods Med. Res. 21, 347, from memory).
// It is nil if b is not positive.
func ratio(a, b *flight.Estimate) *flight.Estimate {
	if a == nil || b == nil || !(b.Value > 0) {
		return nil
	}
	e := flight.Plain(a.Value / b.Value)
	if !a.HasInterval() || !b.HasInterval() || b.Low <= 0 {
		return e
	}
	ab := a.Value * b.Value
	low := ab*ab - a.Low*b.High*(2*a.Value-a.Low)*(2*b.Value-b.High)
	high := ab*ab - a.High*b.Low*(2*a.Value-a.High)*(2*b.Value-b.Low)
	dLow, dHigh := b.High*(2*b.Value-b.High), b.Low*(2*b.Value-b.Low)
	if low < 0 || high < 0 || dLow <= 0 || dHigh <= 0 {
		return e
	}
	e.Low = (ab - math.Sqrt(low)) / dLow
	e.High = (ab + math.Sqrt(high)) / dHigh
	return e
}

// meanSD returns the mean and the standard deviation with n-1, NaN for too few values.
func meanSD(x []float64) (mean, sd float64) {
	if len(x) == 0 {
		return math.NaN(), math.NaN()
	}
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	if len(x) < 2 {
		return mean, math.NaN()
	}
	ss := 0.0
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(ss / float64(len(x)-1))
}

// cellMeans averages x over cells of at least cellS and one step. A cell without a
// reading is NaN; a gap is no longer than the record's other part, so that hours between
// two logs cost nothing.
func cellMeans(t, x []float64, stepS float64) []float64 {
	width := math.Max(cellS, stepS)
	longest := len(x)/2 + 2
	var cells []float64
	from := t[0] - width/2*1e-6
	sum, count := 0.0, 0
	for i, v := range x {
		if t[i]-from >= width {
			skip := math.Floor((t[i] - from) / width)
			cells = append(cells, sum/float64(count))
			for range min(int(math.Min(skip, 1e6))-1, longest) {
				cells = append(cells, math.NaN())
			}
			from += skip * width
			sum, count = 0, 0
		}
		sum += v
		count++
	}
	return append(cells, sum/float64(count))
}

// autocovariance returns the mean lagged products of cells about mean up to a quarter
// of the record, fewer if a lag has no pairs. NaN cells are left out.
func autocovariance(cells []float64, mean float64) []float64 {
	d := make([]float64, len(cells))
	ok := make([]float64, len(cells))
	for i, v := range cells {
		if !math.IsNaN(v) {
			d[i], ok[i] = v-mean, 1
		}
	}
	var c []float64
	for lag := 0; lag <= len(d)/4; lag++ {
		sum, pairs := 0.0, 0.0
		a, b := d[:len(d)-lag], d[lag:]
		oa, ob := ok[:len(d)-lag], ok[lag:]
		for i := range a {
			sum += a[i] * b[i]
			pairs += oa[i] * ob[i]
		}
		if pairs == 0 {
			break
		}
		c = append(c, sum/pairs)
		if sum < 0 {
			break // nobody reads further
		}
	}
	return c
}
