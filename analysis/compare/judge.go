package compare

import (
	"math"
	"sort"
)

// headlineWeight is how much more a headline row weighs in the correction for many rows.
const headlineWeight = 10.0

// bestOdds is the largest figure given: beyond, a model's faults count for more.
const bestOdds = 1000

// tested is a row on its way through the comparison.
type tested struct {
	m        measure
	row      Row
	contrast contrast
	weight   float64
	share    float64 // of Level, that this row could count on alone
}

// judge fills chances, odds and verdicts of all rows that are not withheld.
func judge(tests []*tested) {
	var live []*tested
	total := 0.0
	for _, t := range tests {
		if t.row.Verdict == Withheld {
			continue
		}
		t.row.Chance = t.contrast.chance()
		t.weight = 1
		if t.m.headline {
			t.weight = headlineWeight
		}
		total += t.weight
		live = append(live, t)
	}
	holm(live)
	for _, t := range live {
		t.share = Level * t.weight / total
		t.row.OddsAtMost = oddsAtMost(t.row.Corrected)
		half := t.contrast.half()
		switch {
		case t.row.Corrected < Level && t.row.BetweenHops:
			t.row.Verdict = TwoHops
		case t.row.Corrected < Level:
			t.row.Verdict = Real
		case math.Abs(t.contrast.d)+half <= t.worth():
			t.row.Verdict = Alike
		default:
			t.row.Verdict = Open
		}
	}
}

// holm fills the corrected chances: Holm's step-down with weights. In order of p/w, each
// row's p/w is multiplied by the weight of the rows that are left, and never sinks.
func holm(tests []*tested) {
	order := append([]*tested{}, tests...)
	sort.SliceStable(order, func(i, j int) bool {
		return order[i].row.Chance/order[i].weight < order[j].row.Chance/order[j].weight
	})
	left := 0.0
	for _, t := range order {
		left += t.weight
	}
	worst := 0.0
	for _, t := range order {
		worst = math.Max(worst, math.Min(1, t.row.Chance/t.weight*left))
		t.row.Corrected = worst
		left -= t.weight
	}
}

// oddsAtMost is the bound on the odds for a difference, to 1, at even odds before.
func oddsAtMost(p float64) float64 {
	switch {
	case p >= 1/math.E:
		return 1
	case p <= 0: // too small a number to tell from none
		return bestOdds
	}
	return math.Min(bestOdds, 1/(-math.E*p*math.Log(p)))
}
