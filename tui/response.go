package tui

import (
	"math"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"hopcard/analysis/response"
)

// responseView is one response over frequency: gain, phase and coherence, and the
// numbers taken from them.
type responseView struct {
	desk   *desk
	w, h   int
	at     int    // into the debrief's responses
	whole  bounds // log10 rad/s
	window bounds
	cursor int // into the response's frequencies
	grip   drag
	held   heldRow // of the numbers
	base   *paper
	// numbers is the first row of the numbers on show, numbersMost the last it may be.
	numbers, numbersMost int
	keys                 responseKeys
	plane                bool // phase delay over bandwidth in place of the curves
}

type responseKeys struct {
	Left, Right, FarLeft, FarRight, In, Out, Whole, Axis, Output, Plane, Down, Up, First, Last key.Binding
}

func newResponseView(d *desk) *responseView {
	return &responseView{desk: d, keys: responseKeys{
		Left:     bind("cursor|to lower frequency", "←", "left", "h"),
		Right:    bind("cursor|to higher frequency", "→", "right", "l"),
		FarLeft:  bind("ten points lower", "shift+←", "shift+left", "H"),
		FarRight: bind("ten points higher", "shift+→", "shift+right", "L"),
		In:       bind("closer|zoom in at the cursor", "+", "+", "=", "up"),
		Out:      bind("wider|zoom out", "-", "-", "down"),
		Whole:    bind("all|all frequencies", "w", "w"),
		Axis:     bind("next axis", "a", "a"),
		Output:   bind("attitude or rate", "r", "r"),
		Plane:    bind("delay over bandwidth|phase delay over bandwidth, or the curves", "v", "v"),
		First:    bind("first numbers", "home", "home"),
		Last:     bind("last numbers", "end", "end"),
		Down:     bind("numbers|more numbers", "pgdn", "pgdown", " "),
		Up:       bind("numbers above", "pgup", "pgup", "b"),
	}}
}

func (v *responseView) Title() string { return "response" }

func (v *responseView) SetSize(w, h int) { v.w, v.h, v.base = w, h, nil }

func (v *responseView) ShortHelp() []key.Binding {
	k := v.keys
	return []key.Binding{k.Right, k.In, k.Out, k.Whole, k.Axis, k.Output, k.Down, k.Plane}
}

func (v *responseView) FullHelp() [][]key.Binding {
	k := v.keys
	return [][]key.Binding{{k.Left, k.Right, k.FarLeft, k.FarRight}, {k.In, k.Out, k.Whole}, {k.Axis, k.Output, k.Plane, k.Down, k.Up, k.First, k.Last}}
}

// responses of the hop on show.
func (v *responseView) responses() []response.Result {
	if v.desk.current == nil {
		return nil
	}
	return v.desk.current.d.Responses
}

// shown is the response on show, nil if there is none.
func (v *responseView) shown() *response.Result {
	rs := v.responses()
	if v.at >= len(rs) {
		return nil
	}
	return &rs[v.at]
}

// pick shows response i from its lowest to its highest frequency.
func (v *responseView) pick(i int) {
	v.at, v.base, v.cursor, v.numbers = i, nil, 0, 0
	v.whole = none()
	r := v.shown()
	if r == nil {
		return
	}
	for _, w := range r.FrequencyRadS {
		if w > 0 {
			v.whole = v.whole.with(math.Log10(w))
		}
	}
	if v.whole.empty() {
		v.whole = bounds{-1, 1}
	}
	if v.whole.hi-v.whole.lo < 0.1 {
		v.whole = bounds{v.whole.lo - 0.05, v.whole.hi + 0.05}
	}
	v.window = v.whole
	v.cursor = v.nearest(0.3) // 2 rad/s, where pilots fly
}

// nearest is the frequency nearest to a logarithm of rad/s.
func (v *responseView) nearest(logW float64) int {
	best, dist := 0, math.Inf(1)
	for i, w := range v.shown().FrequencyRadS {
		if d := math.Abs(math.Log10(w) - logW); d < dist {
			best, dist = i, d
		}
	}
	return best
}

func (v *responseView) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case hopMsg:
		if !msg.same || !v.again() {
			v.pick(0)
		}
	case tea.KeyMsg:
		if v.shown() != nil {
			v.key(msg)
		}
	case tea.MouseMsg:
		if v.shown() != nil {
			v.mouse(msg)
		}
	}
	return nil
}

// again shows the hop anew where the user was; it reports whether there is such a place.
func (v *responseView) again() bool {
	r := v.shown()
	if r == nil || v.cursor >= len(r.FrequencyRadS) {
		return false
	}
	window, cursor, numbers := v.window, v.cursor, v.numbers
	v.pick(v.at)
	v.cursor, v.numbers = cursor, numbers
	v.setWindow(window)
	return true
}

func (v *responseView) key(msg tea.KeyMsg) {
	const far = 10
	switch {
	case key.Matches(msg, v.keys.Left):
		v.step(-1)
	case key.Matches(msg, v.keys.Right):
		v.step(1)
	case key.Matches(msg, v.keys.FarLeft):
		v.step(-far)
	case key.Matches(msg, v.keys.FarRight):
		v.step(far)
	case key.Matches(msg, v.keys.In):
		v.zoom(v.cursorLog(), 0.5)
	case key.Matches(msg, v.keys.Out):
		v.zoom(v.cursorLog(), 2)
	case key.Matches(msg, v.keys.Whole):
		v.setWindow(v.whole)
	case key.Matches(msg, v.keys.Down):
		v.moveNumbers(v.h - numbersTop - 1)
	case key.Matches(msg, v.keys.Up):
		v.moveNumbers(1 + numbersTop - v.h)
	case key.Matches(msg, v.keys.First):
		v.moveNumbers(-v.numbers)
	case key.Matches(msg, v.keys.Last):
		v.numbers, v.base = math.MaxInt32, nil // drawing stops at the last
	case key.Matches(msg, v.keys.Plane):
		v.plane, v.base = !v.plane, nil
	case key.Matches(msg, v.keys.Axis):
		v.nextAxis()
	case key.Matches(msg, v.keys.Output):
		v.otherOutput()
	}
}

func (v *responseView) moveNumbers(by int) {
	v.numbers, v.base = min(max(v.numbers+by, 0), v.numbersMost), nil
}

func (v *responseView) mouse(msg tea.MouseMsg) {
	g := v.charts()
	inside := msg.X >= g.plotX && msg.X < g.plotX+g.plotW && msg.Y >= 0 && msg.Y < v.h
	at := v.window.lo + (float64(msg.X-g.plotX)+0.5)/float64(g.plotW)*(v.window.hi-v.window.lo)
	if by := v.held.drag(msg); by != 0 {
		v.moveNumbers(by)
	}
	switch {
	case msg.Action == tea.MouseActionRelease:
		v.grip = drag{}
	case msg.X >= g.panel && msg.Action == tea.MouseActionPress && msg.Button == tea.MouseButtonLeft:
		v.held = heldRow{true, msg.Y}
	case inside && msg.Button == tea.MouseButtonWheelUp:
		v.zoom(at, 0.5)
	case inside && msg.Button == tea.MouseButtonWheelDown:
		v.zoom(at, 2)
	case inside && msg.Action == tea.MouseActionPress && msg.Button == tea.MouseButtonLeft:
		v.cursor, v.grip = v.nearest(at), drag{true, at}
	case msg.X >= g.panel && msg.Button == tea.MouseButtonWheelUp:
		v.moveNumbers(-3)
	case msg.X >= g.panel && msg.Button == tea.MouseButtonWheelDown:
		v.moveNumbers(3)
	case v.grip.on && msg.Action == tea.MouseActionMotion:
		by := v.grip.tS - at
		v.setWindow(bounds{v.window.lo + by, v.window.hi + by})
	}
}

// cursorLog is the logarithm of the frequency under the cursor.
func (v *responseView) cursorLog() float64 {
	ws := v.shown().FrequencyRadS
	if v.cursor >= len(ws) || !(ws[v.cursor] > 0) {
		return (v.window.lo + v.window.hi) / 2
	}
	return math.Log10(ws[v.cursor])
}

// step moves the cursor and takes the view along.
func (v *responseView) step(by int) {
	v.cursor = min(max(v.cursor+by, 0), max(len(v.shown().FrequencyRadS)-1, 0))
	switch at := v.cursorLog(); {
	case at < v.window.lo:
		v.setWindow(bounds{at, at + v.window.hi - v.window.lo})
	case at > v.window.hi:
		v.setWindow(bounds{at - v.window.hi + v.window.lo, at})
	}
}

// zoom changes the window and keeps at where it is.
func (v *responseView) zoom(at, factor float64) {
	lo := at - (at-v.window.lo)*factor
	v.setWindow(bounds{lo, lo + (v.window.hi-v.window.lo)*factor})
}

func (v *responseView) setWindow(b bounds) {
	const shortest = 0.05 // decades
	length := min(max(b.hi-b.lo, shortest), v.whole.hi-v.whole.lo)
	lo := min(max(b.lo, v.whole.lo), v.whole.hi-length)
	v.window, v.base = bounds{lo, lo + length}, nil
}

// nextAxis shows the next pair of stick and axis, with the same output if there is one.
func (v *responseView) nextAxis() {
	rs, now := v.responses(), v.shown()
	for k := 1; k < len(rs); k++ {
		r := rs[(v.at+k)%len(rs)]
		if r.Axis == now.Axis && r.Input == now.Input {
			continue
		}
		i := (v.at + k) % len(rs)
		if j := v.find(r, now.Output); j >= 0 {
			i = j
		}
		v.pick(i)
		return
	}
}

// otherOutput changes between attitude and rate.
func (v *responseView) otherOutput() {
	now := *v.shown()
	for _, o := range []response.Output{response.Attitude, response.Rate} {
		if i := v.find(now, o); o != now.Output && i >= 0 {
			v.pick(i)
			return
		}
	}
}

// find returns the response of the same stick and axis with that output, or -1.
func (v *responseView) find(like response.Result, o response.Output) int {
	for i, r := range v.responses() {
		if r.Axis == like.Axis && r.Input == like.Input && r.Output == o {
			return i
		}
	}
	return -1
}
