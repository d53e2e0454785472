package tui

import (
	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
	"hopcard/tui/recall"
)

// glancedMsg is what earlier sessions found about hops whose files look as they did.
type glancedMsg struct{ rows []recalledMsg }

// glance looks all hops up in one go, without reading a log.
func glance(o Options) tea.Cmd {
	if o.Rows == nil {
		return nil
	}
	return func() tea.Msg {
		var m glancedMsg
		for i, e := range o.Logbook.Hops {
			if sum, ok := o.Rows.Glance(e); ok {
				m.rows = append(m.rows, recalledMsg{i, sum, true})
			}
		}
		return m
	}
}

// glanced shows them, and goes on with what takes longer: to look the others up by the
// bytes of their files, and to read all hops anew.
func (m *root) glanced(msg glancedMsg) tea.Cmd {
	for _, r := range msg.rows {
		if row := &m.desk.rows[r.index]; !row.known {
			row.known, row.sum = true, r.sum
		}
	}
	return tea.Batch(m.tell(rowMsg{}), m.recallFrom(0), m.scan())
}

// recallFrom looks the next hop up that nothing is known about.
func (m *root) recallFrom(index int) tea.Cmd {
	for i := index; i < len(m.desk.rows); i++ {
		if !m.desk.rows[i].known {
			return recallRow(m.desk.opts, i)
		}
	}
	return nil
}

// recalledMsg is what an earlier session found about a hop, if anything.
type recalledMsg struct {
	index int
	sum   recall.Summary
	ok    bool
}

// recallRow looks a hop up by the bytes of its files, beside the update loop.
func recallRow(o Options, index int) tea.Cmd {
	if o.Rows == nil {
		return nil
	}
	return func() tea.Msg {
		m := recalledMsg{index: index}
		if key := keyOf(o.Rows, o.Logbook.Hops[index]); key != "" {
			m.sum, m.ok = o.Rows.Recall(key)
		}
		return m
	}
}

// recalled shows it, unless the hop has been read by now, and looks the next one up.
func (m *root) recalled(msg recalledMsg) tea.Cmd {
	r := &m.desk.rows[msg.index]
	if msg.ok && !r.known {
		r.known, r.sum = true, msg.sum
	}
	return tea.Batch(m.tell(rowMsg{}), m.recallFrom(msg.index+1))
}

// keyOf is the key of the hop's files as they are now, empty if there is none.
func keyOf(s *recall.Store, e flight.HopEntry) string {
	if s == nil {
		return ""
	}
	key, err := s.Key(e)
	if err != nil {
		return ""
	}
	return key
}

// keep keeps the summary of a hop that was read while its files stayed as they were. A
// store that cannot be written is no reason to bother the user.
func keep(s *recall.Store, e flight.HopEntry, before string, sum recall.Summary) {
	if before != "" && keyOf(s, e) == before {
		_ = s.Keep(e, before, sum)
	}
}

// keepChanged is keep for a hop that was read after its settings file was changed: it
// must be the only file that is not as it was. Settings is what it said before.
func keepChanged(s *recall.Store, e flight.HopEntry, before, settings string, sum recall.Summary) {
	if s == nil || before == "" {
		return
	}
	if was, err := s.KeyWith(e, []byte(settings)); err != nil || was != before {
		return
	}
	if key := keyOf(s, e); key != "" {
		_ = s.Keep(e, key, sum)
	}
}
