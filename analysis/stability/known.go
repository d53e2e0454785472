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
	widestKnown = 0.12
	// widestKnownOmega is the same of the frequency, over it.
	widestKnownOmega = 0.25
	// mostOffForm is how far the form of a hovering rotor may lie below a free model of
	// the same order, as twice the difference of log likelihoods: it has about three
	// parameters less, and chance makes more than this in one of 5000 (chi square).
	mostOffForm = 20
)

// knownModes returns the oscillations of the axis from a model with the stick as known
// input, fitted to all of spans: what the aircraft does by itself, whatever the pilot does
// about it. other is the other axis's stick, nil if there is none.
func (t *trace) knownModes(spans []flight.Span, other []float64) []Mode {
	if t.stick == nil {
		return nil
	}
	stepS := stepS * knownBlock
	data, used := t.knownData(spans, other)
	if used.LengthS() == 0 {
		return nil
	}
	if other != nil {
		data = withoutIdle(data)
	}
	free, ok := bestFree(data)
	if !ok {
		return nil
	}
	var m Mode
	if p, short := shortMode(free, stepS); short {
		m, ok = p.mode()
		m.Method = fmt.Sprintf("model of order %d with the stick known", len(free[0].a))
	} else {
		m, ok = t.hoverMode(data, stepS)
		m.Method = "model of a hovering rotor with the stick known"
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
func shortMode(models []*armax, stepS float64) (best pole, ok bool) {
	if len(models) < 2 {
		return pole{}, false
	}
	for _, p := range models[0].poles(stepS) {
		wn := p.natural()
		if wn > shortModeRadS && wn < fastestRadS && p.damping() < mostDamping && (!ok || p.answer > best.answer) {
			best, ok = p, true
		}
	}
	if !ok {
		return pole{}, false
	}
	again, found := best.near(models[1].poles(stepS))
	if !found || math.Hypot(again.s-best.s, again.w-best.w) > 0.15*best.natural() {
		return pole{}, false
	}
	return best.doubted(again), true
}

// knownData returns the record in blocks, and the span from the first to the last of it.
func (t *trace) knownData(spans []flight.Span, other []float64) (data []stretch, used flight.Span) {
	total := 0.0
	for _, s := range spans {
		lo, end := t.grid.Index(s.FromS), t.grid.Index(s.ToS)
		for lo < end {
			hi := lo
			for hi < end && !t.bad[hi] {
				hi++
			}
			n := (hi - lo) / knownBlock
			if lengthS := float64(n*knownBlock) * stepS; lengthS >= leastStretchS {
				d := stretch{y: blocks(t.attitude[lo:hi], n), u: [][]float64{blocks(t.stick[lo:hi], n)}}
				if other != nil {
					d.u = append(d.u, blocks(other[lo:hi], n))
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

// blocks returns n means of knownBlock samples.
func blocks(x []float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		for _, v := range x[i*knownBlock : (i+1)*knownBlock] {
			out[i] += v / knownBlock
		}
	}
	return out
}

// withoutIdle leaves out the second input where it explains nothing.
func withoutIdle(data []stretch) []stretch {
	one := make([]stretch, len(data))
	for i, s := range data {
		one[i] = stretch{s.y, s.u[:1]}
	}
	both, err := longModel(data)
	if err != nil {
		return one
	}
	if alone, err := longModel(one); err == nil && alone.schwarz <= both.schwarz {
		return one
	}
	return data
}

// bestFree returns the model of any form with the least Schwarz criterion, and the next
// larger one.
func bestFree(data []stretch) (best []*armax, ok bool) {
	long, err := longModel(data)
	if err != nil {
		return nil, false
	}
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
func (t *trace) hoverMode(data []stretch, stepS float64) (Mode, bool) {
	f := hoverForm{stepS: stepS}
	var lifted []stretch
	for _, s := range data {
		l := stretch{y: s.y[1:]}
		for _, u := range s.u {
			l.u = append(l.u, lessDrag(u, usualDrag, stepS)[1:])
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
	p, ok := slowest(m.poles(stepS))
	if !ok {
		return Mode{}, false
	}
	if q, ok := slowest(second.poles(stepS)); err == nil && ok && second.schwarz-m.schwarz < mostOffForm {
		p = p.doubted(q)
	}
	if float64(m.samples)*math.Log(m.variance/free.variance) > mostOffForm {
		// Something moves otherwise than the form has it. Where the free model shows the
		// same slow oscillation, it is not that.
		q, ok := slowest(free.poles(stepS))
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
