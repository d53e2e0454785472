package tui

import (
	"math"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"hopcard/analysis/segment"
	"hopcard/flight"
)

// hopView is the traces of one hop on one time axis.
type hopView struct {
	desk *desk
	w, h int

	whole   flight.Span // the hop
	flown   flight.Span // from lift-off to landing with some seconds to spare, or the hop
	window  flight.Span // what is on show
	cursor  float64     // hop time
	ref     float64     // second cursor, NaN if not set
	set     stripSet
	chosen  []flight.Quantity // the user's own set
	damped  damped
	overlay bool // traces of one dimension lie over each other
	fitted  bool // scales fit the window, not the hop
	grip    drag
	marking

	base *paper // everything but cursors and read-outs; nil to be redrawn
	lay  layout // of base
	keys hopKeys
}

// drag is a drag of the mouse: the time that the pointer took hold of.
type drag struct {
	on bool
	tS float64
}

type hopKeys struct {
	Left, Right, FarLeft, FarRight, In, Out, Whole, PanLeft, PanRight,
	Next, Prev, NextFlag, PrevFlag, NextInput, PrevInput, NextEvent, PrevEvent, ZoomTo, Axis, Over, Fit, Ref, Start, End, Mark, Exclude key.Binding
}

func newHopView(d *desk) *hopView {
	v := &hopView{desk: d, ref: math.NaN(), keys: hopKeys{
		Left:      bind("cursor left", "←", "left", "h"),
		Right:     bind("cursor|cursor right", "→", "right", "l"),
		FarLeft:   bind("cursor far left", "shift+←", "shift+left", "H"),
		FarRight:  bind("cursor far right", "shift+→", "shift+right", "L"),
		In:        bind("closer|zoom in at the cursor", "+", "+", "=", "up"),
		Out:       bind("wider|zoom out", "-", "-", "down"),
		Whole:     bind("all|the flight, or the whole hop", "w", "w"),
		PanLeft:   bind("move view left", "[", "[", "pgup"),
		PanRight:  bind("move view right", "]", "]", "pgdown"),
		Next:      bind("next mark|next flag, input, event mark or finding", "n", "n"),
		Prev:      bind("previous mark|the one before", "p", "p", "N"),
		NextFlag:  bind("next flag", "f", "f"),
		PrevFlag:  bind("previous flag", "F", "F"),
		NextInput: bind("next segment|next test input, lift-off or landing", "i", "i"),
		PrevInput: bind("previous segment", "I", "I"),
		NextEvent: bind("next event mark", "e", "e"),
		PrevEvent: bind("previous event mark", "E", "E"),
		ZoomTo:    bind("zoom to it|zoom to the flag or segment at the cursor", "z", "z", "enter"),
		Axis:      bind("axis|roll, pitch, both, other channels", "a", "a"),
		Over:      bind("overlay|lay traces of one kind over each other, or stack them", "o", "o"),
		Fit:       bind("scales|scales fit the flight or the view", "y", "y"),
		Ref:       bind("second cursor|set or clear the second cursor", "t", "t"),
		Start:     bind("start of hop", "home", "home"),
		End:       bind("end of hop", "end", "end"),
		Mark:      bind("mark|set a mark at the cursor", "m", "m"),
		Exclude:   bind("leave out|leave out what is between the cursors, or take it in again", "x", "x"),
	}}
	v.keys.Mark.SetEnabled(d.opts.AddMark != nil && d.opts.RemoveMark != nil)
	v.keys.Exclude.SetEnabled(d.opts.Decide != nil)
	return v
}

func (v *hopView) Title() string { return "hop" }

func (v *hopView) Typing() bool { return v.entry.open }

func (v *hopView) SetSize(w, h int) {
	v.w, v.h = w, h
	v.base = nil
}

func (v *hopView) ShortHelp() []key.Binding {
	k := v.keys
	return []key.Binding{k.Right, k.In, k.Out, k.Whole, k.Next, k.NextFlag, k.ZoomTo, k.Axis, k.Mark}
}

func (v *hopView) FullHelp() [][]key.Binding {
	k := v.keys
	return [][]key.Binding{
		{k.Left, k.Right, k.FarLeft, k.FarRight, k.Start, k.End, k.Ref},
		{k.In, k.Out, k.Whole, k.ZoomTo, k.PanLeft, k.PanRight},
		{k.Next, k.Prev, k.NextFlag, k.PrevFlag, k.NextInput, k.PrevInput, k.NextEvent, k.PrevEvent},
		{k.Axis, k.Over, k.Fit},
		{k.Mark, k.Exclude},
	}
}

// reset shows another hop from its start to its end, or the same one where it was.
func (v *hopView) reset(same bool) {
	was := *v
	v.measure()
	if !same || v.desk.current == nil || !(was.whole.LengthS() > 0) {
		return
	}
	v.ref, v.entry, v.atTime, v.set, v.cursor = was.ref, was.entry, was.atTime, was.set, v.inHop(was.cursor)
	v.setWindow(was.window)
}

// measure takes the measure of the hop on show.
func (v *hopView) measure() {
	v.base, v.ref, v.grip, v.entry = nil, math.NaN(), drag{}, prompt{}
	v.whole, v.damped = flight.Span{}, damped{}
	if v.desk.current == nil {
		return
	}
	v.damped = newDamped(v.desk.current.d.Stability.Damping)
	first := true
	for _, t := range v.desk.current.tracks {
		s := flight.Span{FromS: t.timeS[0], ToS: t.timeS[len(t.timeS)-1]}
		if !first {
			s = flight.Span{FromS: min(s.FromS, v.whole.FromS), ToS: max(s.ToS, v.whole.ToS)}
		}
		v.whole, first = s, false
	}
	if !(v.whole.LengthS() > 0) {
		v.whole.ToS = v.whole.FromS + 1
	}
	v.flown = v.whole
	if s, ok := segment.Flight(v.desk.current.d.Segments); ok {
		const spare = 2 // s
		s = flight.Span{FromS: max(s.FromS-spare, v.whole.FromS), ToS: min(s.ToS+spare, v.whole.ToS)}
		if s.LengthS() > shortestS {
			v.flown = s
		}
	}
	v.window, v.cursor = v.flown, v.flown.FromS
	v.set = v.firstSet()
	v.look(v.firstLook())
}

// firstLook is the first thing to be asked about: the first flag, or else lift-off, or
// else the first mark, or else the start.
func (v *hopView) firstLook() float64 {
	if at := v.flagTimes(); len(at) > 0 {
		return at[0]
	}
	for _, s := range v.desk.current.d.Segments {
		if s.Kind == flight.LiftOff {
			return s.Span.FromS
		}
	}
	if at := v.marks(); len(at) > 0 {
		return at[0]
	}
	return v.whole.FromS
}

func (v *hopView) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case hopMsg:
		v.reset(msg.same)
	case seeMsg:
		if v.desk.current != nil {
			v.look(msg.tS)
		}
	case speedMsg:
		v.base = nil
	case chooseMsg:
		v.choose(msg.q)
	case tea.KeyMsg:
		return v.key(msg)
	case tea.MouseMsg:
		if v.desk.current != nil {
			v.mouse(msg)
		}
	}
	return nil
}

func (v *hopView) key(msg tea.KeyMsg) tea.Cmd {
	switch {
	case v.desk.current == nil:
	case v.entry.open:
		return v.markTyped(msg)
	case key.Matches(msg, v.keys.Mark):
		v.entry, v.atTime, v.leaveOut = prompt{open: true}, v.cursor, false
	case key.Matches(msg, v.keys.Exclude):
		return v.exclude()
	case !v.moved(msg):
		v.changed(msg)
	}
	return nil
}

// moved handles the keys that move the cursor or the window.
func (v *hopView) moved(msg tea.KeyMsg) bool {
	const far = 10 // cells
	cell := v.perCell()
	half := v.window.LengthS() / 2
	switch {
	case key.Matches(msg, v.keys.Left):
		v.step(-cell)
	case key.Matches(msg, v.keys.Right):
		v.step(cell)
	case key.Matches(msg, v.keys.FarLeft):
		v.step(-far * cell)
	case key.Matches(msg, v.keys.FarRight):
		v.step(far * cell)
	case key.Matches(msg, v.keys.PanLeft):
		v.pan(-half)
	case key.Matches(msg, v.keys.PanRight):
		v.pan(half)
	case key.Matches(msg, v.keys.Start):
		v.look(v.whole.FromS)
	case key.Matches(msg, v.keys.End):
		v.look(v.whole.ToS)
	case key.Matches(msg, v.keys.In):
		v.zoom(v.cursor, 0.5)
	case key.Matches(msg, v.keys.Out):
		v.zoom(v.cursor, 2)
	case key.Matches(msg, v.keys.Whole):
		if v.window == v.flown {
			v.setWindow(v.whole)
		} else {
			v.setWindow(v.flown)
		}
	default:
		return v.jumped(msg)
	}
	return true
}

// jumped handles the keys that go from one time worth a look to the next.
func (v *hopView) jumped(msg tea.KeyMsg) bool {
	for _, j := range []struct {
		next, prev key.Binding
		at         func() []float64
	}{
		{v.keys.Next, v.keys.Prev, v.marks},
		{v.keys.NextFlag, v.keys.PrevFlag, v.flagTimes},
		{v.keys.NextInput, v.keys.PrevInput, v.inputTimes},
		{v.keys.NextEvent, v.keys.PrevEvent, v.eventTimes},
	} {
		switch {
		case key.Matches(msg, j.next):
			v.jump(j.at(), 1)
			return true
		case key.Matches(msg, j.prev):
			v.jump(j.at(), -1)
			return true
		}
	}
	return false
}

// changed handles the other keys.
func (v *hopView) changed(msg tea.KeyMsg) {
	switch {
	case key.Matches(msg, v.keys.ZoomTo):
		if s, ok := v.spanAtCursor(); ok {
			margin := max(0.3*s.LengthS(), 0.5)
			v.setWindow(flight.Span{FromS: s.FromS - margin, ToS: s.ToS + margin})
		}
	case key.Matches(msg, v.keys.Axis):
		v.set = v.nextSet()
		v.base = nil
	case key.Matches(msg, v.keys.Over):
		v.overlay, v.base = !v.overlay, nil
		if v.overlay && v.set != otherSet && v.set != ownSet {
			v.set = bothSet // one axis alone has nothing to lay over
		}
	case key.Matches(msg, v.keys.Fit):
		v.fitted = !v.fitted
		v.base = nil
	case key.Matches(msg, v.keys.Ref):
		if math.IsNaN(v.ref) {
			v.ref = v.cursor
		} else {
			v.ref = math.NaN()
		}
	}
}

func (v *hopView) mouse(msg tea.MouseMsg) {
	lay := v.layout()
	inside := msg.X >= lay.plotX && msg.X < lay.plotX+lay.plotW && msg.Y >= 0 && msg.Y < v.h
	tS := v.timeAt(msg.X)
	switch {
	case msg.Action == tea.MouseActionRelease:
		v.grip = drag{}
	case inside && msg.Button == tea.MouseButtonWheelUp:
		v.zoom(tS, 0.5)
	case inside && msg.Button == tea.MouseButtonWheelDown:
		v.zoom(tS, 2)
	case inside && msg.Action == tea.MouseActionPress && msg.Button == tea.MouseButtonLeft:
		v.cursor, v.grip = v.inHop(tS), drag{true, tS}
	case v.grip.on && msg.Action == tea.MouseActionMotion:
		v.pan(v.grip.tS - tS)
	}
}

// perCell is the time one column of cells covers.
func (v *hopView) perCell() float64 {
	return v.window.LengthS() / float64(v.plotWidth())
}

// plotWidth is the width of the strips, in cells.
func (v *hopView) plotWidth() int { return max(v.w-gutterWidth-1, 1) }

// timeAt is the time in the middle of a column of cells.
func (v *hopView) timeAt(x int) float64 {
	return v.window.FromS + (float64(x-gutterWidth)+0.5)*v.perCell()
}

// columnOf is the column of cells that tS falls into, possibly outside the plot.
func (v *hopView) columnOf(tS float64) int {
	c := math.Floor((tS - v.window.FromS) / v.perCell())
	return gutterWidth + int(min(max(c, -1e6), 1e6))
}

func (v *hopView) inHop(tS float64) float64 { return min(max(tS, v.whole.FromS), v.whole.ToS) }

// step moves the cursor and takes the view along at the edge.
func (v *hopView) step(byS float64) {
	v.cursor = v.inHop(v.cursor + byS)
	switch {
	case v.cursor < v.window.FromS:
		v.pan(v.cursor - v.window.FromS)
	case v.cursor > v.window.ToS:
		v.pan(v.cursor - v.window.ToS)
	}
}

func (v *hopView) pan(byS float64) {
	v.setWindow(flight.Span{FromS: v.window.FromS + byS, ToS: v.window.ToS + byS})
}

// zoom changes the length of the window and keeps tS where it is on the screen.
func (v *hopView) zoom(tS, factor float64) {
	from := tS - (tS-v.window.FromS)*factor
	v.setWindow(flight.Span{FromS: from, ToS: from + v.window.LengthS()*factor})
}

// look puts the cursor at tS and brings it into view.
func (v *hopView) look(tS float64) {
	v.cursor = v.inHop(tS)
	if v.cursor < v.window.FromS || v.cursor > v.window.ToS {
		v.pan(v.cursor - (v.window.FromS+v.window.ToS)/2)
	}
}

// shortestS is the shortest window: a few samples of the fastest logger.
const shortestS = 0.05

// setWindow shows s, moved and shortened to fit the hop.
func (v *hopView) setWindow(s flight.Span) {
	length := min(max(s.LengthS(), shortestS), v.whole.LengthS())
	from := min(max(s.FromS, v.whole.FromS), v.whole.ToS-length)
	v.window = flight.Span{FromS: from, ToS: from + length}
	v.base = nil
}
