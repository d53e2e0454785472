package response

import (
	"errors"
	"math"
	"slices"

	"github.com/sourcegraph/conc"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// record is what one or several axes are measured from: all their channels on one grid, and
// what is the same for every response that is asked of them. Roll and pitch share one where
// they may, which halves the work.
type record struct {
	channels []*flight.Channel
	// runs hold the values of the channels and, after them, the integrals of the rates.
	runs     []run
	integral []int // where the integral of a channel stands, -1 if it has none
	// spectra belong to the settings' windows; nil where the runs do not hold two of them.
	spectra []*spectrum.Spectra
}

// record brings the channels to the grid, over spans in which all are there, and transforms them.
func (a *analyser) record(channels []*flight.Channel, spans []flight.Span) (*record, error) {
	r := &record{channels: channels, runs: onGrid(channels, spans), spectra: make([]*spectrum.Spectra, len(a.settings.WindowsS))}
	failed := make([]error, len(r.spectra))
	var wait conc.WaitGroup
	for i, windowS := range a.settings.WindowsS {
		wait.Go(func() { r.spectra[i], failed[i] = a.spectra(r.runs, windowS) })
	}
	wait.Wait()
	for _, err := range failed {
		if err != nil {
			return nil, err
		}
	}
	r.integrate()
	return r, nil
}

// integrate adds the integrals (trapezoids) of the rates to the runs: they have their power
// where the aircraft's slow motion is.
func (r *record) integrate() {
	r.integral = make([]int, len(r.channels))
	next := len(r.channels)
	for c, ch := range r.channels {
		r.integral[c] = -1
		if !isRate(ch.Quantity) {
			continue
		}
		r.integral[c] = next
		next++
		for i := range r.runs {
			x := r.runs[i].values[c]
			y := make([]float64, len(x))
			for k := 1; k < len(x); k++ {
				y[k] = y[k-1] + gridStepS/2*(x[k]+x[k-1])
			}
			r.runs[i].values = append(r.runs[i].values, y)
		}
	}
}

func isRate(q flight.Quantity) bool {
	return q == flight.RollAxis.Rate() || q == flight.PitchAxis.Rate() || q == flight.YawAxis.Rate()
}

// index returns where c stands; -1 for nil.
func (r *record) index(c *flight.Channel) int {
	if c == nil {
		return -1
	}
	return slices.Index(r.channels, c)
}

// moves reports whether channel c leaves its mean by more than the standard deviation given.
func (r *record) moves(c int, sd float64) bool {
	var n, sum, square float64
	for _, one := range r.runs {
		for _, v := range one.values[c] {
			n++
			sum += v
			square += v * v
		}
	}
	return n > 0 && square/n-(sum/n)*(sum/n) >= sd*sd
}

// reaches remembers the reach of each channel: channels belong to more than one axis, and
// looking through a long log takes time.
type reaches map[*flight.Channel][]flight.Span

func (r reaches) of(c *flight.Channel) []flight.Span {
	s, ok := r[c]
	if !ok {
		s = reach(c)
		r[c] = s
	}
	return s
}

// spansFor is where all the channels are there, inside the spans wanted.
func (r reaches) spansFor(channels []*flight.Channel, wanted []flight.Span) []flight.Span {
	spans := wanted
	for _, c := range channels {
		spans = intersect(spans, r.of(c))
	}
	return spans
}

// manyWindows is how many windows make the last bit of scatter not worth the time: beyond
// that half an overlap does, and no more padding than the power of two asks for.
const manyWindows = 40

// spectra estimates the spectra of the runs with one window length; nil if the runs do
// not hold two windows of it.
func (a *analyser) spectra(runs []run, windowS float64) (*spectrum.Spectra, error) {
	n := int(math.Round(windowS / gridStepS))
	values := make([][][]float64, len(runs))
	var windows float64
	for i, r := range runs {
		values[i] = r.values
		windows += max(0, r.span.LengthS()/windowS*4-3)
	}
	overlap, padded := 0.75, 2*n
	if windows > manyWindows {
		overlap, padded = 0.5, n
	}
	if a.settings.Overlap != 0 {
		overlap = a.settings.Overlap
	}
	nfft := 1
	for nfft < padded {
		nfft *= 2
	}
	s, err := spectrum.Estimate(a.ctx, values, gridStepS, spectrum.Settings{
		Window: n, Overlap: overlap, FFTLength: nfft, MaxRadS: a.settings.MaxRadS,
	})
	if errors.Is(err, spectrum.ErrOneWindow) {
		return nil, nil
	}
	return s, err
}

// job is one axis with what it is measured from.
type job struct {
	ax     axisChannels
	others []*flight.Channel // further inputs that act at the same time
	wanted []flight.Span
	record *record
}

func (j job) channels() []*flight.Channel {
	var out []*flight.Channel
	for _, c := range append([]*flight.Channel{j.ax.stick, j.ax.attitude, j.ax.rate}, j.others...) {
		if c != nil && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// jobs says what each axis is measured from, and brings that to the grid. Axes whose
// channels are there at the same times share a record.
func (a *analyser) jobs(axes []axisChannels) ([]job, error) {
	jobs := make([]job, len(axes))
	gusts := a.gusts()
	known := reaches{}
	for i, ax := range axes {
		jobs[i] = job{ax: ax, wanted: a.wanted(ax.axis)}
		jobs[i].others = a.others(ax, axes, gusts, jobs[i].wanted, known)
	}
	type shared struct {
		members  []int
		channels []*flight.Channel
		spans    []flight.Span
	}
	var records []shared
next:
	for i, j := range jobs {
		channels := j.channels()
		spans := known.spansFor(channels, j.wanted)
		for k := range records {
			if r := &records[k]; slices.Equal(r.spans, spans) && commonChannel(r.channels, channels) {
				r.members = append(r.members, i)
				for _, c := range channels {
					if !slices.Contains(r.channels, c) {
						r.channels = append(r.channels, c)
					}
				}
				continue next
			}
		}
		records = append(records, shared{[]int{i}, channels, spans})
	}
	failed := make([]error, len(records))
	var wait conc.WaitGroup
	for k, r := range records {
		wait.Go(func() {
			rec, err := a.record(r.channels, r.spans)
			failed[k] = err
			for _, i := range r.members {
				jobs[i].record = rec
			}
		})
	}
	wait.Wait()
	return jobs, errors.Join(failed...)
}

func commonChannel(a, b []*flight.Channel) bool {
	return slices.ContainsFunc(a, func(c *flight.Channel) bool { return slices.Contains(b, c) })
}
