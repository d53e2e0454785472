//go:build study

package wind

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/importers"
)

// TestStudyDemo reads the demo hops back as a user would and lists what the air did.
func TestStudyDemo(t *testing.T) {
	dir := t.TempDir()
	ctx := context.Background()
	if err := simulate.WriteDemo(ctx, dir, func(float64, string) {}); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !e.IsDir() {
			continue
		}
		h, err := importers.ReadHop(ctx, filepath.Join(dir, e.Name()), importers.Options{})
		if err != nil {
			t.Error(e.Name(), err)
			continue
		}
		segs, _ := segment.Find(h)
		flown, _ := segment.Flight(segs)
		r := analyse(t, h, flown)
		t.Log(e.Name(), flown)
		if r.Whole == nil {
			t.Log("  no wind", r.Findings)
			continue
		}
		for _, p := range append([]Phase{*r.Whole}, r.Phases...) {
			t.Logf("  %v %s mean %.2f (%.2f %.2f) sd %.2f dir %.0f rule %s", p.Span, p.Class, p.MeanMS.Value, p.MeanMS.Low, p.MeanMS.High, p.SDMS.Value, p.DirectionRad.Value/degree, p.DirectionRule)
			if p.Gust3sMS != nil && p.Lull3sMS != nil {
				t.Logf("     gust %.2f lull %.2f", p.Gust3sMS.Value, p.Lull3sMS.Value)
			}
			if tb := p.Turbulence; tb != nil && tb.AlongSDMS != nil {
				t.Logf("     sd %+v length %+v expected %+v at %.1f m", *tb.AlongSDMS, *tb.AlongLengthM, tb.Expected, tb.HeightM)
			}
		}
		for _, g := range r.Gusts {
			if g.RadPerMS != nil {
				t.Logf("  %s %v: %.2f (%.2f to %.2f) deg per m/s, %d events", g.Axis, g.BandRadS, g.RadPerMS.Value/degree, g.RadPerMS.Low/degree, g.RadPerMS.High/degree, g.Events)
			}
		}
		for _, c := range r.Classes {
			t.Logf("  %+v", c)
		}
		for _, f := range r.Findings {
			t.Log("  ", f.Code, f.Severity, f.Text)
		}
		if math.IsNaN(r.Whole.MeanMS.Value) {
			t.Error("mean is NaN")
		}
	}
}
