package tui

import (
	"fmt"
	"math"

	tea "github.com/charmbracelet/bubbletea"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// pair is the two hops that were marked in the logbook, to be seen side by side.
type pair struct {
	index [2]int // into the logbook, -1 for none
	hops  [2]*opened
}

func noPair() pair { return pair{index: [2]int{-1, -1}} }

// letter is the letter of a hop of the logbook in the pair, blank if it is in none.
func (p *pair) letter(index int) rune {
	switch index {
	case p.index[0]:
		return 'A'
	case p.index[1]:
		return 'B'
	}
	return ' '
}

// mark takes a hop into the pair or out of it. A third hop takes the place of the second.
func (p *pair) mark(index int) {
	for k, i := range p.index {
		if i == index {
			p.index[k], p.hops[k] = -1, nil
			return
		}
	}
	k := 1
	if p.index[0] < 0 {
		k = 0
	}
	p.index[k], p.hops[k] = index, nil
}

// pairMsg marks a hop, or takes its mark off.
type pairMsg struct{ index int }

func (m *root) pairUp(msg pairMsg) tea.Cmd {
	p := &m.desk.pair
	p.mark(msg.index)
	m.notice = "mark another with m"
	if p.index[0] >= 0 && p.index[1] >= 0 {
		m.notice = m.keys.Screens[m.pairAt].Help().Key + " shows A and B side by side"
	}
	return m.tell(rowMsg{})
}

// readPair gets the marked hops: from the shelf, or by a job.
func (m *root) readPair() tea.Cmd {
	var cmds []tea.Cmd
	p := &m.desk.pair
	for k, i := range p.index {
		if i < 0 || p.hops[k] != nil {
			continue
		}
		if h := m.shelf.get(i); h != nil {
			p.hops[k] = h
		} else if _, running := m.jobs[i]; !running {
			cmds = append(cmds, m.start(i))
		}
	}
	return tea.Batch(append(cmds, m.tell(rowMsg{}))...)
}

// paired keeps a hop that was read for the pair.
func (m *root) paired(h *opened) {
	p := &m.desk.pair
	for k, i := range p.index {
		if i == h.index {
			p.hops[k] = h
		}
	}
}

const pairTitle = "pair"

func newPairPage(d *desk) *page {
	g := newPage(d, pairTitle, func(_ *opened, w int) []line { return pairLines(d, w) })
	g.alone = true
	return g
}

// pairLines sets the numbers of both hops side by side.
func pairLines(d *desk, w int) []line {
	p := &d.pair
	if p.index[0] < 0 || p.index[1] < 0 {
		return wrapped("", ink, "Mark two hops in the logbook with m to see their numbers side by side.", w, nil)
	}
	var ls []line
	for k, i := range p.index {
		r := &d.rows[i]
		if p.hops[k] == nil {
			s := "being read"
			if r.state == failed {
				s = r.err.Error()
			}
			ls = append(ls, wrapped(fmt.Sprintf("%c  ", 'A'+k), strong, r.entry.Name+": "+s, w, nil)...)
		}
	}
	if ls != nil {
		return ls
	}
	a, b := p.hops[0], p.hops[1]
	for k, h := range p.hops {
		word, pn := proceedWord(h.d.Verdict.Proceed)
		lead := fmt.Sprintf("%c  %s: ", 'A'+k, word)
		s := fmt.Sprintf("%s, %s, air %s, flags %s", h.d.Hop.Name, h.sum.Configuration, h.sum.Air, h.sum.Flags)
		ls = append(ls, wrapped(lead, pn, s, w, nil)...)
	}
	ls = append(ls, plainLine(""))
	rows := pairRows(keyNumbers(a.d, d.speed), keyNumbers(b.d, d.speed), w)
	if len(rows) == 0 {
		return append(ls, plainLine("Neither hop gives a number."))
	}
	ls = append(ls, tableLines([]string{"95 % in brackets", "A", "B", "B less A"}, rows, w)...)
	ls = append(ls, plainLine(""))
	ls = append(ls, wrapped("", faint, "gust: attitude in deg per "+d.speed.name+", by band with the stick held, peak with the pilot in the loop.", w, nil)...)
	return append(ls, wrapped("", warn, "B less A is the difference of the two values, no more. Pilot, air and inputs differ from hop to hop: whether a difference is real needs more than one hop of each.", w, nil)...)
}

// named number of a hop.
type keyNumber struct {
	name string
	e    *flight.Estimate
}

// keyNumbers lists what two hops can be compared by. Names are the same for every hop.
func keyNumbers(d *debrief.Debrief, speed speedUnit) []keyNumber {
	var ns []keyNumber
	add := func(name string, e *flight.Estimate) { ns = append(ns, keyNumber{name, e}) }
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		axis := string(a) + " "
		for _, f := range figuresOf(onAxis(d, a, response.Attitude), onAxis(d, a, response.Rate)) {
			add(axis+withUnit(plainName(f.name), f.unit), f.e)
		}
		for _, g := range d.Wind.Gusts {
			if g.Axis == a {
				add(fmt.Sprintf("%sgust %s-%s rad/s", axis, number(g.BandRadS[0]), number(g.BandRadS[1])), times(speed.per(g.RadPerMS), degPerRad))
			}
		}
		for _, e := range d.Wind.Events {
			if e.Axis == a {
				add(axis+"gust peak", times(speed.per(e.PeakRadPerMS), degPerRad))
				add(axis+"gust settles s", e.SettleS)
			}
		}
		add(axis+"least damping", leastDamping(d.Stability.Modes, a))
		for i := range d.Stability.Margins {
			if m := &d.Stability.Margins[i]; m.Axis == a {
				add(axis+"phase margin deg", m.PhaseMarginDeg)
				add(axis+"gain margin dB", m.GainMarginDB)
			}
		}
		for _, c := range d.Stability.Control {
			if c.Axis == a {
				add(axis+"stick left %", flight.Plain(c.LeftPercent))
			}
		}
	}
	add("phasing off deg", times(d.PhasingErrorRad, degPerRad))
	if p := d.Wind.Whole; p != nil {
		add("wind mean "+speed.name, speed.of(p.MeanMS))
		add("gust spread "+speed.name, speed.of(p.SpreadMS))
	}
	return ns
}

// plainName is the name of a figure without the letter of its marker in the chart.
func plainName(s string) string {
	switch s {
	case "B bandwidth":
		return "bandwidth"
	case "  by phase", "  by gain":
		return "bandw." + s[1:]
	case "W w180":
		return "w180"
	case "  weighted":
		return "weighted lag"
	case "  corr. lag":
		return "corr. lag"
	}
	return s
}

// onAxis is the response of an axis to its own stick, nil if there is none.
func onAxis(d *debrief.Debrief, a flight.Axis, o response.Output) *response.Result {
	for i := range d.Responses {
		if r := &d.Responses[i]; r.Axis == a && r.Input == a.Stick() && r.Output == o {
			return r
		}
	}
	return nil
}

func leastDamping(ms []stability.Mode, a flight.Axis) *flight.Estimate {
	var least *flight.Estimate
	for _, m := range ms {
		if m.Axis == a && m.DampingRatio != nil && (least == nil || m.DampingRatio.Value < least.Value) {
			least = m.DampingRatio
		}
	}
	return least
}

// pairRows puts the numbers that either hop has into rows, in the order of the first. In
// a narrow window intervals stand below their values.
func pairRows(as, bs []keyNumber, w int) [][]string {
	var rows [][]string
	add := func(name string, a, b *flight.Estimate) {
		if a == nil && b == nil {
			return
		}
		diff := "-"
		if a != nil && b != nil && finite(b.Value-a.Value) {
			diff = signed(b.Value - a.Value)
		}
		if w >= pairWide {
			rows = append(rows, []string{name, orNone(a), orNone(b), diff})
			return
		}
		rows = append(rows, []string{name, valueOrNone(a), valueOrNone(b), diff},
			[]string{"", interval(a), interval(b), ""})
	}
	find := func(ns []keyNumber, name string) (*flight.Estimate, bool) {
		for _, n := range ns {
			if n.name == name {
				return n.e, true
			}
		}
		return nil, false
	}
	for _, n := range as {
		b, _ := find(bs, n.name)
		add(n.name, n.e, b)
	}
	for _, n := range bs {
		if _, both := find(as, n.name); !both {
			add(n.name, nil, n.e)
		}
	}
	return rows
}

// pairWide is the width from which on values and intervals fit one row.
const pairWide = 96

func valueOrNone(e *flight.Estimate) string {
	if e == nil {
		return "-"
	}
	return value(e, "")
}

// signed writes a difference with its sign.
func signed(v float64) string {
	if v > 0 && !math.IsInf(v, 0) {
		return "+" + number(v)
	}
	return number(v)
}
