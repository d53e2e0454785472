package stability

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hopcard/flight"
)

const (
	// Hands-still records are looked at from a little after the stick stopped.
	settleS = 0.2
	// shortestStillS is the shortest record a mode is fitted to.
	shortestStillS = 2.5
	// A mode is reported if the half width of its damping's interval is at most this, and
	// of its frequency at most this share of it. Wider ones say nothing.
	widestDamping = 0.25
	widestOmega   = 0.35
	// and if the record holds this many of its periods: a shorter piece of an oscillation
	// is fitted as well by another one.
	fewestPeriods = 1.25
	// and if its size is this many times the rest.
	leastClear = 3
)

// modes returns the oscillations that hands-still stretches show in this axis: the longest
// mostStretches of them, each fit being some milliseconds of work.
func (t *trace) modes(segs []flight.Segment, exclude []flight.Span) []Mode {
	const mostStretches = 4
	var spans []flight.Span
	for _, s := range segs {
		if s.Kind != flight.HandsStill || s.Axis != "" && s.Axis != t.axis {
			continue
		}
		span := flight.Span{FromS: s.Span.FromS + settleS, ToS: s.Span.ToS - settleS}
		if span.LengthS() >= shortestStillS && !slices.ContainsFunc(exclude, span.Overlaps) {
			spans = append(spans, span)
		}
	}
	slices.SortStableFunc(spans, func(a, b flight.Span) int { return cmp.Compare(b.LengthS(), a.LengthS()) })
	spans = spans[:min(len(spans), mostStretches)]
	slices.SortFunc(spans, func(a, b flight.Span) int { return cmp.Compare(a.FromS, b.FromS) })
	var out []Mode
	for _, span := range spans {
		found := t.ringdownModes(span)
		if len(found) == 0 {
			t.findings = append(t.findings, flight.Finding{
				Code: flight.CodeNotMeasurable, Severity: flight.Note, Span: span, Channel: string(t.axis.Attitude()),
				Text: fmt.Sprintf("%.1f s of still stick show no %s oscillation clearly enough to measure its damping.",
					span.LengthS(), t.axis),
				Advice: "Hold the stick still for two periods after a small rap, in still air, where the build-up allows it.",
			})
		}
		out = append(out, found...)
	}
	return out
}

// ringdownModes fits one or two oscillations, with or without an exponential beside them,
// to the attitude in span and keeps the form of the least Schwarz criterion.
func (t *trace) ringdownModes(span flight.Span) []Mode {
	lo, hi := t.grid.Index(span.FromS), t.grid.Index(span.ToS)
	for i := lo; i <= hi; i++ {
		if t.bad[i] {
			return nil
		}
	}
	x := t.attitude[lo : hi+1]
	best, ok := bestRingdown(x, stepS)
	if !ok {
		return nil
	}
	var out []Mode
	for k := range best.pairs {
		if best.size[k] < leastClear*best.rms || span.LengthS()*math.Abs(best.pairs[k][1]) < fewestPeriods*2*math.Pi {
			continue
		}
		if m, ok := best.mode(k); ok {
			m.Axis, m.Span, m.Method = t.axis, span, "matrix pencil and least squares, stick still"
			out = append(out, m)
		}
	}
	return out
}

// bestRingdown starts from the poles of the matrix pencil at several orders.
func bestRingdown(x []float64, stepS float64) (best ringdown, ok bool) {
	// About 100 samples are enough for what lies below 2 Hz in a few seconds.
	every := max(len(x)/100, 1)
	thin := make([]float64, len(x)/every)
	for i := range thin {
		for _, v := range x[i*every : (i+1)*every] {
			thin[i] += v / float64(every) // means of equal blocks keep every pole
		}
	}
	mean := 0.0
	for _, v := range thin {
		mean += v / float64(len(thin))
	}
	centred := make([]float64, len(thin))
	for i, v := range thin {
		centred[i] = v - mean
	}
	thinS := stepS * float64(every)
	var tried []ringdown
	h := newHankel(centred, thinS)
	for order := 2; order <= 5; order++ {
		for _, start := range starts(h.poles(order)) {
			if alreadyTried(tried, start) {
				continue
			}
			if _, res, fine := start.solve(thin, thinS); fine {
				n := float64(len(thin))
				start.bic = n*math.Log(max(squares(res), 1e-300)/n) + 3*float64(len(start.parameters()))*math.Log(n)
				tried = append(tried, start)
			}
		}
	}
	// Refining is the costly part: only the starts that already fit best are worth it.
	const mostRefined = 3
	slices.SortStableFunc(tried, func(a, b ringdown) int { return cmp.Compare(a.bic, b.bic) })
	for _, start := range tried[:min(len(tried), mostRefined)] {
		if r, fine := start.refine(thin, thinS); fine && (!ok || r.bic < best.bic) {
			best, ok = r, true
		}
	}
	return best, ok
}

// alreadyTried reports whether a form like r, poles within 3 %, is among tried.
func alreadyTried(tried []ringdown, r ringdown) bool {
	p := r.parameters()
	for _, t := range tried {
		q := t.parameters()
		same := len(t.pairs) == len(r.pairs) && len(q) == len(p)
		for i := 0; same && i < len(p); i++ {
			same = math.Abs(p[i]-q[i]) < 0.03*math.Max(math.Abs(p[i]), 1)
		}
		if same {
			return true
		}
	}
	return false
}

// starts returns the forms to try from the pencil's poles: the oscillations among them,
// one or two, with and without the real pole that matters least to the constant.
func starts(poles []complex128) []ringdown {
	var pairs [][2]float64
	var reals []float64
	for _, p := range poles {
		switch w := imag(p); {
		case w > 0.15 && w < highRadS && math.Abs(real(p)) < 2*w+1:
			pairs = append(pairs, [2]float64{real(p), w})
		case math.Abs(w) < 1e-9 && math.Abs(real(p)) > 0.2 && math.Abs(real(p)) < 8:
			reals = append(reals, real(p))
		}
	}
	if len(pairs) == 0 || len(pairs) > 2 {
		return nil
	}
	out := []ringdown{{pairs: pairs}}
	if len(pairs) == 2 {
		out = append(out, ringdown{pairs: pairs[:1]}, ringdown{pairs: pairs[1:]})
	}
	if len(reals) > 0 {
		out = append(out, ringdown{pairs: pairs, reals: reals[:1]})
	}
	return out
}

// mode turns oscillation k into frequency, damping and time to half or double. ok is false
// if the intervals are too wide to say anything.
func (r ringdown) mode(k int) (Mode, bool) {
	p := pole{s: r.pairs[k][0], w: math.Abs(r.pairs[k][1]), vs: r.cov[k][0], csw: r.cov[k][1], vw: r.cov[k][2]}
	m := p.modeWith(studentT(r.freedom))
	z, wn := m.DampingRatio, m.FrequencyRadS
	return m, (z.High-z.Low)/2 <= widestDamping && (wn.High-wn.Low)/2 <= widestOmega*wn.Value && math.Abs(z.Value) <= 0.95
}
