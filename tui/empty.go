package tui

import (
	"fmt"
	"math"
)

// emptyPage is a page without a hop: it says how far reading is, why it failed, or what
// to do.
func emptyPage(w, h int, d *desk) string {
	p := newPaper(w, h)
	s := d.reading
	if s == "" {
		s = "No hop is open. Choose one in the logbook: 1, then enter."
	}
	y := 2
	for _, line := range wrap(clean(s), w-4) {
		p.text(2, y, line, ink)
		y++
	}
	if d.done > 0 {
		drawProgress(p, 2, y+1, min(w-14, 60), d.done)
	}
	return p.render(&d.theme)
}

// drawProgress draws how far a job is, as a bar and in percent.
func drawProgress(p *paper, x, y, w int, done float64) {
	done = min(max(done, 0), 1)
	full := int(math.Round(done * float64(w)))
	p.fill(x, x+full, y, '█', accent)
	p.fill(x+full, x+w, y, '░', faint)
	p.text(x+w+1, y, fmt.Sprintf("%.0f %%", 100*done), strong)
}
