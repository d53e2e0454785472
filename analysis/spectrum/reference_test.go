package spectrum

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"math/cmplx"
	"os"
	"strconv"
	"testing"
)

// reference holds numbers of SciPy 1.10.1 and NumPy 1.24.2, made by
// testdata/spectrum/reference.py.
type reference struct {
	RateHz float64 `json:"rate_hz"`
	Cases  []struct {
		Name              string
		Window, Step, FFT int
		Detrend           string
		AutoX             []float64 `json:"auto_x"`
		AutoY             []float64 `json:"auto_y"`
		CrossRe           []float64 `json:"cross_re"`
		CrossIm           []float64 `json:"cross_im"`
		Coherence         []float64
	}
	Two struct {
		Window, Step    int
		Re, Im, Partial [2][]float64
		Multiple        []float64
	} `json:"two_inputs"`
}

func loadReference(t *testing.T) (reference, map[string][]float64) {
	t.Helper()
	var ref reference
	text, err := os.ReadFile("../../testdata/spectrum/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open("../../testdata/spectrum/records.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	cols := map[string][]float64{}
	for _, r := range rows[1:] {
		for j, s := range r {
			v, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			cols[rows[0][j]] = append(cols[rows[0][j]], v)
		}
	}
	return ref, cols
}

// relative is the difference between got and want, relative to want; below a millionth
// of the largest value only rounding is left, and the difference counts against that.
func relative(got, want complex128, largest float64) float64 {
	return cmplx.Abs(got-want) / max(cmplx.Abs(want), 1e-6*largest)
}

func compare(t *testing.T, what string, got, want []complex128) {
	t.Helper()
	const tol = 1e-9
	if len(got) != len(want) {
		t.Fatalf("%s: %d values, want %d", what, len(got), len(want))
	}
	var largest float64
	for _, w := range want {
		largest = max(largest, cmplx.Abs(w))
	}
	for k := range want {
		if d := relative(got[k], want[k], largest); !(d <= tol) {
			t.Errorf("%s at bin %d: %v, want %v (relative %.2g > %g)", what, k, got[k], want[k], d, tol)
			return
		}
	}
}

func complexes(re, im []float64) []complex128 {
	out := make([]complex128, len(re))
	for k := range re {
		out[k] = complex(re[k], 0)
		if im != nil {
			out[k] = complex(re[k], im[k])
		}
	}
	return out
}

func TestAgainstSciPy(t *testing.T) {
	ref, cols := loadReference(t)
	detrend := map[string]Detrend{"linear": Linear, "constant": Constant}
	pairs := map[string][2]string{"x1,y1": {"x1", "y1"}, "x2,y2": {"x2", "y2"}, "a3,y3": {"a3", "y3"}}
	for _, c := range ref.Cases {
		p := pairs[c.Name]
		s, err := Estimate(context.Background(), [][][]float64{{cols[p[0]], cols[p[1]]}}, 1/ref.RateHz,
			Settings{Window: c.Window, Step: c.Step, FFTLength: c.FFT, Detrend: detrend[c.Detrend]})
		if err != nil {
			t.Fatal(err)
		}
		compare(t, c.Name+" auto x", complexes(s.Auto(0), nil), complexes(c.AutoX, nil))
		compare(t, c.Name+" auto y", complexes(s.Auto(1), nil), complexes(c.AutoY, nil))
		compare(t, c.Name+" cross", s.Cross(0, 1), complexes(c.CrossRe, c.CrossIm))
		compare(t, c.Name+" coherence", complexes(s.Coherence(0, 1), nil), complexes(c.Coherence, nil))
		h := make([]complex128, len(c.AutoX))
		for k := range h {
			h[k] = complex(c.CrossRe[k], c.CrossIm[k]) / complex(c.AutoX[k], 0)
		}
		compare(t, c.Name+" response", s.Solve(0, 1).H, h)
	}
}

func TestTwoInputsAgainstNumPy(t *testing.T) {
	ref, cols := loadReference(t)
	s, err := Estimate(context.Background(), [][][]float64{{cols["a3"], cols["b3"], cols["y3"]}}, 1/ref.RateHz,
		Settings{Window: ref.Two.Window, Step: ref.Two.Step})
	if err != nil {
		t.Fatal(err)
	}
	for in := range 2 {
		r := s.Solve(in, 2, 1-in)
		compare(t, "H", r.H, complexes(ref.Two.Re[in], ref.Two.Im[in]))
		compare(t, "partial coherence", complexes(r.Coherence, nil), complexes(ref.Two.Partial[in], nil))
		compare(t, "multiple coherence", complexes(r.Multiple, nil), complexes(ref.Two.Multiple, nil))
	}
}

// Octave's signal package on the same records; it has the response as the other conjugate.
func TestAgainstOctave(t *testing.T) {
	rec, cols := loadReference(t)
	text, err := os.ReadFile("../../testdata/spectrum/octave.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Cases []struct {
			X, Y, Window, FFT int
			Overlap           float64
			Detrend           string
			Re, Im, Coherence []float64
		}
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	names := []string{"x1", "y1", "x2", "y2", "a3", "b3", "y3"}
	detrend := map[string]Detrend{"linear": Linear, "mean": Constant}
	for _, c := range ref.Cases {
		s, err := Estimate(context.Background(), [][][]float64{{cols[names[c.X]], cols[names[c.Y]]}}, 1/rec.RateHz,
			Settings{Window: c.Window, Overlap: c.Overlap, FFTLength: c.FFT, Detrend: detrend[c.Detrend]})
		if err != nil {
			t.Fatal(err)
		}
		h := complexes(c.Re, c.Im)
		for k := range h {
			h[k] = cmplx.Conj(h[k])
		}
		compare(t, names[c.X]+" response", s.Solve(0, 1).H, h)
		compare(t, names[c.X]+" coherence", complexes(s.Coherence(0, 1), nil), complexes(c.Coherence, nil))
	}
}

// A fine grid, for short records, is made by padding the windows with zeros: at its bins it must
// be SciPy's chirp-z transform (Rabiner, Schafer and Rader 1969, Bell Syst. Tech. J. 48,
// 1249-1292) of the same windows.
func TestFineGridAgainstChirpZ(t *testing.T) {
	rec, cols := loadReference(t)
	text, err := os.ReadFile("../../testdata/spectrum/zoom.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Window, Step, FFT, First int
		Auto                     []float64
		CrossRe                  []float64 `json:"cross_re"`
		CrossIm                  []float64 `json:"cross_im"`
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	s, err := Estimate(context.Background(), [][][]float64{{cols["x1"], cols["y1"]}}, 1/rec.RateHz,
		Settings{Window: ref.Window, Step: ref.Step, FFTLength: ref.FFT})
	if err != nil {
		t.Fatal(err)
	}
	to := ref.First + len(ref.Auto)
	compare(t, "auto", complexes(s.Auto(0), nil)[ref.First:to], complexes(ref.Auto, nil))
	compare(t, "cross", s.Cross(0, 1)[ref.First:to], complexes(ref.CrossRe, ref.CrossIm))
}
