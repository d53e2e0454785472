//go:build unix

package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/charmbracelet/x/term"
	"github.com/charmbracelet/x/vt"
	"github.com/creack/pty"
)

// builtProgram is the program as users build it.
var builtProgram = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "hopcard-build-*")
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, "hopcard")
	built, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	if err != nil {
		os.Stderr.Write(built)
	}
	toRemove = append(toRemove, dir)
	return path, err
})

// terminal is the program running in a pseudo-terminal.
type terminal struct {
	t      *testing.T
	screen *vt.SafeEmulator
	pty    *os.File
	tty    *os.File
	before *term.State
	cmd    *exec.Cmd
	dir    string // where the program was started
	exited chan error

	mu  sync.Mutex
	raw bytes.Buffer // all that the program wrote
}

// openTerminal starts the program. Unless answers is true the terminal never answers what
// it is asked.
func openTerminal(t *testing.T, answers bool, columns, rows int, args ...string) *terminal {
	t.Helper()
	program, err := builtProgram()
	if err != nil {
		t.Fatal(err)
	}
	x := &terminal{t: t, screen: vt.NewSafeEmulator(columns, rows), dir: t.TempDir(), exited: make(chan error, 1)}
	if x.pty, x.tty, err = pty.Open(); err != nil {
		t.Fatal(err)
	}
	if err := pty.Setsize(x.pty, &pty.Winsize{Rows: uint16(rows), Cols: uint16(columns)}); err != nil {
		t.Fatal(err)
	}
	if x.before, err = term.GetState(x.tty.Fd()); err != nil {
		t.Fatal(err)
	}
	x.cmd = exec.Command(program, args...)
	x.cmd.Dir = x.dir
	x.cmd.Env = append(os.Environ(), "TERM=xterm-256color", "XDG_CACHE_HOME="+t.TempDir(), "HOME="+t.TempDir())
	x.cmd.Stdin, x.cmd.Stdout, x.cmd.Stderr = x.tty, x.tty, x.tty
	x.cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := x.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() { x.exited <- x.cmd.Wait() }()
	go x.show()
	go func() { // what the terminal says by itself, such as answers
		to := io.Discard
		if answers {
			to = x.pty
		}
		_, _ = io.Copy(to, x.screen)
	}()
	t.Cleanup(x.close)
	return x
}

// show feeds what the program writes to the screen until the terminal is closed.
func (x *terminal) show() {
	b := make([]byte, 1<<16)
	for {
		n, err := x.pty.Read(b)
		x.mu.Lock()
		x.raw.Write(b[:n])
		x.mu.Unlock()
		_, _ = x.screen.Write(b[:n])
		if err != nil {
			return
		}
	}
}

func (x *terminal) close() {
	_ = x.cmd.Process.Kill()
	x.pty.Close()
	x.tty.Close()
	_ = x.screen.Close()
}

func (x *terminal) text() string { return x.screen.String() }

func (x *terminal) written() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.raw.String()
}

// await waits until the screen shows every one of the texts.
func (x *terminal) await(texts ...string) {
	x.t.Helper()
	for start := time.Now(); time.Since(start) < patience; time.Sleep(2 * time.Millisecond) {
		shown, all := x.text(), true
		for _, s := range texts {
			all = all && strings.Contains(shown, s)
		}
		if all {
			return
		}
	}
	x.t.Fatalf("the screen does not show %q:\n%s", texts, x.text())
}

func (x *terminal) press(keys string) {
	x.t.Helper()
	if _, err := x.pty.WriteString(keys); err != nil {
		x.t.Fatal(err)
	}
}

func (x *terminal) resize(columns, rows int) {
	x.t.Helper()
	x.screen.Resize(columns, rows)
	if err := pty.Setsize(x.pty, &pty.Winsize{Rows: uint16(rows), Cols: uint16(columns)}); err != nil {
		x.t.Fatal(err)
	}
}

// awaitExit waits for the program to end.
func (x *terminal) awaitExit() error {
	x.t.Helper()
	select {
	case err := <-x.exited:
		return err
	case <-time.After(patience):
		x.t.Fatalf("the program does not end:\n%s", x.text())
		return nil
	}
}

// asFound fails the test unless the terminal is as it was before the program started:
// line settings, screen, cursor, and every mode that was switched on is off again.
func (x *terminal) asFound() {
	x.t.Helper()
	after, err := term.GetState(x.tty.Fd())
	if err != nil {
		x.t.Fatal(err)
	}
	if !reflect.DeepEqual(x.before, after) {
		x.t.Errorf("line settings were %+v, are %+v", x.before, after)
	}
	for start := time.Now(); x.screen.IsAltScreen() && time.Since(start) < patience; {
		time.Sleep(2 * time.Millisecond)
	}
	for mode, on := range modesOf(x.written()) {
		if usual := mode == "25"; on != usual { // 25 is the cursor
			x.t.Errorf("mode %s is left %v", mode, on)
		}
	}
}

// modesOf lists the private modes that text switched, and how it left each.
func modesOf(text string) map[string]bool {
	modes := map[string]bool{}
	for _, m := range regexp.MustCompile(`\x1b\[\?([0-9;]+)([hl])`).FindAllStringSubmatch(text, -1) {
		for mode := range strings.SplitSeq(m[1], ";") {
			modes[mode] = m[2] == "h"
		}
	}
	return modes
}
