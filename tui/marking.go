package tui

import (
	"fmt"
	"math"
	"slices"

	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
)

// marking sets event marks and takes them back. Marks are kept in the hop's settings
// file by Options; what is on show changes when that has been done.
type marking struct {
	entry  prompt
	undo   []markDone // latest last
	redo   []markDone
	atTime float64 // where the mark being typed goes
}

// markDone is a mark that was set in a hop of the logbook.
type markDone struct {
	index int
	mark  flight.MarkSettings
}

// markedMsg says that a mark was written or taken out, or why not.
type markedMsg struct {
	done    markDone
	removed bool
	err     error
}

// writeMark adds or removes a mark beside the update loop.
func writeMark(o Options, done markDone, remove bool) tea.Cmd {
	return func() tea.Msg {
		f := o.AddMark
		if remove {
			f = o.RemoveMark
		}
		return markedMsg{done, remove, f(o.Logbook.Hops[done.index], done.mark)}
	}
}

// markTyped takes a key while the text of a mark is typed.
func (v *hopView) markTyped(msg tea.KeyMsg) tea.Cmd {
	k := &v.marking
	if !k.entry.typed(msg) || k.entry.text == "" {
		return nil
	}
	// Milliseconds are what the settings file keeps.
	at := math.Round(k.atTime*1000) / 1000
	done := markDone{v.desk.current.index, flight.MarkSettings{TimeS: at, Text: clean(k.entry.text)}}
	k.redo = nil
	return writeMark(v.desk.opts, done, false)
}

// unmark takes the last mark back, and remark sets it again.
func (v *hopView) unmark() tea.Cmd {
	k := &v.marking
	if len(k.undo) == 0 {
		return notice("no mark to take back")
	}
	last := k.undo[len(k.undo)-1]
	k.undo = k.undo[:len(k.undo)-1]
	return writeMark(v.desk.opts, last, true)
}

func (v *hopView) remark() tea.Cmd {
	k := &v.marking
	if len(k.redo) == 0 {
		return notice("no mark to set again")
	}
	last := k.redo[len(k.redo)-1]
	k.redo = k.redo[:len(k.redo)-1]
	return writeMark(v.desk.opts, last, false)
}

// marked brings the screen in line with what was written.
func (v *hopView) marked(msg markedMsg) tea.Cmd {
	k := &v.marking
	if msg.err != nil {
		return notice("mark not kept: " + msg.err.Error())
	}
	word := "mark set"
	if msg.removed {
		k.redo = append(k.redo, msg.done)
		word = "mark taken back"
	} else {
		k.undo = append(k.undo, msg.done)
	}
	if h := v.desk.current; h != nil && h.index == msg.done.index {
		h.d.Hop.Marks = withMark(h.d.Hop.Marks, msg.done.mark, msg.removed)
		v.base = nil
	}
	return notice(fmt.Sprintf("%s at %s s", word, seconds(msg.done.mark.TimeS)))
}

// withMark returns the marks with one more, or one fewer.
func withMark(ms []flight.Mark, m flight.MarkSettings, remove bool) []flight.Mark {
	ms = slices.Clone(ms)
	if !remove {
		return append(ms, flight.Mark{TimeS: m.TimeS, Text: m.Text})
	}
	for i := len(ms) - 1; i >= 0; i-- {
		if ms[i].TimeS == m.TimeS && ms[i].Text == m.Text {
			return slices.Delete(ms, i, i+1)
		}
	}
	return ms
}

func notice(text string) tea.Cmd {
	return func() tea.Msg { return noticeMsg{text} }
}
