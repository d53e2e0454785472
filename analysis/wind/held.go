package wind

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"

	"hopcard/flight"
)

const (
	lowestOrder, highestOrder = 4, 6
	// mostUnexplained is the share of the motion that sticks and gusts may leave: beyond
	// it something moves the aircraft that was not logged.
	mostUnexplained = 0.05
	// mostAllowed is the allowance for gusts not logged above which an answer says too
	// little to be of use.
	mostAllowed = 1.5
	// mostNoise is the share by which taking off the anemometer's noise may change an answer:
	// the line along which it is carried back is the start of a curve, and beyond a third of
	// the power that is noise the answer hangs on how well that noise is known.
	mostNoise = 0.5
)

// heldAnswer is the answer of one axis with the stick held: the fraction of the order
// with the least of Schwarz's criterion, and those of the other orders that leave nearly
// as little.
type heldAnswer struct {
	sheets []sheet
	best   *fraction
	others []*fraction
	// noisy is best with as much noise in the gusts again, nil if it was not found;
	// uncertain is how uncertain that noise is, as a share.
	noisy     *fraction
	uncertain float64
	total     float64 // sum of squares of the motion
}

func heldInputs() []int { return []int{headGust, crossGust, lonStick, latStick} }

// solveHeld fits the fractions; nil if the record is too short.
func solveHeld(sheets []sheet, sums []products, out int, noisy []products, uncertain float64) *heldAnswer {
	const passes = 6
	var all []*fraction
	var best *fraction
	least := math.Inf(1)
	for order := lowestOrder; order <= highestOrder; order++ {
		f, ok := solve(sheets, sums, out, heldInputs(), order, passes)
		if !ok {
			continue
		}
		all = append(all, f)
		if c := f.schwarz(len(sheets)); c < least {
			least, best = c, f
		}
	}
	if best == nil {
		return nil
	}
	best.covariance(sheets)
	h := &heldAnswer{sheets: sheets, best: best, uncertain: uncertain}
	const again = 3 // passes, from the denominator found
	h.noisy, _ = solveFrom(best.p[:best.order], sheets, noisy, out, heldInputs(), best.order, again)
	for _, sh := range sheets {
		for _, y := range sh.x[out] {
			h.total += real(y)*real(y) + imag(y)*imag(y)
		}
	}
	for _, f := range all {
		if f != best && f.rss < 1.5*best.rss {
			h.others = append(h.others, f)
		}
	}
	return h
}

// schwarz returns the criterion of Schwarz (1978), Ann. Stat. 6, 461.
func (f *fraction) schwarz(sheets int) float64 {
	_, all := f.columns(sheets)
	n := float64(f.n)
	return n*math.Log(f.rss/n) + float64(all)*math.Log(n)
}

// explains reports whether sticks and gusts account for the motion.
func (h *heldAnswer) explains() bool {
	return h != nil && h.best.rss <= mostUnexplained*h.total
}

// answer returns rms attitude and rms rate over rms gust in the band, of a gust whose
// density falls with the square of frequency, as gusts do in these bands. The interval
// holds the scatter of the coefficients, what is not known of the anemometer's noise, which is
// taken off, and the spread over the orders. The high end allows for gusts that were not
// logged, more so for an anemometer that stands away, far.
func (h *heldAnswer) answer(in int, band [2]float64, far *followed) (attitude, rate *flight.Estimate) {
	place := 0
	for i, x := range heldInputs() {
		if x == in {
			place = i
		}
	}
	if h.best.rings(band) {
		return nil, nil
	}
	allow := far.allowance(h.best.shared(h.sheets, band))
	if h.noisy == nil || !(allow <= mostAllowed) {
		return nil, nil
	}
	estimate := func(derivative int) *flight.Estimate {
		v := h.best.rms(h.best.p, place, band, derivative)
		variance := h.best.variance(place, band, derivative)
		for _, o := range h.others {
			d := o.rms(o.p, place, band, derivative) - v
			variance += d * d / float64(len(h.others))
		}
		back := backTo(v, h.noisy.rms(h.noisy.p, place, band, derivative))
		doubt := h.uncertain * (back - v)
		variance = variance*back*back/(v*v) + doubt*doubt
		half := normal95 * math.Sqrt(variance)
		if !(back > 0) || math.Abs(math.Log(back/v)) > math.Log(1+mostNoise) || half > back || math.IsNaN(half) {
			return nil
		}
		return &flight.Estimate{Value: back, Low: back - half, High: (back + half) * allow}
	}
	return estimate(0), estimate(1)
}

// followed is how closely the stick follows the logged gusts in a band: the power that does
// over the power that does not. nil stands for an anemometer at the aircraft.
type followed float64

// allowance returns by how much an answer may come out low where shared of what the sticks
// leave of the motion is the logged gusts' part; an upper bound, because noise counts for
// gusts.
//
// Let the aircraft answer H(g + n) + G s to the logged gusts g, those not logged n and the
// stick s = r - C y. Fitted on g and s, G takes the part of n that the pilot flies against,
// and H comes out as H(1-k), k being the share of n in the power of s that g leaves. With q
// the power of s that follows g over that which does not, k = q N, N the power of n over that
// of g. What is left over the fitted gusts' part is u = N/(1-k), so that 1/(1-k) = 1 + q u.
// (Least squares in a closed loop: Ljung 1999, System Identification, section 13.4, has the
// bias; worked out here for a gust.) Besides, H is low by the root of the coherence of air
// there and here, at least shared.
func (f *followed) allowance(shared float64) float64 {
	if f == nil {
		return 1 / math.Sqrt(shared)
	}
	return (1 + float64(*f)*(1-shared)/shared) / math.Sqrt(shared)
}

// shared returns the share of what the sticks leave of the motion in the band that the logged
// gusts account for.
func (f *fraction) shared(sheets []sheet, band [2]float64) float64 {
	var gusts, left float64
	for k, sh := range sheets {
		e := f.remains[k]
		for i, w := range sh.omega {
			if w < band[0] || w >= band[1] {
				continue
			}
			var g complex128
			for place, in := range f.inputs {
				if in == headGust || in == crossGust {
					g += f.at(f.p, place, w) * sh.x[in][i]
				}
			}
			size := cmplx.Abs(g * f.denominator(f.p[:f.order], w))
			weight := 1 / cmplx.Abs(f.denominator(f.weighted, w))
			gusts += size * size * weight * weight
			left += real(e[i])*real(e[i]) + imag(e[i])*imag(e[i])
		}
	}
	if gusts == 0 {
		return 0
	}
	return gusts / (gusts + left)
}

// rings reports whether a mode of the fit lies in the band that dies out or grows so slowly
// that the record resolves its peak by few frequencies only. That peak is then most of the
// answer, one record tells its height badly, and low ones would pass for certain. Whether
// there is one does not depend on how high it came out.
func (f *fraction) rings(band [2]float64) bool {
	const frequencies = 8
	resolved := frequencies * (fractionHighRadS - fractionLowRadS) / (float64(f.n) / 2)
	n := f.order
	companion := mat.NewDense(n, n, nil)
	for j := range n {
		companion.Set(j, n-1, -f.p[j])
		if j > 0 {
			companion.Set(j, j-1, 1)
		}
	}
	var eigen mat.Eigen
	if !eigen.Factorize(companion, mat.EigenNone) {
		return true
	}
	for _, root := range eigen.Values(nil) {
		omega := cmplx.Abs(root) * fractionUnitRadS
		if omega > band[0] && omega < band[1] && math.Abs(real(root))*fractionUnitRadS < resolved {
			return true
		}
	}
	return false
}

// rms returns the root of the mean of |(j omega)^derivative H|^2 over the band, weighted
// with 1/omega^2.
func (f *fraction) rms(p []float64, place int, band [2]float64, derivative int) float64 {
	const n = 24
	var power, square float64
	for i := range n {
		w := band[0] + (band[1]-band[0])*(float64(i)+0.5)/n
		h := f.at(p, place, w)
		gain := real(h)*real(h) + imag(h)*imag(h)
		if derivative == 1 {
			gain *= w * w
		}
		power += 1 / (w * w)
		square += gain / (w * w)
	}
	return math.Sqrt(square / power)
}

// backTo returns what an answer would be without noise in the gusts, from the answer with
// it and with as much again (simulation extrapolation, Cook and Stefanski 1994, J. Am. Stat.
// Assoc. 89, 1314). Noise divides an answer by one plus its share of the power, so that its
// inverse is carried back along a line.
func backTo(with, again float64) float64 { return 1 / (2/with - 1/again) }

// variance carries the covariance of the coefficients to rms.
func (f *fraction) variance(place int, band [2]float64, derivative int) float64 {
	n := len(f.p)
	slope := make([]float64, n)
	q := append([]float64{}, f.p...)
	for j := range slope {
		// Other inputs' coefficients do not enter.
		if j >= f.order && (j < f.order*(1+place) || j >= f.order*(2+place)) {
			continue
		}
		d := 0.01*math.Sqrt(f.cov.At(j, j)) + 1e-12
		q[j] = f.p[j] + d
		up := f.rms(q, place, band, derivative)
		q[j] = f.p[j] - d
		slope[j] = (up - f.rms(q, place, band, derivative)) / (2 * d)
		q[j] = f.p[j]
	}
	v := 0.0
	for a, x := range slope {
		for b, y := range slope {
			v += x * y * f.cov.At(a, b)
		}
	}
	return v
}
