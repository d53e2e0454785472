package rotor

import (
	"math"
	"math/cmplx"
	"sort"
)

// Bandwidth holds the numbers of ADS-33E-PRF (2000), 3.3.2.1, read off an exact response of
// stick to attitude. NaN where there is none.
type Bandwidth struct {
	W180RadS           float64
	BandwidthPhaseRadS float64 // phase -135 deg
	BandwidthGainRadS  float64 // gain 6 dB above that at W180
	BandwidthRadS      float64 // the lesser of the two that exist
	PhaseDelayS        float64
	GainAtW180DB       float64 // deg per percent of full travel
	PhaseAt2W180Deg    float64
}

// Frequencies searched for bandwidth. Below phaseFromRadS the phase is that of the hover
// oscillation, which rises through -180 deg and is no limit of the pilot's.
const (
	bandwidthFromRadS = 0.1
	phaseFromRadS     = 0.6
	bandwidthToRadS   = 80
	bandwidthPoints   = 600
)

// GainDB is the gain in dB relative to 1 deg per percent of full travel (or 1 deg/s).
func GainDB(h complex128) float64 { return 20 * math.Log10(cmplx.Abs(h)*180/math.Pi/100) }

// UnwrapDeg returns the phases of h in degrees without jumps, placed in (-270, 90] deg at
// the sample nearest anchorRadS on a logarithmic scale.
func UnwrapDeg(omegaRadS []float64, h []complex128, anchorRadS float64) []float64 {
	phase := make([]float64, len(h))
	nearest := 0
	for k := range h {
		phase[k] = cmplx.Phase(h[k]) * 180 / math.Pi
		if k > 0 {
			phase[k] -= 360 * math.Round((phase[k]-phase[k-1])/360)
		}
		if math.Abs(math.Log(omegaRadS[k]/anchorRadS)) < math.Abs(math.Log(omegaRadS[nearest]/anchorRadS)) {
			nearest = k
		}
	}
	if len(phase) == 0 {
		return phase
	}
	shift := 360 * math.Ceil((phase[nearest]-90)/360)
	for k := range phase {
		phase[k] -= shift
	}
	return phase
}

// Bandwidth reads bandwidth and phase delay off the exact response from a stick to an
// attitude.
func (m *Model) Bandwidth(in Input, out State) Bandwidth {
	return newSearch(m.modal().response(in, out)).bandwidth()
}

func (s *bandwidthSearch) bandwidth() Bandwidth {
	nan := math.NaN()
	b := Bandwidth{nan, nan, nan, nan, nan, nan, nan}
	first, last := indexOf(s.w, phaseFromRadS), len(s.w)-2
	k180 := downCrossing(s.phase, -180, first, last, false)
	if k180 < 0 {
		return b
	}
	b.W180RadS = refine(s.w[k180], s.w[k180+1], -180, s.phaseAt(k180))
	b.GainAtW180DB = s.gainAt(b.W180RadS)
	if k := downCrossing(s.phase, -135, first, k180, true); k >= 0 {
		b.BandwidthPhaseRadS = refine(s.w[k], s.w[k+1], -135, s.phaseAt(k))
	}
	if k := downCrossing(s.gain, b.GainAtW180DB+6, 0, k180, true); k >= 0 {
		b.BandwidthGainRadS = refine(s.w[k], s.w[k+1], b.GainAtW180DB+6, s.gainAt)
	}
	switch { // without a phase bandwidth there is none
	case math.IsNaN(b.BandwidthPhaseRadS):
	case math.IsNaN(b.BandwidthGainRadS):
		b.BandwidthRadS = b.BandwidthPhaseRadS
	default:
		b.BandwidthRadS = math.Min(b.BandwidthPhaseRadS, b.BandwidthGainRadS)
	}
	if k := indexOf(s.w, 2*b.W180RadS); k >= 0 {
		b.PhaseAt2W180Deg = s.phaseAt(k)(2 * b.W180RadS)
		b.PhaseDelayS = -(b.PhaseAt2W180Deg + 180) * math.Pi / 180 / (2 * b.W180RadS)
	}
	return b
}

// bandwidthSearch is a response on a coarse grid, and exactly between its points.
type bandwidthSearch struct {
	at             func(wRadS float64) complex128
	w, gain, phase []float64 // rad/s, dB, deg unwrapped
}

func newSearch(response func(wRadS float64) complex128) *bandwidthSearch {
	s := &bandwidthSearch{at: response, w: LogSpace(bandwidthFromRadS, bandwidthToRadS, bandwidthPoints)}
	h := make([]complex128, len(s.w))
	s.gain = make([]float64, len(s.w))
	for k, w := range s.w {
		h[k] = response(w)
		s.gain[k] = GainDB(h[k])
	}
	s.phase = UnwrapDeg(s.w, h, 2)
	return s
}

func (s *bandwidthSearch) gainAt(wRadS float64) float64 { return GainDB(s.at(wRadS)) }

// phaseAt returns the exact phase near sample k, on its branch.
func (s *bandwidthSearch) phaseAt(k int) func(wRadS float64) float64 {
	return func(wRadS float64) float64 {
		p := cmplx.Phase(s.at(wRadS)) * 180 / math.Pi
		return p - 360*math.Round((p-s.phase[k])/360)
	}
}

// LogSpace returns n frequencies from low to high, evenly spaced in their logarithm.
func LogSpace(low, high float64, n int) []float64 {
	w := make([]float64, n)
	for k := range w {
		w[k] = low * math.Pow(high/low, float64(k)/float64(n-1))
	}
	return w
}

// downCrossing returns the first (or last) k in [from, to] with y[k] above and y[k+1] at or
// below level, -1 if there is none.
func downCrossing(y []float64, level float64, from, to int, last bool) int {
	found := -1
	for k := from; k <= to && k+1 < len(y); k++ {
		if y[k] > level && y[k+1] <= level {
			found = k
			if !last {
				break
			}
		}
	}
	return found
}

// refine halves [low, high] until it knows where y falls through level.
func refine(low, high, level float64, y func(float64) float64) float64 {
	for range 48 {
		mid := (low + high) / 2
		if y(mid) > level {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// indexOf returns the last k with x[k] at or below v, -1 if v lies outside x.
func indexOf(x []float64, v float64) int {
	if !(v >= x[0] && v <= x[len(x)-1]) {
		return -1
	}
	return sort.SearchFloat64s(x, math.Nextafter(v, math.Inf(1))) - 1
}
