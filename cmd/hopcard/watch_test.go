package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// shared is a buffer that one side writes while the other reads.
type shared struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *shared) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *shared) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

func (s *shared) await(t *testing.T, text string) {
	t.Helper()
	for start := time.Now(); time.Since(start) < patience; time.Sleep(2 * time.Millisecond) {
		if strings.Contains(s.String(), text) {
			return
		}
	}
	t.Fatalf("no %q in %q", text, s.String())
}

// A folder in which logs arrive: those of a folder are read as one hop, bad ones are
// complained about, and an end by the user is a good end.
func TestWatch(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "old.csv"), smallHop(false))
	var out, errs shared
	a := &app{stdout: &out, stderr: &errs}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- a.watch(ctx, dir, 50*time.Millisecond, 10*time.Millisecond) }()
	errs.await(t, "1 log there already")

	write(t, filepath.Join(dir, "bad.csv"), "nothing to see here\n")
	errs.await(t, "hopcard: ")
	errs.await(t, "bad.csv")
	// Into a folder in one go, as a file manager moves it.
	whole := filepath.Join(t.TempDir(), "h7")
	write(t, filepath.Join(whole, "log.csv"), smallHop(true))
	write(t, filepath.Join(whole, "marks.csv"), "time_s,text\n20,gust\n")
	if err := os.Rename(whole, filepath.Join(dir, "h7")); err != nil {
		t.Fatal(err)
	}
	out.await(t, "h7: 2 files")
	out.await(t, "lateral stick")
	// Beside older logs: those do not belong to it.
	write(t, filepath.Join(dir, "new.csv"), smallHop(true))
	out.await(t, "new: 1 file")
	if strings.Contains(out.String(), "old.csv") {
		t.Errorf("an older log was read:\n%s", out.String())
	}
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	errs.await(t, "is gone")
	write(t, filepath.Join(dir, "back.csv"), smallHop(true))
	out.await(t, "back: 1 file")
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Errorf("watching ends with %v", err)
		}
	case <-time.After(patience):
		t.Error("watching does not end")
	}
}

func TestBatchLeavesOthersOut(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "hop.toml"), "format = 1\nnotes = \"mine\"\n\n[[file]]\nname = \"b.csv\"\nclock_offset_s = 2.0\n")
	b := batch{dir, []string{"n1.csv", "n2.csv"}, []string{"a.csv", "b.csv"}}
	s, err := b.settings()
	if err != nil {
		t.Fatal(err)
	}
	if s.Notes != "mine" || len(s.Files) != 2 || !s.File("a.csv").Skip || !s.File("b.csv").Skip || *s.File("b.csv").ClockOffsetS != 2 {
		t.Errorf("settings %+v", s)
	}
	if b.path() != dir || (batch{dir, []string{"n1.csv"}, nil}).path() != filepath.Join(dir, "n1.csv") {
		t.Error("a batch is read from the wrong place")
	}
	write(t, filepath.Join(dir, "hop.toml"), "format = 1\nontes = 1\n")
	if _, err := b.settings(); err == nil {
		t.Error("bad settings are no error")
	}
}

func TestWatchRefuses(t *testing.T) {
	file := write(t, filepath.Join(t.TempDir(), "a.csv"), "x")
	a := call(t, "watch", file)
	if a.code != exitBadInput {
		t.Errorf("exit %d", a.code)
	}
	a.oneLine(t, "is a file; name the folder")
	a = call(t, "watch", file+"-gone")
	if a.code != exitBadInput {
		t.Errorf("exit %d", a.code)
	}
	a.oneLine(t, "no such file or folder")
}
