package tui

import (
	"context"
	"errors"
	"fmt"

	tea "github.com/charmbracelet/bubbletea"
)

// start begins a job for the hop.
func (m *root) start(index int) tea.Cmd {
	ctx, cancel := context.WithCancel(m.ctx)
	m.nextID++
	m.jobs[index] = job{m.nextID, cancel}
	r := &m.desk.rows[index]
	r.state, r.done, r.what, r.err = reading, 0, "", nil
	return startLoad(ctx, m.desk.opts, m.nextID, index)
}

// scan starts the next hop that has not been read, first those about which nothing is
// known from earlier. It waits for the jobs that run: the hop that the user waits for should
// have the machine to itself.
func (m *root) scan() tea.Cmd {
	if m.paused || len(m.jobs) > 0 {
		return nil
	}
	next := -1
	for i := range m.desk.rows {
		if r := &m.desk.rows[i]; r.state == waiting && (next < 0 || !r.known && m.desk.rows[next].known) {
			next = i
		}
	}
	if next < 0 {
		return nil
	}
	return m.start(next)
}

// pause stops every job that no one waits for, or goes on.
func (m *root) pause() tea.Cmd {
	m.paused = !m.paused
	if !m.paused {
		m.notice = "reading goes on"
		return m.scan()
	}
	m.notice = "reading stopped"
	for i, j := range m.jobs {
		if i != m.want {
			j.cancel()
		}
	}
	return nil
}

func (m *root) progress(msg progressMsg) tea.Cmd {
	for i, j := range m.jobs {
		if j.id == msg.job {
			r := &m.desk.rows[i]
			r.done, r.what = msg.done, clean(msg.what)
			if i == m.want {
				m.desk.reading, m.desk.done = fmt.Sprintf("reading %s: %s", r.entry.Name, r.what), r.done
			}
			return wait(msg.ch)
		}
	}
	return nil
}

func (m *root) loaded(msg loadedMsg) tea.Cmd {
	j, ok := m.jobs[msg.index]
	if !ok || j.id != msg.job {
		return nil
	}
	j.cancel()
	delete(m.jobs, msg.index)
	r := &m.desk.rows[msg.index]
	switch {
	case msg.err == nil:
		r.fill(msg.hop.sum)
		m.paired(msg.hop)
		if msg.index == m.want || len(m.shelf.hops) < shelfSize {
			m.shelf.put(msg.hop)
		}
	case errors.Is(msg.err, context.Canceled):
		r.state = waiting
	default:
		r.state, r.err, r.known = failed, msg.err, false
	}
	cmds := []tea.Cmd{m.tell(rowMsg{})}
	if c := m.desk.current; msg.err == nil && msg.index != m.want && c != nil && c.index == msg.index {
		m.shelf.put(msg.hop)
		cmds = append(cmds, m.showAgain(msg.hop))
	}
	if msg.index == m.want {
		m.want = -1
		m.desk.reading = ""
		if msg.err == nil {
			cmds = append(cmds, m.show(msg.hop))
		} else {
			m.desk.reading = "cannot show " + r.entry.Name + ": " + msg.err.Error()
		}
	}
	return tea.Batch(append(cmds, m.scan())...)
}

// rowMsg tells the screens that a row of the logbook has changed.
type rowMsg struct{}
