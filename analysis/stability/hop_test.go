package stability

import (
	"context"
	"math"
	"strings"
	"testing"

	"hopcard/analysis/segment"
	"hopcard/flight"
)

// TestDampingAlongTheFlight: while the story's oscillation grows, the apparent damping is
// -sigma/sqrt(sigma^2+omega^2).
func TestDampingAlongTheFlight(t *testing.T) {
	s := usualStory()
	r, _ := s.analyse(t)
	want := -s.sigma / math.Hypot(s.sigma, s.omega)
	n := 0
	for _, p := range r.Damping {
		if p.Axis != flight.RollAxis || p.TimeS < 34 || p.TimeS > 36 {
			continue
		}
		n++
		if math.Abs(p.Ratio.Value-want) > 0.03 || math.Abs(p.FrequencyRadS-s.omega) > 0.1*s.omega {
			t.Errorf("at %g s %v at %g rad/s, want %.3f at %g", p.TimeS, p.Ratio, p.FrequencyRadS, want, s.omega)
		}
	}
	if n != 3 {
		t.Errorf("%d points in three seconds", n)
	}
}

// TestModeInAHop: 8 s of still stick after a rap, with a decaying oscillation.
func TestModeInAHop(t *testing.T) {
	const zeta, wn = 0.2, 2.5
	wd := wn * math.Sqrt(1-zeta*zeta)
	h := flown(func(s float64) float64 {
		u := s - 40
		base := 0.0
		if u > 0 && u < 9 { // the story's slow hover motion stops while nobody steers
			held := story{sign: 1}
			base = held.roll(40) - held.roll(s)
			return base + 0.06*math.Exp(-zeta*wn*u)*math.Sin(wd*u)
		}
		return base
	}, func(s float64) float64 {
		if s > 40 && s < 48.5 {
			return 0.02
		}
		return 0.02 + 0.02*math.Sin(1.7*s)
	})
	segs, _ := segment.Find(h)
	r, err := Analyse(context.Background(), h, segs, flight.Limits{})
	if err != nil || len(r.Modes) == 0 || !strings.Contains(r.Modes[0].Method, "still") {
		t.Fatalf("%v, modes %+v in %v", err, r.Modes, segs)
	}
	m := r.Modes[0]
	if m.Axis != flight.RollAxis || math.Abs(m.DampingRatio.Value-zeta) > 0.01 || math.Abs(m.FrequencyRadS.Value-wn) > 0.02*wn {
		t.Errorf("mode %s %v %v, want %g at %g", m.Axis, *m.DampingRatio, *m.FrequencyRadS, zeta, wn)
	}
}

func TestFindingsSayWhatIsWithheld(t *testing.T) {
	for name, c := range map[string]struct {
		edit func(s *story)
		want flight.Code
	}{
		"no stick":               {func(s *story) { s.blind = true }, flight.CodeMissing},
		"stick on another clock": {func(s *story) { s.untimed = true }, flight.CodeNoClock},
	} {
		s := usualStory()
		c.edit(&s)
		r, _ := s.analyse(t)
		found := false
		for _, f := range r.Findings {
			found = found || f.Code == c.want && f.Channel == string(flight.LatStick) && f.Text != "" && f.Advice != ""
		}
		if !found || len(r.Control) != 0 {
			t.Errorf("%s: findings %v, control %v", name, r.Findings, r.Control)
		}
	}
}

// TestExcludedSpansAreLeftOut: what the crew ruled out is neither flagged nor counted.
func TestExcludedSpansAreLeftOut(t *testing.T) {
	s := usualStory()
	h := s.hop()
	segs, _ := segment.Find(h)
	for _, c := range []struct {
		exclude flight.Span
		want    int
	}{{flight.Span{FromS: 50, ToS: 60}, 1}, {flight.Span{FromS: 29, ToS: 41}, 0}, {flight.Span{FromS: 0, ToS: 100}, 0}} {
		h.Exclude = []flight.Span{c.exclude}
		r, err := Analyse(context.Background(), h, segs, flight.Limits{AttitudeDeg: 80, RateDegS: 500})
		if err != nil || len(r.Unstable) != c.want {
			t.Errorf("without %v: %v %+v, want %d flags", c.exclude, err, r.Unstable, c.want)
		}
		for _, ctl := range r.Control {
			if c.want == 0 && ctl.HighPercent > 20 {
				t.Errorf("without %v: control %+v", c.exclude, ctl)
			}
		}
	}
}
