package response

import (
	"context"
	"math"

	"github.com/sourcegraph/conc"

	"hopcard/flight"
)

// Analysis is everything the hop says about the answer to the stick.
type Analysis struct {
	// Responses are ordered roll, pitch, yaw, attitude before rate. It is empty where
	// nothing answers the stick or nothing could be timed; a finding says why.
	Responses []Result
	// PhasingErrorRad is the swashplate's phasing error in rotor azimuth, nil where it
	// cannot be measured.
	PhasingErrorRad *flight.Estimate
	Findings        []flight.Finding
}

// Settings of the analysis. The zero value is usable.
type Settings struct {
	// MinRadS and MaxRadS bound the frequencies reported; 0 means 0.3 and 20.
	MinRadS, MaxRadS float64
	// Points is the number of frequencies, evenly spaced in log; 0 means 120.
	Points int
	// WindowsS are the window lengths in s that are merged, each half the one before; nil
	// means 32, 16, 8.
	WindowsS []float64
	// Overlap of the windows; 0 means 0.75, or 0.5 where that gives many.
	Overlap float64
	// RotorSpeedRadS stands for the rotor speed where none is logged; 0 means unknown.
	RotorSpeedRadS float64
	// NoBar says that the rotor head is known to have no stabiliser bar: no model with one is
	// fitted then.
	NoBar bool
	// Draws is the number of samples behind each interval; 0 means 400.
	Draws int
	// Seed of the sampling.
	Seed uint64
	// widerPriors multiplies the widths of the models' priors, to measure what these do.
	widerPriors float64
}

func (s Settings) orDefault() Settings {
	if s.MinRadS == 0 {
		s.MinRadS = 0.3
	}
	if s.MaxRadS == 0 {
		s.MaxRadS = 20
	}
	if s.Points == 0 {
		s.Points = 120
	}
	if s.WindowsS == nil {
		s.WindowsS = []float64{32, 16, 8}
	}
	if s.Draws == 0 {
		s.Draws = 400
	}
	return s
}

// Analyse measures the responses of h in its segments. The error is the context's only;
// whatever the hop cannot give is left out with a finding.
func Analyse(ctx context.Context, h *flight.Hop, segs []flight.Segment, s Settings,
	progress func(done float64, what string)) (Analysis, error) {
	if progress == nil {
		progress = func(float64, string) {}
	}
	a := &analyser{hop: h, segs: segs, settings: s.orDefault(), ctx: ctx, progress: progress}
	a.grid = logGrid(a.settings.MinRadS, a.settings.MaxRadS, a.settings.Points)
	a.air = flight.Without(settled(segs), union(append([]flight.Span{}, h.Exclude...)))
	if err := a.run(); err != nil {
		return Analysis{}, err
	}
	return a.out, nil
}

// analyser is one analysis under way.
type analyser struct {
	ctx      context.Context
	hop      *flight.Hop
	segs     []flight.Segment
	settings Settings
	progress func(float64, string)
	grid     []float64     // rad/s
	air      []flight.Span // off the ground, less what the crew ruled out
	out      Analysis
}

func (a *analyser) run() error {
	axes := a.controlled()
	if len(axes) == 0 {
		return nil
	}
	if len(a.air) == 0 {
		a.notAirborne(axes)
		return nil
	}
	a.progress(0, "responses")
	// The axes are independent of each other: each works on its own copy.
	jobs, err := a.jobs(axes)
	if err != nil {
		return err
	}
	each := make([]analyser, len(jobs))
	found := make([]*measured, len(jobs))
	var wait conc.WaitGroup
	for i := range jobs {
		each[i] = *a
		each[i].out = Analysis{}
		wait.Go(func() { found[i] = each[i].axis(jobs[i]) })
	}
	wait.Wait()
	if err := a.ctx.Err(); err != nil {
		return err
	}
	var all []*measured
	for i := range each {
		a.out.Findings = append(a.out.Findings, each[i].out.Findings...)
		if found[i] != nil {
			all = append(all, found[i])
		}
	}
	a.cross(all)
	a.models(all)
	a.withhold(all)
	for _, m := range all {
		a.out.Responses = append(a.out.Responses, m.results...)
	}
	a.progress(1, "response")
	return nil
}

// axisChannels are the channels of one axis; attitude or rate may be nil.
type axisChannels struct {
	axis                  flight.Axis
	stick, attitude, rate *flight.Channel
}

// controlled returns the axes that have a stick and a motion which may be timed against
// each other, and leaves a finding for each that has not.
func (a *analyser) controlled() []axisChannels {
	var axes []axisChannels
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		c := axisChannels{axis: axis, stick: filled(a.hop.Channel(axis.Stick())),
			attitude: filled(a.hop.Channel(axis.Attitude())), rate: filled(a.hop.Channel(axis.Rate()))}
		if c.stick == nil || (c.attitude == nil && c.rate == nil) {
			if axis != flight.YawAxis {
				a.missing(c)
			}
			continue
		}
		c.attitude, c.rate = a.timed(c.stick, c.attitude), a.timed(c.stick, c.rate)
		if c.attitude == nil && c.rate == nil {
			a.noClock(c)
			continue
		}
		axes = append(axes, c)
	}
	return axes
}

// filled returns c unless it is empty.
func filled(c *flight.Channel) *flight.Channel {
	if c == nil || len(c.TimeS) < 2 {
		return nil
	}
	return c
}

// timed returns c if it may be timed against the stick, otherwise nil.
func (a *analyser) timed(stick, c *flight.Channel) *flight.Channel {
	if c == nil {
		return nil
	}
	if _, ok := a.hop.CommonClock(stick, c); !ok {
		return nil
	}
	return c
}

// clockHalfWidthS is the uncertainty of the clocks between the two channels.
func (a *analyser) clockHalfWidthS(stick, c *flight.Channel) float64 {
	w, _ := a.hop.CommonClock(stick, c)
	return w
}

// group says where the channels of one axis stand in its record; -1 where there is none.
type group struct {
	*record
	stick          int
	attitude, rate int
	others         []int // further inputs that act at the same time
}

func (j job) group() group {
	g := group{record: j.record, stick: j.record.index(j.ax.stick), attitude: j.record.index(j.ax.attitude),
		rate: j.record.index(j.ax.rate)}
	for _, c := range j.others {
		if k := j.record.index(c); j.isStick(c) || g.moves(k, stillTravel) {
			g.others = append(g.others, k)
		}
	}
	return g
}

func logGrid(from, to float64, n int) []float64 {
	g := make([]float64, n)
	for i := range g {
		g[i] = from * math.Pow(to/from, float64(i)/float64(n-1))
	}
	return g
}
