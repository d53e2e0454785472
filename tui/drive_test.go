package tui

import (
	"bytes"
	"context"
	"io"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
)

// renderer for a terminal of that many colours.
func testRenderer(p termenv.Profile, light bool) *lipgloss.Renderer {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(p)
	r.SetHasDarkBackground(!light)
	return r
}

// newTestRoot is a program whose jobs are run by run, on the spot.
func newTestRoot(t testing.TB, o Options, p termenv.Profile) *root {
	t.Helper()
	m, err := newRoot(context.Background(), o, testRenderer(p, false))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// run carries out a command and all that follows from it, one after the other.
func run(m *root, cmd tea.Cmd) {
	queue := []tea.Cmd{cmd}
	for n := 0; len(queue) > 0 && n < 10000; n++ {
		cmd, queue = queue[0], queue[1:]
		if cmd == nil {
			continue
		}
		switch msg := cmd().(type) {
		case nil, tea.QuitMsg:
		case tea.BatchMsg:
			queue = append(append([]tea.Cmd{}, msg...), queue...)
		default:
			_, next := m.Update(msg)
			queue = append(queue, next)
		}
	}
}

func send(m *root, msg tea.Msg) {
	_, cmd := m.Update(msg)
	run(m, cmd)
}

// started is a program that has read its logbook.
func started(t testing.TB, o Options, w, h int, p termenv.Profile) *root {
	t.Helper()
	m := newTestRoot(t, o, p)
	send(m, tea.WindowSizeMsg{Width: w, Height: h})
	run(m, m.Init())
	return m
}

// press sends keys by name.
func press(m *root, keys ...string) {
	for _, k := range keys {
		send(m, keyMsg(k))
	}
}

func keyMsg(k string) tea.KeyMsg {
	special := map[string]tea.KeyType{
		"enter": tea.KeyEnter, "esc": tea.KeyEsc, "tab": tea.KeyTab, "shift+tab": tea.KeyShiftTab,
		"left": tea.KeyLeft, "right": tea.KeyRight, "up": tea.KeyUp, "down": tea.KeyDown,
		"shift+left": tea.KeyShiftLeft, "shift+right": tea.KeyShiftRight, "pgup": tea.KeyPgUp, "pgdown": tea.KeyPgDown,
		"home": tea.KeyHome, "f2": tea.KeyF2, "end": tea.KeyEnd, "ctrl+c": tea.KeyCtrlC, " ": tea.KeySpace, "backspace": tea.KeyBackspace,
	}
	if kt, ok := special[k]; ok {
		if kt == tea.KeySpace {
			return tea.KeyMsg{Type: kt, Runes: []rune{' '}}
		}
		return tea.KeyMsg{Type: kt}
	}
	return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
}

func contains(t *testing.T, view string, want ...string) {
	t.Helper()
	for _, s := range want {
		if !bytes.Contains([]byte(view), []byte(s)) {
			t.Errorf("the screen lacks %q:\n%s", s, view)
		}
	}
}

func lacks(t *testing.T, view string, bad ...string) {
	t.Helper()
	for _, s := range bad {
		if bytes.Contains([]byte(view), []byte(s)) {
			t.Errorf("the screen should not show %q:\n%s", s, view)
		}
	}
}
