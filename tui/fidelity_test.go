//go:build unix

package tui

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/vt"
	"github.com/creack/pty"
	"github.com/muesli/termenv"
)

// shownOn runs the program in an emulated terminal, presses keys one by one as soon as
// the text before them is on the screen, and returns the screen once last is on it.
func shownOn(t *testing.T, w, h int, steps [][2]string, last string) string {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), asProgram+"=1", "CI=", "NO_COLOR=", "TERM=xterm-256color")
	f, err := pty.StartWithSize(cmd, &pty.Winsize{Cols: uint16(w), Rows: uint16(h)})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = cmd.Wait() }()
	defer f.Close()
	defer func() { _ = cmd.Process.Kill() }()
	screen := vt.NewSafeEmulator(w, h)
	go func() {
		b := make([]byte, 65536)
		for {
			n, err := f.Read(b)
			if err != nil {
				return
			}
			_, _ = screen.Write(b[:n])
		}
	}()
	await := func(text string) {
		t.Helper()
		for deadline := time.Now().Add(60 * time.Second); !strings.Contains(screen.String(), text); {
			if time.Now().After(deadline) {
				t.Fatalf("%q does not come; the screen is\n%s", text, screen.String())
			}
			time.Sleep(5 * time.Millisecond)
		}
	}
	for _, s := range steps {
		await(s[0])
		if _, err := f.WriteString(s[1]); err != nil {
			t.Fatal(err)
		}
	}
	await(last)
	time.Sleep(100 * time.Millisecond) // the rest of that frame
	return screen.String()
}

// What a terminal shows after a walk through the screens is what the last screen drew,
// cell by cell: nothing is left over from the screens before, and no width is mistaken.
func TestTerminalShowsTheView(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 40}, {200, 60}} {
		t.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(t *testing.T) {
			walk := [][2]string{
				{"     3 hops", "\r"}, {"flown", "f"}, {"C control-stop", "z"}, {"82.0", "3"}, {"[3 resp", "a"},
				{"longitudinal stick to pitch", "4"}, {"[4 air]", "5"}, {"[5 stab", "6"}, {"[6 data]", "?"}, {"Everywhere", "?"}, {"Findings: 2", "2"},
			}
			got := shownOn(t, size[0], size[1], walk, "control-stop pitch")
			m := started(t, fakeOptions(3), size[0], size[1], termenv.Ascii)
			press(m, "enter", "f", "z", "3", "a", "4", "5", "6", "?", "?", "2")
			want := strings.Split(m.View(), "\n")
			for i, line := range strings.Split(got, "\n") {
				if i < len(want) && strings.TrimRight(line, " ") != strings.TrimRight(want[i], " ") {
					t.Errorf("row %d\n got %q\nwant %q", i, line, want[i])
				}
			}
		})
	}
}
