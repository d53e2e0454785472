package spectrum

import (
	"math"
	"math/cmplx"
)

// roundingShare is the share of an input's power below which what the other inputs leave
// of it is rounding.
const roundingShare = 1e-12

// Response is the frequency response of one output to one input, other inputs held.
// Slices are parallel.
type Response struct {
	OmegaRadS []float64
	// FromRadS is the frequency below which Merge shall not use the points.
	FromRadS float64
	H        []complex128 // output unit per input unit; NaN where undetermined
	// Coherence is that of input and output, after what the other inputs explain is
	// taken off both: ordinary coherence with one input, partial with several.
	Coherence []float64
	// Multiple is the share of the output's power that all inputs together explain.
	Multiple []float64
	// Averages is the number of independent averages behind each point, less one for
	// each other input.
	Averages []float64
	// SD is the relative standard deviation of |H|, which is that of its phase in radians:
	// GainError, and in a merged response the error by leakage with it. +Inf where nothing
	// is known.
	SD []float64
	// BandRadS is the width over which neighbouring points share their errors.
	BandRadS []float64
	// InputPower is the density of the input, after what the other inputs explain is
	// taken off.
	InputPower []float64
}

// Solve returns the response of channel out to channel in, with the channels others as
// further inputs that act at the same time: the row of the solution of Sxx H = Sxy for
// input in, found by conditioning each spectrum on the other inputs in turn (Bendat and
// Piersol, Random Data, 4th ed. 2010, section 7.3).
func (s *Spectra) Solve(in, out int, others ...int) *Response {
	n := len(s.OmegaRadS)
	r := &Response{
		OmegaRadS: s.OmegaRadS,
		H:         make([]complex128, n), Coherence: make([]float64, n), Multiple: make([]float64, n),
		Averages: make([]float64, n), BandRadS: make([]float64, n), InputPower: make([]float64, n),
		SD: make([]float64, n),
	}
	order := append(append([]int{}, others...), in, out)
	m := make([]complex128, len(order)*len(order))
	for k := range n {
		for a, i := range order {
			for b, j := range order {
				m[a*len(order)+b] = s.at(i, j, k)
			}
		}
		r.solvePoint(k, m, len(order))
		r.Averages[k] = s.Effective - float64(len(others))
		r.BandRadS[k] = s.BandRadS
		r.SD[k] = GainError(r.Coherence[k], r.Averages[k])
	}
	return r
}

// solvePoint conditions the size x size spectral matrix m, rows in the order other
// inputs, input, output, on the other inputs and writes point k.
func (r *Response) solvePoint(k int, m []complex128, size int) {
	x, y := size-2, size-1
	auto := make([]float64, size)
	for i := range auto {
		auto[i] = real(m[i*size+i])
	}
	for p := range x {
		// An input that the ones before it explain but for rounding carries nothing new.
		pivot := real(m[p*size+p])
		if !(pivot > roundingShare*auto[p]) {
			continue
		}
		for i := p + 1; i < size; i++ {
			f := m[i*size+p] / complex(pivot, 0)
			for j := p + 1; j < size; j++ {
				m[i*size+j] -= f * m[p*size+j]
			}
		}
	}
	xx, yy, xy := real(m[x*size+x]), real(m[y*size+y]), m[x*size+y]
	r.InputPower[k] = max(0, xx)
	if !(xx > roundingShare*auto[x]) {
		r.H[k] = cmplx.NaN()
		return
	}
	r.H[k] = xy / complex(xx, 0)
	r.Coherence[k] = coherence(xy, xx, yy)
	if auto[y] > 0 {
		left := yy * (1 - r.Coherence[k])
		r.Multiple[k] = min(1, max(0, 1-left/auto[y]))
	}
}

// At returns the spectra at the frequencies omega, by linear interpolation between the
// bins. On a record padded to four times its window this equals one more lag window that
// is wider than the data window's own, the same for all channels: responses and
// coherence stay unbiased by it. Frequencies outside the bins take the nearest bin.
func (s *Spectra) At(omega []float64) *Spectra {
	out := &Spectra{OmegaRadS: omega, Windows: s.Windows, Effective: s.Effective,
		BandRadS: s.BandRadS, channels: s.channels, g: make([][]complex128, len(s.g))}
	for p, g := range s.g {
		out.g[p] = make([]complex128, len(omega))
		for k, w := range omega {
			lo, f := s.bin(w)
			out.g[p][k] = complex(1-f, 0)*g[lo] + complex(f, 0)*g[min(lo+1, len(g)-1)]
		}
	}
	return out
}

func (s *Spectra) bin(w float64) (lo int, f float64) {
	last := len(s.OmegaRadS) - 1
	x := w / s.OmegaRadS[1]
	if x <= 0 {
		return 0, 0
	}
	if x >= float64(last) {
		return last, 0
	}
	lo = int(x)
	return lo, x - float64(lo)
}

// GainError returns the relative standard deviation of |H|, which is also the standard
// deviation of its phase in radians: sqrt((1-c)/(2 c n)), c the coherence, n the number
// of independent averages (Bendat and Piersol, Random Data, 4th ed. 2010, table 9.6).
// It is +Inf where c or n is not positive.
func GainError(c, n float64) float64 {
	if !(c > 0) || !(n > 0) {
		return math.Inf(1)
	}
	return math.Sqrt(max(0, 1-c) / (2 * c * n))
}

// CoherenceError returns the relative standard deviation of the coherence c estimated
// from n independent averages (same table).
func CoherenceError(c, n float64) float64 {
	if !(c > 0) || !(n > 0) {
		return math.Inf(1)
	}
	return math.Sqrt2 * (1 - c) / (math.Sqrt(c) * math.Sqrt(n))
}

// CriticalCoherence returns the coherence that n independent averages of unrelated
// channels exceed with probability alpha: 1 - alpha^(1/(n-1)) (Carter, Knapp and
// Nuttall 1973, IEEE Trans. AU-21(4), 337-344). It is 1 for n up to 1.
func CriticalCoherence(n, alpha float64) float64 {
	if n <= 1 {
		return 1
	}
	return 1 - math.Pow(alpha, 1/(n-1))
}

// UnbiasedCoherence takes the bias (1-C)^2/n off a coherence estimated from n
// independent averages (Carter, Knapp and Nuttall 1973, to order 1/n): it solves
// c = C + (1-C)^2/n for C, not below 0.
func UnbiasedCoherence(c, n float64) float64 {
	if !(n > 1) {
		return 0
	}
	// With d = 1-C: d^2/n - d + (1-c) = 0, the root that goes to 1-c as n grows.
	disc := 1 - 4*(1-c)/n
	if disc < 0 {
		return 0
	}
	return max(0, 1-(1-math.Sqrt(disc))*n/2)
}
