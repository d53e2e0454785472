package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// patience is how long a test waits for something to appear. It is generous: a loaded
// machine is no failure.
const patience = 60 * time.Second

// answer is what a run of the program gave.
type answer struct {
	code           int
	stdout, stderr string
}

// call runs the program in this process, without a terminal.
func call(t *testing.T, args ...string) answer {
	t.Helper()
	var out, errs bytes.Buffer
	code := run(t.Context(), strings.NewReader(""), &out, &errs, args)
	return answer{code, out.String(), errs.String()}
}

// oneLine fails the test unless the run complained in exactly one line that holds what.
func (a answer) oneLine(t *testing.T, what string) {
	t.Helper()
	if strings.Count(a.stderr, "\n") != 1 || !strings.HasPrefix(a.stderr, "hopcard: ") || !strings.Contains(a.stderr, what) {
		t.Errorf("standard error is %q, want one line \"hopcard: ...\" with %q", a.stderr, what)
	}
}

// smallHop is a minute of hover at 50 Hz with doublets in roll and pitch: rate follows the
// stick 0.1 s late with a lag of 0.2 s. Without a stick, only attitude and rates are
// written.
func smallHop(withStick bool) string {
	const rateHz, lengthS, gain = 50, 70, 60 // gain in deg/s at full stick
	var b strings.Builder
	b.WriteString("time_s,roll_deg,pitch_deg,roll_rate_deg_s,pitch_rate_deg_s,height_m")
	if withStick {
		b.WriteString(",lat_stick_pct,lon_stick_pct")
	}
	b.WriteByte('\n')
	var angle, rate [2]float64
	var sticks [2][]float64
	for i := range rateHz * lengthS {
		t := float64(i) / rateHz
		for a := range 2 {
			u := doublets(t-4*float64(a)) - 0.004*angle[a]
			sticks[a] = append(sticks[a], u)
			late := 0.0
			if i >= rateHz/10 {
				late = sticks[a][i-rateHz/10]
			}
			rate[a] += (gain*late - rate[a]) / (0.2 * rateHz)
			angle[a] += rate[a] / rateHz
		}
		height := 2 * math.Min(1, math.Max(0, math.Min(t-5, lengthS-5-t)))
		ripple := 0.01 * math.Sin(37.7*t)
		fmt.Fprintf(&b, "%.2f,%.3f,%.3f,%.3f,%.3f,%.3f", t, angle[0]+ripple, angle[1]-ripple, rate[0]+ripple, rate[1]-ripple, height)
		if withStick {
			fmt.Fprintf(&b, ",%.2f,%.2f", 100*sticks[0][i], 100*sticks[1][i])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// doublets is a doublet of 12 % every eight seconds of the flight.
func doublets(t float64) float64 {
	if t < 10 || t > 60 {
		return 0
	}
	switch phase := math.Mod(t, 8); {
	case phase < 0.8:
		return 0.12
	case phase < 1.6:
		return -0.12
	}
	return 0
}

func write(t *testing.T, path, text string) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func cancelled() context.Context {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	return ctx
}
