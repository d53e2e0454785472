//go:build study

package loop

import (
	"context"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"hopcard/analysis/response"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// tally collects the errors of one number.
type tally struct {
	name                              string
	n, missing, inside                float64
	sum, square, within, bar, claimed float64
	worst                             []float64
}

func (y *tally) add(e *flight.Estimate, want float64) {
	if math.IsNaN(want) {
		return
	}
	if e == nil {
		y.missing++
		return
	}
	d := e.Value - want
	y.n++
	y.sum += d
	y.square += d * d
	y.claimed += (e.High - e.Low) / 3.92
	if math.Abs(d) <= y.bar {
		y.within++
	}
	if e.Low <= want && want <= e.High {
		y.inside++
	}
}

func (y *tally) String() string {
	return fmt.Sprintf("%-22s n %3.0f missing %2.0f bias %+.3f rms %.3f claimed sd %.3f within %.3g: %.0f %%, coverage %.1f %%", y.name, y.n, y.missing,
		y.sum/y.n, math.Sqrt(y.square/y.n), y.claimed/y.n, y.bar, 100*y.within/y.n, 100*y.inside/y.n)
}

func TestStudyMargins(t *testing.T) {
	hops := 60
	if s := os.Getenv("HOPS"); s != "" {
		hops, _ = strconv.Atoi(s)
	}
	for _, logged := range []bool{true, false} {
		ys := []*tally{{name: "crossover, share", bar: 0.15}, {name: "phase margin, deg", bar: 5}, {name: "gain margin, dB", bar: 1.5},
			{name: "low gain margin, dB", bar: 2}, {name: "delay, s", bar: 0.06}, {name: "gain, share", bar: 0.15}}
		for seed := range uint64(hops) {
			s := drawHop(seed+100, 100)
			s.Sensors.NoWind = !logged
			f := simulate.Fly(s)
			h := f.Hop()
			segs, _ := segment.Find(h)
			a, err := response.Analyse(context.Background(), h, segs, response.Settings{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			r, err := Analyse(context.Background(), h, segs, a.Responses, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range r.Margins {
				want := margins(trueLoop(t, f, m.Axis))
				if m.CrossoverRadS != nil {
					e := m.CrossoverRadS.Times(1 / want.crossover)
					ys[0].add(&e, 1)
				} else {
					ys[0].add(nil, want.crossover)
				}
				ys[1].add(m.PhaseMarginDeg, want.phase*degPerRad)
				ys[2].add(m.GainMarginDB, want.gain*dbPerNeper)
				ys[3].add(m.GainLowDB, want.low*dbPerNeper)
				if m.Pilot != nil {
					ys[4].add(m.Pilot.DelayS, s.Pilot.DelayS+s.Pilot.LagS)
					e := m.Pilot.GainPerRad.Times(1 / s.Pilot.GainPerRad.Of(m.Axis))
					ys[5].add(&e, 1)
				}
				if os.Getenv("V") != "" && m.PhaseMarginDeg != nil && m.GainMarginDB != nil {
					fmt.Printf("%d %s bar %v: wc %.2f (%.2f) PM %.1f [%.0f %.0f] (%.1f) GM %.1f [%.1f %.1f] (%.1f) fit %.0f %% gain %.2f (%.2f) delay %.2f (%.2f) cross %d (%d)\n", seed, m.Axis, s.Head.HasBar(),
						m.CrossoverRadS.Value, want.crossover, m.PhaseMarginDeg.Value, m.PhaseMarginDeg.Low, m.PhaseMarginDeg.High, want.phase*degPerRad,
						m.GainMarginDB.Value, m.GainMarginDB.Low, m.GainMarginDB.High, want.gain*dbPerNeper, m.Pilot.FitPercent,
						m.Pilot.GainPerRad.Value, s.Pilot.GainPerRad.Of(m.Axis), m.Pilot.DelayS.Value, s.Pilot.DelayS+s.Pilot.LagS, m.Crossovers, want.crossovers)
				}
			}
			for _, f := range r.Findings {
				if os.Getenv("V") != "" {
					fmt.Println(seed, f.Text)
				}
			}
		}
		t.Logf("gust logged: %v", logged)
		for _, y := range ys {
			t.Log(y)
		}
	}
}
