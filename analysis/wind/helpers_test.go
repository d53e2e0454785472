package wind

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"

	"hopcard/flight"
)

const degree = math.Pi / 180

func closeTo(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tol)
	}
}

// table reads a CSV of numbers with a header; text columns are NaN.
func table(t testing.TB, path string) (rows [][]float64, text [][]string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	text, err = r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	text = text[1:]
	for _, line := range text {
		row := make([]float64, len(line))
		for i, cell := range line {
			if row[i], err = strconv.ParseFloat(cell, 64); err != nil {
				row[i] = math.NaN()
			}
		}
		rows = append(rows, row)
	}
	return rows, text
}

// windHop makes a hop with a wind logger of its own, on UTC, and nothing else.
func windHop(t, speed, dir []float64) *flight.Hop {
	h := &flight.Hop{Sources: []flight.Source{
		{File: "attitude.csv", Role: flight.RoleAttitude, Clock: flight.Clock{AlignedBy: flight.AlignUTC}},
		{File: "wind.csv", Role: flight.RoleWind, Clock: flight.Clock{AlignedBy: flight.AlignUTC}},
	}}
	h.Channels = append(h.Channels, flight.Channel{Quantity: flight.WindSpeed, TimeS: t, Value: speed, Source: 1, Column: "speed", Sure: 1})
	if dir != nil {
		h.Channels = append(h.Channels, flight.Channel{Quantity: flight.WindDirectionFrom, TimeS: t, Value: dir, Source: 1, Column: "direction", Sure: 1})
	}
	return h
}

func steps(n int, dt float64) []float64 {
	t := make([]float64, n)
	for i := range t {
		t[i] = float64(i) * dt
	}
	return t
}

// firstOrder makes Gaussian noise of standard deviation 1 whose correlation falls as
// exp(-t/scaleS): the Dryden form along the wind.
func firstOrder(rng *rand.Rand, n int, dt, scaleS float64) []float64 {
	a := math.Exp(-dt / scaleS)
	b := math.Sqrt(1 - a*a)
	x := make([]float64, n)
	v := rng.NormFloat64()
	for i := range x {
		x[i] = v
		v = a*v + b*rng.NormFloat64()
	}
	return x
}

func hasFinding(r Result, code flight.Code) bool {
	for _, f := range r.Findings {
		if f.Code == code {
			return true
		}
	}
	return false
}

func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 8)) }

// symmetric is a diagonal matrix.
func symmetric(n int, value float64) *mat.SymDense {
	m := mat.NewSymDense(n, nil)
	for i := range n {
		m.SetSym(i, i, value)
	}
	return m
}
