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

// cardLetters go to the parts of the card, in order. They are the letters that no other
// key of the screen has.
const cardLetters = "acdefhilmnopstvxyz"

func cardLines(opts Options, o *opened, w int) []line {
	var b strings.Builder
	if err := opts.Card(&b, o.d); err != nil {
		return wrapped("The card cannot be made: ", danger, err.Error(), w, nil)
	}
	var ls []line
	letters := []rune(cardLetters)
	rows := strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
	for len(rows) > 0 {
		s := rows[0]
		n := blockLength(rows)
		switch name, isPart := strings.CutPrefix(s, "## "); {
		case isPart && len(letters) > 0:
			ls = append(ls, section(letters[0], clip(strings.ToLower(name), 24), s))
			letters = letters[1:]
		case strings.HasPrefix(s, "#"):
			ls = append(ls, heading(s))
		case strings.HasPrefix(s, "|"):
			ls = append(ls, cardTable(rows[:n], w)...)
		case s == "":
			ls = append(ls, plainLine(""))
		default:
			ls = append(ls, cardParagraph(rows[:n], w)...)
		}
		rows = rows[n:]
	}
	return ls
}

// blockLength is how many rows of a card belong together: a table, or a paragraph with
// the rows that go on with it.
func blockLength(rows []string) int {
	special := func(s string) bool { return s == "" || strings.ContainsAny(s[:1], "#|") }
	n := 1
	switch {
	case strings.HasPrefix(rows[0], "|"):
		for n < len(rows) && strings.HasPrefix(rows[n], "|") {
			n++
		}
	case !special(rows[0]):
		for n < len(rows) && !special(rows[n]) && !strings.HasPrefix(rows[n], "- ") {
			n++
		}
	}
	return n
}

// cardParagraph breaks a paragraph anew to the width of the window.
func cardParagraph(rows []string, w int) []line {
	var words []string
	for _, s := range rows {
		words = append(words, strings.Fields(s)...)
	}
	lead := ""
	if words[0] == "-" {
		lead, words = "- ", words[1:]
	}
	return wrapped(lead, ink, strings.Join(words, " "), w, nil)
}

// cardTable shows a table as the card writes it, or, where it is wider than the window,
// with the columns that do not fit below the others: no figure is cut off.
func cardTable(rows []string, w int) []line {
	var ls []line
	widest := 0
	var cells [][]string
	for i, s := range rows {
		widest = max(widest, textWidth(s))
		ls = append(ls, line{text: s})
		if i != 1 { // the rule below the head
			cells = append(cells, cellsOf(s))
		}
	}
	if widest <= w || len(cells) < 2 {
		return ls
	}
	return tableLines(cells[0], brokenCells(cells, w)[1:], w)
}

// brokenCells breaks cells that are wider than a window that also holds the first column.
func brokenCells(cells [][]string, w int) [][]string {
	first := 0
	for _, row := range cells {
		first = max(first, textWidth(row[0]))
	}
	room := max(w-first-4, 20)
	var out [][]string
	for _, row := range cells {
		for more := true; more; {
			more = false
			now, rest := make([]string, len(row)), make([]string, len(row))
			for i, c := range row {
				now[i] = c
				if i > 0 && textWidth(c) > room {
					parts := wrap(c, room)
					now[i], rest[i] = parts[0], strings.Join(parts[1:], " ")
					more = more || rest[i] != ""
				}
			}
			out = append(out, now)
			row = rest
		}
	}
	return out
}

// cellsOf takes the row of a Markdown table apart; a bar behind a backslash is text.
func cellsOf(s string) []string {
	s = strings.ReplaceAll(strings.Trim(strings.TrimSpace(s), "|"), `\|`, "\x00")
	var out []string
	for c := range strings.SplitSeq(s, "|") {
		out = append(out, strings.ReplaceAll(strings.TrimSpace(c), "\x00", "|"))
	}
	return out
}

func (g *cardPage) Typing() bool { return g.remarks.open || g.asking }

func (g *cardPage) ShortHelp() []key.Binding {
	return append(g.page.ShortHelp(), g.remark, g.export)
}

func (g *cardPage) FullHelp() [][]key.Binding {
	return [][]key.Binding{{g.remark, g.export}, g.list.all(), g.jumps()}
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
