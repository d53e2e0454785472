package importers

import (
	"fmt"
	"math"
	"testing"

	"hopcard/flight"
)

// TestCoarse writes a clean record in steps fine and coarse.
func TestCoarse(t *testing.T) {
	g := newGentle(3000)
	for name, tc := range map[string]struct {
		roll, stick string // how digits are written
		want        int
	}{"fine": {"%.2f", "%.1f", 0}, "whole degrees": {"%.0f", "%.1f", 1}, "coarse stick": {"%.2f", "%.0f", 1}} {
		t.Run(name, func(t *testing.T) {
			scale := 100.0
			if tc.stick == "%.0f" {
				scale = 20 // one step is a twentieth of the travel
			}
			text := "time_s,roll_deg,p_dps,stick_lat\n"
			for i := range g.t {
				text += fmt.Sprintf("%.2f,"+tc.roll+",%.3f,%.2f\n", g.t[i], g.roll[i]/deg, g.p[i]/deg, math.Round(g.lat[i]*scale)/scale)
			}
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": text}))
			if n := len(findings(h, flight.CodeCoarse)); n != tc.want {
				t.Errorf("%d findings of coarse steps, want %d%s", n, tc.want, listFindings(h))
			}
		})
	}
}

// TestAliased samples a roll of 1 Hz with a vibration of 23 Hz beside it, at rates that can
// and cannot hold them.
func TestAliased(t *testing.T) {
	for name, tc := range map[string]struct {
		rateHz, vibration float64
		want              bool
	}{
		"clean at 50": {50, 0, false}, "vibration at 200": {200, 0.02, false}, "vibration at 50": {50, 0.08, true}, "motion at 4": {4, 0, true},
	} {
		t.Run(name, func(t *testing.T) {
			text := "time_s,roll_deg,p_dps\n"
			for i := range 4000 {
				s := float64(i) / tc.rateHz
				p := 0.15*math.Sin(2*math.Pi*0.97*s+math.Sin(s)) + tc.vibration*math.Sin(2*math.Pi*23.3*s)
				text += fmt.Sprintf("%.4f,%.4f,%.4f\n", s, math.Sin(s)/10, p/deg)
			}
			h := mustRead(t, writeHop(t, map[string]string{"a.csv": text}))
			if got := len(findings(h, flight.CodeAliased)) > 0; got != tc.want {
				t.Errorf("found %v, want %v%s", got, tc.want, listFindings(h))
			}
		})
	}
}

// TestCleanHopsAreFineEnough: none of the simulated hops is coarse or aliased.
func TestCleanHopsAreFineEnough(t *testing.T) {
	for _, name := range []string{"h01", "h06", "h08"} {
		readTruth(t, name) // skips where the hops are not
		h := mustRead(t, "../../shared/hops/"+name)
		for _, code := range []flight.Code{flight.CodeCoarse, flight.CodeAliased} {
			for _, n := range findings(h, code) {
				t.Errorf("%s: %s: %s", name, n.Channel, n.Text)
			}
		}
	}
}
