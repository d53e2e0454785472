package tui

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
)

// orderWords lists the orders of the command line and what follows them, for the key
// sheet. Every one changes the hop on show.
func orderWords() [][2]string {
	return [][2]string{
		{"sign COLUMN 1", "or -1: sense of a column"},
		{"unit COLUMN UNIT", "unit it is written in"},
		{"quantity COLUMN NAME", "what it measures"},
		{"neutral COLUMN N", "value with the stick in the middle"},
		{"throw COLUMN N", "change from there to the stop"},
		{"skip NAME, use NAME", "leave a column or file out, or take it in"},
		{"offset FILE S", "clock offset of a file"},
		{"interval FILE S", "the offset is good to that either way"},
		{"drift FILE PPM", "drift of its clock"},
		{"exclude S S WHY", "leave an interval out"},
		{"include S", "take it in again"},
		{"configuration NAME", "what was flown"},
		{"mark S TEXT", "event mark at a time"},
		{"remarks TEXT", "remarks on the card"},
		{"export FORMAT", "md, html, pdf, csv or json"},
	}
}

// keyOfOrder is the key of hop.toml that an order of a column or file sets, empty if it
// is none of these.
func keyOfOrder(verb string) (key string, ofColumn bool) {
	switch verb {
	case "sign", "unit", "quantity", "neutral":
		return verb, true
	case "throw":
		return "full_throw", true
	case "offset":
		return "clock_offset_s", false
	case "interval":
		return "clock_interval_s", false
	case "drift":
		return "clock_drift_ppm", false
	}
	return "", false
}

// carryOut carries out an order. ok is false if the text is none.
func (m *root) carryOut(text string) (cmd tea.Cmd, ok bool) {
	verb, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	verb, rest = strings.ToLower(verb), strings.TrimSpace(rest)
	do := m.orders()[verb]
	if keyName, _ := keyOfOrder(verb); keyName != "" {
		do = func(rest string) string { return m.orderDecision(verb, rest) }
	}
	if do == nil || rest == "" {
		return nil, false
	}
	if m.desk.current == nil {
		m.notice = "open a hop first"
		return nil, true
	}
	if wrong := do(rest); wrong != "" {
		m.notice = clean(wrong)
	}
	return nil, true // what was asked for is done by settle
}

// orders lists what each order does with the rest of its line. It returns what is wrong,
// empty if nothing is.
func (m *root) orders() map[string]func(rest string) string {
	d := m.desk
	return map[string]func(string) string{
		"skip": func(rest string) string { return m.orderUse(rest, false) },
		"use":  func(rest string) string { return m.orderUse(rest, true) },
		"exclude": func(rest string) string {
			from, rest, ok := numberFirst(rest)
			to, why, ok2 := numberFirst(rest)
			if !ok || !ok2 || !(to > from) {
				return "exclude takes two times in s, the earlier first, and why"
			}
			d.exclude(flight.Span{FromS: from, ToS: to}, why)
			return ""
		},
		"include": func(rest string) string {
			at, _, ok := numberFirst(rest)
			for _, s := range d.current.d.Hop.Exclude {
				if ok && at >= s.FromS && at <= s.ToS {
					d.include(s)
					return ""
				}
			}
			return fmt.Sprintf("no interval is left out at %q", rest)
		},
		"configuration": func(rest string) string {
			if rest == "found" {
				rest = ""
			}
			v, _ := valueOf("configuration", rest)
			d.decided("configuration "+rest, flight.Decision{Key: "configuration", Value: v})
			return ""
		},
		"mark": func(rest string) string {
			at, words, ok := numberFirst(rest)
			if !ok || words == "" || d.opts.AddMark == nil || d.opts.RemoveMark == nil {
				return "mark takes a time in s and words"
			}
			d.mark(at, words)
			return ""
		},
		"remarks": func(rest string) string {
			d.remark(rest)
			return ""
		},
		"export": func(rest string) string {
			d.export(rest)
			return ""
		},
	}
}

// numberFirst takes a number off the front of a text.
func numberFirst(s string) (v float64, rest string, ok bool) {
	word, rest, _ := strings.Cut(strings.TrimSpace(s), " ")
	v, err := strconv.ParseFloat(strings.ReplaceAll(word, ",", "."), 64)
	return v, strings.TrimSpace(rest), err == nil && finite(v)
}

// orderDecision sets a key of a column or file.
func (m *root) orderDecision(verb, rest string) string {
	key, ofColumn := keyOfOrder(verb)
	s, text, wrong := m.desk.subjectFirst(rest, ofColumn)
	switch {
	case wrong != "":
		return wrong
	case ofColumn && s.column == "":
		return fmt.Sprintf("%s is a file: %s takes a column", s.file, verb)
	case text == "":
		return fmt.Sprintf("%s %s: a value is missing; found leaves it to hopcard", verb, s)
	case text == "found":
		text = ""
	}
	v, wrong := valueOf(key, text)
	if wrong != "" {
		return wrong
	}
	if c := columnChannel(m.desk.current.d.Hop, s); c != nil && key == "unit" && v != nil {
		if err := c.Quantity.CheckUnit(flight.Unit(text)); err != nil {
			return err.Error()
		}
	}
	m.desk.decided(fmt.Sprintf("%s of %s %s", verb, s, orFound(text)), flight.Decision{File: s.file, Column: s.column, Key: key, Value: v})
	return ""
}

func (m *root) orderUse(rest string, in bool) string {
	s, more, wrong := m.desk.subjectFirst(rest, true)
	switch {
	case wrong != "":
		return wrong
	case more != "":
		return fmt.Sprintf("nothing is called %q", rest)
	}
	m.desk.use(s, in)
	return ""
}

// subjectFirst takes a file or, where columns are meant too, a column off the front of a
// text. A column may have its file before it, and must where two files have it.
func (d *desk) subjectFirst(text string, columns bool) (s subject, rest, wrong string) {
	var found []subject
	longest := -1
	for _, c := range d.subjects() {
		if !columns && c.column != "" {
			continue
		}
		names := []string{c.column, c.file + " " + c.column}
		if c.column == "" {
			names = []string{c.file}
		}
		for _, name := range names {
			after, ok := cutName(text, name)
			switch {
			case !ok || len(name) < longest:
			case len(name) > longest:
				found, longest, rest = []subject{c}, len(name), after
			default:
				found = append(found, c)
			}
		}
	}
	switch {
	case len(found) == 0:
		what := "file"
		if columns {
			what = "column or file"
		}
		return s, "", fmt.Sprintf("this hop has no %s %q; the data screen lists them", what, text)
	case len(found) > 1:
		return s, "", fmt.Sprintf("%s and %s have that column: write the file before it", found[0].file, found[1].file)
	}
	return found[0], rest, ""
}

// cutName takes a name off the front of a text, whatever its case.
func cutName(text, name string) (rest string, ok bool) {
	if name == "" || len(text) < len(name) || !strings.EqualFold(text[:len(name)], name) {
		return "", false
	}
	rest = text[len(name):]
	return strings.TrimSpace(rest), rest == "" || rest[0] == ' '
}

// subjects lists the files and columns of the hop on show.
func (d *desk) subjects() []subject {
	var ss []subject
	add := func(s subject) {
		if !slices.Contains(ss, s) {
			ss = append(ss, s)
		}
	}
	for _, name := range d.opts.Logbook.Hops[d.current.index].Files {
		add(subject{file: name})
	}
	for _, l := range dataLines(d.current, anyWidth) {
		if l.about != nil && l.about.file != "" {
			add(*l.about)
		}
	}
	return ss
}

// anyWidth is for lines that nobody looks at.
const anyWidth = 200
