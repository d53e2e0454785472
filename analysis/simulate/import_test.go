//go:build study

package simulate_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	. "hopcard/analysis/simulate"
	"hopcard/flight"
	"hopcard/importers"
)

// score is how a set of draws was imported.
type score struct {
	columns, wrong, silent int
	report                 []string
}

// mark compares an imported hop with the dress it was written in. A wrong or missing column
// is silent if no finding names it.
func (s *score) mark(name string, h *flight.Hop, d Dress) {
	said := map[string]bool{}
	for _, f := range h.Findings {
		said[f.File+"\x00"+f.Channel] = true
		if f.Channel == "" {
			said[f.File] = true
		}
	}
	for _, file := range d.Files {
		for _, c := range file.Columns {
			s.columns++
			got := find(h, file.Name, c.Quantity)
			why := ""
			sign := c.Sign
			if sign == 0 {
				sign = 1
			}
			switch {
			case got == nil:
				why = "missing"
			case got.Unit != c.Unit:
				why = fmt.Sprintf("unit %s", got.Unit)
			case got.Sign != sign:
				why = fmt.Sprintf("sign %d", got.Sign)
			default:
				continue
			}
			s.wrong++
			heard := said[file.Name+"\x00"+c.Name] || said[file.Name+"\x00"+string(c.Quantity)]
			if !heard {
				s.silent++
			}
			s.report = append(s.report, fmt.Sprintf("%s %s %q (%s, %s, %+d): %s, finding %v", name, file.Name, c.Name, c.Quantity, c.Unit, sign, why, heard))
		}
	}
}

func find(h *flight.Hop, file string, q flight.Quantity) *flight.Channel {
	for i := range h.Channels {
		c := &h.Channels[i]
		if c.Quantity == q && !c.Derived && h.Sources[c.Source].File == file {
			return c
		}
	}
	return nil
}

// flown are the hops the draws dress: calm with a bar, windy with a bare head.
func flown() []*Flight {
	day := time.Date(2031, 5, 4, 6, 12, 0, 0, time.UTC)
	base := Scenario{Seed: 5, Trim: UsualTrim(), Sensors: UsualSensors(), StartedAt: day, StepS: 0.005, HeadingRad: 1}
	bar, bare := base, base
	legs := append(Doublets(flight.PitchAxis, 2, 0.1), Doublets(flight.RollAxis, 2, 0.07)...)
	bar.Head, bar.Pilot, bar.Legs = BarHead("bar", 0.6), BarPilot(), Whole(true, append(legs, Leg{Kind: Hover, LengthS: 30})...)
	bar.Air = Air{Mean: Constant(1.5), DirectionFrom: Constant(1), Gusts: 1.5}
	bare.Seed, bare.Head, bare.Pilot = 6, BareHead(), BarePilot()
	bare.Legs = Whole(true, append(Doublets(flight.PitchAxis, 2, 0.06), append(Doublets(flight.RollAxis, 2, 0.04), Leg{Kind: Hover, LengthS: 30})...)...)
	bare.Air = Air{Mean: Constant(4), DirectionFrom: Constant(1.4), Gusts: 6}
	return []*Flight{Fly(bar), Fly(bare)}
}

func importDraws(t *testing.T, n int) *score {
	flights := flown()
	s := &score{}
	for k := range n {
		f := flights[k%2]
		d := RandomDress(rand.New(rand.NewPCG(uint64(k), 20)))
		dir := filepath.Join(t.TempDir(), "hop")
		if err := f.Write(dir, d); err != nil {
			t.Fatal(err)
		}
		h, err := importers.ReadHop(context.Background(), dir, importers.Options{})
		if err != nil {
			t.Errorf("draw %d: %v", k, err)
			continue
		}
		s.mark(fmt.Sprintf("draw %d", k), h, d)
	}
	return s
}

// Hops dressed at random come back with the right columns, units and signs in 99 of 100
// columns, and where not, a finding says so.
func TestImportOfRandomDresses(t *testing.T) {
	s := importDraws(t, 400)
	t.Logf("%d columns, %d wrong, %d of them without a finding", s.columns, s.wrong, s.silent)
	if s.wrong > s.columns/100 || s.silent > 0 {
		t.Errorf("%d of %d columns wrong, %d silently:\n%s", s.wrong, s.columns, s.silent, strings.Join(s.report, "\n"))
	}
}

// The demo reads back: every column, and clocks as the story has them.
func TestImportOfTheDemo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	if err := WriteDemo(context.Background(), dir, nil); err != nil {
		t.Fatal(err)
	}
	book, err := flight.OpenLogbook(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range book.Hops {
		h, err := importers.ReadHop(context.Background(), e.Path, importers.Options{})
		if err != nil {
			t.Errorf("%s: %v", e.Name, err)
			continue
		}
		for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.RollRate, flight.PitchRate, flight.AccelZ, flight.LatStick, flight.LonStick} {
			c := h.Channel(q)
			if c == nil {
				t.Errorf("%s: no %s", e.Name, q)
				continue
			}
			if q == flight.AccelZ && math.Abs(c.Value[0]+flight.StandardGravity) > 1 {
				t.Errorf("%s: z reads %g at rest", e.Name, c.Value[0])
			}
		}
		_, common := h.CommonClock(h.Channel(flight.Roll), h.Channel(flight.LatStick))
		if want := e.Name != "2031-05-11-b"; common != want {
			t.Errorf("%s: stick and attitude on one clock: %v, want %v", e.Name, common, want)
		}
		if e.Name == "2031-05-10-a" && len(h.Marks) != 3 {
			t.Errorf("%s: marks %v", e.Name, h.Marks)
		}
		if e.Name == "2031-05-03-a" && h.Channel(flight.WindSpeed) == nil {
			t.Errorf("%s: the wind notes were not read", e.Name)
		}
		for _, f := range h.Findings {
			t.Logf("%s: %s %s %s: %s", e.Name, f.Severity, f.Code, f.File, f.Text)
		}
	}
}
