package spectrum

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Detrend says what is taken off each window before it is tapered.
type Detrend int

// The ways to detrend.
const (
	Linear   Detrend = iota // the least-squares line
	Constant                // the mean
	None
)

// ErrOneWindow is returned where the record holds fewer than two windows: the coherence
// of one window is 1 whatever the data.
var ErrOneWindow = errors.New("spectrum: record holds fewer than two windows")

// Settings say how a record is cut into windows. Window has no default.
type Settings struct {
	// Window is the length of one window in samples, at least 8.
	Window int
	// Overlap is the share of a window that the next one repeats, 0 to 0.95. The zero
	// value means 0.5. Step, if not zero, overrules it: samples from one window to the
	// next.
	Overlap float64
	Step    int
	Detrend Detrend
	// FFTLength is the length each window is padded to with zeros; 0 means the next
	// power of two.
	FFTLength int
	// MaxRadS leaves out the frequencies above it; 0 keeps all up to the Nyquist
	// frequency.
	MaxRadS float64
}

func (s Settings) step() int {
	if s.Step > 0 {
		return s.Step
	}
	o := s.Overlap
	if o == 0 {
		o = 0.5
	}
	return max(1, s.Window-int(math.Round(o*float64(s.Window))))
}

func (s Settings) fftLength() int {
	if s.FFTLength > 0 {
		return s.FFTLength
	}
	n := 1
	for n < s.Window {
		n *= 2
	}
	return n
}

// Spectra holds the averaged auto and cross densities of a few channels.
type Spectra struct {
	// OmegaRadS are the frequencies, ascending from 0.
	OmegaRadS []float64
	// Windows is K, Effective is Ke.
	Windows   int
	Effective float64
	// BandRadS is the equivalent noise bandwidth of the window: estimates closer
	// together than this share their errors.
	BandRadS float64
	channels int
	g        [][]complex128 // pair(i, j) for i <= j
}

// Channels returns the number of channels.
func (s *Spectra) Channels() int { return s.channels }

func (s *Spectra) pair(i, j int) int { return i*s.channels + j - i*(i+1)/2 }

// at returns conj(X_i) X_j, one-sided per Hz, at frequency index k.
func (s *Spectra) at(i, j, k int) complex128 {
	if i <= j {
		return s.g[s.pair(i, j)][k]
	}
	v := s.g[s.pair(j, i)][k]
	return complex(real(v), -imag(v))
}

// Auto returns the auto density of channel i in unit squared per Hz.
func (s *Spectra) Auto(i int) []float64 {
	out := make([]float64, len(s.OmegaRadS))
	for k, v := range s.g[s.pair(i, i)] {
		out[k] = real(v)
	}
	return out
}

// Cross returns the cross density of channels i and j, the average of conj(X_i) X_j.
func (s *Spectra) Cross(i, j int) []complex128 {
	out := make([]complex128, len(s.OmegaRadS))
	for k := range out {
		out[k] = s.at(i, j, k)
	}
	return out
}

// Coherence returns |Gij|^2/(Gii Gjj), 0 where a channel has no power.
func (s *Spectra) Coherence(i, j int) []float64 {
	out := make([]float64, len(s.OmegaRadS))
	for k := range out {
		out[k] = coherence(s.at(i, j, k), real(s.at(i, i, k)), real(s.at(j, j, k)))
	}
	return out
}

func coherence(xy complex128, xx, yy float64) float64 {
	p := xx * yy
	if !(p > 0) {
		return 0
	}
	return min(1, (real(xy)*real(xy)+imag(xy)*imag(xy))/p)
}

// Estimate averages the spectra of all channels over the windows of runs, sampled every
// stepS seconds. Each channel is transformed once per window and shared by all its
// pairs. Runs shorter than one window are left out. It returns ErrOneWindow if fewer
// than two windows remain, and the context's error if that ends first. Samples must be
// finite. It panics if a run's channels differ in number or length.
func Estimate(ctx context.Context, runs [][][]float64, stepS float64, s Settings) (*Spectra, error) {
	if s.Window < 8 || !(stepS > 0) {
		panic("spectrum: window below 8 samples or no sample time")
	}
	n, nfft, step := s.Window, s.fftLength(), s.step()
	if nfft < n {
		panic("spectrum: FFT shorter than the window")
	}
	out := newSpectra(runs, stepS, s)
	w := Hann(n)
	acc := newAccumulator(w, nfft, out)
	for _, run := range runs {
		k := windows(length(run, out.channels), n, step)
		if k == 0 {
			continue
		}
		for i := range k {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			acc.add(run, i*step, s.Detrend)
		}
		out.Windows += k
		out.Effective += EffectiveAverages(w, step, k)
	}
	if out.Windows < 2 {
		return nil, fmt.Errorf("%w: %d of %d samples", ErrOneWindow, out.Windows, n)
	}
	out.scale(w, stepS, nfft)
	return out, nil
}

// windows returns how many windows of n samples, step apart, fit into length samples.
func windows(length, n, step int) int {
	if length < n {
		return 0
	}
	return (length-n)/step + 1
}

func length(run [][]float64, channels int) int {
	if len(run) != channels {
		panic("spectrum: runs differ in number of channels")
	}
	for _, c := range run {
		if len(c) != len(run[0]) {
			panic("spectrum: channels differ in length")
		}
	}
	if channels == 0 {
		return 0
	}
	return len(run[0])
}

func newSpectra(runs [][][]float64, stepS float64, s Settings) *Spectra {
	nfft := s.fftLength()
	domega := 2 * math.Pi / (float64(nfft) * stepS)
	bins := nfft/2 + 1
	if s.MaxRadS > 0 {
		bins = min(bins, int(s.MaxRadS/domega)+2)
	}
	out := &Spectra{OmegaRadS: make([]float64, bins), BandRadS: 1.5 * 2 * math.Pi / (float64(s.Window) * stepS)}
	for k := range out.OmegaRadS {
		out.OmegaRadS[k] = float64(k) * domega
	}
	if len(runs) > 0 {
		out.channels = len(runs[0])
	}
	out.g = make([][]complex128, out.channels*(out.channels+1)/2)
	for i := range out.g {
		out.g[i] = make([]complex128, bins)
	}
	return out
}

// accumulator transforms windows and adds their products up.
type accumulator struct {
	plan   *fourier.FFT
	window []float64
	seq    []float64
	coef   [][]complex128
	sum    *Spectra
}

func newAccumulator(window []float64, nfft int, sum *Spectra) *accumulator {
	a := &accumulator{plan: fourier.NewFFT(nfft), window: window, seq: make([]float64, nfft), sum: sum}
	a.coef = make([][]complex128, sum.channels)
	for i := range a.coef {
		a.coef[i] = make([]complex128, nfft/2+1)
	}
	return a
}

func (a *accumulator) add(run [][]float64, from int, d Detrend) {
	n := len(a.window)
	for c := range a.coef {
		x := run[c][from : from+n]
		mean, slope := trend(x, d)
		mid := float64(n-1) / 2
		for k, v := range x {
			a.seq[k] = (v - mean - slope*(float64(k)-mid)) * a.window[k]
		}
		clear(a.seq[n:])
		a.plan.Coefficients(a.coef[c], a.seq)
	}
	p := 0
	for i := range a.coef {
		for j := i; j < len(a.coef); j++ {
			dst, xi, xj := a.sum.g[p], a.coef[i], a.coef[j]
			for k := range dst {
				u, v := xi[k], xj[k]
				dst[k] += complex(real(u)*real(v)+imag(u)*imag(v), real(u)*imag(v)-imag(u)*real(v))
			}
			p++
		}
	}
}

// trend returns the mean of x and the slope per sample about its middle, as far as d
// asks for them.
func trend(x []float64, d Detrend) (mean, slope float64) {
	if d == None {
		return 0, 0
	}
	for _, v := range x {
		mean += v
	}
	n := float64(len(x))
	mean /= n
	if d == Constant {
		return mean, 0
	}
	mid := (n - 1) / 2
	for k, v := range x {
		slope += (float64(k) - mid) * (v - mean)
	}
	return mean, slope * 12 / (n * (n*n - 1))
}

// scale turns sums of products into one-sided densities per Hz.
func (s *Spectra) scale(w []float64, stepS float64, nfft int) {
	var power float64
	for _, v := range w {
		power += v * v
	}
	one := stepS / (power * float64(s.Windows))
	for _, g := range s.g {
		for k := range g {
			f := 2 * one
			// Zero and, for even lengths, the Nyquist frequency have no mirror image.
			if k == 0 || 2*k == nfft {
				f = one
			}
			g[k] *= complex(f, 0)
		}
	}
}

// Hann returns the periodic Hann window of n samples (Harris 1978, Proc. IEEE 66(1),
// 51-83; periodic, not symmetric, so that its noise bandwidth is exactly 1.5 bins).
func Hann(n int) []float64 {
	w := make([]float64, n)
	for k := range w {
		w[k] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(k)/float64(n))
	}
	return w
}

// OverlapCorrelation returns the correlation of two windows w that lie shift samples
// apart, for white input (Harris 1978, eq. 17).
func OverlapCorrelation(w []float64, shift int) float64 {
	var both, own float64
	for k, v := range w {
		own += v * v
		if k+shift < len(w) {
			both += v * w[k+shift]
		}
	}
	return both / own
}

// EffectiveAverages returns Ke, the number of independent windows whose average scatters
// like that of k windows w that lie step samples apart (Welch 1967, eq. for the variance
// of overlapped periodograms).
func EffectiveAverages(w []float64, step, k int) float64 {
	sum := 1.0
	for m := 1; m < k && m*step < len(w); m++ {
		r := OverlapCorrelation(w, m*step)
		sum += 2 * float64(k-m) / float64(k) * r * r
	}
	return float64(k) / sum
}
