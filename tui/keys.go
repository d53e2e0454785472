package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
)

// globalKeys work on every screen.
type globalKeys struct {
	Screens []key.Binding
	Next    key.Binding
	Prev    key.Binding
	Back    key.Binding
	Sheet   key.Binding
	Order   key.Binding
	Speed   key.Binding
	Undo    key.Binding
	Redo    key.Binding
	Stop    key.Binding
	Quit    key.Binding
}

// bind makes a binding. The description may have a short and a long form, with a bar
// between: the help line shows the first, the key sheet the second.
func bind(desc, label string, keys ...string) key.Binding {
	return key.NewBinding(key.WithKeys(keys...), key.WithHelp(label, desc))
}

func newGlobalKeys(titles []string) globalKeys {
	k := globalKeys{
		Next:  bind("next screen", "tab", "tab"),
		Prev:  bind("previous screen", "shift+tab", "shift+tab"),
		Back:  bind("back|back to the logbook", "esc", "esc"),
		Sheet: bind("keys|this sheet", "?", "?"),
		Order: bind("go to|go to a screen, hop, channel or time by name", ":", ":"),
		Speed: bind("m/s or kt|wind in m/s or kt", "K", "K"),
		Undo:  bind("undo|take the last mark, remark or decision back", "u", "u"),
		Redo:  bind("redo|and make it again", "U", "U"),
		Stop:  bind("stop|stop reading in the background, or go on", "S", "S"),
		Quit:  bind("quit", "q", "q"),
	}
	for i, title := range titles {
		digit := string("1234567890"[min(i, 9)])
		k.Screens = append(k.Screens, bind(title, digit, digit))
	}
	return k
}

func shortDesc(b key.Binding) string {
	short, _, _ := strings.Cut(b.Help().Desc, "|")
	return short
}

func longDesc(b key.Binding) string {
	short, long, ok := strings.Cut(b.Help().Desc, "|")
	if ok {
		return long
	}
	return short
}

// listKeys move in a list or a long text.
type listKeys struct {
	Up, Down, PageUp, PageDown, Home, End key.Binding
}

func newListKeys() listKeys {
	return listKeys{
		Up:       bind("up", "↑", "up", "k"),
		Down:     bind("down", "↓", "down", "j"),
		PageUp:   bind("page up", "pgup", "pgup", "b"),
		PageDown: bind("page down", "pgdn", "pgdown", " "),
		Home:     bind("first", "home", "home", "g"),
		End:      bind("last", "end", "end", "G"),
	}
}

func (k listKeys) all() []key.Binding {
	return []key.Binding{k.Up, k.Down, k.PageUp, k.PageDown, k.Home, k.End}
}
