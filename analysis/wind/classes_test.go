package wind

import (
	"math"
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

func TestCountFlags(t *testing.T) {
	r := Result{
		Phases: []Phase{
			{Class: Calm, Span: flight.Span{FromS: 10, ToS: 100}},
			{Class: Gusty, Span: flight.Span{FromS: 100, ToS: 200}},
			{Class: Calm, Span: flight.Span{FromS: 200, ToS: 260}},
		},
		Classes:  []ClassRow{{Class: Calm, Flags: -1}, {Class: Gusty, Flags: -1}},
		Activity: &ClassRow{Flags: -1},
	}
	// One begins in the gusts and reaches into the calm, one begins before the wind log.
	r.CountFlags([]flight.Span{{FromS: 5, ToS: 12}, {FromS: 20, ToS: 30}, {FromS: 100, ToS: 104}, {FromS: 195, ToS: 215}, {FromS: 201, ToS: 210}})
	if r.Classes[0].Flags != 2 || r.Classes[1].Flags != 2 || r.Activity.Flags != 5 {
		t.Errorf("calm %d, gusty %d, all %d: want 2, 2 and 5", r.Classes[0].Flags, r.Classes[1].Flags, r.Activity.Flags)
	}
	sum := SumClasses(r.Classes, []ClassRow{{Class: Calm, Flags: 3}, {Class: Gusty, Flags: -1}})
	if sum[0].Flags != 5 || sum[1].Flags != -1 {
		t.Errorf("sums %d and %d, want 5 and, one hop being unknown, -1", sum[0].Flags, sum[1].Flags)
	}
}

func answerRow(value, se, lowBy, highBy float64) ClassRow {
	e := flight.Estimate{Value: value, Low: (value - normal95*se) * lowBy, High: (value + normal95*se) * highBy}
	return ClassRow{Class: Gusty, TimeS: 100, Answers: []ClassAnswer{
		{Axis: flight.RollAxis, Input: CrossGust, BandRadS: [2]float64{1.2, 2.4}, RadPerMS: &e, SERadPerMS: se},
		{Axis: flight.PitchAxis, Input: HeadGust, BandRadS: [2]float64{1.2, 2.4}, SERadPerMS: math.NaN()},
	}}
}

// TestSumAnswersByHand: three hops of logarithms 0, 0.1 and 0.3 with errors of 0.1. The
// weighted squares about the mean 0.4/3 are 4.667, so tau^2 = (4.667 - 2)/(300 - 100) =
// 0.01333; with it the squares are 2, the error is sqrt(1/3 * 0.02333) = 0.08819, and t of
// two degrees of freedom is 4.302653.
func TestSumAnswersByHand(t *testing.T) {
	mean, se, factor := combine([]relative{{0, 0.1}, {0.1, 0.1}, {0.3, 0.1}})
	closeTo(t, "mean", mean, 0.4/3, 1e-12)
	closeTo(t, "standard error", se, math.Sqrt((0.01+0.04/3)/3), 1e-12)
	closeTo(t, "factor", factor, 4.302652729911275, 1e-9)
}

func TestSumAnswers(t *testing.T) {
	one := sumRows([]ClassRow{answerRow(0.02, 0.001, 0.9, 1.1)}).Answers
	if len(one) != 2 || one[1].RadPerMS != nil {
		t.Fatalf("%+v: want roll told and pitch withheld", one)
	}
	closeTo(t, "one hop", one[0].RadPerMS.Value, 0.02, 1e-12)
	// What the anemometer may hide is the same on every hop and stays.
	many := make([]ClassRow, 100)
	for i := range many {
		many[i] = answerRow(0.02, 0.001, 0.9, 1.1)
	}
	e := sumRows(many).Answers[0].RadPerMS
	closeTo(t, "low end", e.Low/e.Value, 0.9*math.Exp(-1.984217*0.005), 1e-5)
	closeTo(t, "high end", e.High/e.Value, 1.1*math.Exp(1.984217*0.005), 1e-5)
}

// TestSumCovers: hops whose true answers scatter as much as their errors, or not at all, or
// three times as much: the interval holds their mean. Two hops that scatter widely may agree
// by accident, which nothing in them shows.
func TestSumCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 5))
	const se, trials = 0.05, 4000
	for _, c := range []struct {
		hops  int
		tau   float64
		least float64
	}{
		{2, 0, 0.95}, {2, se, 0.93}, {2, 3 * se, 0.88}, {3, 0, 0.95}, {3, se, 0.95}, {3, 3 * se, 0.94}, {6, 0, 0.95}, {6, 3 * se, 0.94},
	} {
		in := 0
		for range trials {
			var each []relative
			for range c.hops {
				own := se * (0.5 + rng.Float64())
				each = append(each, relative{c.tau*rng.NormFloat64() + own*rng.NormFloat64(), own})
			}
			mean, e, factor := combine(each)
			if math.Abs(mean) <= factor*e {
				in++
			}
		}
		got := float64(in) / trials
		t.Logf("%d hops, scatter %.2g of their errors: covered %.3f", c.hops, c.tau/se, got)
		if got < c.least {
			t.Errorf("%d hops, scatter %.2g of their errors: covered %.3f, want %.2f", c.hops, c.tau/se, got, c.least)
		}
	}
}
