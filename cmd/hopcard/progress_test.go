package main

import (
	"bytes"
	"strings"
	"testing"
	"time"
)

func TestProgressLine(t *testing.T) {
	var b bytes.Buffer
	p := &progressLine{w: &b, start: time.Now()}
	p.update(0.1, "too early")
	if b.Len() > 0 {
		t.Errorf("shown at once: %q", b.String())
	}
	p.start = p.start.Add(-time.Minute)
	p.update(0.42, "reading \x1b[2Ja.csv")
	p.update(0.43, "too soon after")
	if got, want := b.String(), "\r\x1b[K 42 %  reading a.csv"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	p.clear()
	p.clear()
	if got := b.String(); !strings.HasSuffix(got, "a.csv\r\x1b[K") {
		t.Errorf("not cleared once: %q", got)
	}
}

// Where nobody watches, progress says nothing.
func TestProgressIsSilentInAPipe(t *testing.T) {
	var b bytes.Buffer
	p := (&app{stderr: &b}).newProgress()
	p.start = p.start.Add(-time.Minute)
	p.update(0.5, "reading")
	p.clear()
	if b.Len() > 0 {
		t.Errorf("wrote %q", b.String())
	}
}
