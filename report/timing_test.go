package report

import (
	"bytes"
	"strings"
	"testing"

	"hopcard/flight"
)

// A motion that comes before its stick spoils the phase of its own axis, and of every axis
// timed by the same two logs; of no other.
func TestTimingWithheld(t *testing.T) {
	for _, c := range []struct {
		name, channel string
		sameLogs      bool
		roll, pitch   bool
	}{
		{"roll leads", string(flight.LatStick), true, true, true},
		{"pitch leads, other logs", string(flight.LonStick), false, false, true},
		{"pitch leads, same logs", string(flight.LonStick), true, true, true},
		{"nothing leads", "", true, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := syntheticDebrief()
			d.Findings[0].Channel = c.channel
			lon := flight.Channel{Quantity: flight.LonStick, Source: 1, Sure: 1}
			if !c.sameLogs {
				lon.Source = 2
			}
			d.Hop.Channels = append(d.Hop.Channels, lon)
			doc := parsed(t, d)
			for path, want := range map[string]bool{"responses.0.timing": c.roll, "responses.1.timing": c.roll, "responses.2.timing": c.pitch} {
				got, err := follow(doc, path)
				if (err == nil && got == "withheld") != want {
					t.Errorf("%s is %v, want withheld: %t", path, got, want)
				}
			}
			text := strings.Join(strings.Fields(card(t, d)), " ")
			for axis, want := range map[string]bool{"roll": c.roll, "pitch": c.pitch} {
				if got := strings.Contains(text, "timing withheld, "+axis+": The time between stick and "+axis+" is wrong"); got != want {
					t.Errorf("the card warns of %s: %t, want %t", axis, got, want)
				}
			}
			f := responseFigure(d, flight.RollAxis, room{250, 1})
			drawing := f.svg()
			curves := strings.Count(drawing, `stroke="#000000" stroke-width="0.6"/>`)
			for _, got := range []bool{strings.Contains(f.title, "phase withheld"), strings.Contains(drawing, "not drawn: timing withheld"), curves == 2} {
				if got != c.roll {
					t.Errorf("figure %q\n%s", f.title, drawing)
				}
			}
		})
	}
}

// What the card says of the newer numbers, and that a settling time is not said twice.
func TestCardSaysWhatIsKnown(t *testing.T) {
	text := strings.Join(strings.Fields(card(t, syntheticDebrief())), " ")
	for _, want := range []string{
		"doublet lag: roll 201.3 ms (195.2 to 207.4)", "step coupling: roll 0.250 (0.190 to 0.310)",
		"pitch: mean answer to 7 gusts: peak 1.40 deg (1.00 to 1.80) per m/s, not settled before 3.1 s",
		"pitch, slow hover oscillation, period 13.2 s, doubles in 7.1 s if left alone", "gain may fall by 6.3 dB (4.9 to 7.8)",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q on the card", want)
		}
	}
	if strings.Count(text, "not settled before") != 1 || strings.Contains(text, "period about") {
		t.Error("something is said twice")
	}
	table := string(rendered(t, func(b *bytes.Buffer) error { return CSV(b, syntheticDebrief()) }))
	for _, want := range []string{"doublet lag,roll,201.3,", "\"mean answer to gusts, not settled before\",pitch,3.12,", "gain may fall by,roll,6.3,"} {
		if !strings.Contains(table, want) {
			t.Errorf("no %q in the table", want)
		}
	}
}
