package tui

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/muesli/termenv"

	"hopcard/report"
)

// mostKeys is how many keys from the start a figure of the card may be away.
const mostKeys = 3

// Where each kind of figure of a card is found on the screens, from the list with the hop
// selected, in the smallest usual window.
func TestKeyPathsOfFigures(t *testing.T) {
	for _, c := range []struct {
		figure string
		keys   []string
		shows  []string
	}{
		{"verdict", nil, []string{"STOP", "pilot-coupled growing oscillation in roll at 60.0 s"}},
		{"every reason", []string{"5"}, []string{"only 7 % of longitudinal stick left"}},
		{"advice", []string{"5"}, []string{"Step back to the last configuration"}},
		{"date and configuration", nil, []string{"bar 400 g"}},
		{"flags", []string{"5"}, []string{"60.0 to 70.0 s", "growth"}},
		{"damping over time", []string{"5", "d"}, []string{"roll: apparent damping ratio"}},
		{"control left", []string{"5", "c"}, []string{"left %", "59.0", "7.00"}},
		{"modes", []string{"5", "m"}, []string{"-0.040 (-0.090 to 0.010)", "28.0 (19.0 to 37.0)"}},
		{"margins", []string{"5", "l"}, []string{"1.90 (1.70 to 2.10)", "63.0 (55.0 to 71.0)", "10.4 (8.90 to 11.9)"}},
		{"pilot", []string{"5", "l"}, []string{"delay 0.25 s", "lead 0.30 s", "gain 1.40 % of travel per deg"}},
		{"other pilots", []string{"5", "p"}, []string{"3.67 (3.14 to 4.19)", "69.0 (61.0 to 77.0)"}},
		{"roll bandwidth and phase delay", []string{"3"}, []string{"2.31 rad/s (2.19 to 2.43)", "99.0 ms (93.0 to 105)"}},
		{"roll lags and delays", []string{"3"}, []string{"210 ms (198 to 222)", "110 ms (102 to 118)", "489 ms (469 to 509)"}},
		{"coupling", []string{"3"}, []string{"coupling", "0.21 (0.16 to 0.26)"}},
		{"phasing", []string{"3"}, []string{"4.01 deg (2.86 to 5.16)"}},
		{"roll model", []string{"3", "end"}, []string{"1.20 (1.10 to 1.30)", "87.4 %"}},
		{"pitch bandwidth and phase delay", []string{"3", "a"}, []string{"longitudinal stick to pitch", "2.31 rad/s (2.19 to 2.43)"}},
		{"pitch model", []string{"3", "a", "end"}, []string{"longitudinal stick to pitch", "3.10 (2.70 to 3.50)"}},
		{"wind", []string{"4", "w"}, []string{"3.50 m/s  (3.30 to 3.70)", "2.50 m/s  (2.20 to 2.80)", "steady"}},
		{"phases of wind", []string{"4", "p"}, []string{"60.0 to 112.0 s", "gusty"}},
		{"classes of air", []string{"4", "c"}, []string{"att. deg", "1.83"}},
		{"turbulence", []string{"4", "t"}, []string{"length along"}},
		{"gust answers", []string{"4", "a"}, []string{"1.15 (0.92 to 1.38)", "2.10 (1.60 to 2.60)"}},
		{"findings", []string{"6"}, []string{"rate-factor", "no wind for 10.0 s"}},
		{"files and clocks", []string{"6", "l"}, []string{"12000 rows", "12.482 s (12.472 to 12.492)"}},
		{"event marks", []string{"6", "e"}, []string{"felt a wallow"}},
	} {
		m := started(t, fakeOptions(8), 80, 24, termenv.Ascii)
		press(m, c.keys...)
		if len(c.keys) > mostKeys {
			t.Errorf("%s: %d keys", c.figure, len(c.keys))
		}
		for _, s := range c.shows {
			if !strings.Contains(strings.Join(strings.Fields(m.View()), " "), strings.Join(strings.Fields(s), " ")) {
				t.Errorf("%s: %v does not show %q:\n%s", c.figure, c.keys, s, m.View())
			}
		}
	}
}

// Every figure that a card holds is on a screen at most three keys from the start: on the
// card's own screen, a letter goes to each part.
func TestEveryFigureOfCardInThreeKeys(t *testing.T) {
	o := fakeOptions(8)
	o.Card = report.Markdown
	figure := regexp.MustCompile(`[-+]?[0-9]+(\.[0-9]+)?`)
	m := started(t, o, 80, 24, termenv.Ascii)
	press(m, "7")
	g := m.screens[m.at].(*cardPage)
	g.freshen()
	var screens []string
	for _, key := range append([]string{"home"}, jumpKeys(g)...) {
		press(m, key)
		screens = append(screens, m.View())
		press(m, "pgdown") // 7, a letter, and a page further or back
		screens = append(screens, m.View())
		press(m, key, "pgup")
		screens = append(screens, m.View())
	}
	var card strings.Builder
	if err := o.Card(&card, m.desk.current.d); err != nil {
		t.Fatal(err)
	}
	seen := strings.Join(screens, "\n")
	figures := figure.FindAllString(card.String(), -1)
	if len(figures) < 100 {
		t.Fatalf("the card holds only %d figures", len(figures))
	}
	for _, l := range g.lines { // with their places: the same figure elsewhere does not count
		text := strings.TrimRight(safe(l.text), " ")
		if figure.MatchString(text) && !strings.Contains(seen, text) {
			t.Errorf("not within three keys: %q", text)
		}
	}
	all := figuresIn(g.lines, figure)
	for _, f := range figures {
		if !slices.Contains(all, f) {
			t.Errorf("the card's %s is cut off on its screen", f)
		}
	}
}

func jumpKeys(g *cardPage) []string {
	var keys []string
	for _, b := range g.jumps() {
		keys = append(keys, b.Keys()...)
	}
	return keys
}

func figuresIn(ls []line, figure *regexp.Regexp) []string {
	var all []string
	for _, l := range ls {
		all = append(all, figure.FindAllString(l.lead+l.text, -1)...)
	}
	return all
}
