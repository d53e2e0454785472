package debrief

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"github.com/sourcegraph/conc/panics"

	"hopcard/analysis/plan"
	"hopcard/analysis/response"
	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/stability"
	"hopcard/analysis/stability/loop"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// ErrNoAttitude is returned for a hop without roll and pitch: nothing can be said about
// the aircraft's motion.
var ErrNoAttitude = errors.New("no roll or pitch attitude in any log; " +
	"name the columns in hop.toml, or check what was recognised with: hopcard check")

// Run analyses one hop. The aircraft's limits must be filled (flight.ReadAircraft does
// it); p may be nil. The error is ErrNoAttitude, wrapped, or the context's.
func Run(ctx context.Context, h *flight.Hop, a *flight.Aircraft, p Progress) (*Debrief, error) {
	if h.Channel(flight.Roll) == nil && h.Channel(flight.Pitch) == nil {
		return nil, fmt.Errorf("%s: %w", h.Name, ErrNoAttitude)
	}
	if p == nil {
		p = func(float64, string) {}
	}
	d := &Debrief{Hop: h, Aircraft: a}
	p(0, "finding segments")
	segs, segFindings := segment.Find(h)
	d.Segments = segs
	d.Findings = append(slices.Clone(h.Findings), segFindings...)

	var answer response.Analysis
	err := each(ctx, func(done float64, what string) { p(togetherShare*done, what) },
		part{"stick to attitude", func(ctx context.Context, report func(float64, string)) (err error) {
			answer, err = response.Analyse(ctx, h, segs, settingsOf(h, a), report)
			return err
		}},
		part{"wind", func(ctx context.Context, _ func(float64, string)) (err error) {
			d.Wind, err = wind.Analyse(ctx, h, flown(h, segs), wind.Settings{Class: a.WindClass, DistanceConstantM: a.Anemometer.DistanceConstantM})
			return err
		}},
		part{"stability", func(ctx context.Context, _ func(float64, string)) (err error) {
			d.Stability, err = stability.Analyse(ctx, h, segs, a.Limits)
			return err
		}},
	)
	if err != nil {
		return nil, err
	}
	d.Responses, d.PhasingErrorRad = answer.Responses, answer.PhasingErrorRad
	d.Findings = append(d.Findings, answer.Findings...)
	d.Findings = append(d.Findings, d.Wind.Findings...)
	d.Findings = append(d.Findings, d.Stability.Findings...)
	d.Wind.CountFlags(growing(d.Stability.Unstable))
	err = closeLoop(ctx, d, func(done float64, what string) { p(togetherShare+(1-togetherShare)*done, what) })
	if err != nil {
		return nil, err
	}
	sortFindings(d.Findings)
	d.Plan = plan.Check(h.Plan, plan.Parts{Hop: h, Segments: segs, Responses: d.Responses, Wind: d.Wind})
	d.Verdict = judge(d)
	d.Verdict.Advice = advise(d)
	return d, nil
}

// togetherShare is the part of the progress that the parts side by side take.
const togetherShare = 0.9

// closeLoop measures the margins of pilot and aircraft, which need the other parts' answers,
// and states the lag at the pilot's crossover.
func closeLoop(ctx context.Context, d *Debrief, p Progress) error {
	r, err := loop.AnalyseApart(ctx, d.Hop, d.Segments, d.Responses, growing(d.Stability.Unstable), p)
	if err != nil {
		return fmt.Errorf("margins: %w", err)
	}
	d.Stability.Margins = r.Margins
	d.Findings = append(d.Findings, r.Findings...)
	for _, m := range r.Margins {
		if m.CrossoverRadS == nil {
			continue
		}
		for i := range d.Responses {
			if r := &d.Responses[i]; r.Axis == m.Axis && r.Input == m.Axis.Stick() {
				r.AddLag("crossover", m.CrossoverRadS.Value)
			}
		}
	}
	p(1, "margins")
	return nil
}

// growing are the spans in which an oscillation grew.
func growing(unstable []stability.Unstable) []flight.Span {
	var spans []flight.Span
	for _, u := range unstable {
		switch u.Kind {
		case stability.Airframe, stability.PilotCoupled, stability.Unattributed:
			spans = append(spans, u.Span)
		}
	}
	return spans
}

// settingsOf tells the response what aircraft.toml says of the head: its speed where none was
// logged, and that it has no stabiliser bar if all its dimensions are given and none of a bar.
func settingsOf(h *flight.Hop, a *flight.Aircraft) response.Settings {
	c := a.Configuration(h.Configuration)
	if c == nil {
		return response.Settings{}
	}
	s := response.Settings{RotorSpeedRadS: c.RotorSpeedRPM * 2 * math.Pi / 60}
	if c.Bar == nil {
		_, _, err := rotor.FromConfiguration(*c, rotor.Surroundings{})
		s.NoBar = err == nil
	}
	return s
}

// flown is the interval between lift-off and landing, or the whole hop where no flight
// was found.
func flown(h *flight.Hop, segs []flight.Segment) flight.Span {
	if span, ok := segment.Flight(segs); ok {
		return span
	}
	return flight.Span{FromS: 0, ToS: h.DurationS}
}

// part is one independent part of the analysis.
type part struct {
	name string
	run  func(ctx context.Context, report func(done float64, what string)) error
}

// sure runs the part. A mistake of the program in one hop must not take the program, and the
// other hops, away from the user: a panic becomes the part's error.
func (p part) sure(ctx context.Context, report func(done float64, what string)) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = Failure(r)
		}
	}()
	return p.run(ctx, report)
}

// Failure is the error of a hop on which the program made a mistake; what says which, as a
// rule what recover returned, also of a panic of a goroutine that was waited for.
func Failure(what any) error {
	if inner, ok := what.(*panics.Recovered); ok {
		what = inner.Value // its stack is not for the user
	}
	return fmt.Errorf("hopcard itself failed on this hop (please report it): %v", what)
}

// each runs the parts at the same time and reports their progress as one. The first
// error, in the order of the parts, stops the others and is returned.
func each(ctx context.Context, p Progress, parts ...part) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var (
		mu     sync.Mutex
		wg     sync.WaitGroup
		done   = make([]float64, len(parts))
		failed = make([]error, len(parts))
	)
	tell := func(i int, part float64, what string) {
		mu.Lock()
		defer mu.Unlock()
		done[i] = part
		sum := 0.0
		for _, x := range done {
			sum += x
		}
		p(sum/float64(len(parts)), what)
	}
	for i, job := range parts {
		wg.Go(func() {
			err := job.sure(ctx, func(part float64, what string) { tell(i, part, what) })
			if err != nil {
				failed[i] = fmt.Errorf("%s: %w", job.name, err)
				cancel()
				return
			}
			tell(i, 1, job.name)
		})
	}
	wg.Wait()
	// A part that was only stopped because another failed must not hide the cause.
	for _, err := range failed {
		if err != nil && !errors.Is(err, context.Canceled) {
			return err
		}
	}
	return errors.Join(failed...)
}

// sortFindings puts the worst first; equals stand in order of time, then of text, so
// that the same hop always prints the same list.
func sortFindings(fs []flight.Finding) {
	rank := func(s flight.Severity) int {
		return slices.Index([]flight.Severity{flight.Stop, flight.Caution, flight.Note}, s)
	}
	slices.SortStableFunc(fs, func(a, b flight.Finding) int {
		return cmp.Or(
			cmp.Compare(rank(a.Severity), rank(b.Severity)),
			cmp.Compare(a.Span.FromS, b.Span.FromS),
			cmp.Compare(a.Code, b.Code),
			cmp.Compare(a.File, b.File),
			cmp.Compare(a.Text, b.Text),
		)
	})
}
