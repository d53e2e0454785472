package response

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// seriesM is Box and Jenkins's pair of a leading indicator and sales, with R's correlations of
// their first differences (testdata/response/seriesm.R).
type seriesM struct {
	MadeWith        string `json:"made_with"`
	Lead, Sales     []float64
	Lags            []int
	Plain, Whitened []float64
	MA1             float64
}

func readSeriesM(t *testing.T) (m seriesM, x, y []float64) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/response/seriesm.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &m); err != nil {
		t.Fatal(err)
	}
	for k := 1; k < len(m.Lead); k++ {
		x, y = append(x, m.Lead[k]-m.Lead[k-1]), append(y, m.Sales[k]-m.Sales[k-1])
	}
	return m, x, y
}

// A delay that is in the data: Box and Jenkins, Time Series Analysis, chapter 11, find sales
// behind the indicator by three steps, and R's correlation of the first differences, 0.720 there,
// is published with the series. The correlation lag must round to three steps; between the steps
// it peaks a little later, because the answer dies away behind the third.
func TestDelayOfSeriesM(t *testing.T) {
	m, x, y := readSeriesM(t)
	for name, want := range map[string]float64{"plain": 0.720070, "whitened": 0.676309} {
		r := map[string][]float64{"plain": m.Plain, "whitened": m.Whitened}[name]
		best := 0
		for k := range r {
			if r[k] > r[best] {
				best = k
			}
		}
		if m.Lags[best] != 3 || math.Abs(r[best]-want) > 1e-6 {
			t.Errorf("R (%s), %s: %.6f at lag %d, published %.6f at 3", m.MadeWith, name, r[best], m.Lags[best], want)
		}
	}
	const stepS = 0.1 // three steps are 0.3 s of a stick and its answer
	for name, w := range map[string]func(gain, coherence float64) float64{"plain": plainWeight, "likelihood": likelihoodWeight} {
		lag := correlationLag(respond(t, stepS, 32, x, y), w, 0)
		if lag == nil || lag.Value < 3*stepS || lag.Value > 3.25*stepS {
			t.Errorf("%s: lag %v, want 3 to 3.25 steps of %.1f s", name, lag, stepS)
		}
	}
}

// The same chapter identifies the transfer function from the indicator to sales as
// 4.82 B^3/(1 - 0.72 B). It is what pre-whitening is for: the indicator is related to its own
// past, and a plain correlation smears that over the answer. A predictor from the past of both
// must find it too: nothing before the third step, then 4.82, 3.47 and 2.50 (from memory to
// these digits), to three of its own errors.
func TestPredictorOfSeriesM(t *testing.T) {
	_, x, y := readSeriesM(t)
	const order = 8
	p := newLagProducts([]run{{values: [][]float64{y, x}}}, []int{0}, []int{1}, order).solve(0, order)
	if p == nil {
		t.Fatal("no predictor")
	}
	// The impulse response of B/A by long division, and the input stands leadSteps early.
	answer := make([]float64, order+1)
	for k := range answer {
		answer[k] = p.theta[p.first(0)+k]
		for j := 1; j <= k; j++ {
			answer[k] += p.theta[j-1] * answer[k-j]
		}
	}
	sd := math.Sqrt(p.sigma2 / float64(len(x)) / variance(x))
	for lag := -leadSteps; lag <= 5; lag++ {
		want := 0.0
		if lag >= 3 {
			want = 4.82 * math.Pow(0.72, float64(lag-3))
		}
		got := answer[lag+leadSteps]
		t.Logf("step %+d: %.3f, published %.2f, one error %.2f", lag, got, want, sd)
		if math.Abs(got-want) > 3*sd {
			t.Errorf("step %+d: %.3f, published %.2f, one error %.2f", lag, got, want, sd)
		}
	}
}

func variance(x []float64) (v float64) {
	var mean float64
	for _, a := range x {
		mean += a / float64(len(x))
	}
	for _, a := range x {
		v += (a - mean) * (a - mean) / float64(len(x))
	}
	return v
}
