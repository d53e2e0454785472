package rotor

import (
	"math"
	"math/cmplx"
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
	bandwidthPoints   = 3000
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
	w := LogSpace(bandwidthFromRadS, bandwidthToRadS, bandwidthPoints)
	h := m.Response(in, out, w)
	phase := UnwrapDeg(w, h, 2)
	gain := make([]float64, len(h))
	for k := range h {
		gain[k] = GainDB(h[k])
	}
	nan := math.NaN()
	b := Bandwidth{nan, nan, nan, nan, nan, nan, nan}
	first := 0
	for w[first] < phaseFromRadS {
		first++
	}
	k180 := downCrossing(phase, -180, first, len(phase)-1, false)
	if k180 < 0 {
		return b
	}
	b.W180RadS = cross(w, phase, k180, -180)
	b.GainAtW180DB = interpolate(w, gain, b.W180RadS)
	if k := downCrossing(phase, -135, first, k180, true); k >= 0 {
		b.BandwidthPhaseRadS = cross(w, phase, k, -135)
	}
	if k := downCrossing(gain, b.GainAtW180DB+6, 0, k180, true); k >= 0 {
		b.BandwidthGainRadS = cross(w, gain, k, b.GainAtW180DB+6)
	}
	b.BandwidthRadS = math.Min(b.BandwidthPhaseRadS, b.BandwidthGainRadS)
	if math.IsNaN(b.BandwidthPhaseRadS) {
		b.BandwidthRadS = nan // the definition needs the phase bandwidth
	} else if math.IsNaN(b.BandwidthGainRadS) {
		b.BandwidthRadS = b.BandwidthPhaseRadS
	}
	if 2*b.W180RadS <= w[len(w)-1] {
		b.PhaseAt2W180Deg = interpolate(w, phase, 2*b.W180RadS)
		b.PhaseDelayS = -(b.PhaseAt2W180Deg + 180) * math.Pi / 180 / (2 * b.W180RadS)
	}
	return b
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

// cross interpolates the abscissa at which y passes level between k and k+1.
func cross(x, y []float64, k int, level float64) float64 {
	return x[k] + (x[k+1]-x[k])*(level-y[k])/(y[k+1]-y[k])
}

func interpolate(x, y []float64, at float64) float64 {
	for k := 0; k+1 < len(x); k++ {
		if at <= x[k+1] {
			return y[k] + (y[k+1]-y[k])*(at-x[k])/(x[k+1]-x[k])
		}
	}
	return math.NaN()
}
