package main

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// cleaned lets the folders that tests share go when the tests are over; testscript.Main
// exits with the code that Run returns.
type cleaned struct{ *testing.M }

func (m cleaned) Run() int {
	code := m.M.Run()
	for _, dir := range toRemove {
		os.RemoveAll(dir)
	}
	return code
}

// toRemove lists folders that tests share, to be removed at the end.
var toRemove []string

func TestMain(m *testing.M) {
	testscript.Main(cleaned{m}, map[string]func(){"hopcard": main})
}

// One script for each command, run with the whole program as users run it.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("..", "..", "testdata", "cmd", "script"),
		Setup: func(e *testscript.Env) error {
			e.Setenv("DEMO", demoBook(t))
			e.Setenv("HOP", demoHop)
			e.Setenv("LOG", demoLog)
			return nil
		},
	})
}

// A hop of the demo logbook, its place in the list, and one of its logs.
const (
	demoHop   = "2031-05-10-a"
	demoHopAt = 3
	demoLog   = "attitude.csv"
)

// demoBook is a demo logbook for tests that only read it. It is written once, because
// flying its hops takes a while.
func demoBook(t *testing.T) string {
	t.Helper()
	dir, err := writtenDemo()
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

var writtenDemo = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "hopcard-test-*")
	if err != nil {
		return "", err
	}
	toRemove = append(toRemove, dir)
	book := filepath.Join(dir, "book")
	a := &app{stdout: io.Discard, stderr: io.Discard}
	return book, a.writeDemo(context.Background(), book)
})
