package tui

import (
	"context"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"hopcard/analysis/compare/trend"
	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// trendView shows one key number at a time over all hops of the logbook. The hops are read
// when the screen is first looked at, beside everything else.
type trendView struct {
	desk   *desk
	ctx    context.Context
	cancel context.CancelFunc // of the reading, nil if none is going on
	run    int                // counts readings, so that a late message of an old one is known
	w, h   int
	t      *trend.Trend // nil until read
	failed []string     // hops that were left out, and why
	err    error
	done   float64
	what   string
	series []int // of t.Series, those with at least one number
	at     int   // into series
	top    int
	keys   trendKeys
}

type trendKeys struct{ Up, Down, Again, Stop key.Binding }

func newTrendView(ctx context.Context, d *desk) *trendView {
	return &trendView{desk: d, ctx: ctx, keys: trendKeys{
		Up:    bind("number|number above", "↑", "up", "k"),
		Down:  bind("number|number below", "↓", "down", "j"),
		Again: bind("read again|read all hops again", "r", "r"),
		Stop:  bind("stop|stop reading", "x", "x"),
	}}
}

const trendTitle = "trend"

func (v *trendView) Title() string { return trendTitle }

func (v *trendView) SetSize(w, h int) {
	v.w, v.h = w, h
	v.choose(v.at)
}

func (v *trendView) ShortHelp() []key.Binding {
	v.keys.Stop.SetEnabled(v.cancel != nil)
	return []key.Binding{v.keys.Up, v.keys.Down, v.keys.Again, v.keys.Stop}
}

func (v *trendView) FullHelp() [][]key.Binding {
	return [][]key.Binding{{v.keys.Up, v.keys.Down}, {v.keys.Again, v.keys.Stop}}
}

// Messages of a reading of all hops, with its number.
type (
	trendLookMsg     struct{} // the screen is looked at
	trendProgressMsg struct {
		run  int
		done float64
		what string
		ch   <-chan tea.Msg
	}
	trendDoneMsg struct {
		run    int
		t      *trend.Trend
		failed []string
		err    error
	}
)

func (v *trendView) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case trendLookMsg:
		if v.t == nil && v.cancel == nil && v.err == nil {
			return v.read()
		}
	case trendProgressMsg:
		if msg.run == v.run {
			v.done, v.what = msg.done, msg.what
		}
		return wait(msg.ch)
	case trendDoneMsg:
		v.take(msg)
	case tea.KeyMsg:
		return v.key(msg)
	case tea.MouseMsg:
		v.mouse(msg)
	}
	return nil
}

func (v *trendView) key(msg tea.KeyMsg) tea.Cmd {
	switch {
	case key.Matches(msg, v.keys.Up):
		v.choose(v.at - 1)
	case key.Matches(msg, v.keys.Down):
		v.choose(v.at + 1)
	case key.Matches(msg, v.keys.Again) && v.cancel == nil:
		return v.read()
	case key.Matches(msg, v.keys.Stop) && v.cancel != nil:
		v.cancel()
	}
	return nil
}

func (v *trendView) mouse(msg tea.MouseMsg) {
	switch {
	case msg.Button == tea.MouseButtonWheelUp:
		v.choose(v.at - 1)
	case msg.Button == tea.MouseButtonWheelDown:
		v.choose(v.at + 1)
	case msg.Action == tea.MouseActionPress && msg.Button == tea.MouseButtonLeft && msg.X < v.listWidth():
		if i := v.top + msg.Y - trendListTop; msg.Y >= trendListTop && i < len(v.series) {
			v.choose(i)
		}
	}
}

// choose takes another number and scrolls the list so that it is on show.
func (v *trendView) choose(i int) {
	v.at = max(min(i, len(v.series)-1), 0)
	rows := max(v.h-trendListTop, 1)
	v.top = max(min(v.top, v.at), v.at-rows+1)
}

// read debriefs every hop beside the update loop.
func (v *trendView) read() tea.Cmd {
	ctx, cancel := context.WithCancel(v.ctx)
	v.cancel, v.err, v.done, v.what = cancel, nil, 0, ""
	v.run++
	run, ch := v.run, make(chan tea.Msg, 1)
	work := func() tea.Msg {
		defer close(ch)
		return readTrend(ctx, v.desk.opts, run, func(done float64, what string) {
			select {
			case ch <- trendProgressMsg{run, done, what, ch}:
			default:
			}
		})
	}
	return tea.Batch(work, wait(ch))
}

// readTrend debriefs one hop after the other. Of each only what a trend needs
// is kept.
func readTrend(ctx context.Context, o Options, run int, progress func(float64, string)) trendDoneMsg {
	msg := trendDoneMsg{run: run}
	var hops []*debrief.Debrief
	all := o.Logbook.Hops
	for i, e := range all {
		d, err := loadOne(ctx, o, e, func(part float64, what string) {
			progress((float64(i)+part)/float64(len(all)), e.Name+": "+what)
		})
		switch {
		case ctx.Err() != nil:
			msg.err = ctx.Err()
			return msg
		case err != nil:
			msg.failed = append(msg.failed, e.Name+": "+err.Error())
		default:
			hops = append(hops, d.Lean())
		}
	}
	msg.t = trend.Of(hops)
	return msg
}

// loadOne is Options.Load with a panic of one hop turned into its error.
func loadOne(ctx context.Context, o Options, e flight.HopEntry, progress func(float64, string)) (d *debrief.Debrief, err error) {
	defer func() {
		if r := recover(); r != nil {
			d, err = nil, debrief.Failure(r)
		}
	}()
	return o.Load(ctx, e, progress)
}

// take takes what a reading found.
func (v *trendView) take(msg trendDoneMsg) {
	if msg.run != v.run {
		return
	}
	v.cancel = nil
	if v.err = msg.err; msg.err != nil {
		return
	}
	v.t, v.failed, v.series = msg.t, msg.failed, nil
	for i, s := range v.t.Series {
		for _, p := range s.Points {
			if p.Estimate != nil {
				v.series = append(v.series, i)
				break
			}
		}
	}
	v.choose(0)
}
