package tui

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
)

// pen is one way to draw a cell.
type pen uint8

// The pens. Whatever a pen says is said by a word, a letter or a line style too, since
// a terminal may have no colour.
const (
	ink     pen = iota // the terminal's own foreground
	strong             // headings, values
	faint              // frames, scales, what can wait
	accent             // cursor, selection, current screen
	accent2            // wind, and the second of two traces
	good               // go on
	warn               // caution
	danger             // stop, unstable
	marked             // the cell under the cursor
	pens
)

// theme holds what a terminal must be sent before and after a run of each pen.
type theme struct {
	before, after [pens]string
}

// newTheme mixes the pens for a renderer. The hues keep apart for the common kinds of
// colour blindness (blue, amber, vermilion after Okabe and Ito 2008, "Color Universal
// Design", darkened on light ground); their brightness differs too.
func newTheme(r *lipgloss.Renderer) theme {
	style := func(light, dark string) lipgloss.Style {
		return r.NewStyle().Foreground(lipgloss.AdaptiveColor{Light: light, Dark: dark})
	}
	var t theme
	styles := [pens]lipgloss.Style{
		ink:     r.NewStyle(),
		strong:  r.NewStyle().Bold(true),
		faint:   style("#5c5c5c", "#9e9e9e"),
		accent:  style("#004f94", "#6db9f2").Bold(true),
		accent2: style("#0072b2", "#56b4e9"),
		good:    style("#00604a", "#35c99b").Bold(true),
		warn:    style("#7a4f00", "#f0b030").Bold(true),
		danger:  style("#a83200", "#ff8a5c").Bold(true),
		marked:  style("#004f94", "#6db9f2").Reverse(true),
	}
	for p, s := range styles {
		before, after, ok := strings.Cut(s.Render("x"), "x")
		if ok {
			t.before[p], t.after[p] = before, after
		}
	}
	return t
}
