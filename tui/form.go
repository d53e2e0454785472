package tui

import (
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
)

// asFound is the choice that leaves a decision to hopcard.
const asFound = "as found"

// form is a few fields over the bottom of a page, to decide on one thing.
type form struct {
	open   bool
	title  string
	fields []field
	at     int // the field with the keys
	about  subject
	wrong  string // what is wrong with a field, in one line
}

// field is one value of a form: chosen from a list, or typed.
type field struct {
	label   string
	key     string   // of hop.toml
	choices []string // empty: a value is typed
	text    string   // chosen or typed; asFound or empty leaves it to hopcard
	was     string   // text when the form was opened
	found   string   // what holds now, to be read beside it
}

// typed takes a key and reports whether the form is to be carried out.
func (f *form) typed(msg tea.KeyMsg) (done bool) {
	d := &f.fields[f.at]
	switch msg.Type {
	case tea.KeyEnter:
		return true
	case tea.KeyEsc:
		*f = form{}
	case tea.KeyUp, tea.KeyShiftTab:
		f.at = (f.at + len(f.fields) - 1) % len(f.fields)
	case tea.KeyDown, tea.KeyTab:
		f.at = (f.at + 1) % len(f.fields)
	case tea.KeyLeft:
		d.choose(-1)
	case tea.KeyRight:
		d.choose(1)
	case tea.KeyBackspace:
		if r := []rune(d.text); len(d.choices) == 0 && len(r) > 0 {
			d.text = string(r[:len(r)-1])
		}
	case tea.KeyRunes, tea.KeySpace:
		d.take(string(msg.Runes))
	}
	f.wrong = ""
	if f.open {
		f.fitUnits()
	}
	return false
}

// choose goes to the next choice.
func (d *field) choose(by int) {
	if n := len(d.choices); n > 0 {
		i := max(slices.Index(d.choices, d.text), 0)
		d.text = d.choices[(i+by+n)%n]
	}
}

// take adds to a typed value, or goes to the next choice that begins with the letter.
func (d *field) take(s string) {
	if len(d.choices) == 0 {
		if len([]rune(d.text)) < mostTyped {
			d.text += safe(s)
		}
		return
	}
	i := slices.Index(d.choices, d.text)
	for k := range d.choices {
		c := d.choices[(i+1+k)%len(d.choices)]
		if strings.HasPrefix(strings.ToLower(c), strings.ToLower(s)) {
			d.text = c
			return
		}
	}
}

// field returns the field of a key, nil if the form has none.
func (f *form) field(key string) *field {
	for i := range f.fields {
		if f.fields[i].key == key {
			return &f.fields[i]
		}
	}
	return nil
}

// fitUnits offers the units that fit the quantity that is chosen.
func (f *form) fitUnits() {
	q, u := f.field("quantity"), f.field("unit")
	if q == nil || u == nil {
		return
	}
	of := flight.Quantity(q.text)
	if q.text == asFound {
		of = flight.Quantity(q.found)
	}
	u.choices = []string{asFound}
	for _, unit := range of.Units() {
		u.choices = append(u.choices, string(unit))
	}
	if !slices.Contains(u.choices, u.text) {
		u.text = asFound
	}
}

// decisions are the fields that were changed. The error is one line about one of them.
func (f *form) decisions() ([]flight.Decision, string) {
	var ds []flight.Decision
	for _, d := range f.fields {
		if d.text == d.was {
			continue
		}
		v, wrong := valueOf(d.key, d.text)
		if wrong != "" {
			return nil, wrong
		}
		ds = append(ds, flight.Decision{File: f.about.file, Column: f.about.column, Key: d.key, Value: v})
	}
	return ds, ""
}

// draw draws the form over the last rows of a page.
func (f *form) draw(p *paper) {
	top := max(p.h-len(f.fields)-3, 0)
	for y := top; y < p.h; y++ {
		p.fill(0, p.w, y, ' ', ink)
	}
	p.fill(0, p.w, top, '─', faint)
	p.textTo(2, top, p.w-2, " "+f.title+" ", strong)
	for i, d := range f.fields {
		y := top + 1 + i
		pn, text := ink, d.text
		if text == "" && len(d.choices) == 0 {
			text = asFound
		}
		if i == f.at {
			pn = accent
			p.text(0, y, ">", accent)
			switch {
			case len(d.choices) > 0:
				text = "‹ " + text + " ›"
			case d.text == "":
				text = "_"
			default:
				text += "_"
			}
		}
		p.textTo(2, y, 18, d.label, faint)
		x := p.textTo(19, y, p.w-1, text, pn)
		if d.found != "" && d.found != d.text {
			p.textTo(max(x+2, 42), y, p.w-1, "now: "+d.found, faint)
		}
		if d.text != d.was {
			p.text(17, y, "*", warn)
		}
	}
	y := top + 1 + len(f.fields)
	if f.wrong != "" {
		p.textTo(2, y, p.w-1, f.wrong, danger)
		y++
	}
	p.textTo(2, y, p.w-1, "↑ ↓ field, ← → choose or type, enter decides, esc drops", faint)
}
