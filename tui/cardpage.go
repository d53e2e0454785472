package tui

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// cardPage shows the card, takes remarks for it and writes it to a file.
type cardPage struct {
	*page
	remarks        remarks
	asking         bool // which format the card is to be written in
	export, remark key.Binding
}

func newCardPage(d *desk) *cardPage {
	g := &cardPage{
		export: bind("write to a file|write the card to a file: Markdown, HTML, PDF, CSV or JSON", "w", "w"),
		remark: bind("remarks|fill in the remarks", "r", "r"),
	}
	g.export.SetEnabled(d.opts.Export != nil)
	g.remark.SetEnabled(d.opts.Note != nil)
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

func (g *cardPage) Typing() bool { return g.remarks.open || g.asking }

func (g *cardPage) ShortHelp() []key.Binding {
	return append(g.page.ShortHelp(), g.remark, g.export)
}

func (g *cardPage) FullHelp() [][]key.Binding {
	return append(g.page.FullHelp(), []key.Binding{g.remark, g.export})
}

func (g *cardPage) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case hopMsg:
		if !msg.same {
			g.remarks.open, g.asking = false, false
		}
	case tea.KeyMsg:
		if g.desk.current != nil {
			return g.key(msg)
		}
	}
	return g.page.Update(msg)
}

func (g *cardPage) key(msg tea.KeyMsg) tea.Cmd {
	switch {
	case g.remarks.open:
		if g.remarks.typed(msg) && g.remarks.value() != g.desk.current.d.Hop.Notes {
			return g.desk.remark(g.remarks.value())
		}
	case g.asking:
		g.asking = false
		for _, f := range formats() {
			if msg.String() == f[:1] || msg.String() == "enter" {
				return g.desk.export(f)
			}
		}
	case key.Matches(msg, g.export):
		g.asking = true
	case key.Matches(msg, g.remark):
		g.remarks.begin(g.desk.current.d.Hop.Notes)
	default:
		return g.page.key(msg)
	}
	return nil
}

func (g *cardPage) View() string {
	if g.desk.current == nil || !g.Typing() {
		return g.page.View()
	}
	if g.asking {
		p := g.page.draw()
		p.fill(0, p.w, p.h-1, ' ', ink)
		p.textTo(1, p.h-1, p.w, "write as: m Markdown (enter), h HTML, p PDF to print, c CSV table, j JSON; esc does not", accent)
		return p.render(&g.desk.theme)
	}
	p := newPaper(g.w, g.h)
	g.remarks.draw(p)
	return p.render(&g.desk.theme)
}

// formats lists the formats of a card; each begins with another letter.
func formats() []string { return []string{"md", "html", "pdf", "csv", "json"} }

// export asks for the card of the hop on show as a file of that format.
func (d *desk) export(format string) tea.Cmd {
	format = strings.ToLower(strings.TrimSpace(format))
	switch {
	case d.opts.Export == nil:
		return d.ask(noticeMsg{"cards cannot be written here"})
	case !slices.Contains(formats(), format):
		return d.ask(noticeMsg{fmt.Sprintf("a card is written as %s, not as %q", strings.Join(formats(), ", "), format)})
	}
	return d.ask(exportMsg{format})
}

// exportMsg asks the root for the card as a file.
type exportMsg struct{ format string }

// exportCard writes the card beside the update loop and says where it is.
func exportCard(opts Options, o *opened, format string) tea.Cmd {
	d := o.d
	return func() tea.Msg {
		path, err := opts.Export(context.Background(), d, format)
		if err != nil {
			return noticeMsg{"card not written: " + err.Error()}
		}
		return noticeMsg{"card written: " + path}
	}
}
