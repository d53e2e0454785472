package tui

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/tui/background"
	"hopcard/tui/recall"
)

// Options says what the program shows and who does its work.
type Options struct {
	// Logbook is listed on the first screen. It must be set.
	Logbook *flight.Logbook
	// Load reads and analyses one hop. It is called outside the update loop, for up to
	// two hops at a time, must stop when ctx ends, and may call progress from its own
	// goroutine only. It must be set.
	Load func(ctx context.Context, e flight.HopEntry, progress func(done float64, what string)) (*debrief.Debrief, error)
	// InitialHop is the name of the hop to open at the start; empty for the list.
	InitialHop string
	// Light is true for a terminal with a light background, false for a dark one, nil to
	// decide from the environment (see package background). The terminal is never asked.
	Light *bool
	// Card writes the card of a hop as text for the card screen. Nil: there is no card
	// screen.
	Card func(w io.Writer, d *debrief.Debrief) error
	// Export writes the card of a hop to a file, as md, html, pdf, csv or json, and returns
	// its path. Nil: the card screen cannot export.
	Export func(ctx context.Context, d *debrief.Debrief, format string) (path string, err error)
	// AddMark and RemoveMark keep an event mark with the hop and take it back; see
	// flight.AddMark. Nil, either of them: no marks can be set.
	AddMark    func(e flight.HopEntry, m flight.MarkSettings) error
	RemoveMark func(e flight.HopEntry, m flight.MarkSettings) error
	// Decide changes what the settings file of a hop says, and reads and analyses the hop
	// with it. If the hop cannot be read so, the file stays as it was. The edit says what
	// was done to the file; it is zero if nothing was, and set beside an error if the file
	// was changed and the analysis then stopped. It is called as Load is. Nil: nothing can
	// be decided on the screens.
	Decide func(ctx context.Context, e flight.HopEntry, c flight.Change, progress func(done float64, what string)) (*debrief.Debrief, flight.Edit, error)
	// Note makes a change of the settings file that no number depends on. Nil: no remarks
	// can be written.
	Note func(e flight.HopEntry, c flight.Change) (flight.Edit, error)
	// Rows keeps what the list says about each hop from one session to the next. Nil:
	// every session starts with an empty list.
	Rows *recall.Store
	// Input and Output are the terminal; nil for standard input and output.
	Input  io.Reader
	Output io.Writer
}

// ErrNoHop is returned when InitialHop names none of the logbook's hops.
var ErrNoHop = errors.New("no such hop in the logbook")

func init() { background.Restore() }

// Run shows the screens until the user leaves them, ctx ends, or the process is told to
// end (interrupt, SIGTERM, SIGHUP). The terminal is then left as it was found, and jobs that still
// run are told to stop. The error is about the terminal, or ErrNoHop.
func Run(ctx context.Context, o Options) error {
	if o.Logbook == nil || o.Load == nil {
		panic("tui: Run without a logbook or without Load")
	}
	ctx, cancel := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer cancel()
	out := o.Output
	if out == nil {
		out = os.Stdout
	}
	model, err := newRoot(ctx, o, rendererFor(o, out))
	if err != nil {
		return err
	}
	opts := []tea.ProgramOption{
		tea.WithoutSignalHandler(), tea.WithAltScreen(), tea.WithMouseCellMotion(), tea.WithOutput(out),
	}
	if o.Input != nil {
		opts = append(opts, tea.WithInput(o.Input))
	}
	program := tea.NewProgram(model, opts...)
	// The library has a signal handler and takes a context, but the two can wait for each
	// other for ever if one signal ends both. Leaving by a message, as the user does, is
	// the one way out that also lets the last screen be drawn and the modes be reset in
	// order. Once the program has ended the message is dropped.
	unwatch := context.AfterFunc(ctx, program.Quit)
	defer unwatch()
	if _, err = program.Run(); err != nil {
		return fmt.Errorf("running the screens: %w", err)
	}
	return nil
}

// rendererFor returns a renderer that knows the background and never asks for it.
func rendererFor(o Options, out io.Writer) *lipgloss.Renderer {
	light := background.IsLight(os.Getenv)
	if o.Light != nil {
		light = *o.Light
	}
	lipgloss.SetHasDarkBackground(!light)
	r := lipgloss.NewRenderer(out)
	r.SetHasDarkBackground(!light)
	return r
}
