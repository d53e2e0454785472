package loop

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/sourcegraph/conc"

	"hopcard/analysis/response"
	"hopcard/analysis/segment"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// Result is what the hop says about the pilot's loops, roll before pitch.
type Result struct {
	Margins  []stability.Margin
	Findings []flight.Finding
}

const (
	degPerRad  = 180 / math.Pi
	dbPerNeper = 20 / math.Ln10
)

// assumedDelaysS are the reaction delays of assumed pilots: 0.2 to 0.4 s spans what is found
// for trained pilots holding an attitude (McRuer and others, AFFDL-TR-65-15, 1965, from
// memory).
func assumedDelaysS() []float64 { return []float64{0.2, 0.3, 0.4} }

// Analyse measures the pilot of h where he only regulates, and the margins of the loop with
// the aircraft of responses. The error is the context's only; whatever the hop cannot give is
// left nil with a finding. progress may be nil.
func Analyse(ctx context.Context, h *flight.Hop, segs []flight.Segment, responses []response.Result,
	progress func(done float64, what string)) (Result, error) {
	return AnalyseApart(ctx, h, segs, responses, nil, progress)
}

// AnalyseApart is Analyse without the spans given, say those in which an oscillation grew: the
// pilot flew them otherwise than the rest.
func AnalyseApart(ctx context.Context, h *flight.Hop, segs []flight.Segment, responses []response.Result,
	apart []flight.Span, progress func(done float64, what string)) (Result, error) {
	if progress == nil {
		progress = func(float64, string) {}
	}
	var r Result
	flown, ok := segment.Flight(segs)
	if !ok {
		return r, ctx.Err() // others say that nothing was flown
	}
	progress(0, "margins")
	axes := []flight.Axis{flight.RollAxis, flight.PitchAxis}
	each, failed := make([]one, len(axes)), make([]error, len(axes))
	var wait conc.WaitGroup
	for i, axis := range axes {
		wait.Go(func() {
			each[i] = one{hop: h, axis: axis, flown: flown, spans: regulating(h, segs, axis, apart)}
			failed[i] = each[i].run(ctx, responses)
		})
	}
	wait.Wait()
	if err := errors.Join(append(failed, ctx.Err())...); err != nil {
		return Result{}, err
	}
	for i := range each {
		if m := each[i].margin; m != nil {
			r.Margins = append(r.Margins, *m)
		}
		r.Findings = append(r.Findings, each[i].findings...)
	}
	progress(1, "margins")
	return r, nil
}

// one is the analysis of one axis under way.
type one struct {
	hop      *flight.Hop
	axis     flight.Axis
	flown    flight.Span
	spans    []flight.Span
	craft    *aircraft
	pilot    *fitted
	margin   *stability.Margin
	missing  []string // numbers that the hop does not tell
	findings []flight.Finding
}

// run measures the axis; the error is the context's.
func (o *one) run(ctx context.Context, responses []response.Result) error {
	stick, attitude := o.hop.Channel(o.axis.Stick()), o.hop.Channel(o.axis.Attitude())
	for _, q := range []flight.Quantity{o.axis.Stick(), o.axis.Attitude()} {
		if c := o.hop.Channel(q); c == nil || c.Len() < 2 {
			o.withheld(flight.CodeMissing, fmt.Sprintf("no %s was logged", q), "Log stick and attitude.")
			return nil
		}
	}
	clockS, timed := o.hop.CommonClock(stick, attitude)
	if !timed {
		o.withheld(flight.CodeNoClock, "the clocks of stick and attitude are not aligned",
			"Give the clock offset in hop.toml, or knock both loggers together before and after the next flight.")
		return nil
	}
	if o.craft, timed = aircraftOf(o.axis, responses); !timed {
		o.withheld(flight.CodeNotMeasurable, "no lag may be taken from the aircraft's answer to the stick (another finding says why)",
			"Set that right first.")
		return nil
	}
	m := &stability.Margin{Axis: o.axis}
	record := newRecord(stick, attitude, rateOf(o.hop, attitude, o.axis), o.flown, o.spans)
	if err := o.measurePilot(ctx, record, instrumentOf(o.hop, attitude, record.grid), clockS, m); err != nil {
		return err
	}
	o.closeLoop(m)
	o.assume(m)
	o.say(m)
	o.notMeasurable()
	if m.Pilot != nil || m.Assumed != nil {
		o.margin = m
	}
	return nil
}

// measurePilot fills in the pilot; the error is the context's.
func (o *one) measurePilot(ctx context.Context, r *record, wind *instrument, clockS float64, m *stability.Margin) error {
	p, long := fitPredictor(r)
	if !long {
		o.tooShort(r)
		return nil
	}
	if p == nil {
		o.noPilot()
		return nil
	}
	g, ok := newFitter(p).fit()
	if !ok || g.misfit > mostMisfit || g.relativeSD(insideRadS) > mostRelativeSD {
		o.noPilot()
		return nil
	}
	method, err := o.trust(ctx, r, wind, p, &g)
	if err != nil || method == "" {
		return err
	}
	o.pilot = &g
	pilot := &stability.Pilot{Method: method, Biased: method != methodGust, Spans: r.spans, FitPercent: g.percent}
	o.describe(pilot, clockS)
	for _, w := range fitFrequencies() {
		a, b := p.parts(w)
		pilot.FrequencyRadS = append(pilot.FrequencyRadS, w)
		pilot.Y = append(pilot.Y, -b/a)
		pilot.RelativeSD = append(pilot.RelativeSD, g.relativeSD(w))
	}
	m.Pilot = pilot
	return nil
}

// trust returns the method by which a form may be given, with its errors widened by what speaks
// against it; none, with a finding, where it may not.
func (o *one) trust(ctx context.Context, r *record, wind *instrument, p *predictor, g *fitted) (method string, err error) {
	v, err := o.byGust(ctx, r, wind, p, g)
	switch {
	case err != nil:
		return "", err
	case v.speaks && v.excess <= v.most:
		return methodGust, nil
	case v.speaks:
		return methodAlone, nil
	}
	out, known, err := outsideOf(ctx, r, p, g, o.craft)
	switch {
	case err != nil:
		return "", err
	case !known:
		o.outsideUnknown()
		return "", nil
	case out.share < leastOutside:
		o.tooStill(out.share)
		return "", nil
	case out.excess > out.most:
		o.outsideDisagrees(out)
		g.widen(out.excess)
	}
	return methodAlone, nil
}

// byGust lets the logged gust judge the form, and widens its errors by what the two differ.
func (o *one) byGust(ctx context.Context, r *record, wind *instrument, p *predictor, g *fitted) (v verdict, err error) {
	if wind == nil {
		return v, nil
	}
	v, err = wind.judge(ctx, r, p, g)
	if err == nil && v.speaks && v.excess > v.most {
		o.gustDisagrees(v)
		g.widen(v.excess)
	}
	return v, err
}

const (
	methodAlone = "stick and attitude alone"
	methodGust  = "stick and attitude, confirmed with the logged gust as instrument"
	// mostMisfit is how many times its errors a form may miss the predictor, in squares, and
	// mostRelativeSD the error of the form at insideRadS beyond which nothing is said.
	mostMisfit     = 6
	mostRelativeSD = 0.35
)

// describe fills in gain, lead and delay as far as the fit tells them apart.
func (o *one) describe(p *stability.Pilot, clockS float64) {
	g := o.pilot
	about := func(i int, plus, further float64) *flight.Estimate {
		v, half := g.vector()[i]+plus, math.Hypot(1.96*g.sd(i), further)
		return &flight.Estimate{Value: v, Low: v - half, High: v + half}
	}
	if e := about(0, 0, 0); e.Low > 0 {
		p.GainPerRad = e
		p.LeadS = g.leadTime()
	} else {
		o.missing = append(o.missing, "gain and lead of the pilot")
	}
	// The delay is the effective one, the lag of the hand with it.
	if e := about(4, handS, math.Hypot(clockS, 1.96*delayErrorS)); e.High-e.Low < 2*mostDelayHalfS {
		p.DelayS = e
	} else {
		o.missing = append(o.missing, "delay of the pilot")
	}
}

const (
	// delayErrorS is by how much the delay of drawn pilots is off beyond what the fit makes of
	// it: a little lead more and a little delay more look much alike.
	delayErrorS = 0.08
	// mostDelayHalfS is the half width of the delay's interval from which on it is not given.
	mostDelayHalfS = 0.3
)

// leadTime is lead over gain, with an interval by the errors of the two.
func (g *fitted) leadTime() *flight.Estimate {
	rng := rand.New(rand.NewPCG(1, 71))
	v := make([]float64, draws)
	for i := range v {
		f := g.draw(rng.NormFloat64)
		v[i] = f.lead / f.gain
	}
	return interval(g.lead/g.gain, v)
}
