package spectrum

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// A slow first-order lag behind white input: short windows miss its memory, long ones have
// few averages. The merged answer must be nearer the truth than either over all.
func TestMergeTakesTheBetterWindow(t *testing.T) {
	const stepS, tau = 0.08, 2.0
	rng := rand.New(rand.NewPCG(4, 4))
	n := 3000
	x, y := make([]float64, n), make([]float64, n)
	pole := math.Exp(-stepS / tau)
	var state float64
	for k := range x {
		x[k] = rng.NormFloat64()
		y[k] = state + 0.05*rng.NormFloat64()
		state = pole*state + (1-pole)*x[k]
	}
	grid := make([]float64, 60)
	for k := range grid {
		grid[k] = 0.8 * math.Pow(20, float64(k)/59)
	}
	var rs []*Response
	for _, window := range []int{400, 200, 100, 50} {
		nfft := 256
		for nfft < 4*window {
			nfft *= 2
		}
		s := estimate(t, stepS, Settings{Window: window, Overlap: 0.75, FFTLength: nfft}, [][]float64{x, y})
		rs = append(rs, s.At(grid).Solve(0, 1))
	}
	rms := func(r *Response) float64 {
		var sum float64
		for k, w := range grid {
			z := cmplx.Exp(complex(0, w*stepS))
			want := complex(1-pole, 0) / (z - complex(pole, 0))
			d := cmplx.Abs(r.H[k]/want - 1)
			sum += d * d / float64(len(grid))
		}
		return math.Sqrt(sum)
	}
	merged := rms(Merge(rs...))
	best, worst := math.Inf(1), 0.0
	for _, r := range rs {
		best, worst = min(best, rms(r)), max(worst, rms(r))
	}
	if merged > 1.15*best || worst < 1.5*best {
		t.Errorf("rms error merged %.4f, best single window %.4f, worst %.4f", merged, best, worst)
	}
}

// point is a response of one frequency, 1 rad/s.
func point(h complex128, coherence, averages, from float64) *Response {
	return &Response{OmegaRadS: []float64{1}, FromRadS: from, H: []complex128{h}, Coherence: []float64{coherence},
		Multiple: []float64{coherence}, Averages: []float64{averages}, BandRadS: []float64{1}, InputPower: []float64{1},
		SD: []float64{GainError(coherence, averages)}}
}

func TestMergeLeavesOutWhatIsUnknown(t *testing.T) {
	a := point(2, 0.9, 10, 0)
	for name, b := range map[string]*Response{
		"undetermined": point(cmplx.NaN(), 0, 100, 0), "below its range": point(5, 0.9, 10, 1.5), "one average": point(5, 1, 1, 0),
	} {
		if m := Merge(a, b); m.H[0] != 2 || m.Coherence[0] != 0.9 || m.Averages[0] != 10 {
			t.Errorf("%s: merged %v %v %v", name, m.H[0], m.Coherence[0], m.Averages[0])
		}
	}
	if m := Merge(point(5, 0.9, 10, 2)); !math.IsInf(m.SD[0], 1) {
		t.Errorf("nothing known: error %g, want infinite", m.SD[0])
	}
}

// A response that changes with the window length shows leakage, and the error says so.
func TestMergeChargesLeakage(t *testing.T) {
	clean := Merge(point(2, 0.95, 10, 0), point(2, 0.95, 20, 0)).SD[0]
	leaky := Merge(point(2, 0.95, 10, 0), point(1.6, 0.95, 20, 0)).SD[0]
	if !(leaky > 2*clean) {
		t.Errorf("error with leakage %.4f, without %.4f", leaky, clean)
	}
}
