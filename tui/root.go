package tui

import (
	"context"
	"fmt"

	"github.com/charmbracelet/bubbles/help"
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
)

// Below this size nothing useful fits.
const (
	minWidth  = 70
	minHeight = 18
)

// screen is one page of the program. A screen that shows a hop finds it on the desk.
type screen interface {
	Title() string
	SetSize(w, h int)
	Update(msg tea.Msg) tea.Cmd
	View() string
	help.KeyMap
}

// typing is a screen that may be taking text, and then gets every key first.
type typing interface{ Typing() bool }

// desk is what the screens share. Only the root changes it.
type desk struct {
	opts    Options
	theme   theme
	rows    []row
	current *opened // the hop on show, nil if none
	reading string  // what the open hop's job is doing, for screens that wait for it
	done    float64 // how far it is, 0 to 1
	speed   speedUnit
	pair    pair
	asked   []tea.Msg // of the root, by a screen
}

// Messages from a screen to the root.
type (
	openMsg   struct{ index int }  // open this hop
	seeMsg    struct{ tS float64 } // show the traces at this time
	pauseMsg  struct{}             // stop or go on reading in the background
	noticeMsg struct{ text string }
	// hopMsg tells the screens that another hop is on show, or the same one as it looks
	// now: then they stay where they are.
	hopMsg struct{ same bool }
	// speedMsg tells them that wind is shown in another unit.
	speedMsg struct{}
)

// job is one hop being read.
type job struct {
	id     int
	cancel context.CancelFunc
}

// The places of the screens that the root itself goes to.
const (
	logbookScreen = iota
	hopScreen
)

// ask has the root do something before the next key is looked at: a key that is typed
// fast after another must find done what that one asked for.
func (d *desk) ask(msg tea.Msg) tea.Cmd {
	d.asked = append(d.asked, msg)
	return nil
}

type root struct {
	ctx     context.Context
	desk    *desk
	screens []screen
	at      int
	pairAt  int // the screen of the pair
	trendAt int // the screen of the trend
	keys    globalKeys
	sheet   sheet
	w, h    int

	shelf  shelf
	jobs   map[int]job // by hop
	nextID int
	want   int // hop to show as soon as it is read, -1 for none
	paused bool
	notice string
	order  prompt // the command line
	changes
}

func newRoot(ctx context.Context, o Options, r *lipgloss.Renderer) (*root, error) {
	d := &desk{opts: o, theme: newTheme(r), speed: metresPerSecond(), pair: noPair()}
	for _, e := range o.Logbook.Hops {
		d.rows = append(d.rows, newRow(e))
	}
	m := &root{ctx: ctx, desk: d, jobs: map[int]job{}, want: -1}
	m.screens = newScreens(ctx, d)
	var titles []string
	for i, s := range m.screens {
		titles = append(titles, s.Title())
		switch s.Title() {
		case pairTitle:
			m.pairAt = i
		case trendTitle:
			m.trendAt = i
		}
	}
	m.keys = newGlobalKeys(titles)
	if o.InitialHop == "" {
		return m, nil
	}
	for i, e := range o.Logbook.Hops {
		if e.Name == o.InitialHop {
			m.want, m.at = i, hopScreen
			return m, nil
		}
	}
	return nil, fmt.Errorf("%q: %w %s", o.InitialHop, ErrNoHop, o.Logbook.Dir)
}

func (m *root) Init() tea.Cmd {
	if m.want >= 0 {
		m.desk.reading = "reading " + m.desk.rows[m.want].entry.Name
		return tea.Batch(m.start(m.want), glance(m.desk.opts))
	}
	if m.desk.opts.Rows != nil {
		return glance(m.desk.opts) // the reading begins when the list is there
	}
	return m.scan()
}

func (m *root) Update(msg tea.Msg) (tea.Model, tea.Cmd) { return m, m.settle(m.handle(msg)) }

// settle does what the screens have asked for.
func (m *root) settle(cmd tea.Cmd) tea.Cmd {
	if len(m.desk.asked) == 0 {
		return cmd
	}
	cmds := []tea.Cmd{cmd}
	for len(m.desk.asked) > 0 {
		msg := m.desk.asked[0]
		m.desk.asked = m.desk.asked[1:]
		cmds = append(cmds, m.handle(msg))
	}
	return tea.Batch(cmds...)
}

func (m *root) handle(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		m.w, m.h = msg.Width, msg.Height
		for _, s := range m.screens {
			s.SetSize(m.w, m.bodyHeight())
		}
		return nil
	case tea.KeyMsg:
		return m.typed(msg)
	case tea.MouseMsg:
		return m.mouse(msg)
	case progressMsg:
		return m.progress(msg)
	case loadedMsg:
		return m.loaded(msg)
	case openMsg:
		return m.open(msg.index)
	case seeMsg:
		m.at = hopScreen
		return m.screens[hopScreen].Update(msg)
	case glancedMsg:
		return m.glanced(msg)
	case recalledMsg:
		return m.recalled(msg)
	case trendProgressMsg, trendDoneMsg: // whichever screen is on show
		return m.screens[m.trendAt].Update(msg)
	case changeMsg:
		return m.change(msg)
	case changedMsg:
		return m.changed(msg)
	case exportMsg:
		return m.exportNow(msg)
	case pairMsg:
		return m.pairUp(msg)
	case pauseMsg:
		return m.pause()
	case noticeMsg:
		m.notice = clean(msg.text)
		return nil
	}
	return m.screens[m.at].Update(msg)
}

// tooSmall reports whether the window is below the minimum size.
func (m *root) tooSmall() bool { return m.w < minWidth || m.h < minHeight }

// typed takes keys one by one. Keys pressed fast, or held up on a slow line, arrive as
// one message; text that was pasted is for a line of text or for nobody.
func (m *root) typed(msg tea.KeyMsg) tea.Cmd {
	if msg.Type != tea.KeyRunes || len(msg.Runes) < 2 {
		return m.key(msg)
	}
	if t, ok := m.screens[m.at].(typing); msg.Paste && !m.order.open && !(ok && t.Typing()) {
		return nil
	}
	var cmds []tea.Cmd
	for _, r := range msg.Runes {
		cmds = append(cmds, m.settle(m.key(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}, Alt: msg.Alt})))
	}
	return tea.Sequence(cmds...)
}

func (m *root) key(msg tea.KeyMsg) tea.Cmd {
	if msg.String() == "ctrl+c" {
		return m.leave()
	}
	if m.order.open {
		return m.ordered(msg)
	}
	if t, ok := m.screens[m.at].(typing); ok && t.Typing() {
		return m.screens[m.at].Update(msg)
	}
	m.notice = ""
	switch {
	case key.Matches(msg, m.keys.Quit):
		return m.leave()
	case m.sheet.open:
		m.sheet.typed(msg, newListKeys())
		return nil
	case key.Matches(msg, m.keys.Sheet):
		m.sheet.open = true
		return nil
	case key.Matches(msg, m.keys.Order):
		m.order = prompt{open: true}
		return nil
	case key.Matches(msg, m.keys.Speed):
		return m.otherSpeed()
	case key.Matches(msg, m.keys.Stop):
		return m.pause()
	case key.Matches(msg, m.keys.Undo):
		return m.undo()
	case key.Matches(msg, m.keys.Redo):
		return m.redo()
	case key.Matches(msg, m.keys.Next):
		return m.goToHop((m.at + 1) % len(m.screens))
	case key.Matches(msg, m.keys.Prev):
		return m.goToHop((m.at + len(m.screens) - 1) % len(m.screens))
	case key.Matches(msg, m.keys.Back) && m.at != logbookScreen:
		m.goTo(logbookScreen)
		m.want, m.desk.reading, m.desk.done = -1, "", 0 // no one waits any more
		return nil
	}
	for i, b := range m.keys.Screens {
		if key.Matches(msg, b) {
			return m.goToHop(i)
		}
	}
	return m.screens[m.at].Update(msg)
}

// otherSpeed shows wind in knots, or again in m/s.
func (m *root) otherSpeed() tea.Cmd {
	if m.desk.speed == metresPerSecond() {
		m.desk.speed = knots()
	} else {
		m.desk.speed = metresPerSecond()
	}
	m.notice = "wind in " + m.desk.speed.name
	if m.desk.current != nil {
		m.desk.speed.show(m.desk.current)
	}
	return m.tell(speedMsg{})
}

// goToHop goes to a screen. From the logbook it takes the selected hop along, so that
// every screen of every hop is one key away.
func (m *root) goToHop(i int) tea.Cmd {
	from := m.at
	m.goTo(i)
	switch i {
	case m.pairAt:
		return m.readPair()
	case m.trendAt:
		return m.screens[i].Update(trendLookMsg{})
	}
	if i == logbookScreen || from != logbookScreen {
		return nil
	}
	book, ok := m.screens[logbookScreen].(*logbook)
	if !ok || book.selected() < 0 || m.isShown(book.selected()) {
		return nil
	}
	return m.openBehind(book.selected())
}

// isShown reports whether the hop is on show or about to be.
func (m *root) isShown(index int) bool {
	return m.want == index || m.want < 0 && m.desk.current != nil && m.desk.current.index == index
}

func (m *root) goTo(i int) { m.at = i }

func (m *root) mouse(msg tea.MouseMsg) tea.Cmd {
	if m.tooSmall() || m.sheet.open {
		return nil
	}
	if msg.Y == tabRow && msg.Action == tea.MouseActionPress && msg.Button == tea.MouseButtonLeft {
		if i := m.tabAt(msg.X); i >= 0 {
			return m.goToHop(i)
		}
		return nil
	}
	msg.Y -= headRows
	return m.screens[m.at].Update(msg)
}

// open shows a hop, now or when it has been read.
func (m *root) open(index int) tea.Cmd {
	m.at = hopScreen
	return m.openBehind(index)
}

func (m *root) openBehind(index int) tea.Cmd {
	if index < 0 || index >= len(m.desk.rows) {
		return nil
	}
	if h := m.shelf.get(index); h != nil {
		m.want = -1
		return m.show(h)
	}
	m.want = index
	m.desk.current = nil
	m.desk.reading = "reading " + m.desk.rows[index].entry.Name
	cmd := m.tell(hopMsg{})
	if _, running := m.jobs[index]; running {
		return cmd
	}
	return tea.Batch(cmd, m.start(index))
}

func (m *root) show(h *opened) tea.Cmd {
	m.desk.current, m.desk.reading, m.desk.done = h, "", 0
	m.desk.speed.show(h)
	return m.tell(hopMsg{})
}

// tell passes a message to every screen.
func (m *root) tell(msg tea.Msg) tea.Cmd {
	var cmds []tea.Cmd
	for _, s := range m.screens {
		cmds = append(cmds, s.Update(msg))
	}
	return tea.Batch(cmds...)
}
