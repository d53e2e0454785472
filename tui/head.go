package tui

import (
	"math"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"hopcard/analysis/response"
	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// headView turns the dimensions of a rotor head and shows what the rotor model makes of
// it, beside the head as it is and what a hop measured.
type headView struct {
	desk *desk
	w, h int
	axis flight.Axis

	config int // into the aircraft's configurations
	picked bool
	turned flight.Configuration
	dims   []rotor.Dimension // those that the configuration has
	at     int               // the dimension in hand
	top    int               // first dimension on show
	delayS float64           // dead time, as the hop on show measured it; 0 if it did not
	asIs   *rotor.Prediction
	now    *rotor.Prediction // as turned; nil if that is no head
	err    error             // why asIs or now is nil
	curve  bool              // the response instead of the numbers
	keys   headKeys
}

type headKeys struct {
	Up, Down, Less, More, FarLess, FarMore, Reset, Axis, Next, Curve key.Binding
}

func newHeadView(d *desk) *headView {
	return &headView{desk: d, axis: flight.RollAxis, keys: headKeys{
		Up:      bind("dimension|dimension above", "↑", "up", "k"),
		Down:    bind("dimension|dimension below", "↓", "down", "j"),
		Less:    bind("turn down|turn it down by one step", "←", "left", "h"),
		More:    bind("turn up|turn it up by one step", "→", "right", "l"),
		FarLess: bind("ten steps down", "shift+←", "shift+left", "H"),
		FarMore: bind("ten steps up", "shift+→", "shift+right", "L"),
		Reset:   bind("as it is|all dimensions as they are", "w", "w"),
		Axis:    bind("axis|roll or pitch", "a", "a"),
		Next:    bind("configuration|next configuration", "c", "c"),
		Curve:   bind("curve|curves or numbers", "v", "v"),
	}}
}

func (v *headView) Title() string { return "head" }

func (v *headView) SetSize(w, h int) {
	v.w, v.h = w, h
	v.follow()
}

func (v *headView) ShortHelp() []key.Binding {
	k := v.keys
	return []key.Binding{k.Down, k.Less, k.More, k.Reset, k.Axis, k.Next, k.Curve}
}

func (v *headView) FullHelp() [][]key.Binding {
	k := v.keys
	return [][]key.Binding{{k.Up, k.Down, k.Less, k.More, k.FarLess, k.FarMore, k.Reset}, {k.Axis, k.Next, k.Curve}}
}

func (v *headView) configurations() []flight.Configuration {
	return v.desk.opts.Logbook.Aircraft.Configurations
}

// ready picks a configuration when the screen is first looked at: that of the hop on show.
func (v *headView) ready() {
	if !v.picked && len(v.configurations()) > 0 {
		v.pick(v.flownConfiguration())
	}
}

// flownConfiguration is that of the hop on show, or the first.
func (v *headView) flownConfiguration() int {
	if v.desk.current == nil {
		return 0
	}
	for i, c := range v.configurations() {
		if c.Name == v.desk.current.d.Hop.Configuration {
			return i
		}
	}
	return 0
}

// pick takes a configuration in hand as it is.
func (v *headView) pick(i int) {
	v.picked, v.config, v.at, v.top = true, i, 0, 0
	v.delayS = v.measuredDelayS()
	c := v.configurations()[i]
	v.asIs, v.err = rotor.Predict(c, v.surroundings())
	v.turned = copied(c)
	if v.asIs != nil && v.turned.AdvanceDeg == 0 {
		// What was assumed must stay when the hinge is turned: the swashplate does not move
		// along with it.
		v.turned.AdvanceDeg = v.asIs.Head.AdvanceRad * degPerRad
	}
	v.dims = nil
	for _, d := range rotor.Dimensions() {
		if p := d.Of(&v.turned); p != nil && (*p != 0 || d.Key == "delta3_deg") {
			v.dims = append(v.dims, d)
		}
	}
	v.predict()
}

func (v *headView) surroundings() rotor.Surroundings {
	return rotor.Surroundings{ControlDelayS: v.delayS}
}

// copied is c with a bar of its own.
func copied(c flight.Configuration) flight.Configuration {
	if c.Bar != nil {
		bar := *c.Bar
		c.Bar = &bar
	}
	return c
}

// measuredDelayS is the dead time that the hop on show measured, 0 if it did not.
func (v *headView) measuredDelayS() float64 {
	if v.desk.current == nil {
		return 0
	}
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		if r := onAxis(v.desk.current.d, a, response.Rate); r != nil && r.TransportDelayS != nil {
			return math.Max(r.TransportDelayS.Value, 0)
		}
	}
	return 0
}

func (v *headView) predict() {
	if v.asIs == nil {
		v.now = nil
		return
	}
	v.now, v.err = rotor.Predict(v.turned, v.surroundings())
}

// turn moves the dimension in hand by a number of steps.
func (v *headView) turn(steps float64) {
	if v.at >= len(v.dims) {
		return
	}
	d := v.dims[v.at]
	c := copied(v.configurations()[v.config])
	was := d.Of(&c)
	*d.Of(&v.turned) += steps * turnStep(d.Key, *was)
	v.predict()
}

// turnStep is by how much one key turns a dimension: a degree of an angle, a hundredth of
// anything else.
func turnStep(key string, asIs float64) float64 {
	if strings.HasSuffix(key, "_deg") {
		return 1
	}
	return 0.01 * math.Abs(asIs)
}

func (v *headView) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case hopMsg:
		v.picked = false
	case tea.KeyMsg:
		v.ready()
		v.key(msg)
	case tea.MouseMsg:
		v.ready()
		v.mouse(msg)
	}
	return nil
}

func (v *headView) key(msg tea.KeyMsg) {
	k := v.keys
	switch {
	case key.Matches(msg, k.Up):
		v.choose(v.at - 1)
	case key.Matches(msg, k.Down):
		v.choose(v.at + 1)
	case key.Matches(msg, k.Less):
		v.turn(-1)
	case key.Matches(msg, k.More):
		v.turn(1)
	case key.Matches(msg, k.FarLess):
		v.turn(-10)
	case key.Matches(msg, k.FarMore):
		v.turn(10)
	case key.Matches(msg, k.Axis):
		if v.axis == flight.RollAxis {
			v.axis = flight.PitchAxis
		} else {
			v.axis = flight.RollAxis
		}
	case key.Matches(msg, k.Curve):
		v.curve = !v.curve
	case len(v.configurations()) == 0:
	case key.Matches(msg, k.Reset):
		at, top := v.at, v.top
		v.pick(v.config)
		v.at, v.top = at, top
	case key.Matches(msg, k.Next):
		v.pick((v.config + 1) % len(v.configurations()))
	}
}

func (v *headView) mouse(msg tea.MouseMsg) {
	row := msg.Y - headListTop
	inList := msg.X < headListWidth && row >= 0 && row < v.listRows()
	switch {
	case !inList:
	case msg.Button == tea.MouseButtonWheelUp:
		v.choose(v.at - 1)
	case msg.Button == tea.MouseButtonWheelDown:
		v.choose(v.at + 1)
	case msg.Action == tea.MouseActionPress && msg.Button == tea.MouseButtonLeft && v.top+row < len(v.dims):
		v.choose(v.top + row)
	}
}

func (v *headView) choose(i int) {
	v.at = max(min(i, len(v.dims)-1), 0)
	v.follow()
}

// follow scrolls so that the dimension in hand is on show.
func (v *headView) follow() {
	rows := max(v.listRows(), 1)
	v.top = max(min(v.top, v.at), v.at-rows+1)
}

// headNumber is one number of the rotor model with what a hop measured of it.
type headNumber struct {
	name, unit string
	of         func(*rotor.Prediction) float64
	measured   *flight.Estimate
}

// numbers lists the numbers of the axis on show.
func (v *headView) numbers() []headNumber {
	axisOf := func(p *rotor.Prediction) *rotor.AxisPrediction {
		if v.axis == flight.PitchAxis {
			return &p.Pitch
		}
		return &p.Roll
	}
	mode := func(of func(*rotor.AxisPrediction) *rotor.Mode, f func(*rotor.Mode) float64) func(*rotor.Prediction) float64 {
		return func(p *rotor.Prediction) float64 {
			if m := of(axisOf(p)); m != nil {
				return f(m)
			}
			return math.NaN()
		}
	}
	hover := func(a *rotor.AxisPrediction) *rotor.Mode { return a.Hover }
	short := func(a *rotor.AxisPrediction) *rotor.Mode { return a.Short }
	periodS := func(m *rotor.Mode) float64 { return m.PeriodS() }
	ratio := func(m *rotor.Mode) float64 { return m.DampingRatio() }
	ns := []headNumber{
		{name: "lag of blades", unit: "deg", of: func(p *rotor.Prediction) float64 { return p.LagRad * degPerRad }},
		{name: "phasing error", unit: "deg", of: func(p *rotor.Prediction) float64 { return p.PhasingErrorRad * degPerRad }},
		{name: "disc follows in", unit: "ms", of: func(p *rotor.Prediction) float64 { return p.DiscTimeS * 1e3 }},
		{name: "bar follows in", unit: "ms", of: func(p *rotor.Prediction) float64 { return p.BarTimeS * 1e3 }},
		{name: "bandwidth", unit: "rad/s", of: func(p *rotor.Prediction) float64 { return axisOf(p).Bandwidth.BandwidthRadS }},
		{name: "phase delay", unit: "ms", of: func(p *rotor.Prediction) float64 { return axisOf(p).Bandwidth.PhaseDelayS * 1e3 }},
		{name: "w180", unit: "rad/s", of: func(p *rotor.Prediction) float64 { return axisOf(p).Bandwidth.W180RadS }},
		{name: "coupling", of: func(p *rotor.Prediction) float64 { return axisOf(p).Coupling }},
		{name: "slow swing period", unit: "s", of: mode(hover, periodS)},
		{name: "slow swing damping", of: mode(hover, ratio)},
		{name: "short swing period", unit: "s", of: mode(short, periodS)},
		{name: "short swing damping", of: mode(short, ratio)},
	}
	for k, band := range rotor.GustBandsRadS() {
		ns = append(ns, headNumber{name: gustName(band), unit: "deg per m/s",
			of: func(p *rotor.Prediction) float64 { return axisOf(p).GustBandRadPerMS[k] * degPerRad }})
	}
	for k, delayS := range rotor.PilotDelaysS() {
		if k != 1 && v.listRows() < len(ns)+len(rotor.PilotDelaysS()) {
			continue // a low window has room for the middle one only
		}
		ns = append(ns, headNumber{name: roomName(delayS), unit: "%/deg",
			of: func(p *rotor.Prediction) float64 { return gainPercentPerDeg(axisOf(p).Pilots[k].MostGainPerRad) }})
	}
	v.measure(ns)
	return ns
}

// measure fills in what the hop on show measured, if it flew the configuration in hand.
func (v *headView) measure(ns []headNumber) {
	if v.desk.current == nil || v.desk.current.d.Hop.Configuration != v.configurations()[v.config].Name {
		return
	}
	d := v.desk.current.d
	fill := func(name string, e *flight.Estimate) {
		for i := range ns {
			if ns[i].name == name {
				ns[i].measured = e
			}
		}
	}
	fill("phasing error", times(d.PhasingErrorRad, degPerRad))
	if r := onAxis(d, v.axis, response.Rate); r != nil {
		fill("disc follows in", times(r.DiscFollowingS, 1e3))
		fill("bar follows in", times(r.BarFollowingS, 1e3))
		fill("coupling", r.Coupling)
	}
	if r := onAxis(d, v.axis, response.Attitude); r != nil {
		fill("bandwidth", r.BandwidthRadS)
		fill("phase delay", times(r.PhaseDelayS, 1e3))
		fill("w180", r.W180RadS)
	}
	for _, g := range d.Wind.Gusts {
		if g.Axis == v.axis {
			fill(gustName(g.BandRadS), times(g.RadPerMS, degPerRad))
		}
	}
	for _, m := range d.Stability.Margins {
		for _, a := range m.Assumed {
			if m.Axis == v.axis {
				fill(roomName(a.DelayS), times(a.MostGainPerRad, gainPercentPerDeg(1)))
			}
		}
	}
}

// gustName names the answer to gusts of a band, stick held.
func gustName(band [2]float64) string {
	return "gust " + number(band[0]) + "-" + number(band[1]) + " rad/s"
}

// roomName names the gain from which on swings grow under a pilot of that reaction.
func roomName(delayS float64) string { return "room at " + number(delayS) + " s" }

// gainPercentPerDeg is a pilot's gain, fraction of full travel per rad, in percent per degree.
func gainPercentPerDeg(perRad float64) float64 { return 100 * perRad / degPerRad }
