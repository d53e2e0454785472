package tui

import (
	"strings"
	"testing"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"
)

// Every screen is named on the tab line at every width, and a click finds it, even if
// there are ten.
func TestTabsFit(t *testing.T) {
	for _, n := range []int{8, 10} {
		for _, w := range []int{minWidth, 75, 80, 100, 200} {
			m := started(t, fakeOptions(3), w, 24, termenv.Ascii)
			m.screens = m.screens[:min(n, len(m.screens))]
			m.keys = newGlobalKeys(titlesOf(m.screens))
			for len(m.screens) < n {
				title := []string{"head", "trend"}[n-len(m.screens)-1]
				m.screens = append(m.screens, newPage(m.desk, title, dataLines))
				m.keys = newGlobalKeys(titlesOf(m.screens))
			}
			for i := range m.screens {
				m.at = i
				tabs := m.tabs()
				bar := ansiRow(m.View(), tabRow)
				if tabs[n-1].to > w {
					t.Errorf("%d screens at %d columns: the last tab ends at %d", n, w, tabs[n-1].to)
				}
				for k, tab := range tabs {
					digit := m.keys.Screens[k].Help().Key
					if !strings.Contains(bar, strings.TrimRight(tab.text, " ")) || !strings.Contains(tab.text, digit) {
						t.Errorf("%d columns: tab %q is not on the bar %q", w, tab.text, bar)
					}
					if got := m.tabAt(tab.from + 1); got != k {
						t.Errorf("a click on tab %d finds %d", k, got)
					}
				}
				if !strings.Contains(bar, "["+m.keys.Screens[i].Help().Key+" "+shortTitle(m.screens[i].Title())) &&
					!strings.Contains(bar, "["+m.keys.Screens[i].Help().Key+" "+m.screens[i].Title()+"]") {
					t.Errorf("%d columns: the screen on show is not named on %q", w, bar)
				}
			}
		}
	}
}

func titlesOf(ss []screen) []string {
	var titles []string
	for _, s := range ss {
		titles = append(titles, s.Title())
	}
	return titles
}

func ansiRow(view string, y int) string { return strings.Split(view, "\n")[y] }

// No key that works everywhere is taken by a screen for something else, and no screen
// gives one key two meanings.
func TestKeysAreUnique(t *testing.T) {
	m := started(t, fakeOptions(3), 100, 30, termenv.Ascii)
	general := append([]key.Binding{}, m.keys.Screens...)
	general = append(general, m.keys.Next, m.keys.Prev, m.keys.Sheet, m.keys.Order, m.keys.Speed, m.keys.Undo, m.keys.Redo, m.keys.Stop, m.keys.Quit)
	for _, s := range m.screens {
		meaning := map[string]string{}
		for _, b := range general {
			for _, k := range b.Keys() {
				meaning[k] = b.Help().Desc
			}
		}
		for _, group := range s.FullHelp() {
			for _, b := range group {
				for _, k := range b.Keys() {
					if was, taken := meaning[k]; taken && was != b.Help().Desc {
						t.Errorf("screen %s: %q is %q and %q", s.Title(), k, was, b.Help().Desc)
					}
					meaning[k] = b.Help().Desc
				}
			}
		}
	}
}

// What went wrong is read whole, however long it is, until the next key.
func TestLongNotice(t *testing.T) {
	for _, w := range []int{80, 120} {
		m := started(t, fakeOptions(3), w, 24, termenv.Ascii)
		text := "nothing changed: " + strings.Repeat("a long story of what is wrong ", 8) + "and what to do"
		send(m, noticeMsg{text})
		if got := strings.Join(strings.Fields(m.View()), " "); !strings.Contains(got, text) {
			t.Errorf("%d columns: not all is there:\n%s", w, m.View())
		}
		if n := strings.Count(m.View(), "\n") + 1; n != 24 {
			t.Errorf("%d rows, want 24", n)
		}
		send(m, tea.KeyMsg{Type: tea.KeyDown})
		lacks(t, m.View(), "a long story")
	}
}

// The screens of the head and of the trend are reached by key and name; what the trend
// reads goes on while another screen is on show.
func TestHeadAndTrend(t *testing.T) {
	m := started(t, fakeOptions(4), 120, 40, termenv.Ascii)
	press(m, "enter", "9")
	contains(t, m.View(), "[9 head]", "rotor head bar 400 g on paper")
	press(m, "right", "w")
	_, cmd := m.Update(keyMsg("0")) // the reading is not run yet
	press(m, "2")
	run(m, cmd)
	contains(t, m.View(), "[2 hop]")
	order(m, "trend")
	contains(t, m.View(), "[0 trend]", "roll correlation lag", "of 4 hops")
}
