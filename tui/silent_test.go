//go:build unix

package tui

import (
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"

	"hopcard/analysis/debrief"
)

// asProgram makes the test binary behave like the program, to be run in a terminal.
const asProgram = "HOPCARD_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if what := os.Getenv(asProgram); what != "" {
		o := fakeOptions(3)
		if what == "mistake" {
			o.Card = func(io.Writer, *debrief.Debrief) error { panic("a mistake") }
		}
		if err := Run(context.Background(), o); err != nil {
			os.Stderr.WriteString(err.Error() + "\n")
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// session is what a program wrote to a terminal that never answers, and how it ended.
// When the list is there, act is called.
func session(t *testing.T, act func(*os.File, *os.Process), env ...string) ([]byte, error) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(append(os.Environ(), asProgram+"=1", "CI=", "NO_COLOR=", "COLORTERM="), env...)
	f, err := pty.StartWithSize(cmd, &pty.Winsize{Cols: 100, Rows: 30})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	out := make(chan []byte, 1000)
	go func() {
		defer close(out)
		for {
			b := make([]byte, 4096)
			n, err := f.Read(b)
			if n > 0 {
				out <- b[:n]
			}
			if err != nil {
				return
			}
		}
	}()
	var all []byte
	deadline := time.After(60 * time.Second)
	sent := false
	for {
		select {
		case b, more := <-out:
			all = append(all, b...)
			if !more {
				return all, cmd.Wait()
			}
			if !sent && bytes.Contains(all, []byte("hop-03")) {
				sent = true
				act(f, cmd.Process)
			}
		case <-deadline:
			_ = cmd.Process.Kill()
			t.Fatalf("the program did not end; it wrote %q", all)
		}
	}
}

// typed presses keys, and needs the program to end well.
func typed(t *testing.T, keys string, env ...string) []byte {
	t.Helper()
	all, err := session(t, func(f *os.File, _ *os.Process) {
		if _, err := f.WriteString(keys); err != nil {
			t.Error(err)
		}
	}, env...)
	if err != nil {
		t.Fatalf("the program ended with %v:\n%q", err, all)
	}
	return all
}

// isRestored checks that every mode of the terminal was switched back.
func isRestored(t *testing.T, all []byte) {
	t.Helper()
	for _, mode := range []string{"1049", "1002", "1006", "25"} {
		on, off := "\x1b[?"+mode+"h", "\x1b[?"+mode+"l"
		if mode == "25" { // the cursor: hidden first, shown again at the end
			on, off = off, on
		}
		if i, j := bytes.LastIndex(all, []byte(on)), bytes.LastIndex(all, []byte(off)); i < 0 || j < i {
			t.Errorf("terminal mode %s: switched at %d, back at %d", mode, i, j)
		}
	}
}

// A terminal is never asked for its colours or its cursor, because one that does not
// answer would hold up the first screen for five seconds. TERM is found again, since
// there are colours.
func TestTerminalIsNotAsked(t *testing.T) {
	all := typed(t, "q", "TERM=xterm-256color")
	for _, question := range []string{"\x1b]10;?", "\x1b]11;?", "\x1b[6n", "\x1b[c"} {
		if bytes.Contains(all, []byte(question)) {
			t.Errorf("the terminal was asked %q", question)
		}
	}
	if !bytes.Contains(all, []byte("\x1b[1;38;5;")) {
		t.Errorf("no colours of 256 on xterm-256color: %q", all)
	}
	isRestored(t, all)
}

// The terminal is left as it was found however the program ends.
func TestTerminalIsRestored(t *testing.T) {
	for name, signal := range map[string]os.Signal{"interrupt": os.Interrupt, "terminate": syscall.SIGTERM, "hang up": syscall.SIGHUP} {
		all, err := session(t, func(_ *os.File, p *os.Process) { _ = p.Signal(signal) }, "TERM=xterm")
		if err != nil {
			t.Errorf("%s: the program ended with %v", name, err)
		}
		isRestored(t, all)
	}
	all, err := session(t, func(f *os.File, _ *os.Process) { _, _ = f.WriteString("7") }, "TERM=xterm", asProgram+"=mistake")
	if err == nil {
		t.Error("a mistake of the program ended without an error")
	}
	isRestored(t, all)
}

func TestNoColorEnvironment(t *testing.T) {
	all := typed(t, "q", "TERM=xterm-256color", "NO_COLOR=1")
	if bytes.Contains(all, []byte("38;5;")) || bytes.Contains(all, []byte("\x1b[1m")) {
		t.Errorf("colours in spite of NO_COLOR: %q", all)
	}
}

func TestDumbTerminalKeepsItsName(t *testing.T) {
	all := typed(t, "q", "TERM=dumb")
	if bytes.Contains(all, []byte("38;5;")) {
		t.Errorf("colours on a dumb terminal: %q", all)
	}
}
