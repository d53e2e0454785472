package tui

import (
	"fmt"
	"math"
	"slices"

	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
)

// marking takes the words of an event mark, or why an interval is left out. Both are kept
// in the hop's settings file; what is on show changes when that has been done.
type marking struct {
	entry    prompt
	atTime   float64 // where the mark being typed goes
	leaveOut bool    // what is typed is why the interval between the cursors is left out
}

// markTyped takes a key while the words are typed.
func (v *hopView) markTyped(msg tea.KeyMsg) tea.Cmd {
	k := &v.marking
	switch {
	case !k.entry.typed(msg):
		return nil
	case k.leaveOut:
		return v.excludeBetween(clean(k.entry.text))
	case k.entry.text == "":
		return nil
	}
	return v.desk.mark(k.atTime, k.entry.text)
}

// mark asks for a mark in the hop on show.
func (d *desk) mark(tS float64, text string) tea.Cmd {
	m := flight.MarkSettings{TimeS: toMilliseconds(tS), Text: clean(text)}
	return d.ask(changeMsg{index: d.current.index, what: fmt.Sprintf("mark at %s s", seconds(m.TimeS)), mark: &m})
}

// toMilliseconds rounds a time to what the settings file keeps.
func toMilliseconds(tS float64) float64 { return math.Round(tS*1000) / 1000 }

// between is the interval between the cursors.
func (v *hopView) between() flight.Span {
	return flight.Span{FromS: toMilliseconds(min(v.cursor, v.ref)), ToS: toMilliseconds(max(v.cursor, v.ref))}
}

// exclude asks why the interval between the cursors is to be left out. Without a second
// cursor it takes the excluded interval under the cursor in again.
func (v *hopView) exclude() tea.Cmd {
	if !math.IsNaN(v.ref) {
		if s := v.between(); !(s.LengthS() > 0) {
			return v.desk.ask(noticeMsg{"move the cursor away from the second one first"})
		}
		v.entry, v.leaveOut = prompt{open: true}, true
		return nil
	}
	for _, s := range v.desk.current.d.Hop.Exclude {
		if v.near(s, v.cursor) {
			return v.desk.include(s)
		}
	}
	return v.desk.ask(noticeMsg{"set the second cursor with t: what is between both is left out"})
}

func (v *hopView) excludeBetween(why string) tea.Cmd {
	s := v.between()
	v.ref = math.NaN()
	return v.desk.exclude(s, why)
}

// exclude asks for an interval to be left out of the analysis, include for it to be used
// again.
func (d *desk) exclude(s flight.Span, why string) tea.Cmd {
	return d.changeTo(spanText(s)+" left out", flight.Excluding(flight.ExcludeSpan{FromS: s.FromS, ToS: s.ToS, Why: why}), false)
}

func (d *desk) include(s flight.Span) tea.Cmd {
	return d.changeTo(spanText(s)+" taken in again", flight.Including(s), false)
}

// whyExcluded is why the crew left an interval out, empty if they did not say.
func (o *opened) whyExcluded(s flight.Span) string {
	if o.set != nil {
		for _, e := range o.set.Exclude {
			if e.FromS == s.FromS && e.ToS == s.ToS {
				return clean(e.Why)
			}
		}
	}
	return ""
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
