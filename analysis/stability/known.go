package stability

import (
	"fmt"
	"math"
	"slices"

	"hopcard/flight"
)

const (
	// The motion is averaged over blocks of knownBlock steps of the trace, 0.2 s: short
	// against every mode below 2 Hz, and no pilot answers what he sees within it.
	knownBlock = 5
	blockS     = knownBlock * stepS
	// Stretches of at least leastStretchS, of leastKnownS in all, are looked at.
	leastStretchS = 12
	leastKnownS   = 40
	// Orders tried of a model without any form.
	fewestPoles, mostPoles = 4, 7
	// A mode faster than this is measured as it comes; slower ones, which gusts and the
	// pilot's holding of his place hide, with the form of a hovering rotor only.
	shortModeRadS = 1.5
	fastestRadS   = 9
	// A pair of poles damped more than this is no oscillation that anybody would see.
	mostDamping = 0.7
	// widestKnown is the largest half width of the damping ratio's interval that is given.
	widestKnown = 0.1
	// widestKnownOmega is the same of the frequency, over it.
	widestKnownOmega = 0.25
	// mostOffForm is how far the form of a hovering rotor may lie below a free model of
	// the same order, as twice the difference of log likelihoods: it has about three
	// parameters less, and chance makes more than this in one of 5000 (chi square).
	mostOffForm = 20
)

// knownModes returns the oscillations of the axis from a model with known inputs, fitted to
// all of spans: what the aircraft does by itself, whatever the pilot does about it. other is
// the other axis's stick, gust the measured wind along the axis; nil if there is none.
func (t *trace) knownModes(spans []flight.Span, other, gust []float64) []Mode {
	if t.stick == nil {
		return nil
	}
	inputs := []input{{x: t.stick}}
	data, used := t.knownData(spans, inputs)
	if len(data) == 0 {
		return nil
	}
	long, err := longModel(data)
	if err != nil {
		return nil
	}
	if gust != nil {
		gust := input{x: gust, of: air}
		gust.shift = t.carried(spans, gust, long.errors(data))
		inputs, data, long = t.further(spans, inputs, gust, data, long)
	}
	if other != nil {
		inputs, data, long = t.further(spans, inputs, input{x: other}, data, long)
	}
	free, ok := bestFree(data, long)
	if !ok {
		return nil
	}
	var m Mode
	if p, short := shortMode(free); short {
		m, ok = p.mode()
		m.Method = fmt.Sprintf("model of order %d with the %s known", len(free[0].a), names(inputs))
	} else {
		m, ok = hoverMode(data, inputs)
		m.Method = fmt.Sprintf("model of a hovering rotor with the %s known", names(inputs))
	}
	if !ok {
		t.findings = append(t.findings, flight.Finding{
			Code: flight.CodeNotMeasurable, Severity: flight.Note, Span: used, Channel: string(t.axis.Attitude()),
			Text: fmt.Sprintf("What was flown does not tell the aircraft's own %s oscillation from gusts and the pilot's work: no damping is given for it.",
				t.axis),
			Advice: "Fly a few doublets or a sweep in that axis, each followed by 5 s of steady hover, in light air.",
		})
		return nil
	}
	m.Axis, m.Span = t.axis, used
	return []Mode{m}
}

// shortMode returns the oscillation that answers the stick most, from the best of models
// and the next larger one, which must show it too.
func shortMode(models []*armax) (best pole, ok bool) {
	if len(models) < 2 {
		return pole{}, false
	}
	for _, p := range models[0].poles(blockS) {
		wn := p.natural()
		if wn > shortModeRadS && wn < fastestRadS && p.damping() < mostDamping && (!ok || p.answer > best.answer) {
			best, ok = p, true
		}
	}
	if !ok {
		return pole{}, false
	}
	again, found := best.near(models[1].poles(blockS))
	if !found || math.Hypot(again.s-best.s, again.w-best.w) > 0.15*best.natural() {
		return pole{}, false
	}
	return best.doubted(again), true
}

// input is a known input on the trace's grid, taken shift blocks earlier.
type input struct {
	x     []float64
	shift int
	of    cause
}

// cause tells a stick from the air.
type cause int

const (
	stick cause = iota
	air
)

// names lists what is known.
func names(inputs []input) string {
	if slices.ContainsFunc(inputs, func(i input) bool { return i.of == air }) {
		return "stick and the measured gusts"
	}
	return "stick"
}

// further adds an input if it explains more than chance would.
func (t *trace) further(spans []flight.Span, inputs []input, more input, data []stretch, long *armax) ([]input, []stretch, *armax) {
	all := append(slices.Clone(inputs), more)
	with, _ := t.knownData(spans, all)
	if m, err := longModel(with); err == nil && m.schwarz < long.schwarz {
		return all, with, m
	}
	return inputs, data, long
}

// carried returns how many blocks the gusts take from the anemometer to the aircraft: that
// at which their changes go best with e, what the model without them leaves. The pilot does
// not move the wind, so that the search favours no answer.
func (t *trace) carried(spans []flight.Span, gust input, e [][]float64) int {
	best, at := -1.0, 0
	for shift := int(soonestS / blockS); shift <= int(latestS/blockS); shift++ {
		gust.shift = shift
		moved, _ := t.knownData(spans, []input{gust})
		sum := 0.0
		for k, s := range moved {
			for i := 1; i < len(s.y); i++ {
				sum += e[k][i] * (s.u[0][i] - s.u[0][i-1])
			}
		}
		if sum = math.Abs(sum); sum > best {
			best, at = sum, shift
		}
	}
	return at - 2 // the model looks one block back at least
}

// knownData returns the record in blocks, and the span from the first to the last of it.
func (t *trace) knownData(spans []flight.Span, inputs []input) (data []stretch, used flight.Span) {
	total := 0.0
	for _, s := range spans {
		lo, end := t.grid.Index(s.FromS), t.grid.Index(s.ToS)
		for lo < end {
			hi := lo
			for hi < end && !t.bad[hi] {
				hi++
			}
			n := (hi - lo) / knownBlock
			if lengthS := float64(n) * blockS; lengthS >= leastStretchS {
				d := stretch{y: blocks(t.attitude, lo, n)}
				for _, in := range inputs {
					d.u = append(d.u, blocks(in.x, lo-in.shift*knownBlock, n))
				}
				if len(data) == 0 {
					used.FromS = t.grid.TimeS(lo)
				}
				used.ToS = t.grid.TimeS(hi)
				data = append(data, d)
				total += lengthS
			}
			lo = hi + 1
		}
	}
	if total < leastKnownS {
		return nil, flight.Span{}
	}
	for i := range data[0].u {
		level(data, func(s stretch) []float64 { return s.u[i] })
	}
	level(data, func(s stretch) []float64 { return s.y })
	return data, used
}

// level takes the mean over all stretches from what of finds in each.
func level(data []stretch, of func(stretch) []float64) {
	sum, n := 0.0, 0
	for _, s := range data {
		for _, v := range of(s) {
			sum += v
			n++
		}
	}
	for _, s := range data {
		for i := range of(s) {
			of(s)[i] -= sum / float64(n)
		}
	}
}

// blocks returns n means of knownBlock samples from the sample from on; beyond the ends of x
// the nearest is taken.
func blocks(x []float64, from, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		for k := range knownBlock {
			out[i] += x[min(max(from+i*knownBlock+k, 0), len(x)-1)] / knownBlock
		}
	}
	return out
}

// bestFree returns the model of any form with the least Schwarz criterion, and the next
// larger one.
func bestFree(data []stretch, long *armax) (best []*armax, ok bool) {
	e := long.errors(data)
	for order := fewestPoles; order <= mostPoles+1; order++ {
		m, err := fitFree(data, e, order, order+1)
		switch {
		case err != nil:
		case !ok || order <= mostPoles && m.schwarz < best[0].schwarz:
			best, ok = []*armax{m}, true
		default:
			return append(best, m), true // larger ones will hardly be better
		}
	}
	return best, ok
}

func fitFree(data []stretch, long [][]float64, order, taps int) (*armax, error) {
	m := newArmax(anyForm(order), taps, len(data[0].u), 0)
	if err := m.start(data, long); err != nil {
		return nil, err
	}
	return m.descend(data)
}

// hoverMode fits the form of a rotor without a bar and returns its slow oscillation. ok is
// false if the form does not hold, or its numbers are too wide.
func hoverMode(data []stretch, inputs []input) (Mode, bool) {
	f := hoverForm{blockS}
	var lifted []stretch
	for _, s := range data {
		l := stretch{y: s.y[1:]}
		for i, u := range s.u {
			// The drag that a gust adds goes with it to nothing: its zero is at 0.
			drag := map[cause]float64{stick: usualDrag, air: 0}[inputs[i].of]
			l.u = append(l.u, lessDrag(u, drag, blockS)[1:])
		}
		lifted = append(lifted, l)
	}
	long, err := longModel(lifted)
	if err != nil {
		return Mode{}, false
	}
	free, err := fitFree(lifted, long.errors(lifted), f.order(), f.order())
	if err != nil {
		return Mode{}, false
	}
	m := newArmax(f, f.order(), len(lifted[0].u), 0)
	if !m.set([]float64{1, 0.3, 0.06, usualDrag}) {
		return Mode{}, false
	}
	for i := range m.b {
		copy(m.b[i], free.b[i])
	}
	copy(m.c, free.c)
	if m, err = m.descend(lifted); err != nil {
		return Mode{}, false
	}
	// Gusts have a colour of their own where that explains more.
	second, err := m.withColour().descend(lifted)
	if err == nil && second.schwarz < m.schwarz {
		m, second = second, m
	}
	p, ok := slowest(m.poles(blockS))
	if !ok {
		return Mode{}, false
	}
	if q, ok := slowest(second.poles(blockS)); err == nil && ok && second.schwarz-m.schwarz < mostOffForm {
		p = p.doubted(q)
	}
	if float64(m.samples)*math.Log(m.variance/free.variance) > mostOffForm {
		// Something moves otherwise than the form has it. Where the free model shows the
		// same slow oscillation, it is not that.
		q, ok := slowest(free.poles(blockS))
		if !ok || !p.agrees(q) {
			return Mode{}, false
		}
		p = p.doubted(q)
	}
	return p.mode()
}

// slowest returns the slowest of poles, if it is slow.
func slowest(poles []pole) (pole, bool) {
	i := slices.IndexFunc(poles, func(p pole) bool { return p.natural() < shortModeRadS })
	if i < 0 {
		return pole{}, false
	}
	return poles[i], true
}

// mode turns the pole into frequency, damping and time to half or double with their
// intervals; ok is false if they are too wide to say anything.
func (p pole) mode() (Mode, bool) {
	// What means over blocks and a dead time of no whole number of them do to the answer.
	const methodSD = 0.004
	v := methodSD * methodSD * p.natural() * p.natural()
	p.vs += v
	p.vw += v
	m := p.modeWith(1.96)
	z, wn := m.DampingRatio, m.FrequencyRadS
	return m, (z.High-z.Low)/2 <= widestKnown && (wn.High-wn.Low)/2 <= widestKnownOmega*wn.Value
}
