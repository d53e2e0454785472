//go:build unix

package tui

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/creack/pty"
)

// asProgram makes the test binary behave like the program, to be run in a terminal.
const asProgram = "HOPCARD_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		if err := Run(context.Background(), fakeOptions(3)); err != nil {
			os.Stderr.WriteString(err.Error() + "\n")
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// terminalSession is what a program wrote to a terminal that never answers.
func terminalSession(t *testing.T, keys string, env ...string) []byte {
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
				if err := cmd.Wait(); err != nil {
					t.Fatalf("the program ended with %v:\n%q", err, all)
				}
				return all
			}
			if !sent && bytes.Contains(all, []byte("hop-03")) {
				sent = true
				if _, err := f.WriteString(keys); err != nil {
					t.Fatal(err)
				}
			}
		case <-deadline:
			_ = cmd.Process.Kill()
			t.Fatalf("the program did not end; it wrote %q", all)
		}
	}
}

// A terminal is never asked for its colours or its cursor, because one that does not
// answer would hold up the first screen for five seconds. TERM is found again, since
// there are colours; and the terminal is left as it was found.
func TestTerminalIsNotAsked(t *testing.T) {
	all := terminalSession(t, "q", "TERM=xterm-256color")
	for _, question := range []string{"\x1b]10;?", "\x1b]11;?", "\x1b[6n", "\x1b[c"} {
		if bytes.Contains(all, []byte(question)) {
			t.Errorf("the terminal was asked %q", question)
		}
	}
	if !bytes.Contains(all, []byte("\x1b[1;38;5;")) {
		t.Errorf("no colours of 256 on xterm-256color: %q", all)
	}
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

func TestNoColorEnvironment(t *testing.T) {
	all := terminalSession(t, "q", "TERM=xterm-256color", "NO_COLOR=1")
	if bytes.Contains(all, []byte("38;5;")) || bytes.Contains(all, []byte("\x1b[1m")) {
		t.Errorf("colours in spite of NO_COLOR: %q", all)
	}
}

func TestDumbTerminalKeepsItsName(t *testing.T) {
	all := terminalSession(t, "q", "TERM=dumb")
	if bytes.Contains(all, []byte("38;5;")) {
		t.Errorf("colours on a dumb terminal: %q", all)
	}
}
