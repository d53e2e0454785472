package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"hopcard/flight"
)

// dataPage says what stands behind the numbers, and lets the crew decide it otherwise.
type dataPage struct {
	*page
	form                          form
	Decide, Turn, Use, NextColumn key.Binding
}

func newDataPage(d *desk) *dataPage {
	g := &dataPage{
		page:       newPage(d, "data", dataLines),
		Decide:     bind("decide|decide on the hop, file or column, or show the finding in the traces", "enter", "enter"),
		Turn:       bind("turn sense|turn the sense of the column round", "s", "s"),
		Use:        bind("leave out|leave the file, column or interval out, or take it in again", "x", "x"),
		NextColumn: bind("column|next file or column", "n", "n"),
	}
	g.see.SetEnabled(false) // decide says it
	for _, b := range []*key.Binding{&g.Turn, &g.Use} {
		b.SetEnabled(d.opts.Decide != nil)
	}
	return g
}

func (g *dataPage) Typing() bool { return g.form.open }

func (g *dataPage) ShortHelp() []key.Binding {
	return []key.Binding{g.list.Down, g.NextColumn, g.Decide, g.Turn, g.Use, g.list.PageDown}
}

func (g *dataPage) FullHelp() [][]key.Binding {
	return [][]key.Binding{{g.Decide, g.Turn, g.Use, g.NextColumn}, g.list.all(), g.jumps()}
}

func (g *dataPage) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case hopMsg:
		if !msg.same {
			g.form = form{}
		} else if l := g.chosen(); l != nil && l.about != nil {
			g.follow(*l.about, msg)
			return nil
		}
	case tea.KeyMsg:
		if g.desk.current == nil {
			return nil
		}
		return g.key(msg)
	}
	return g.page.Update(msg)
}

func (g *dataPage) key(msg tea.KeyMsg) tea.Cmd {
	if g.form.open {
		if g.form.typed(msg) {
			g.carryOut()
		}
		return nil
	}
	l := g.chosen()
	switch {
	case key.Matches(msg, g.NextColumn):
		g.nextSubject()
	case l == nil:
		return g.page.key(msg)
	case key.Matches(msg, g.Decide):
		if l.about == nil {
			return g.page.key(msg)
		}
		if g.desk.opts.Decide == nil {
			return g.desk.ask(noticeMsg{"decisions cannot be kept here"})
		}
		g.form = formFor(g.desk.current, *l.about)
	case key.Matches(msg, g.Turn):
		if wrong := "choose a column first: n goes to the next"; l.about == nil || l.about.column == "" {
			return g.desk.ask(noticeMsg{wrong})
		}
		if wrong := g.desk.turn(*l.about); wrong != "" {
			return g.desk.ask(noticeMsg{wrong})
		}
	case key.Matches(msg, g.Use):
		g.leaveOut(l)
	default:
		return g.page.key(msg)
	}
	return nil
}

// follow writes the lines anew and keeps the one about s where it is on the screen: what
// was decided on must not run away, though the findings above it are other ones now.
func (g *dataPage) follow(s subject, msg hopMsg) {
	row := g.cursor - g.top
	g.page.Update(msg)
	g.freshen()
	for i := range g.lines {
		if about := g.lines[i].about; about != nil && *about == s {
			g.top = max(min(i-row, len(g.lines)-max(g.h, 1)), 0)
			g.cursor = i
			return
		}
	}
}

// leaveOut leaves out what a line is about, or takes it in again.
func (g *dataPage) leaveOut(l *line) {
	switch {
	case l.excluded != nil:
		g.desk.include(*l.excluded)
	case l.about == nil || l.about.file == "":
		g.desk.ask(noticeMsg{"choose a file, a column or an excluded interval first"})
	default:
		g.desk.use(*l.about, g.desk.current.isLeftOut(*l.about))
	}
}

// nextSubject goes to the next line that something can be decided about, from the last
// one to the first.
func (g *dataPage) nextSubject() {
	g.freshen()
	for k := range g.lines {
		i := (g.cursor + 1 + k) % len(g.lines)
		if g.lines[i].about != nil && g.lines[i].about.file != "" {
			g.goTo(i)
			return
		}
	}
}

// carryOut asks for what the form decides.
func (g *dataPage) carryOut() {
	ds, wrong := g.form.decisions()
	if wrong != "" {
		g.form.wrong = wrong
		return
	}
	if len(ds) > 0 {
		var keys []string
		for _, d := range ds {
			keys = append(keys, strings.ReplaceAll(d.Key, "_", " "))
		}
		g.desk.decided(g.form.about.String()+": "+strings.Join(keys, ", "), ds...)
	}
	g.form = form{}
}

func formFor(o *opened, s subject) form {
	switch {
	case s.column != "":
		return columnForm(o, s)
	case s.file != "":
		return fileForm(o, s)
	}
	return hopForm(o)
}

func (g *dataPage) View() string {
	if !g.form.open || g.desk.current == nil {
		return g.page.View()
	}
	p := g.page.draw()
	g.form.draw(p)
	return p.render(&g.desk.theme)
}

// dataLines says what stands behind the numbers: findings, files, clocks and columns.
func dataLines(o *opened, w int) []line {
	d := o.d
	ls := []line{section('i', "findings", fmt.Sprintf("Findings: %d", len(d.Findings)))}
	for _, f := range d.Findings {
		ls = append(ls, findingLines(f, w)...)
	}
	ls = append(ls, plainLine(""), section('l', "files", fmt.Sprintf("Files: %d", len(d.Hop.Sources))))
	for i := range d.Hop.Sources {
		ls = append(ls, sourceLines(o, i, w)...)
	}
	ls = append(ls, leftOutLines(o, w)...)
	ls = append(ls, line{lead: "Configuration  ", pen: strong, jump: 'c', index: "configuration", text: orNotSaid(clean(d.Hop.Configuration)), about: &subject{}})
	if d.Hop.Notes != "" {
		ls = append(ls, plainLine(""), section('r', "remarks", "Remarks"))
		for s := range strings.SplitSeq(d.Hop.Notes, "\n") {
			ls = append(ls, wrapped("  ", ink, s, w, nil)...)
		}
	}
	if len(d.Hop.Marks) > 0 {
		ls = append(ls, plainLine(""), section('e', "event marks", "Event marks"))
		for _, m := range d.Hop.Marks {
			ls = append(ls, wrapped(fmt.Sprintf("  %8s s  ", seconds(m.TimeS)), ink, m.Text, w, &m.TimeS)...)
		}
	}
	return ls
}

// findingTitle names a finding by code and where it is.
func findingTitle(f flight.Finding) string {
	parts := []string{string(f.Code)}
	if f.File != "" {
		parts = append(parts, f.File)
	}
	if f.Channel != "" {
		parts = append(parts, f.Channel)
	}
	return strings.Join(parts, " ")
}

func findingLines(f flight.Finding, w int) []line {
	word, pn := severityWord(f.Severity)
	var seeS *float64
	where := ""
	if f.Span != (flight.Span{}) {
		from := f.Span.FromS
		seeS = &from
		where = ", " + spanText(f.Span)
	}
	lead := fmt.Sprintf("%-8s ", word)
	ls := wrapped(lead, pn, findingTitle(f)+where+": "+f.Text, w, seeS)
	if f.Advice != "" {
		ls = append(ls, goingOn(wrapped("      do ", faint, f.Advice, w, seeS))...)
	}
	return ls
}

// leftOutLines lists what hop.toml leaves out: files, and intervals of time.
func leftOutLines(o *opened, w int) []line {
	var ls []line
	if o.set != nil {
		for _, f := range o.set.Files {
			if f.Skip {
				ls = append(ls, line{lead: clean(f.Name), pen: strong, text: "  left out", about: &subject{file: f.Name}})
			}
		}
	}
	for i := range o.d.Hop.Exclude {
		s := &o.d.Hop.Exclude[i]
		for k, l := range wrapped("Left out  ", strong, strings.TrimPrefix(leftOutText(o, *s), "left out of the analysis: "), w, &s.FromS) {
			if k == 0 {
				l.excluded = s
			}
			ls = append(ls, l)
		}
	}
	if ls != nil {
		ls = append(ls, plainLine(""))
	}
	return ls
}

func orNotSaid(s string) string {
	if s == "" {
		return "not said"
	}
	return s
}

// goingOn has lines go on with the one above them.
func goingOn(ls []line) []line {
	for i := range ls {
		ls[i].more = true
	}
	return ls
}

func sourceLines(o *opened, i, w int) []line {
	h := o.d.Hop
	s := &h.Sources[i]
	role := string(s.Role)
	if role == "" {
		role = "not used"
	}
	rate := "rate unknown"
	if s.RateHz > 0 {
		rate = number(s.RateHz) + " Hz"
	}
	ls := []line{{lead: clean(s.File), pen: strong, about: &subject{file: s.File},
		text: fmt.Sprintf("  %s, %d rows, %s", clean(role), s.Rows, rate)}}
	if s.Dress != "" {
		ls = append(ls, wrapped("  written: ", faint, s.Dress, w, nil)...)
	}
	ls = append(ls, wrapped("  clock: ", faint, clockText(s.Clock), w, nil)...)
	ls = append(ls, line{lead: fmt.Sprintf("  %-22s %-20s %-9s %-8s %s", "column", "quantity", "unit", "sense", "sure"), pen: faint})
	for j := range h.Channels {
		c := &h.Channels[j]
		if c.Source != i {
			continue
		}
		l := plainLine(channelText(c))
		if !c.Derived {
			l.about = &subject{s.File, c.Column}
			if set := o.set.File(s.File).Column(c.Column); set != nil && *set != (flight.ColumnSettings{Name: set.Name}) {
				l.text += ", by hand"
			}
		}
		ls = append(ls, l)
	}
	ls = append(ls, unusedColumns(o, s)...)
	return append(ls, plainLine(""))
}

// unusedColumns lists the columns that give no channel, so that they can be decided on:
// stamps, those that hop.toml leaves out, and those that nobody knows.
func unusedColumns(o *opened, s *flight.Source) []line {
	var ls []line
	add := func(column, what, unit string) {
		ls = append(ls, line{text: fmt.Sprintf("  %-22s %-20s %-9s", clip(clean(column), 22), what, unit), about: &subject{s.File, column}})
	}
	for _, t := range s.TimeColumns {
		add(t.Column, string(flight.Time), clip(clean(string(t.Unit)), 9))
	}
	if f := o.set.File(s.File); f != nil {
		for _, c := range f.Columns {
			if c.Skip {
				add(c.Name, leftOut, "")
			}
		}
	}
	for _, f := range o.d.Hop.Findings {
		if f.File == s.File && f.Code == flight.CodeUnrecognised && f.Channel != "" {
			add(f.Channel, "not used", "")
		}
	}
	return ls
}

func clockText(c flight.Clock) string {
	if c.AlignedBy == flight.AlignNone {
		return "NOT ALIGNED: nothing is timed between this file and another"
	}
	if c.AlignedBy == flight.AlignSingle {
		return fmt.Sprintf("its own is the hop clock, zero at stamp %.3f s", c.OffsetS)
	}
	s := fmt.Sprintf("aligned by %s, offset %.3f s", c.AlignedBy, c.OffsetS)
	if c.Offset != nil && c.Offset.HasInterval() {
		s = fmt.Sprintf("aligned by %s, offset %.3f s (%.3f to %.3f)", c.AlignedBy, c.Offset.Value, c.Offset.Low, c.Offset.High)
	}
	s += fmt.Sprintf(", drift %s ppm", number(c.DriftPPM))
	if c.Drift != nil && c.Drift.HasInterval() {
		s += " (" + interval(c.Drift) + ")"
	}
	if c.IntervalS > 0 {
		s += fmt.Sprintf("; a stamp is good to ±%s ms", number(1000*c.IntervalS))
	}
	return s
}

func channelText(c *flight.Channel) string {
	unit, sense := string(c.Unit), "as ours"
	if unit == "" {
		unit = "-"
	}
	if c.Guessed {
		unit += "?"
	}
	if c.Sign < 0 {
		sense = "turned"
	}
	column := c.Column
	if c.Derived {
		column += " (derived)"
	}
	return fmt.Sprintf("  %-22s %-20s %-9s %-8s %.0f %%", clip(clean(column), 22), clip(string(c.Quantity), 20),
		clip(clean(unit), 9), sense, 100*c.Sure)
}
