package tui

import "github.com/charmbracelet/bubbles/key"

// globalKeys work on every screen.
type globalKeys struct {
	Screens []key.Binding
	Next    key.Binding
	Prev    key.Binding
	Back    key.Binding
	Sheet   key.Binding
	Quit    key.Binding
}

func bind(desc, label string, keys ...string) key.Binding {
	return key.NewBinding(key.WithKeys(keys...), key.WithHelp(label, desc))
}

func newGlobalKeys(titles []string) globalKeys {
	k := globalKeys{
		Next:  bind("next screen", "tab", "tab"),
		Prev:  bind("previous screen", "shift+tab", "shift+tab"),
		Back:  bind("back", "esc", "esc"),
		Sheet: bind("keys", "?", "?"),
		Quit:  bind("quit", "q", "q"),
	}
	for i, title := range titles {
		digit := string(rune('1' + i))
		k.Screens = append(k.Screens, bind(title, digit, digit))
	}
	return k
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
