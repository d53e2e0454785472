package response

import (
	"context"
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"testing"

	"hopcard/analysis/spectrum"
)

// reference holds values computed with NumPy and SciPy by testdata/response/reference.py.
type reference struct {
	Predictor struct {
		Order     int
		U1, U2, Y []float64
		Omega     []float64 `json:"omega_rad_s"`
		Re, Im    [][]float64
		SD        []float64
	}
	Head struct {
		Omega     []float64 `json:"omega_rad_s"`
		LnGain    []float64 `json:"ln_gain"`
		Phase     []float64
		Weight    []float64
		P, SD     []float64
		ChiSquare float64 `json:"chi_square"`
	}
	Lag struct {
		StepS       float64 `json:"step_s"`
		Window      int
		X, Y        []float64
		LagS        float64 `json:"lag_s"`
		ResolutionS float64 `json:"resolution_s"`
	}
}

func readReference(t *testing.T) reference {
	t.Helper()
	text, err := os.ReadFile("../../testdata/response/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var r reference
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// The predictor's response and its error must be those of a plain regression. The ridge of
// 1e-10 is what they may differ by, times the conditioning.
func TestPredictorAgainstNumPy(t *testing.T) {
	ref := readReference(t).Predictor
	p := newLagProducts([]run{{values: [][]float64{ref.Y, ref.U1, ref.U2}}}, []int{0}, []int{1, 2}, ref.Order).solve(0, ref.Order)
	sds := p.sds(ref.Omega, 0)
	for k, w := range ref.Omega {
		for i := range 2 {
			want := complex(ref.Re[i][k], ref.Im[i][k])
			if got := p.at(w, i); cmplx.Abs(got/want-1) > 1e-6 {
				t.Errorf("input %d at %g rad/s: %v, want %v", i, w, got, want)
			}
		}
		if math.Abs(sds[k]/ref.SD[k]-1) > 1e-4 {
			t.Errorf("error at %g rad/s: %.8g, want %.8g", w, sds[k], ref.SD[k])
		}
	}
}

// The fit of the head in hover must end where SciPy's ends, with the same errors.
func TestFitAgainstSciPy(t *testing.T) {
	ref := readReference(t).Head
	tgt := target{omega: ref.Omega, lnGain: ref.LnGain, phase: ref.Phase, weight: ref.Weight, independents: float64(len(ref.Omega))}
	f := forms(priors{})[1]
	f.prior = nil // SciPy is given none
	m := fitForm(f, tgt)
	if m == nil || m.covariance == nil {
		t.Fatal("no fit")
	}
	scale := math.Max(1, m.chiSquare)
	if got := m.chiSquare * float64(2*len(ref.Omega)-len(ref.P)); math.Abs(got/ref.ChiSquare-1) > 1e-4 {
		t.Errorf("sum of squares %.8g, want %.8g", got, ref.ChiSquare)
	}
	for i, want := range ref.P {
		sd := m.sd(i) / math.Sqrt(scale)
		if math.Abs(m.p[i]-want) > 0.01*ref.SD[i] || math.Abs(sd/ref.SD[i]-1) > 0.01 {
			t.Errorf("%s: %.6g with %.4g, want %.6g with %.4g", m.form.names[i], m.p[i], sd, want, ref.SD[i])
		}
	}
}

// The correlation lag must be where a long inverse FFT of SciPy's cross spectrum peaks.
func TestLagAgainstSciPy(t *testing.T) {
	ref := readReference(t).Lag
	s, err := spectrum.Estimate(context.Background(), [][][]float64{{ref.X, ref.Y}}, ref.StepS, spectrum.Settings{Window: ref.Window})
	if err != nil {
		t.Fatal(err)
	}
	lag := correlationLag(s.Solve(0, 1), plainWeight, 0)
	if lag == nil || math.Abs(lag.Value-ref.LagS) > ref.ResolutionS {
		t.Errorf("lag %v, want %.6f s", lag, ref.LagS)
	}
}
