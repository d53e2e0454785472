package tui

import (
	"context"
	"errors"
	"os"

	tea "github.com/charmbracelet/bubbletea"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// changes are what the user changed in the hops' settings files, to be taken back in
// order, whatever they were: marks, remarks or decisions.
type changes struct {
	done, undone []changedMsg // latest last
	queue        []changeMsg  // wait for the one being made
	making       bool
	leaving      bool        // when all changes are made
	cards        []exportMsg // wait until all changes are made: a card must hold them
}

// changeKind says how a change came about.
type changeKind int

const (
	fresh changeKind = iota
	undoing
	redoing
)

// changeMsg asks the root for a change of a hop's settings file. Either mark or change is
// set. A light change is one that no number depends on: the hop is not read anew.
type changeMsg struct {
	index  int
	what   string // in words, with what the file will say
	mark   *flight.MarkSettings
	change flight.Change
	light  bool
	kind   changeKind
}

// changedMsg says what became of it. The edit is not nil if the file was changed, even if
// reading the hop failed afterwards.
type changedMsg struct {
	changeMsg
	edit   *flight.Edit
	job    int
	hop    *opened             // read anew, nil after a light change
	set    *flight.HopSettings // after a light change
	err    error
	before rowState // what the row was
}

// change makes a change, or puts it behind the one that is being made.
func (m *root) change(msg changeMsg) tea.Cmd {
	if m.making {
		m.queue = append(m.queue, msg)
		m.notice = "next: " + msg.what
		return nil
	}
	m.making = true
	o, e := m.desk.opts, m.desk.opts.Logbook.Hops[msg.index]
	if msg.light || msg.mark != nil {
		return func() tea.Msg { return lightChange(o, e, msg) }
	}
	m.notice = msg.what
	if j, running := m.jobs[msg.index]; running {
		j.cancel() // it reads what is about to change
	}
	r := &m.desk.rows[msg.index]
	before := r.state
	if before == reading {
		before = waiting
	}
	ctx, cancel := context.WithCancel(m.ctx)
	m.nextID++
	id := m.nextID
	m.jobs[msg.index] = job{id, cancel}
	r.state, r.done, r.what = reading, 0, ""
	return inBackground(id, func(progress func(float64, string)) tea.Msg {
		out := changedMsg{changeMsg: msg, job: id, before: before}
		out.hop, out.edit, out.err = decide(ctx, o, msg, progress)
		return out
	})
}

// decide makes a change and reads the hop with it.
func decide(ctx context.Context, o Options, msg changeMsg, progress func(float64, string)) (hop *opened, edit *flight.Edit, err error) {
	defer caught(&hop, &err)
	e := o.Logbook.Hops[msg.index]
	before := keyOf(o.Rows, e)
	d, done, err := o.Decide(ctx, e, msg.change, progress)
	if done != (flight.Edit{}) {
		edit = &done
	}
	if err != nil {
		return nil, edit, err
	}
	hop, err = prepare(ctx, msg.index, e, d, progress)
	if err == nil {
		keepChanged(o.Rows, e, before, done.Before, hop.sum)
	}
	return hop, edit, err
}

// lightChange makes a change that needs no reading.
func lightChange(o Options, e flight.HopEntry, msg changeMsg) tea.Msg {
	out := changedMsg{changeMsg: msg}
	switch {
	case msg.mark == nil:
		var edit flight.Edit
		if edit, out.err = o.Note(e, msg.change); out.err == nil {
			out.edit, out.set = &edit, settingsOf(e)
		}
	case msg.kind == undoing:
		out.err = o.RemoveMark(e, *msg.mark)
	default:
		out.err = o.AddMark(e, *msg.mark)
	}
	return out
}

// settingsOf reads the settings of a hop that has a folder of its own, nil if there are
// none to be had: reading the hop says what is wrong with them.
func settingsOf(e flight.HopEntry) *flight.HopSettings {
	if info, err := os.Stat(e.Path); err != nil || !info.IsDir() {
		return nil
	}
	s, err := flight.ReadHopSettings(e.Path)
	if err != nil {
		return nil
	}
	return s
}

// changed brings screens and undo in line with what was written.
func (m *root) changed(msg changedMsg) tea.Cmd {
	m.making = false
	cmd := m.changedHop(msg)
	if msg.edit != nil || msg.mark != nil && msg.err == nil {
		m.remember(msg)
	}
	if len(m.queue) > 0 {
		next := m.queue[0]
		m.queue = m.queue[1:]
		return tea.Batch(cmd, m.change(next))
	}
	cmds := []tea.Cmd{cmd, m.scan()}
	for _, c := range m.cards {
		cmds = append(cmds, m.exportNow(c))
	}
	m.cards = nil
	if m.leaving {
		return tea.Quit
	}
	return tea.Batch(cmds...)
}

// leave ends the program, after the changes under way have been written: what was decided
// a moment ago must not be lost. Asked twice it ends at once.
func (m *root) leave() tea.Cmd {
	if !m.making || m.leaving {
		return tea.Quit
	}
	m.leaving = true
	m.notice = "leaving as soon as what was changed is kept; q leaves at once"
	return nil
}

// exportNow writes the card of the hop on show, or waits for the changes under way.
func (m *root) exportNow(msg exportMsg) tea.Cmd {
	switch {
	case m.desk.current == nil:
		return nil
	case m.making:
		m.cards = append(m.cards, msg)
		m.notice = "the card is written when what was changed is done"
		return nil
	}
	m.notice = "writing the card"
	return exportCard(m.desk.opts, m.desk.current, msg.format)
}

// remember keeps a change to be undone or made again.
func (m *root) remember(msg changedMsg) {
	msg.hop = nil // keeps no samples in memory
	switch msg.kind {
	case undoing:
		m.undone = append(m.undone, msg)
	case fresh:
		m.undone = nil
		fallthrough
	default:
		m.done = append(m.done, msg)
	}
}

// changedHop shows the hop as it is now.
func (m *root) changedHop(msg changedMsg) tea.Cmd {
	r := &m.desk.rows[msg.index]
	if j, ok := m.jobs[msg.index]; ok && j.id == msg.job {
		j.cancel()
		delete(m.jobs, msg.index)
		r.state = msg.before
	}
	switch {
	case msg.err != nil && msg.edit != nil: // written, but not read yet
		r.state = waiting
		m.notice = msg.what + ": kept, but not read: " + clean(msg.err.Error())
		if errors.Is(msg.err, context.Canceled) {
			m.notice = msg.what + ": kept; the hop is still to be read"
		}
		return m.tell(rowMsg{})
	case msg.err != nil:
		m.notice = "nothing changed: " + clean(msg.err.Error())
		return m.tell(rowMsg{})
	}
	m.notice = [...]string{"", "undone: ", "again: "}[msg.kind] + msg.what
	if msg.hop == nil {
		return m.changedLightly(msg)
	}
	r.fill(msg.hop.sum)
	m.shelf.put(msg.hop)
	m.paired(msg.hop)
	return tea.Batch(m.tell(rowMsg{}), m.showAgain(msg.hop))
}

// changedLightly puts a mark or remarks into the hop on show.
func (m *root) changedLightly(msg changedMsg) tea.Cmd {
	h := m.shelf.get(msg.index)
	if c := m.desk.current; c != nil && c.index == msg.index {
		h = c
	}
	if h == nil {
		return nil
	}
	hop := *h.d.Hop // a card may be being written from the one there was
	d := *h.d
	d.Hop, h.d = &hop, &d
	if msg.mark != nil {
		hop.Marks = withMark(hop.Marks, *msg.mark, msg.kind == undoing)
	} else {
		h.set, hop.Notes = msg.set, ""
		if msg.set != nil {
			hop.Notes = msg.set.Notes
		}
	}
	return m.tell(hopMsg{same: true})
}

// showAgain shows a hop that has been read anew, if it is the one on show or to be shown.
func (m *root) showAgain(h *opened) tea.Cmd {
	switch c := m.desk.current; {
	case m.want == h.index:
		m.want = -1
		return m.show(h)
	case c == nil || c.index != h.index:
		return nil
	}
	m.desk.current = h
	m.desk.speed.show(h)
	return m.tell(hopMsg{same: true})
}

// undo takes the last change back, and redo makes it again.
func (m *root) undo() tea.Cmd { return m.again(&m.done, undoing, "nothing to take back") }

func (m *root) redo() tea.Cmd { return m.again(&m.undone, redoing, "nothing to do again") }

func (m *root) again(from *[]changedMsg, kind changeKind, none string) tea.Cmd {
	if m.making {
		m.notice = "still at it: " + m.notice
		return nil
	}
	n := len(*from)
	if n == 0 {
		m.notice = none
		return nil
	}
	last := (*from)[n-1]
	*from = (*from)[:n-1]
	msg := last.changeMsg
	msg.kind = kind
	if last.edit != nil {
		// What was done last is turned round: an undo has been remembered as such.
		msg.change = last.edit.Back().Change()
	}
	return m.change(msg)
}

// decided asks for a decision about the hop on show.
func (d *desk) decided(what string, ds ...flight.Decision) tea.Cmd {
	return d.changeTo(what, flight.Deciding(ds...), false)
}

// changeTo asks for a change of the hop on show.
func (d *desk) changeTo(what string, c flight.Change, light bool) tea.Cmd {
	switch {
	case d.current == nil:
		return d.ask(noticeMsg{"no hop is open"})
	case !d.canChange(light):
		return d.ask(noticeMsg{"decisions cannot be kept here"})
	}
	return d.ask(changeMsg{index: d.current.index, what: clean(what), change: c, light: light})
}

func (d *desk) canChange(light bool) bool {
	if light {
		return d.opts.Note != nil
	}
	return d.opts.Decide != nil
}

// caught turns a panic of a job into an error of its hop.
func caught(hop **opened, err *error) {
	if r := recover(); r != nil {
		*hop, *err = nil, debrief.Failure(r)
	}
}
