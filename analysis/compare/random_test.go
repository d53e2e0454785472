package compare

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

func closeTo(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Max(1, math.Abs(want))) {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

func group(y, sd []float64) []number {
	var g []number
	for i := range y {
		g = append(g, number{y[i], sd[i]})
	}
	return g
}

// The contrast of groups of hops against SciPy; script and versions are in the file.
func TestContrastAgainstSciPy(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "compare", "random_effects.json"))
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Cases []struct {
			Name                          string
			YA, SA, YB, SB                []float64
			Tau2, D, SE, DF, Half, Chance float64
		}
	}
	if err := json.Unmarshal(data, &ref); err != nil {
		t.Fatal(err)
	}
	if len(ref.Cases) < 4 {
		t.Fatalf("%d cases", len(ref.Cases))
	}
	for _, c := range ref.Cases {
		got := contrastOf(group(c.YA, c.SA), group(c.YB, c.SB))
		closeTo(t, c.Name+": variance between hops", got.tau2, c.Tau2, 1e-9)
		closeTo(t, c.Name+": difference", got.d, c.D, 1e-9)
		closeTo(t, c.Name+": standard error", got.se, c.SE, 1e-9)
		closeTo(t, c.Name+": degrees", got.df, c.DF, 1e-9)
		closeTo(t, c.Name+": half width", got.half(), c.Half, 1e-9)
		closeTo(t, c.Name+": chance", got.chance(), c.Chance, 1e-9)
	}
}

// One hop a side: the 95 % interval is the root of the sum of squares of the hops' own, and
// nothing is said of the spread between hops.
func TestContrastOfSingleHops(t *testing.T) {
	c := contrastOf([]number{{1, 3 / normal95}}, []number{{6, 4 / normal95}})
	closeTo(t, "difference", c.d, 5, 1e-12)
	closeTo(t, "half width", c.half(), 5, 1e-12)
	closeTo(t, "chance at the edge of the interval", c.chance(), 0.05, 1e-12)
	if !math.IsNaN(c.tau2) {
		t.Errorf("spread between hops is %g", c.tau2)
	}
}

// Swapping the sides turns the sign; moving or scaling all numbers moves and scales the
// difference; the chance stays.
func TestContrastProperties(t *testing.T) {
	side := func(t *rapid.T, label string) []number {
		var g []number
		for range rapid.IntRange(1, 5).Draw(t, label) {
			g = append(g, number{rapid.Float64Range(-5, 5).Draw(t, "y"), rapid.Float64Range(0.01, 2).Draw(t, "sd")})
		}
		return g
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := side(t, "a"), side(t, "b")
		c, back := contrastOf(a, b), contrastOf(b, a)
		k, shift := rapid.Float64Range(0.1, 10).Draw(t, "k"), rapid.Float64Range(-9, 9).Draw(t, "shift")
		moved := func(g []number) (out []number) {
			for _, n := range g {
				out = append(out, number{k*n.y + shift, k * n.sd})
			}
			return out
		}
		m := contrastOf(moved(a), moved(b))
		for _, p := range [][2]float64{{back.d, -c.d}, {back.se, c.se}, {m.d, k * c.d}, {m.se, k * c.se}, {m.chance(), c.chance()}} {
			if math.Abs(p[0]-p[1]) > 1e-6*(1+math.Abs(p[1])) {
				t.Fatalf("%v and %v: %g, want %g", a, b, p[0], p[1])
			}
		}
	})
}

// The interval covers the true difference 95 times in a hundred or more, with and without
// spread between hops, also where one hop of a side is known far better or worse than the
// others; and it is not idly wide where the spread is what counts.
func TestContrastCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for _, c := range []struct {
		a, b []float64 // the hops' own errors
		tau  float64
		most float64 // share that may be covered
	}{
		{[]float64{1, 1, 1}, []float64{1, 1, 1}, 0, 1},
		{[]float64{0.5, 0.5, 0.2}, []float64{0.5, 0.5, 0.2}, 1, 0.975},
		{[]float64{2, 2, 0.3}, []float64{2, 2, 0.3}, 0.8, 1},
		{[]float64{0.2, 0.2, 1.5}, []float64{0.2, 0.2, 1.5}, 0.5, 0.985},
		{[]float64{0.5, 0.7}, []float64{0.4, 0.6}, 3, 0.975},
		{[]float64{0.5}, []float64{0.4, 0.6}, 3, 1},
		{[]float64{0.5, 0.3, 0.7, 1}, []float64{0.4, 0.6}, 3, 0.975},
	} {
		const n = 2000
		covered := 0
		for range n {
			draw := func(mean float64, own []float64) (g []number) {
				for _, sd := range own {
					g = append(g, number{mean + c.tau*rng.NormFloat64() + sd*rng.NormFloat64(), sd})
				}
				return g
			}
			got := contrastOf(draw(2, c.a), draw(5, c.b))
			if math.Abs(got.d-3) <= got.half() {
				covered++
			}
		}
		// Two standard deviations of the count of 2000 are 1 %.
		if share := float64(covered) / n; share < 0.94 || share > c.most+0.01 {
			t.Errorf("%v and %v, spread %g: covers %.3f", c.a, c.b, c.tau, share)
		}
	}
}

// hopsNeeded against a count of simulated studies: with as many hops as it says, the
// difference is found about four times in five.
func TestHopsNeeded(t *testing.T) {
	const delta, alpha = 1.5, 0.02
	c := contrast{tau2: 0.3, ownA: 0.2, ownB: 0.1, hopsA: 1, hopsB: 2}
	a, b, ok := c.hopsNeeded(delta, alpha, 12)
	if !ok || a < 2 || b < 2 {
		t.Fatalf("%d and %d, %t", a, b, ok)
	}
	rng := rand.New(rand.NewPCG(5, 5))
	const n = 2000
	found := 0
	for range n {
		draw := func(mean, own float64, hops int) (g []number) {
			for range hops {
				g = append(g, number{mean + math.Sqrt(c.tau2+own)*rng.NormFloat64(), math.Sqrt(own)})
			}
			return g
		}
		if contrastOf(draw(0, c.ownA, a), draw(delta, c.ownB, b)).chance() < alpha {
			found++
		}
	}
	if share := float64(found) / n; share < 0.7 {
		t.Errorf("%d and %d hops find it in %.2f of studies, want about 0.8", a, b, share)
	}
	if _, _, ok := c.hopsNeeded(0.01, alpha, 12); ok {
		t.Error("a hundredth of the spread is found with a dozen hops")
	}
}

// Holm's step-down by hand, and against plain weights.
func TestHolm(t *testing.T) {
	row := func(p, weight float64) *tested { return &tested{row: Row{Chance: p}, weight: weight} }
	tests := []*tested{row(0.01, 1), row(0.04, 1), row(0.03, 1), row(0.005, 1)}
	holm(tests)
	for i, want := range []float64{0.03, 0.06, 0.06, 0.02} { // Holm 1979: 4p, 3p, 2p, p, never sinking
		closeTo(t, "corrected", tests[i].row.Corrected, want, 1e-12)
	}
	// A headline row of weight 10 among ten others counts on half of the level.
	tests = []*tested{row(0.02, 10)}
	for range 10 {
		tests = append(tests, row(0.5, 1))
	}
	holm(tests)
	closeTo(t, "headline", tests[0].row.Corrected, 0.04, 1e-12)
	closeTo(t, "others", tests[5].row.Corrected, 1, 0)
}

// With all rows equal, any of them is called real in one table of twenty at most, however
// they hang together; hops may differ from one another by more than their own errors.
func TestFalseAlarmsOfTables(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for _, c := range []struct {
		what         string
		hopsA, hopsB int
		tau, common  float64 // common: share of the spread that all rows have alike
	}{{"three a side", 3, 3, 0, 0}, {"three a side with spread", 3, 3, 2, 0.5}, {"two and one with spread", 2, 1, 2, 0}, {"one a side", 1, 1, 0, 0}} {
		const n, rows = 500, 40
		alarms := 0
		for range n {
			common := make([]float64, c.hopsA+c.hopsB)
			for i := range common {
				common[i] = rng.NormFloat64()
			}
			var tests []*tested
			for k := range rows {
				var g []number
				for i := range common {
					h := c.tau * (math.Sqrt(c.common)*common[i] + math.Sqrt(1-c.common)*rng.NormFloat64())
					g = append(g, number{h + rng.NormFloat64(), 1})
				}
				tests = append(tests, &tested{m: measure{headline: k%10 == 0, worth: 1}, contrast: contrastOf(g[:c.hopsA], g[c.hopsA:])})
			}
			judge(tests)
			for _, x := range tests {
				if x.row.Verdict == Real || x.row.Verdict == TwoHops {
					alarms++
					break
				}
			}
		}
		if most := 35; alarms > most { // of 500 at 5 %: mean 25, two standard deviations 10
			t.Errorf("%s: %d false alarms of %d, want at most %d", c.what, alarms, n, most)
		}
	}
}

// Sellke, Bayarri and Berger's table (2001): p 0.05 gives at best 2.44 to 1, 0.01 gives 8.0,
// 0.005 gives 13.9, 0.001 gives 53 (from memory; -1/(e p ln p) worked out by hand agrees).
func TestOdds(t *testing.T) {
	for p, want := range map[float64]float64{0.05: 2.456, 0.01: 7.988, 0.005: 13.886, 0.001: 53.256, 0.5: 1, 1: 1, 0: 1000} {
		closeTo(t, "odds", oddsAtMost(p), want, 1e-3)
	}
	prev := math.Inf(1)
	for p := 1e-6; p < 1; p *= 1.3 {
		if o := oddsAtMost(p); o > prev {
			t.Errorf("odds rise with the chance at %g", p)
		} else {
			prev = o
		}
	}
}

func TestStudentTails(t *testing.T) {
	// The t of single hops has wider tails than the normal with the same 95 % interval.
	for _, z := range []float64{2.5, 3, 4} {
		normal := 2 * distuv.UnitNormal.Survival(z)
		if c := contrastOf([]number{{0, 1}}, []number{{z, 1e-9}}); c.chance() <= normal {
			t.Errorf("%g half widths: chance %g, the normal's is %g", z, c.chance(), normal)
		}
	}
}

// Why hops are not drawn again and again: the bootstrap's interval of the mean of a few hops
// misses the truth far too often, that from Student's t does not.
func TestDrawingHopsAgainIsTooNarrow(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for _, c := range []struct {
		hops int
		most float64 // of the bootstrap
	}{{2, 0.6}, {3, 0.85}} {
		const runs = 600
		boot, student := 0, 0
		for range runs {
			var list []number
			for range c.hops {
				list = append(list, number{y: rng.NormFloat64(), sd: 1e-3})
			}
			means := make([]float64, 400)
			for k := range means {
				for range list {
					means[k] += list[rng.IntN(len(list))].y / float64(len(list))
				}
			}
			sort.Float64s(means)
			if means[10] <= 0 && 0 <= means[389] {
				boot++
			}
			w := weigh(list, 1)
			if half := w.error(w.squares/float64(c.hops-1)) * studentT(float64(c.hops-1)).Quantile(0.975); math.Abs(w.mean) <= half {
				student++
			}
		}
		b, s := float64(boot)/runs, float64(student)/runs
		t.Logf("%d hops: drawn again %.2f, Student's t %.2f", c.hops, b, s)
		if b > c.most || s < 0.92 {
			t.Errorf("%d hops: drawn again %.2f, Student's t %.2f", c.hops, b, s)
		}
	}
}
