package tui

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/teatest"
	"github.com/muesli/termenv"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// The real event loop: list, open, jump to a flag, response, back, quit.
func TestFlowInEventLoop(t *testing.T) {
	m := newTestRoot(t, fakeOptions(4), termenv.Ascii)
	tm := teatest.NewTestModel(t, m, teatest.WithInitialTermSize(100, 30))
	waitFor := func(text string) {
		t.Helper()
		teatest.WaitFor(t, tm.Output(), func(b []byte) bool { return bytes.Contains(b, []byte(text)) },
			teatest.WithDuration(20*time.Second))
	}
	waitFor("hop-04")
	tm.Send(keyMsg("enter"))
	waitFor("P pilot-coupled roll") // opens at the first flag
	tm.Send(keyMsg("f"))
	waitFor("C control-stop pitch")
	tm.Send(keyMsg("3"))
	waitFor("phase delay")
	tm.Send(keyMsg("esc"))
	tm.Send(keyMsg("q"))
	final := tm.FinalModel(t, teatest.WithFinalTimeout(20*time.Second))
	contains(t, final.View(), "[1 logbook]", "> hop-01")
}

// The list is there before anything has been read.
func TestListBeforeReading(t *testing.T) {
	o := fakeOptions(300)
	m := newTestRoot(t, o, termenv.Ascii)
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	m.Init() // the command is not run: nothing has been read
	contains(t, m.View(), "> hop-01", "hop-10", "not read yet", "300 to go")
}

func TestInitialHop(t *testing.T) {
	o := fakeOptions(4)
	o.InitialHop = "hop-03"
	m := started(t, o, 100, 30, termenv.Ascii)
	contains(t, m.View(), "[2 hop]", "hop-03", "flown")
	o.InitialHop = "hop-99"
	_, err := newRoot(context.Background(), o, testRenderer(termenv.Ascii, false))
	if !errors.Is(err, ErrNoHop) || !strings.Contains(err.Error(), "hop-99") {
		t.Errorf("error %v, want ErrNoHop that names hop-99", err)
	}
}

// A hop that cannot be read is a row that says so, and opening it says why.
func TestFailedHop(t *testing.T) {
	m := started(t, fakeOptions(8), 100, 30, termenv.Ascii)
	press(m, "down", "down", "down", "down")
	contains(t, m.View(), "> hop-05", "CANNOT READ", "name the columns in hop.toml")
	press(m, "enter")
	contains(t, m.View(), "cannot show hop-05", "name the columns in hop.toml")
	press(m, "1", "up", "enter")
	contains(t, m.View(), "hop-04", "flown")
}

// A mistake of the program in one hop leaves the others on the screen.
func TestPanicInOneHop(t *testing.T) {
	o := fakeOptions(3)
	o.Load = func(ctx context.Context, e flight.HopEntry, p func(float64, string)) (*debrief.Debrief, error) {
		if e.Name == "hop-02" {
			panic("analysis: a mistake")
		}
		return fakeLoad(ctx, e, p)
	}
	m := started(t, o, 100, 30, termenv.Ascii)
	contains(t, m.View(), "CANNOT READ", "hopcard itself failed", "STOP")
}

// Quitting and stopping end the jobs' contexts, and stopped hops are read on demand.
func TestStopReading(t *testing.T) {
	var cancelled atomic.Int32
	o := fakeOptions(3)
	begun := make(chan struct{}, 10)
	o.Load = func(ctx context.Context, _ flight.HopEntry, _ func(float64, string)) (*debrief.Debrief, error) {
		begun <- struct{}{}
		<-ctx.Done()
		cancelled.Add(1)
		return nil, fmt.Errorf("reading: %w", ctx.Err())
	}
	m := newTestRoot(t, o, termenv.Ascii)
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	batch := m.Init()().(tea.BatchMsg)
	result := make(chan tea.Msg)
	go func() { result <- batch[0]() }()
	<-begun
	press(m, "s")
	m.Update(<-result)
	if n := cancelled.Load(); n != 1 {
		t.Fatalf("%d jobs cancelled, want 1", n)
	}
	contains(t, m.View(), "not read yet", "reading stopped")
	if m.desk.rows[0].state != waiting || len(m.jobs) != 0 {
		t.Error("a stopped hop should wait again")
	}
}

// A message of a job that is no longer wanted changes nothing.
func TestStaleMessages(t *testing.T) {
	m := started(t, fakeOptions(3), 80, 24, termenv.Ascii)
	before := m.View()
	send(m, loadedMsg{job: 99, index: 1, err: errors.New("late")})
	send(m, progressMsg{job: 99, done: 0.3, what: "late"})
	if m.View() != before {
		t.Error("a stale message changed the screen")
	}
}

func TestSortAndFilter(t *testing.T) {
	m := started(t, fakeOptions(8), 100, 30, termenv.Ascii)
	press(m, "o", "o")
	view := m.View()
	contains(t, view, "by verdict")
	if strings.Index(view, "hop-02") < strings.Index(view, "hop-08") {
		t.Errorf("the worst verdict should come first:\n%s", view)
	}
	press(m, "/", "p", "-", "0", "2", "q", "backspace", "enter")
	contains(t, m.View(), "> hop-02", "hidden by the filter")
	lacks(t, m.View(), "hop-03")
	press(m, "/", "z", "enter", "enter") // nothing matches, nothing opens
	contains(t, m.View(), "no hop matches")
	press(m, "/", "esc")
	contains(t, m.View(), "hop-03")
}

// While a hop is read its screens say how far it is; leaving them gives up waiting.
func TestWaitingForHop(t *testing.T) {
	m := newTestRoot(t, fakeOptions(3), termenv.Ascii)
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	m.Update(openMsg{1}) // the command is not run
	ch := make(chan tea.Msg)
	m.Update(progressMsg{job: 1, done: 0.42, what: "cross spectra", ch: ch})
	for _, k := range []string{"2", "3", "4", "5", "6"} {
		m.Update(keyMsg(k))
		contains(t, m.View(), "reading hop-02: cross spectra", "42 %")
	}
	m.Update(keyMsg("esc"))
	if m.want != -1 {
		t.Error("leaving the screen should give up waiting")
	}
	contains(t, m.View(), "reading 42 % cross spectra")
}

// From the logbook every screen shows the selected hop.
func TestScreensTakeSelectedHop(t *testing.T) {
	m := started(t, fakeOptions(4), 100, 30, termenv.Ascii)
	press(m, "3")
	contains(t, m.View(), "[3 response]", "hop-01", "phase delay")
	press(m, "1", "down", "down", "6")
	contains(t, m.View(), "[6 data]", "hop-03", "Findings")
	press(m, "1", "down", "tab")
	contains(t, m.View(), "[2 hop]", "hop-04", "flown")
	press(m, "tab", "tab")
	contains(t, m.View(), "[4 air]", "hop-04")
}

// The name of the hop is on the list at every size.
func TestNameAtMinimumSize(t *testing.T) {
	m := started(t, fakeOptions(4), minWidth, minHeight, termenv.Ascii)
	contains(t, m.View(), "> hop-01", "STOP", "7 card")
}

// Keys that arrive in one message are taken one by one; pasted text presses no keys.
func TestFastKeys(t *testing.T) {
	m := started(t, fakeOptions(4), 100, 30, termenv.Ascii)
	send(m, tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("jj")})
	contains(t, m.View(), "> hop-03")
	send(m, tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("kkj"), Paste: true})
	contains(t, m.View(), "> hop-03")
	press(m, "/")
	send(m, tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("hop-04"), Paste: true})
	press(m, "enter")
	contains(t, m.View(), "> hop-04")
}
