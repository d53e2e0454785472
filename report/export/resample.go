package export

import (
	"context"
	"fmt"
	"math"
	"slices"

	"hopcard/flight"
)

// The low-pass filter that brings a channel to a rate: a sinc windowed after Kaiser, of
// zero phase. With f the lower of the channel's own and the new rate, it passes up to 0.4 f
// within 0.1 percent (0.01 dB) and takes 60 dB off from 0.5 f on.
//
// Window and its length: Kaiser 1974, as given by Oppenheim and Schafer, Discrete-Time
// Signal Processing, 3rd ed. 2010, section 7.6, eq. 7.75 and 7.76.
const (
	passBand      = 0.4
	stopBand      = 0.5
	attenuationDB = 60.0
	// halfTaps is how far the filter reaches to each side, in periods of the lower rate:
	// half of (A - 8) / (2.285 * 2 pi * (0.5 - 0.4)).
	halfTaps = (attenuationDB - 8) / (2.285 * 2 * math.Pi * (stopBand - passBand)) / 2
	// kernelSteps is how finely the filter is tabulated in each period; read by straight
	// lines it is then within 2e-6 of its exact value.
	kernelSteps = 512
)

// FilterText says in words what bringing a channel to a rate does to it.
const FilterText = "low-pass filter of zero phase (Kaiser-windowed sinc): with f the lower of the channel's own " +
	"and the new rate, 0.01 dB up to 0.4 f, 60 dB down from 0.5 f on; gaps are not bridged; " +
	"records are mirrored about their ends; rotor and wind speed are kept from falling below zero where the log does not"

// maxRateHz bounds the rate asked for; maxCells bounds the size of the table.
const (
	maxRateHz = 10_000
	maxCells  = 100_000_000
)

// kernel is the filter at distances from 0 on, kernelSteps to a period of the lower rate.
func kernel() []float64 {
	beta := 0.1102 * (attenuationDB - 8.7)
	cutoff := passBand + stopBand // twice the middle of the transition, in periods
	table := make([]float64, int(math.Ceil(halfTaps*kernelSteps))+1)
	for i := range table {
		x := float64(i) / kernelSteps
		u := x / halfTaps
		if u > 1 {
			break
		}
		sinc := 1.0
		if x > 0 {
			sinc = math.Sin(math.Pi*cutoff*x) / (math.Pi * cutoff * x)
		}
		table[i] = sinc * bessel0(beta*math.Sqrt(1-u*u)) / bessel0(beta)
	}
	return table
}

// bessel0 is the modified Bessel function of the first kind and order zero, by its power
// series (Abramowitz and Stegun 1964, eq. 9.6.12).
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}

// run is a stretch of samples without a gap.
type run struct{ t, x []float64 }

// gapSteps: samples further apart than this many usual steps have a gap between them, as
// everywhere in hopcard.
const gapSteps = 2.5

// runsOf cuts a channel at its gaps; samples without a number count as not there.
func runsOf(ch *flight.Channel) []run {
	rate := ch.RateHz()
	if rate <= 0 {
		return nil
	}
	var runs []run
	var now run
	for i, t := range ch.TimeS {
		x := ch.Value[i]
		if math.IsNaN(x) {
			continue
		}
		if n := len(now.t); n > 0 && t-now.t[n-1] > gapSteps/rate {
			runs = append(runs, now)
			now = run{}
		}
		now.t, now.x = append(now.t, t), append(now.x, x)
	}
	if len(now.t) > 0 {
		runs = append(runs, now)
	}
	return runs
}

// at filters the run at time t, which must lie within it. Period is that of the lower
// rate. Beyond its ends the run goes on mirrored about the end sample, which keeps the
// level and the slope there.
func (r run) at(t, period float64, table []float64) float64 {
	if len(r.t) == 1 {
		return r.x[0]
	}
	sum, weights := 0.0, 0.0
	// add takes sample i in and reports whether it is within the filter's reach.
	add := func(i int) bool {
		at, x, width := r.mirrored(i)
		d := math.Abs(at-t) / period * kernelSteps
		k := int(d)
		if k+1 >= len(table) {
			return false
		}
		w := width * (table[k] + (d-float64(k))*(table[k+1]-table[k]))
		sum, weights = sum+w*x, weights+w
		return true
	}
	next := (&flight.Channel{TimeS: r.t}).Index(t)
	for i := next; add(i); i++ {
	}
	for i := next - 1; add(i); i-- {
	}
	return sum / weights
}

// mirrored returns time, value and width of sample i, which may lie beyond the ends.
// Width is the time that the sample stands for: half the way from one neighbour to the
// other.
func (r run) mirrored(i int) (t, x, width float64) {
	n := len(r.t) - 1
	if i > 0 && i < n {
		return r.t[i], r.x[i], (r.t[i+1] - r.t[i-1]) / 2
	}
	// There and back is a period of the mirrored run, which rises by twice its rise.
	periods := math.Floor(float64(i) / float64(2*n))
	k := i - int(periods)*2*n
	turned := k > n
	if turned {
		k = 2*n - k
	}
	switch k {
	case 0:
		width = r.t[1] - r.t[0]
	case n:
		width = r.t[n] - r.t[n-1]
	default:
		width = (r.t[k+1] - r.t[k-1]) / 2
	}
	t, x = r.t[k], r.x[k]
	if turned {
		t, x = 2*r.t[n]-t, 2*r.x[n]-x
	}
	return t + 2*periods*(r.t[n]-r.t[0]), x + 2*periods*(r.x[n]-r.x[0]), width
}

// resampled brings every column to the rate: one slice a column, NaN where it is empty.
func (c *Contents) resampled(ctx context.Context) (*grid, [][]float64, error) {
	rate := c.options.RateHz
	if !(rate > 0 && rate <= maxRateHz) {
		return nil, nil, fmt.Errorf("a rate of %g Hz is not possible; it may be above 0 and up to %d Hz", rate, maxRateHz)
	}
	runs := make([][]run, len(c.columns))
	for i, col := range c.columns {
		if (col.channel.Span().LengthS()+1)*rate > maxCells || math.Abs(col.channel.TimeS[0])*rate > 1<<52 {
			return nil, nil, fmt.Errorf("%s lasts %.3g s: at %g Hz that is too much for one table; take a lower rate",
				col.name, col.channel.Span().LengthS(), rate)
		}
		runs[i] = runsOf(col.channel)
	}
	g := gridOf(runs, rate)
	if g.rows == 0 {
		return nil, nil, fmt.Errorf("%s: no channel lasts long enough for %g Hz", c.hop.Name, rate)
	}
	if g.rows*len(c.columns) > maxCells {
		return nil, nil, fmt.Errorf("%d rows of %d channels at %g Hz are too much for one table; take a lower rate", g.rows, len(c.columns), rate)
	}
	table := kernel()
	out := make([][]float64, len(c.columns))
	for i, col := range c.columns {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		out[i] = fill(g, col, runs[i], table)
	}
	return g, out, nil
}

// fill computes one column of the table.
func fill(g *grid, col column, runs []run, table []float64) []float64 {
	out := make([]float64, g.rows)
	for i := range out {
		out[i] = math.NaN()
	}
	period := 1 / min(g.rateHz, col.channel.RateHz())
	for _, r := range runs {
		span := rangeOf(r, g.rateHz)
		if span[1] < span[0] {
			continue
		}
		value := r.filtered(col.channel.Quantity, period, table)
		row := g.rowOf(span[0])
		for k := span[0]; k <= span[1]; k++ {
			t := min(max(float64(k)/g.rateHz, r.t[0]), r.t[len(r.t)-1])
			out[row+k-span[0]] = value(t) * col.fromSI
		}
	}
	return out
}

// floor returns the least value that the filtered run may have, and the size below which it
// is nothing but what rounding leaves of a sum. The filter swings a little to both sides of
// a rise, and of a logger's last digit going on and off: a rotor that stands, or air, would
// be told to go backwards.
func (r run) floor(q flight.Quantity) (least, nothing float64) {
	least = math.Inf(-1)
	// A log that itself has values below zero: they are not ours to hide.
	if (q == flight.RotorSpeed || q == flight.WindSpeed) && slices.Min(r.x) >= 0 {
		least = 0
	}
	for _, x := range r.x {
		nothing = max(nothing, 1e-12*math.Abs(x))
	}
	return least, nothing
}

// filtered returns the filtered run as a function of time. Compass directions jump at
// north and are filtered as the two parts of a vector of length one.
func (r run) filtered(q flight.Quantity, period float64, table []float64) func(t float64) float64 {
	if q != flight.Heading && q != flight.WindDirectionFrom {
		least, nothing := r.floor(q)
		return func(t float64) float64 {
			x := max(r.at(t, period, table), least)
			if math.Abs(x) < nothing {
				return 0
			}
			return x
		}
	}
	north, east := run{r.t, make([]float64, len(r.x))}, run{r.t, make([]float64, len(r.x))}
	for i, x := range r.x {
		east.x[i], north.x[i] = math.Sincos(x)
	}
	return func(t float64) float64 {
		a := math.Atan2(east.at(t, period, table), north.at(t, period, table))
		if a < 0 {
			a += 2 * math.Pi
		}
		return a
	}
}
