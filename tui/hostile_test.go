package tui

import (
	"context"
	"fmt"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
	"pgregory.net/rapid"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// Everything a terminal could take for an order.
var hostile = []string{
	"\x1b]0;owned\a", "\x1b[2J\x1b[H", "\u009b31m", "a\rb", "line\nline", "tab\tb", "\x00\x07\b", "\u202eabc\u202c",
	"\u200f\u061c", "e\u0301\u0301\u0301\u0301", strings.Repeat("x", 5000), "名前は長い", "\xff\xfe\xc0", "אבג", "<script>", "=1+1",
}

func hostileDebrief(s string) *debrief.Debrief {
	d := fakeDebrief(s, 60, 20)
	h := d.Hop
	h.Configuration, h.Notes = s, s
	h.Marks = append(h.Marks, flight.Mark{TimeS: 0, Text: s})
	for i := range h.Sources {
		h.Sources[i].File, h.Sources[i].Dress = s, s
	}
	for i := range h.Channels {
		h.Channels[i].Column, h.Channels[i].Unit = s, flight.Unit(s)
	}
	d.Findings = append([]flight.Finding{{Code: "gap", Severity: flight.Stop, File: s, Channel: s, Text: s, Advice: s}}, d.Findings...)
	d.Verdict.Reasons = append([]debrief.Reason{{Text: s, Weight: debrief.No}}, d.Verdict.Reasons...)
	d.Stability.Unstable[0].Reason = s
	d.Stability.Modes[0].Method = s
	d.Responses[1].Model.Form, d.Responses[1].Model.Parameters[0].Name = s, s
	return d
}

func TestHostileText(t *testing.T) {
	for _, s := range hostile {
		o := fakeOptions(2)
		o.Logbook.Hops[0] = flight.HopEntry{Name: s, Path: s, Configuration: s, Problem: fmt.Errorf("%s", s)}
		o.Logbook.Dir, o.Logbook.Aircraft.Name, o.Logbook.Aircraft.Field = s, s, s
		o.Load = func(_ context.Context, e flight.HopEntry, p func(float64, string)) (*debrief.Debrief, error) {
			p(0.5, s)
			if e.Name == "hop-02" {
				return nil, fmt.Errorf("%s", s)
			}
			return hostileDebrief(s), nil
		}
		m := started(t, o, 80, 24, termenv.Ascii)
		send(m, noticeMsg{s})
		for i, keys := range [][]string{nil, {"enter"}, {"f"}, {"3"}, {"4"}, {"5"}, {"6"}, {"1", "down", "enter"}} {
			press(m, keys...)
			if err := checkView(m.View(), 80, 24); err != nil {
				t.Errorf("text %.20q, screen %d: %v", s, i, err)
			}
		}
	}
}

// checkView says what is wrong with a screen as such: its size, or a character that is
// an order to the terminal.
func checkView(view string, w, h int) error {
	lines := strings.Split(view, "\n")
	if len(lines) > max(h, 1) {
		return fmt.Errorf("%d rows on a terminal of %d", len(lines), h)
	}
	for i, l := range lines {
		if ansi.StringWidth(l) > w {
			return fmt.Errorf("row %d is %d wide on a terminal of %d: %q", i, ansi.StringWidth(l), w, l)
		}
		if strings.ContainsFunc(l, unsafeRune) {
			return fmt.Errorf("row %d holds a character that is not safe: %q", i, l)
		}
	}
	return nil
}

var someKeys = []string{"enter", "esc", "tab", "shift+tab", "left", "right", "up", "down", "shift+left", "shift+right",
	"pgup", "pgdown", "home", "end", " ", "backspace", "1", "2", "3", "4", "5", "6", "7", "+", "-", "0", "[", "]", "n", "p", "N", "f", "F",
	"z", "a", "y", "t", "r", "o", "/", "s", "?", "x", "é", "\x00", "b", "g", "G", "j", "k", "h", "l", "H", "L",
	"8", "9", "m", "M", "u", "U", "v", "w", "S", "K", ":", "c", "d", "i", "f2", "enter", "enter", "6", "n", "7"}

// Whatever keys, mouse and sizes come, the program draws within its window.
func TestNothingPanics(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := started(t, fakeOptions(6), 80, 24, termenv.Ascii)
		w, h := 80, 24
		for range rapid.IntRange(1, 60).Draw(rt, "steps") {
			switch rapid.IntRange(0, 9).Draw(rt, "what") {
			case 0:
				w, h = rapid.IntRange(0, 250).Draw(rt, "w"), rapid.IntRange(0, 80).Draw(rt, "h")
				send(m, tea.WindowSizeMsg{Width: w, Height: h})
			case 1, 2:
				send(m, tea.MouseMsg{X: rapid.IntRange(-1, 260).Draw(rt, "x"), Y: rapid.IntRange(-1, 90).Draw(rt, "y"),
					Action: tea.MouseAction(rapid.IntRange(0, 2).Draw(rt, "action")),
					Button: tea.MouseButton(rapid.IntRange(0, 11).Draw(rt, "button"))})
			default:
				press(m, rapid.SampledFrom(someKeys).Draw(rt, "key"))
			}
			if err := checkView(m.View(), w, h); err != nil {
				rt.Fatal(err)
			}
		}
	})
}

// A hop that gave next to nothing is shown as such on every screen.
func TestEmptyDebrief(t *testing.T) {
	for name, d := range map[string]*debrief.Debrief{
		"nothing":     {Hop: &flight.Hop{Name: "bare"}, Aircraft: &flight.Aircraft{}},
		"one sample":  {Hop: &flight.Hop{Name: "bare", Channels: []flight.Channel{{Quantity: flight.Roll, TimeS: []float64{0}, Value: []float64{0.1}}}, Sources: []flight.Source{{File: "a.csv"}}}, Aircraft: &flight.Aircraft{}},
		"no response": {Hop: fakeDebrief("bare", 20, 10).Hop, Aircraft: &flight.Aircraft{}, Findings: []flight.Finding{{Code: flight.CodeNoResponse, Severity: flight.Stop, Text: "the rotor stood still.", Advice: "Spin it up."}}},
	} {
		o := fakeOptions(1)
		o.Load = func(context.Context, flight.HopEntry, func(float64, string)) (*debrief.Debrief, error) { return d, nil }
		m := started(t, o, 80, 24, termenv.Ascii)
		press(m, "enter")
		for _, k := range []string{"2", "3", "4", "5", "6", "2", "+", "right", "n", "f", "z", "a", "y", "t", "3", "a", "r", "right", "+", "v", "end", "v"} {
			press(m, k)
			if err := checkView(m.View(), 80, 24); err != nil {
				t.Errorf("%s, key %s: %v", name, k, err)
			}
		}
		if name == "no response" {
			contains(t, m.View(), "no response to the stick", "the rotor stood still. Spin it up.")
		}
		for _, k := range []string{"6", "n", "enter", "esc", "s", "x", "c", "enter", "down", "enter", "5", "l", "p", "7", "9", "0", "2", "x", "t", "x", "esc"} {
			press(m, k)
			if err := checkView(m.View(), 80, 24); err != nil {
				t.Errorf("%s, key %s: %v", name, k, err)
			}
		}
	}
}

// Hostile names of files and columns harm neither the form, nor an order, nor a notice, nor
// the settings file.
func TestHostileDecisions(t *testing.T) {
	for _, name := range []string{"\x1b[2Jcol", "col\u202eumn", "a\nb", "]\n[[file]]", `"quoted" \back`, "\x9b31m", strings.Repeat("long ", 60), "שלום", "\xff\xfe"} {
		o := keptOptions(t, 1)
		load := o.Load
		o.Load = func(ctx context.Context, e flight.HopEntry, p func(float64, string)) (*debrief.Debrief, error) {
			d, err := load(ctx, e, p)
			d.Hop.Channels[0].Column, d.Hop.Sources[0].File = name, name+".csv"
			d.Hop.Configuration, d.Hop.Notes = name, name
			return d, err
		}
		m := started(t, o, 80, 24, termenv.Ascii)
		press(m, "enter", "6", "n", "n")
		for _, k := range []string{"enter", "right", "down", "enter", "s", "x", "u", "c", "enter", "7", "r", "a", "f2", "6", "u"} {
			press(m, k)
			if err := checkView(m.View(), 80, 24); err != nil {
				t.Errorf("name %.20q, key %s: %v", name, k, err)
			}
			if s := settingsText(t, o, 0); s != "" {
				if _, err := flight.ReadHopSettings(o.Logbook.Hops[0].Path); err != nil {
					t.Errorf("name %.20q, key %s: the settings are broken: %v\n%s", name, k, err, s)
				}
			}
		}
	}
}
