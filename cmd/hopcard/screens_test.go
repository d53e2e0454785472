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

	"hopcard/flight"
)

// The whole way of a user: open the demo, look at each screen of a hop, zoom, mark, fill in
// remarks, write the card, take it all back, leave.
func TestScreens(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 40}, {200, 60}} {
		t.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(t *testing.T) {
			t.Parallel()
			book := demoOfItsOwn(t)
			x := openTerminal(t, true, size[0], size[1], "demo", book)
			x.await("Whinchat", "Marsh End", "light bar", demoHop)
			x.press(strings.Repeat("\x1b[B", demoHopAt) + "\r")
			x.await("[2 hop]", demoHop, "roll", "wind")
			whole := x.text()
			x.press("+")
			awaitChange(x, whole)
			for _, page := range []struct{ key, tab, text string }{
				{"3", "[3 ", "gain"}, {"4", "[4 ", "mean"}, {"5", "[5 ", "Unstable segments"}, {"6", "[6 ", "Findings"}, {"7", "[7 ", "Test card: hop " + demoHop},
				{"8", "[8 ", "Mark two hops"}, {"9", "[9 ", "on paper"}, {"0", "[0 ", "trend"}, {"1", "[1 ", demoHop},
			} {
				x.press(page.key)
				x.await(page.tab, page.text)
			}
			x.resize(100, 30)
			writtenOnScreen(t, x, filepath.Join(book, demoHop, flight.HopFile))
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

// writtenOnScreen marks, remarks and exports, and takes back what went into the settings.
func writtenOnScreen(t *testing.T, x *terminal, settings string) {
	t.Helper()
	before, err := os.ReadFile(settings)
	if err != nil {
		t.Fatal(err)
	}
	x.press("2")
	x.await("[2 hop]")
	x.press("m")
	x.press("seat light\r")
	x.await("mark at")
	x.press("7r")
	x.await("Remarks of the card")
	x.press("\x1b[1;5F\rflew like a barge\x13") // the end of the text, and ctrl+s
	x.await("[7 ", "Test card")
	awaitText(t, settings, "seat light", "flew like a barge")
	x.press("w\r")
	x.await("card written")
	card := filepath.Join(x.dir, demoHop+"-card.md")
	if text, err := os.ReadFile(card); err != nil || !strings.Contains(string(text), "flew like a barge") {
		t.Errorf("the card lacks the remarks: %v", err)
	}
	x.press("u")
	x.await("undone: remarks")
	x.press("u")
	x.await("undone: mark")
	if after, err := os.ReadFile(settings); err != nil || string(after) != string(before) {
		t.Errorf("after undo the settings are\n%s\nwant\n%s", after, before)
	}
}

// awaitText waits until a file holds every one of the texts.
func awaitText(t *testing.T, path string, texts ...string) {
	t.Helper()
	var text []byte
	for start := time.Now(); time.Since(start) < patience; time.Sleep(5 * time.Millisecond) {
		text, _ = os.ReadFile(path)
		all := true
		for _, s := range texts {
			all = all && strings.Contains(string(text), s)
		}
		if all {
			return
		}
	}
	t.Fatalf("%s does not hold %q:\n%s", filepath.Base(path), texts, text)
}

// demoOfItsOwn is a copy of the demo logbook, to be written to.
func demoOfItsOwn(t *testing.T) string {
	t.Helper()
	book := filepath.Join(t.TempDir(), "book")
	if err := os.CopyFS(book, os.DirFS(demoBook(t))); err != nil {
		t.Fatal(err)
	}
	return book
}

// A sense is turned on the data screen while the program runs: the finding comes, the
// column is turned, the screens keep working; undone, all is as before.
func TestDecisionOnScreen(t *testing.T) {
	const hop = "2031-05-10-b"
	_, dir := demoCopy(t, hop)
	settings := filepath.Join(dir, flight.HopFile)
	before, err := os.ReadFile(settings)
	if err != nil {
		t.Fatal(err)
	}
	x := openTerminal(t, true, 120, 60, dir)
	x.await("[2 hop]", hop, "roll")
	x.press("6l")
	x.await("[6 data]", "stick_lat", "as ours")
	x.press(":sign stick_lat 7\r")
	x.await(`sign "7": it is 1`)
	x.press(":sign stick_lat -1\r")
	x.await("sign of stick_lat of stick.csv -1")
	x.press("5") // at once, while the hop is read anew
	x.await("[5 stability]", "Unstable segments")
	awaitText(t, settings, "name = \"stick_lat\"\nsign = -1")
	x.press("6i")
	x.await("sign attitude.csv roll_deg", "runs opposite to the usual sense")
	x.press("u")
	x.await("undone: sign of stick_lat")
	if after, err := os.ReadFile(settings); err != nil || string(after) != string(before) {
		t.Errorf("after undo the settings are\n%s", after)
	}
	if strings.Contains(x.text(), "sign attitude.csv roll_deg") {
		t.Errorf("after undo the finding is still there:\n%s", x.text())
	}
	x.press("q")
	if err := x.awaitExit(); err != nil {
		t.Errorf("the program ends with %v", err)
	}
	x.asFound()
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
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP} {
		t.Run(signal.String(), func(t *testing.T) {
			x := openTerminal(t, true, 80, 24, demoBook(t))
			x.await(demoHop)
			if err := x.cmd.Process.Signal(signal); err != nil {
				t.Fatal(err)
			}
			var ended *exec.ExitError
			err := x.awaitExit()
			hungUp := signal == syscall.SIGHUP && err == nil // nobody is there to be told
			if !hungUp && (!errors.As(err, &ended) || ended.ExitCode() != exitInterrupted) {
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
		x.await("[1 log", "h1")
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

// Who names one hop sees it at once, can mark it, and finds the mark in the hop's folder.
func TestOpensOneHop(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "morning")
	write(t, filepath.Join(dir, "log.csv"), smallHop(true))
	x := openTerminal(t, true, 100, 30, "--light", dir)
	x.await("[2 hop]", "morning", "roll")
	x.press("m")
	x.press("seat felt light\r")
	var s *flight.HopSettings
	var err error
	for start := time.Now(); s == nil && time.Since(start) < patience; time.Sleep(5 * time.Millisecond) {
		if s, err = flight.ReadHopSettings(dir); err != nil {
			t.Fatal(err)
		}
	}
	if s == nil || len(s.Marks) != 1 || s.Marks[0].Text != "seat felt light" {
		t.Errorf("the hop's settings are %+v", s)
	}
	x.press("q")
	if err := x.awaitExit(); err != nil {
		t.Errorf("the program ends with %v", err)
	}
	x.asFound()
}

func TestOnlyHop(t *testing.T) {
	dir := t.TempDir()
	log := write(t, filepath.Join(dir, "h1", "log.csv"), smallHop(true))
	for path, want := range map[string]string{log: "log", filepath.Dir(log): "h1", dir: ""} {
		book, err := openLogbook(path)
		if err != nil {
			t.Fatal(err)
		}
		if got := onlyHop(book, path); got != want {
			t.Errorf("onlyHop of %s is %q, want %q", path, got, want)
		}
	}
}

// A mark goes into the folder of its hop, never beside a log that shares its folder.
func TestMarksNeedAFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "h1")
	log := write(t, filepath.Join(dir, "log.csv"), "time_s,roll_deg\n")
	m := flight.MarkSettings{TimeS: 1.5, Text: "gust"}
	add, remove := markWith(flight.AddMark), markWith(flight.RemoveMark)
	before := contents(t, dir)
	if err := add(flight.HopEntry{Path: log}, m); err == nil || !strings.Contains(err.Error(), "folder of its own") {
		t.Errorf("a mark of a single log: %v", err)
	}
	if contents(t, dir) != before {
		t.Error("something was written beside a single log")
	}
	if err := add(flight.HopEntry{Path: dir}, m); err != nil {
		t.Fatal(err)
	}
	if s, err := flight.ReadHopSettings(dir); err != nil || len(s.Marks) != 1 {
		t.Errorf("settings %+v, %v", s, err)
	}
	if err := remove(flight.HopEntry{Path: dir}, m); err != nil {
		t.Fatal(err)
	}
	if err := add(flight.HopEntry{Path: filepath.Join(dir, "gone")}, m); err == nil || !strings.Contains(err.Error(), "no such file or folder") {
		t.Errorf("a mark of a hop that is gone: %v", err)
	}
}

func TestRowStore(t *testing.T) {
	if s := rowStore("", os.ErrNotExist); s != nil {
		t.Errorf("without a cache folder rows are kept in %q", s.Dir)
	}
	s := rowStore("cache", nil)
	if s.Dir != filepath.Join("cache", "hopcard", "rows") || !strings.HasPrefix(s.Version, version()) || s.Version == version() {
		t.Errorf("rows of %q in %q", s.Version, s.Dir)
	}
}
