//go:build study

package identify

import (
	"context"
	"flag"
	"math"
	"testing"

	"hopcard/analysis/debrief"
)

var runs = flag.Int("runs", 60, "aircraft drawn in each study")

// Aircraft that differ from their dimensions, flown once or three times: how often does the
// 95 % interval hold the truth, of the fitted numbers and of the forecast of a heavier bar?
func TestStudyCoverage(t *testing.T) {
	for _, c := range []struct {
		name  string
		bar   bool
		gusty []bool
	}{
		{"bare, calm", false, []bool{false}}, {"bare, gusty", false, []bool{true}},
		{"bar, calm", true, []bool{false}}, {"bar, gusty", true, []bool{true}},
		{"bar, three hops", true, []bool{false, true, true}},
	} {
		inside, told, all := map[string]int{}, map[string]int{}, map[string]int{}
		var order []string
		count := func(key string, known bool, low, high, truth float64) {
			if all[key] == 0 {
				order = append(order, key)
			}
			all[key]++
			if known {
				told[key]++
				if low <= truth && truth <= high {
					inside[key]++
				}
			}
		}
		for k := range *runs {
			a := drawAircraft(uint64(1000+k), c.bar)
			var hops []*debrief.Debrief
			for i, gusty := range c.gusty {
				hops = append(hops, a.fly(uint64(100*k+i), gusty, len(c.gusty) > 1))
			}
			r, err := Fit(context.Background(), hops, a.paper, a.surroundings(), nil)
			if err != nil {
				t.Logf("%s %d: %v", c.name, k, err)
				count("fit", false, 0, 0, 0)
				continue
			}
			count("fit", true, 0, 0, 0)
			for _, q := range quantities(r.Dimensions, a.surroundings()) {
				p := r.of(q.key)
				if p.Estimate == nil {
					count(q.key, false, 0, 0, 0)
					continue
				}
				count(q.key, true, p.Estimate.Low, p.Estimate.High, q.of(a.truth))
			}
			to := a.change()
			f, err := r.Forecast(to)
			if err != nil {
				t.Fatal(err)
			}
			truth := a.changedTruth(t, r, to)
			for i, row := range f.Rows {
				if math.IsNaN(truth[i]) {
					continue
				}
				if row.Changed == nil {
					count("forecast: "+row.Name, false, 0, 0, 0)
					continue
				}
				count("forecast: "+row.Name, true, row.Changed.Low-1e-9, row.Changed.High+1e-9, truth[i])
			}
		}
		for _, key := range order {
			t.Logf("%-18s %-62s told %3d of %3d, inside %3d", c.name, key, told[key], all[key], inside[key])
		}
	}
}
