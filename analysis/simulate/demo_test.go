package simulate

import (
	"context"
	"errors"
	"io/fs"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

func demo(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "whinchat")
	last := -1.0
	err := WriteDemo(context.Background(), dir, func(done float64, what string) {
		if done < last || done > 1 || what == "" {
			t.Errorf("progress %g %q after %g", done, what, last)
		}
		last = done
	})
	if err != nil {
		t.Fatal(err)
	}
	if last != 1 {
		t.Errorf("progress ended at %g", last)
	}
	return dir
}

// bytesOf reads every file below dir.
func bytesOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		files[rel] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func TestDemoLogbook(t *testing.T) {
	dir := demo(t)
	book, err := flight.OpenLogbook(dir)
	if err != nil {
		t.Fatal(err)
	}
	if book.Aircraft.Name != "Whinchat" || book.Aircraft.Field != "Marsh End" || len(book.Aircraft.Configurations) != 3 {
		t.Errorf("aircraft %+v", book.Aircraft)
	}
	if len(book.Hops) < 6 {
		t.Errorf("%d hops", len(book.Hops))
	}
	flown := map[string]int{}
	for _, h := range book.Hops {
		if h.Problem != nil {
			t.Errorf("%s: %v", h.Name, h.Problem)
		}
		if book.Aircraft.Configuration(h.Configuration) == nil {
			t.Errorf("%s flew configuration %q, which aircraft.toml has not", h.Name, h.Configuration)
		}
		flown[h.Configuration]++
	}
	if len(flown) != 3 {
		t.Errorf("configurations flown: %v", flown)
	}
	size := 0
	for name, data := range bytesOf(t, dir) {
		size += len(data)
		if strings.Contains(name, ".part") {
			t.Errorf("left behind: %s", name)
		}
	}
	if size > 15<<20 {
		t.Errorf("%d bytes", size)
	}

	// The same bytes when flown and written once more.
	again := t.TempDir()
	hop := demoHops()[3] // with marks, UTC and a mast
	if err := hop.write(again); err != nil {
		t.Fatal(err)
	}
	first := bytesOf(t, dir)
	for name, data := range bytesOf(t, again) {
		if first[name] != data {
			t.Errorf("%s differs when written again", name)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(dir), ".demo-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Anything else in the folder is left alone.
func TestDemoLeavesForeignFilesAlone(t *testing.T) {
	put := func(dir string, files map[string]string) {
		for name, data := range files {
			path := filepath.Join(dir, name)
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(data), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	ours := map[string]string{"aircraft.toml": "a", "one/log.csv": "b", "two/log.csv": "c"}
	for _, c := range []struct {
		name  string
		there map[string]string
		blame string // empty: nothing wrong
	}{
		{"some of ours", map[string]string{"aircraft.toml": "a", "one/log.csv": "b"}, ""},
		{"a note", map[string]string{"one/mine.txt": "x"}, "mine.txt"},
		{"changed", map[string]string{"aircraft.toml": "other"}, "aircraft.toml"},
	} {
		fresh, dir := t.TempDir(), t.TempDir()
		put(fresh, ours)
		put(dir, c.there)
		err := complete(fresh, dir)
		got := bytesOf(t, dir)
		for name, data := range c.there {
			if got[name] != data {
				t.Errorf("%s: %s now reads %q", c.name, name, got[name])
			}
		}
		if c.blame == "" {
			if err != nil || len(got) != len(ours) {
				t.Errorf("%s: error %v, files %v", c.name, err, got)
			}
			continue
		}
		if !errors.Is(err, ErrForeign) || !strings.Contains(err.Error(), c.blame) || len(got) != len(c.there) {
			t.Errorf("%s: error %v, %d files", c.name, err, len(got))
		}
	}
}

func TestDemoCancelledLeavesNothing(t *testing.T) {
	parent := t.TempDir()
	ctx, cancel := context.WithCancel(context.Background())
	err := WriteDemo(ctx, filepath.Join(parent, "demo"), func(float64, string) { cancel() })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	if entries, _ := os.ReadDir(parent); len(entries) > 0 {
		t.Errorf("left behind: %v", entries)
	}
}

// The story the demo tells is true of the flights it is told by.
func TestDemoStory(t *testing.T) {
	flights := map[string]*Flight{}
	for _, h := range demoHops() {
		h.scenario.StepS = 0.004 // half the work, the same story
		f := Fly(h.scenario)
		flights[h.scenario.Name] = f
		for _, e := range f.Truth.Over15Deg {
			t.Errorf("%s: %s beyond 15 deg", h.scenario.Name, e.Axis)
		}
		for _, e := range f.Truth.AtEnd {
			if e.InFlight {
				t.Errorf("%s: %s stick at its end in flight", h.scenario.Name, e.Axis)
			}
		}
	}
	bare, light, heavy := flights["2031-05-10-a"], flights["2031-05-10-b"], flights["2031-05-11-a"]
	if g := bare.Truth.Growing; len(g) != 1 || !g[0].Passed || !(g[0].GrowthPerS > 0.2) {
		t.Errorf("bare head in gusts: %+v", g)
	}
	for name, f := range flights {
		gusty := f.Truth.WindAtMast.Gust3sMS-f.Truth.WindAtMast.Lull3MS > 3
		if want := f == bare || f == light || f == heavy; gusty != want {
			t.Errorf("%s gusty: %v, want %v", name, gusty, want)
		}
	}
	// Sharp gusts, 0.8 to 2 rad/s, throw the bare head most and the heavy bar least; the
	// heavy bar settles more slowly than the light one.
	for _, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
		b, l, h := sharp(t, bare, axis), sharp(t, light, axis), sharp(t, heavy, axis)
		if !(b > 2*l && l > 1.2*h) {
			t.Errorf("%s, deg per m/s: bare %.2f, light %.2f, heavy %.2f", axis, b, l, h)
		}
	}
	if l, h := slowest(light), slowest(heavy); !(h < 0.6*l) {
		t.Errorf("slowest oscillation decays at %.3f with the light bar, %.3f 1/s with the heavy", l, h)
	}
}

// sharp is the mean answer to gusts from 0.8 to 2 rad/s with the pilot flying, deg per m/s.
func sharp(t *testing.T, f *Flight, a flight.Axis) float64 {
	t.Helper()
	w := rotor.LogSpace(0.8, 2, 12)
	g, err := ClosedGust(f.Truth.Model, f.Scenario.Pilot, a, w)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, h := range g {
		sum += cmplx.Abs(h) / deg / float64(len(g))
	}
	return sum
}

// slowest is the least decay of an oscillation faster than 0.2 rad/s, pilot flying.
func slowest(f *Flight) float64 {
	least := math.Inf(1)
	for _, s := range LoopModes(f.Truth.Model, f.Scenario.Pilot, flight.PitchAxis, 1) {
		if imag(s) > 0.2 {
			least = min(least, -real(s))
		}
	}
	return least
}

// The demo logbook, 11 MB in seven hops, takes 0.92 s of processor time; 2.1 s on two cores with ten
// other jobs on them (amd64).
func BenchmarkWriteDemo(b *testing.B) {
	for b.Loop() {
		if err := WriteDemo(context.Background(), filepath.Join(b.TempDir(), "demo"), nil); err != nil {
			b.Fatal(err)
		}
	}
}
