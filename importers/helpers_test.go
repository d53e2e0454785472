package importers

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hopcard/flight"
)

// writeHop writes files into a folder of their own and returns it.
func writeHop(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "hop")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func mustRead(t *testing.T, path string) *flight.Hop {
	t.Helper()
	h, err := ReadHop(context.Background(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	checkHop(t, h)
	return h
}

// checkHop asks of any hop what every hop must fulfil.
func checkHop(t testing.TB, h *flight.Hop) {
	t.Helper()
	for _, c := range h.Channels {
		if len(c.TimeS) != len(c.Value) || len(c.TimeS) == 0 {
			t.Fatalf("%s: %d stamps, %d values", c.Column, len(c.TimeS), len(c.Value))
		}
		for i := range c.TimeS {
			if i > 0 && !(c.TimeS[i] > c.TimeS[i-1]) {
				t.Fatalf("%s: stamp %d is %v after %v", c.Column, i, c.TimeS[i], c.TimeS[i-1])
			}
			if math.IsInf(c.Value[i], 0) || math.IsNaN(c.TimeS[i]) || math.IsInf(c.TimeS[i], 0) {
				t.Fatalf("%s: sample %d is %v at %v", c.Column, i, c.Value[i], c.TimeS[i])
			}
		}
		if c.Sign != 1 && c.Sign != -1 || c.Sure < 0 || c.Sure > 1 || c.Scale == 0 {
			t.Fatalf("%s: sign %d, sure %v, scale %v", c.Column, c.Sign, c.Sure, c.Scale)
		}
	}
}

// findings returns the findings of a code.
func findings(h *flight.Hop, code flight.Code) []flight.Finding {
	var out []flight.Finding
	for _, f := range h.Findings {
		if f.Code == code {
			out = append(out, f)
		}
	}
	return out
}

func wantCode(t *testing.T, h *flight.Hop, code flight.Code, part string) flight.Finding {
	t.Helper()
	for _, f := range findings(h, code) {
		if strings.Contains(f.Text, part) {
			return f
		}
	}
	t.Errorf("no finding %q with %q among:%s", code, part, listFindings(h))
	return flight.Finding{}
}

func listFindings(h *flight.Hop) string {
	s := ""
	for _, f := range h.Findings {
		s += fmt.Sprintf("\n  %s %s %s %s: %s", f.Code, f.Severity, f.File, f.Channel, f.Text)
	}
	return s
}

func column0(t *testing.T, h *flight.Hop, q flight.Quantity) *flight.Channel {
	t.Helper()
	c := h.Channel(q)
	if c == nil {
		t.Fatalf("no channel of %s%s", q, listFindings(h))
	}
	return c
}

const deg = math.Pi / 180

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// gentle is a record of an aircraft that rolls and pitches slowly, in SI, at 50 Hz. Rest
// for four seconds, then motion, so that every check has something to look at.
type gentle struct {
	t, roll, pitch, p, q, ax, ay, az, lat, lon []float64
}

// newGentle makes n samples. The attitude follows the stick through a lag; the rates
// are its exact derivatives to first order (small angles).
func newGentle(n int) gentle {
	var g gentle
	const dt = 0.02
	for i := range n {
		ti := float64(i) * dt
		s := math.Max(0, ti-4)
		on := 1.0
		if s == 0 {
			on = 0
		}
		w1, w2 := 2.1, 1.7
		roll := 2*deg + 6*deg*on*(1-math.Cos(w1*s))
		pitch := 1.5*deg + 5*deg*on*(1-math.Cos(w2*s))
		p, q := 6*deg*on*w1*math.Sin(w1*s), 5*deg*on*w2*math.Sin(w2*s)
		g.t = append(g.t, ti)
		g.roll, g.pitch = append(g.roll, roll), append(g.pitch, pitch)
		g.p, g.q = append(g.p, p), append(g.q, q)
		const g0 = flight.StandardGravity
		g.ax, g.ay = append(g.ax, g0*math.Sin(pitch)), append(g.ay, -g0*math.Sin(roll)*math.Cos(pitch))
		g.az = append(g.az, -g0*math.Cos(roll)*math.Cos(pitch))
		g.lat = append(g.lat, 0.3*on*math.Sin(w1*(s+0.15)))
		g.lon = append(g.lon, 0.25*on*math.Sin(w2*(s+0.15)))
	}
	return g
}

// written is a column as a logger writes it: value = SI times k.
type written struct {
	name   string
	si     []float64
	k      float64
	format string
}

// logText writes columns with a delimiter.
func logText(delim string, cols ...written) string {
	var b strings.Builder
	for k, c := range cols {
		if k > 0 {
			b.WriteString(delim)
		}
		b.WriteString(c.name)
	}
	b.WriteByte('\n')
	for i := range cols[0].si {
		for k, c := range cols {
			if k > 0 {
				b.WriteString(delim)
			}
			fmt.Fprintf(&b, c.format, c.si[i]*c.k)
		}
		b.WriteByte('\n')
	}
	return b.String()
}
