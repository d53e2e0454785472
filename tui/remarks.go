package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/textarea"
	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
)

// remarks is the text of the card's remarks while it is written.
type remarks struct {
	open bool
	text textarea.Model
}

// mostRemarks is the length of remarks, in characters: more does not fit a card.
const mostRemarks = 2000

// begin opens the remarks of a hop.
func (r *remarks) begin(notes string) {
	r.open = true
	r.text = textarea.New()
	r.text.CharLimit = mostRemarks
	r.text.ShowLineNumbers = false
	r.text.Prompt = ""
	r.text.SetValue(notes)
	r.text.Focus()
}

// typed takes a key and reports whether the remarks are to be kept. Enter begins a line:
// a remark has several.
func (r *remarks) typed(msg tea.KeyMsg) (done bool) {
	switch msg.String() {
	case "esc":
		r.open = false
	case "ctrl+s", "f2":
		r.open = false
		return true
	case "ctrl+v": // would read the clipboard beside the update loop; terminals paste by themselves
	default:
		if msg.Type == tea.KeyRunes {
			msg.Runes = []rune(safe(string(msg.Runes)))
		}
		r.text, _ = r.text.Update(msg)
	}
	return false
}

// value is what was written, without blanks at the end.
func (r *remarks) value() string {
	ls := strings.Split(r.text.Value(), "\n")
	for i := range ls {
		ls[i] = strings.TrimRight(ls[i], " ")
	}
	return strings.TrimSpace(strings.Join(ls, "\n"))
}

// draw draws the text from a row on, with a block as its cursor.
func (r *remarks) draw(p *paper) {
	p.text(2, 0, "Remarks of the card", strong)
	p.textTo(2, 1, p.w, "enter begins a line, F2 or ctrl+s keeps them in hop.toml, esc drops them", faint)
	const top = 3
	at, column := r.text.Line(), r.text.LineInfo().StartColumn+r.text.LineInfo().ColumnOffset
	p.textRight(p.w-1, 0, fmt.Sprintf("line %d, column %d", at+1, column+1), faint)
	room := p.h - top
	var rows [][]rune
	cursorRow, cursorX := 0, 0
	for i, s := range strings.Split(r.text.Value(), "\n") {
		line := []rune(s)
		for from := 0; ; from += p.w - 4 {
			to := min(from+p.w-4, len(line))
			if i == at && column >= from && (column < from+p.w-4 || to == len(line)) {
				cursorRow, cursorX = len(rows), min(column-from, p.w-4)
			}
			rows = append(rows, line[from:to])
			if to == len(line) {
				break
			}
		}
	}
	first := max(cursorRow-room+1, 0)
	for y := first; y < len(rows) && y-first < room; y++ {
		p.text(2, top+y-first, safe(string(rows[y])), ink)
	}
	if x, y := 2+cursorX, top+cursorRow-first; p.cells[y*p.w+x].r == ' ' {
		p.set(x, y, '_', accent) // a bare cursor is not seen without colour
	} else {
		p.repen(x, y, marked)
	}
}

// remark asks for other remarks on the hop on show.
func (d *desk) remark(text string) tea.Cmd {
	var v any
	if text != "" {
		v = text
	}
	return d.changeTo("remarks", flight.Deciding(flight.Decision{Key: "notes", Value: v}), true)
}
