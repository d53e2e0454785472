package main

import (
	"fmt"
	"io"
	"sync"
	"time"

	"hopcard/report"
)

// Progress is shown only for work that takes longer than quietFor, and not more often
// than every redrawAfter.
const (
	quietFor    = 500 * time.Millisecond
	redrawAfter = 100 * time.Millisecond
)

// progressLine shows on a terminal how far a long job is, in one line that is written
// over and cleared at the end. Elsewhere it says nothing.
type progressLine struct {
	w     io.Writer // nil: silent
	start time.Time

	mu    sync.Mutex
	drawn time.Time
	shown bool
}

func (a *app) newProgress() *progressLine {
	p := &progressLine{start: time.Now()}
	if isTerminal(a.stderr) {
		p.w = a.stderr
	}
	return p
}

// update may be called from several goroutines.
func (p *progressLine) update(done float64, what string) {
	if p.w == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	now := time.Now()
	if now.Sub(p.start) < quietFor || now.Sub(p.drawn) < redrawAfter {
		return
	}
	p.drawn, p.shown = now, true
	fmt.Fprintf(p.w, "\r\x1b[K%3.0f %%  %s", 100*min(1, max(0, done)), report.Short(what, 60))
}

// clear takes the line off the screen.
func (p *progressLine) clear() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.shown {
		fmt.Fprint(p.w, "\r\x1b[K")
		p.shown = false
	}
}
