package wind

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// TestPartCostByHand: 20 cells of -1 and 1 in turn, whose variance is 1, and 20 of -10 and
// 10, whose variance is 100. That of all together is 50.5.
func TestPartCostByHand(t *testing.T) {
	var x []float64
	for i := range 40 {
		size := 1.0
		if i >= 20 {
			size = 10
		}
		x = append(x, size*float64(2*(i%2)-1))
	}
	cost, total := partCost(x, 0, 1)
	closeTo(t, "cells", total, 40, 0)
	closeTo(t, "first part", cost(0, 20), 0, 1e-9)
	closeTo(t, "second part", cost(20, 40), 20*math.Log(100), 1e-9)
	closeTo(t, "whole", cost(0, 40), 40*math.Log(50.5), 1e-9)
	// 92 and two penalties of 12.9 are less than 157 and one.
	if got := partition(x, 0, 1, 8); !slices.Equal(got, []int{0, 20, 40}) {
		t.Errorf("cuts %v, want 0 20 40", got)
	}
	if got := partition(x[:20], 0, 1, 8); !slices.Equal(got, []int{0, 20}) {
		t.Errorf("cuts %v, want none inside", got)
	}
}

// TestCutsAgainstAllThereAre: the cheapest of all cuts of four records, from
// testdata/wind/changes.py.
func TestCutsAgainstAllThereAre(t *testing.T) {
	rows, text := table(t, "../../testdata/wind/changes.csv")
	numbers := func(s string) (out []float64) {
		for _, word := range strings.Fields(s) {
			v, err := strconv.ParseFloat(word, 64)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, v)
		}
		return out
	}
	if len(rows) != 4 {
		t.Fatalf("%d records, want 4", len(rows))
	}
	for k, row := range rows {
		name, r, worth, least, want := text[k][0], row[1], row[2], int(row[3]), row[4]
		x := numbers(text[k][6])
		got := partition(x, r, worth, least)
		var cuts []int
		for _, c := range numbers(text[k][5]) {
			cuts = append(cuts, int(c))
		}
		if !slices.Equal(got, cuts) {
			t.Errorf("%s: cuts %v, want %v", name, got, cuts)
		}
		cost, total := partCost(x, r, worth)
		sum := 0.0
		for i := 1; i < len(cuts); i++ {
			sum += cost(cuts[i-1], cuts[i]) + 3.5*math.Log(total*worth)
		}
		closeTo(t, name+": cost", sum, want, 1e-6)
	}
}

// TestSpreadAloneChanges: gusts twice as large in the same mean wind, a calm and a gusty
// half, are told apart where they change.
func TestSpreadAloneChanges(t *testing.T) {
	found := 0
	for seed := range uint64(20) {
		ts := steps(2400, 0.25)
		u := firstOrder(newRand(seed), len(ts), 0.25, 5)
		for i := range u {
			sd := 0.6
			if ts[i] >= 250 {
				sd = 1.2
			}
			u[i] = 5 + sd*u[i]
		}
		cuts := changePoints(series{t: ts, speed: u, stepS: 0.25, gapS: 0.625})
		if len(cuts) == 3 && math.Abs(ts[cuts[1]]-250) < 40 {
			found++
		}
	}
	if found < 17 {
		t.Errorf("told apart in %d of 20 records, want 17", found)
	}
}

// TestWindRises: a flight whose wind rises half way is cut there, and each class of air
// answers from its own seconds. The gusts of the model do not rise with the wind, so the
// thresholds are set to call the halves calm and steady.
func TestWindRises(t *testing.T) {
	const changeS = 300.0
	s := gustyHop(9, true, 0, 0).Scenario
	s.Air.Mean = []simulate.Point{{TimeS: 0, Value: 1}, {TimeS: changeS, Value: 1}, {TimeS: changeS + 5, Value: 5}}
	f := simulate.Fly(s)
	r, err := Analyse(context.Background(), f.Hop(), f.Truth.Flight,
		Settings{DistanceConstantM: 0.01, Class: flight.WindClass{CalmMeanMS: 3.5, GustySpreadMS: 100}})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Phases) != 2 || len(r.Classes) != 2 || r.Classes[0].Class != Calm || r.Classes[1].Class != Steady {
		t.Fatalf("%d phases, classes %+v: want calm, then steady", len(r.Phases), r.Classes)
	}
	closeTo(t, "start of the second", r.Phases[1].Span.FromS, changeS, 10)
	row := r.Classes[1]
	if len(row.Answers) != 8 {
		t.Fatalf("%d answers in %s air, want 8", len(row.Answers), row.Class)
	}
	for i, a := range row.Answers {
		if a.BandRadS[0] < 0.6 {
			continue
		}
		truth := bandTruth(f, a.Axis, a.BandRadS)
		if a.RadPerMS == nil {
			t.Errorf("%s %v: withheld", a.Axis, a.BandRadS)
			continue
		}
		closeTo(t, "answer over truth", a.RadPerMS.Value/truth, 1, 0.15)
		if whole := r.Gusts[i].RadPerMS; whole == nil || whole.Value == a.RadPerMS.Value {
			t.Errorf("%s %v: %+v of the whole flight, want another than that of the second half", a.Axis, a.BandRadS, whole)
		}
	}
}
