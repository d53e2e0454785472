//go:build study

package stability

import (
	"context"
	"fmt"
	"math"
	"os"
	"sort"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/flight"
)

// sane reports whether the flight stayed upright: what a simulation does beyond that is no
// flight.
func sane(f *simulate.Flight) bool {
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		for _, v := range f.Attitude(a) {
			if !(math.Abs(v) < 0.8) {
				return false
			}
		}
	}
	return true
}

// tally counts what the study found.
type tally struct {
	hops, planted, found, rightKind, flags, right, covered, measured int
	from, to                                                         []float64
}

// plain reports whether an event is one that must be found: the truth grows by at least
// 10 % a second, the attitude left trim by at least 3 deg. Weaker ones may be found or not.
func plain(g simulate.Growth) bool {
	return g.GrowthPerS > 0.1 && g.PeakRad > 3*math.Pi/180
}

func (n *tally) count(f *simulate.Flight, unstable []Unstable, verbose bool) {
	n.hops++
	hit := make([]bool, len(unstable))
	for _, g := range f.Truth.Growing {
		best := -1
		for i, u := range unstable {
			if u.FrequencyRadS == nil || u.Axis != g.Axis || !u.Span.Overlaps(flight.Span{FromS: g.Span.FromS, ToS: g.Span.ToS + 1.5}) {
				continue
			}
			hit[i] = true
			if best < 0 || u.Span.LengthS() > unstable[best].Span.LengthS() {
				best = i
			}
		}
		if !plain(g) {
			continue
		}
		n.planted++
		if best < 0 {
			if verbose {
				fmt.Printf("missed in %s (%s): %+v\n", f.Scenario.Name, f.Scenario.Head.Name, g)
			}
			continue
		}
		n.found++
		u := unstable[best]
		if (u.Kind == PilotCoupled) == g.PilotCoupled {
			n.rightKind++
		} else if verbose {
			fmt.Printf("kind in %s: %+v %s\n", f.Scenario.Name, g, u.Reason)
		}
		n.from = append(n.from, u.Span.FromS-g.Span.FromS)
		n.to = append(n.to, u.Span.ToS-g.Span.ToS)
		n.measured++
		if u.GrowthPerS.Low <= g.GrowthPerS && g.GrowthPerS <= u.GrowthPerS.High {
			n.covered++
		}
	}
	for i, u := range unstable {
		if u.FrequencyRadS == nil {
			continue
		}
		n.flags++
		if hit[i] {
			n.right++
		} else if verbose {
			fmt.Printf("false in %s (%s, gusts %.1f): %s %.1f to %.1f %s\n", f.Scenario.Name, f.Scenario.Head.Name, f.Scenario.Air.Gusts, u.Axis, u.Span.FromS, u.Span.ToS, u.Reason)
		}
	}
}

func medianSize(x []float64) float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = math.Abs(v)
	}
	sort.Float64s(y)
	if len(y) == 0 {
		return math.NaN()
	}
	return y[len(y)/2]
}

// TestStudyUnstable flies 200 hops with planted growth and 100 without, and asks for a recall
// of 0.97, a precision of 0.95, the right kind in 0.9 and edges within 0.5 s (median of all).
func TestStudyUnstable(t *testing.T) {
	with, without := 200, 100
	if os.Getenv("HOPS") != "" {
		fmt.Sscan(os.Getenv("HOPS"), &with)
		without = with / 2
	}
	first := uint64(1)
	if os.Getenv("SEED") != "" {
		fmt.Sscan(os.Getenv("SEED"), &first)
	}
	var n tally
	for seed := first; n.hops < with+without; seed++ {
		f := simulate.Fly(simulate.DrawMixed(seed, n.hops < with))
		if !sane(f) {
			continue
		}
		h := f.Hop()
		segs, _ := segment.Find(h)
		r, err := Analyse(context.Background(), h, segs, flight.DefaultLimits())
		if err != nil {
			t.Fatal(err)
		}
		n.count(f, r.Unstable, testing.Verbose())
	}
	ratio := func(a, b int) float64 { return float64(a) / float64(b) }
	fmt.Printf("hops %d planted %d recall %.3f precision %.3f class %.3f starts %.2f ends %.2f all edges %.2f s coverage of growth %.3f\n",
		n.hops, n.planted, ratio(n.found, n.planted), ratio(n.right, n.flags), ratio(n.rightKind, n.found),
		medianSize(n.from), medianSize(n.to), medianSize(append(append([]float64(nil), n.from...), n.to...)), ratio(n.covered, n.measured))
	if ratio(n.found, n.planted) < 0.97 || ratio(n.right, n.flags) < 0.95 || ratio(n.rightKind, n.found) < 0.9 ||
		medianSize(append(append([]float64(nil), n.from...), n.to...)) > 0.5 {
		t.Error("a bar is missed")
	}
}
