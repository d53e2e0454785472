package tui

import (
	"context"

	tea "github.com/charmbracelet/bubbletea"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/tui/recall"
)

// opened is a hop that has been read and analysed, ready to be shown.
type opened struct {
	index  int // in the logbook
	d      *debrief.Debrief
	tracks map[flight.Quantity]*track
	sum    recall.Summary
	set    *flight.HopSettings // of its folder, nil if there are none
}

// progressMsg says how far a job is.
type progressMsg struct {
	job  int
	done float64
	what string
	ch   <-chan tea.Msg
}

// loadedMsg ends a job.
type loadedMsg struct {
	job   int
	index int
	hop   *opened
	err   error
}

// startLoad reads and analyses the hop off the update loop.
func startLoad(ctx context.Context, o Options, job, index int) tea.Cmd {
	return inBackground(job, func(progress func(float64, string)) tea.Msg {
		hop, err := load(ctx, o, index, progress)
		return loadedMsg{job: job, index: index, hop: hop, err: err}
	})
}

// inBackground does work beside the update loop. Progress is dropped when the screen is
// slower than the work.
func inBackground(job int, work func(progress func(float64, string)) tea.Msg) tea.Cmd {
	ch := make(chan tea.Msg, 1)
	run := func() tea.Msg {
		defer close(ch)
		return work(func(done float64, what string) {
			select {
			case ch <- progressMsg{job, done, what, ch}:
			default:
			}
		})
	}
	return tea.Batch(run, wait(ch))
}

// wait waits for one message; nil once the channel is closed.
func wait(ch <-chan tea.Msg) tea.Cmd { return func() tea.Msg { return <-ch } }

// load calls Options.Load and prepares the traces. A mistake of the program in one hop
// must not take the other hops off the screen, so a panic becomes that hop's error.
func load(ctx context.Context, o Options, index int, progress func(float64, string)) (hop *opened, err error) {
	defer caught(&hop, &err)
	e := o.Logbook.Hops[index]
	before := keyOf(o.Rows, e)
	d, err := o.Load(ctx, e, progress)
	if err != nil {
		return nil, err
	}
	if hop, err = prepare(ctx, index, e, d, progress); err == nil {
		keep(o.Rows, e, before, hop.sum)
	}
	return hop, err
}

// prepare makes a debrief ready to be shown.
func prepare(ctx context.Context, index int, e flight.HopEntry, d *debrief.Debrief, progress func(float64, string)) (*opened, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if d == nil || d.Hop == nil {
		return nil, debrief.Failure("no debrief")
	}
	progress(0.99, "preparing traces")
	return &opened{index: index, d: d, tracks: tracksOf(d.Hop), sum: summarise(d), set: settingsOf(e)}, nil
}

// shelf keeps the hops opened last, so that going back to one costs nothing while a
// logbook of hundreds does not fill the memory.
type shelf struct {
	hops []*opened // latest last
}

// shelfSize is how many hops stay in memory: enough to go to and fro between a few.
const shelfSize = 6

func (s *shelf) get(index int) *opened {
	for i, h := range s.hops {
		if h.index == index {
			s.hops = append(append(s.hops[:i:i], s.hops[i+1:]...), h)
			return h
		}
	}
	return nil
}

func (s *shelf) put(h *opened) {
	if s.get(h.index) != nil {
		s.hops[len(s.hops)-1] = h
		return
	}
	s.hops = append(s.hops, h)
	if len(s.hops) > shelfSize {
		s.hops = s.hops[1:]
	}
}
