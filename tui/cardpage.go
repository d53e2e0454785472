package tui

import (
	"context"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// cardPage shows the card and writes it to a file.
type cardPage struct {
	*page
	export key.Binding
}

func newCardPage(d *desk) *cardPage {
	g := &cardPage{export: bind("write to a file|write the card to a file", "w", "w")}
	g.export.SetEnabled(d.opts.Export != nil)
	g.page = newPage(d, "card", func(o *opened, w int) []line { return cardLines(d.opts, o, w) })
	return g
}

func cardLines(opts Options, o *opened, w int) []line {
	var b strings.Builder
	if err := opts.Card(&b, o.d); err != nil {
		return wrapped("The card cannot be made: ", danger, err.Error(), w, nil)
	}
	var ls []line
	for s := range strings.SplitSeq(strings.TrimRight(b.String(), "\n"), "\n") {
		switch {
		case strings.HasPrefix(s, "#"):
			ls = append(ls, heading(s))
		case textWidth(s) > w && !strings.HasPrefix(s, "|"):
			ls = append(ls, wrapped("", ink, s, w, nil)...)
		default:
			ls = append(ls, line{text: s})
		}
	}
	return ls
}

func (g *cardPage) ShortHelp() []key.Binding { return append(g.page.ShortHelp(), g.export) }

func (g *cardPage) FullHelp() [][]key.Binding {
	return append(g.page.FullHelp(), []key.Binding{g.export})
}

func (g *cardPage) Update(msg tea.Msg) tea.Cmd {
	if k, ok := msg.(tea.KeyMsg); ok && key.Matches(k, g.export) && g.desk.current != nil {
		return exportCard(g.desk.opts, g.desk.current)
	}
	return g.page.Update(msg)
}

// exportCard writes the card beside the update loop and says where it is.
func exportCard(opts Options, o *opened) tea.Cmd {
	return func() tea.Msg {
		path, err := opts.Export(context.Background(), o.d)
		if err != nil {
			return noticeMsg{"card not written: " + err.Error()}
		}
		return noticeMsg{"card written: " + path}
	}
}
