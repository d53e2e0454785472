package tui

import (
	"fmt"
	"sort"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"
)

// logbook is the list of hops.
type logbook struct {
	desk   *desk
	w, h   int
	order  []int // indices into desk.rows, sorted and filtered
	cursor int   // into order
	top    int   // first visible of order
	sort   sortBy
	filter textinput.Model
	typing bool

	list listKeys
	keys logbookKeys
}

type logbookKeys struct {
	Open, Sort, Filter, Pair, Pause key.Binding
}

// sortBy is the order of the list.
type sortBy int

const (
	byName sortBy = iota
	byDate
	byVerdict
	sorts
)

func (s sortBy) String() string { return [sorts]string{"name", "date", "verdict"}[s] }

func newLogbook(d *desk) *logbook {
	l := &logbook{desk: d, list: newListKeys(), filter: textinput.New(), keys: logbookKeys{
		Open:   bind("open|open the hop", "enter", "enter", "right"),
		Sort:   bind("sort|sort by name, date or verdict", "o", "o"),
		Filter: bind("filter|show only what holds these words", "/", "/"),
		Pair:   bind("mark|mark two hops, A and B, to see them side by side", "m", "m"),
		Pause:  bind("stop reading|stop reading in the background, or go on", "s", "s"),
	}}
	l.filter.Prompt = "filter: "
	l.filter.CharLimit = 40
	l.arrange()
	return l
}

func (l *logbook) Title() string    { return "logbook" }
func (l *logbook) SetSize(w, h int) { l.w, l.h = w, h; l.scroll() }
func (l *logbook) Typing() bool     { return l.typing }
func (l *logbook) ShortHelp() []key.Binding {
	return []key.Binding{l.list.Up, l.list.Down, l.keys.Open, l.keys.Sort, l.keys.Filter, l.keys.Pair, l.keys.Pause}
}
func (l *logbook) FullHelp() [][]key.Binding {
	return [][]key.Binding{{l.keys.Open, l.keys.Sort, l.keys.Filter, l.keys.Pair, l.keys.Pause}, l.list.all()}
}

// selected is the index of the hop under the cursor, -1 if the list is empty.
func (l *logbook) selected() int {
	if l.cursor < 0 || l.cursor >= len(l.order) {
		return -1
	}
	return l.order[l.cursor]
}

func (l *logbook) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case tea.KeyMsg:
		if l.typing {
			return l.typed(msg)
		}
		return l.key(msg)
	case tea.MouseMsg:
		return l.mouse(msg)
	case rowMsg:
		l.arrange()
	}
	return nil
}

func (l *logbook) key(msg tea.KeyMsg) tea.Cmd {
	page := max(l.visible()-1, 1)
	switch {
	case key.Matches(msg, l.list.Up):
		l.move(-1)
	case key.Matches(msg, l.list.Down):
		l.move(1)
	case key.Matches(msg, l.list.PageUp):
		l.move(-page)
	case key.Matches(msg, l.list.PageDown):
		l.move(page)
	case key.Matches(msg, l.list.Home):
		l.move(-len(l.order))
	case key.Matches(msg, l.list.End):
		l.move(len(l.order))
	case key.Matches(msg, l.keys.Open):
		return l.open()
	case key.Matches(msg, l.keys.Sort):
		l.sort = (l.sort + 1) % sorts
		l.arrange()
	case key.Matches(msg, l.keys.Filter):
		l.typing = true
		l.filter.Focus()
	case key.Matches(msg, l.keys.Pair):
		if i := l.selected(); i >= 0 {
			return l.desk.ask(pairMsg{i})
		}
	case key.Matches(msg, l.keys.Pause):
		return l.desk.ask(pauseMsg{})
	}
	return nil
}

// typed handles a key while the filter takes text.
func (l *logbook) typed(msg tea.KeyMsg) tea.Cmd {
	switch msg.Type {
	case tea.KeyEnter:
		l.typing = false
	case tea.KeyEsc:
		l.typing = false
		l.filter.SetValue("")
	default:
		// The blinking of the field's own cursor is not needed here.
		l.filter, _ = l.filter.Update(msg)
	}
	l.arrange()
	return nil
}

func (l *logbook) mouse(msg tea.MouseMsg) tea.Cmd {
	switch {
	case msg.Button == tea.MouseButtonWheelUp:
		l.move(-1)
	case msg.Button == tea.MouseButtonWheelDown:
		l.move(1)
	case msg.Action == tea.MouseActionPress && msg.Button == tea.MouseButtonLeft:
		i := l.top + msg.Y - listTop
		if msg.Y < listTop || msg.Y >= listTop+l.visible() || i >= len(l.order) {
			return nil
		}
		if i == l.cursor {
			return l.open()
		}
		l.move(i - l.cursor)
	}
	return nil
}

func (l *logbook) open() tea.Cmd {
	i := l.selected()
	if i < 0 {
		return nil
	}
	return l.desk.ask(openMsg{i})
}

func (l *logbook) move(by int) {
	l.cursor = min(max(l.cursor+by, 0), max(len(l.order)-1, 0))
	l.scroll()
}

// scroll keeps the cursor in view.
func (l *logbook) scroll() {
	n := max(l.visible(), 1)
	l.top = min(max(l.top, l.cursor-n+1), l.cursor)
	l.top = max(min(l.top, len(l.order)-n), 0)
}

// arrange sorts and filters, and keeps the cursor on its hop.
func (l *logbook) arrange() {
	keep := l.selected()
	l.order = l.order[:0:0]
	words := strings.Fields(strings.ToLower(l.filter.Value()))
	for i := range l.desk.rows {
		if matchesAll(&l.desk.rows[i], words) {
			l.order = append(l.order, i)
		}
	}
	rows := l.desk.rows
	sort.SliceStable(l.order, func(a, b int) bool {
		ra, rb := &rows[l.order[a]], &rows[l.order[b]]
		switch l.sort {
		case byDate:
			return ra.sum.Date > rb.sum.Date // latest first; no date comes last
		case byVerdict:
			return ra.rank() < rb.rank()
		}
		return false // the logbook is sorted by name
	})
	for i, index := range l.order {
		if index == keep {
			l.cursor = i
		}
	}
	l.move(0)
}

func matchesAll(r *row, words []string) bool {
	verdict, _ := proceedWord(r.proceed())
	text := strings.ToLower(strings.Join([]string{r.entry.Name, r.sum.Date, r.sum.Configuration, r.sum.Air, verdict}, " "))
	for _, w := range words {
		if !strings.Contains(text, w) {
			return false
		}
	}
	return true
}

// problem is what is wrong with a row, empty if nothing is.
func (r *row) problem() string {
	switch {
	case r.err != nil:
		return r.err.Error()
	case r.entry.Problem != nil:
		return r.entry.Problem.Error()
	}
	return ""
}

// title says what is listed and in which order.
func (l *logbook) title() string {
	dir := l.desk.opts.Logbook.Dir
	s := fmt.Sprintf("%s: %s by %s", clean(dir), hopsText(len(l.order)), l.sort)
	if l.filter.Value() != "" {
		s += fmt.Sprintf(" (%d hidden by the filter %q)", len(l.desk.rows)-len(l.order), l.filter.Value())
	}
	return s
}
