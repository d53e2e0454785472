//go:build unix

package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// The whole way of a user: open the demo, look at each screen of a hop, leave.
func TestScreens(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 40}, {200, 60}} {
		t.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(t *testing.T) {
			t.Parallel()
			x := openTerminal(t, true, size[0], size[1], "demo", demoBook(t))
			x.await("Whinchat", "Marsh End", "light bar", demoHop)
			x.press(strings.Repeat("\x1b[B", demoHopAt) + "\r")
			x.await("[2 hop]", demoHop, "roll", "wind")
			whole := x.text()
			x.press("+")
			awaitChange(x, whole)
			for _, page := range []struct{ key, tab, text string }{
				{"3", "[3 ", "gain"}, {"4", "[4 ", "mean"}, {"5", "[5 ", "Control used"}, {"6", "[6 ", "Findings"}, {"7", "[7 ", "Test card: hop " + demoHop},
				{"1", "[1 ", demoHop},
			} {
				x.press(page.key)
				x.await(page.tab, page.text)
			}
			x.resize(100, 30)
			x.press("2")
			x.await("[2 hop]")
			x.press("q")
			if err := x.awaitExit(); err != nil {
				t.Errorf("the program ends with %v", err)
			}
			x.asFound()
		})
	}
}

func awaitChange(x *terminal, from string) {
	x.t.Helper()
	for start := time.Now(); time.Since(start) < patience; time.Sleep(2 * time.Millisecond) {
		if x.text() != from {
			return
		}
	}
	x.t.Fatalf("the screen does not change:\n%s", from)
}

// A signal ends the screens, and the terminal is left as it was found.
func TestScreensInterrupted(t *testing.T) {
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		t.Run(signal.String(), func(t *testing.T) {
			x := openTerminal(t, true, 80, 24, demoBook(t))
			x.await(demoHop)
			if err := x.cmd.Process.Signal(signal); err != nil {
				t.Fatal(err)
			}
			var ended *exec.ExitError
			if err := x.awaitExit(); !errors.As(err, &ended) || ended.ExitCode() != exitInterrupted {
				t.Errorf("the program ends with %v, want exit %d", err, exitInterrupted)
			}
			x.asFound()
		})
	}
}

// A terminal that never answers what it is asked must not hold up the first screen: at
// most twice the time of one that answers. A program that waits for an answer waits
// seconds. Load on the machine can make any one start slow, so the best of several starts
// counts, and there are more of them until the bar is met.
func TestSilentTerminal(t *testing.T) {
	const rounds = 8
	log := write(t, filepath.Join(t.TempDir(), "h1", "log.csv"), smallHop(true))
	book := filepath.Dir(filepath.Dir(log))
	firstScreen := func(answers bool) time.Duration {
		start := time.Now()
		x := openTerminal(t, answers, 80, 24, book)
		x.await("[1 logbook]", "h1")
		took := time.Since(start)
		x.press("q")
		_ = x.awaitExit()
		return took
	}
	if _, err := builtProgram(); err != nil {
		t.Fatal(err)
	}
	firstScreen(true) // once for the disk
	answering, silent := firstScreen(true), firstScreen(false)
	for i := 0; i < rounds && silent > 2*answering; i++ {
		answering, silent = min(answering, firstScreen(true)), min(silent, firstScreen(false))
	}
	t.Logf("first screen after %v in a terminal that answers, %v in one that does not", answering, silent)
	if silent > 2*answering {
		t.Errorf("first screen after %v, want at most twice %v", silent, answering)
	}
}

// Standard output decides between screens and text, not standard input.
func TestPipedOutputIsText(t *testing.T) {
	program, err := builtProgram()
	if err != nil {
		t.Fatal(err)
	}
	log := write(t, filepath.Join(t.TempDir(), "h.csv"), smallHop(true))
	cmd := exec.Command(program, log)
	cmd.Env = append(os.Environ(), "TERM=xterm-256color")
	out, err := cmd.Output()
	if err != nil || !strings.HasPrefix(string(out), "h ") || strings.Contains(string(out), "\x1b") {
		t.Errorf("%q, %v", out, err)
	}
}
