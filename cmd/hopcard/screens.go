package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/report"
	"hopcard/tui"
)

func (a *app) screensCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "hopcard [LOGBOOK]",
		Short: "Debrief short test flights of a light rotorcraft from its logs",
		Long: `hopcard reads the logs of a short test flight (a hop) of a light home-built rotorcraft:
how long after the stick does it answer, how far do gusts throw it, how close to unstable
was it, which seconds were unstable and why, and is the next card safe to fly.

LOGBOOK is a folder with one folder of logs for each hop (the folder you are in if none
is named), or one log file. Without a terminal, one line a hop is printed instead of the
screens. hopcard advises; the pilot and the local rules decide.`,
		Example: `  hopcard demo               look around in a made-up logbook
  hopcard summer             open the hops in the folder summer
  hopcard check summer/hop3  what was recognised in the logs, and what is wrong with them
  hopcard report summer/hop3 print the test card`,
		Args: arguments(0, 1, "LOGBOOK"),
		RunE: func(cmd *cobra.Command, args []string) error {
			path := "."
			if len(args) == 1 {
				path = args[0]
			}
			book, err := openLogbook(path)
			if err != nil {
				return err
			}
			if !isTerminal(a.stdout) {
				return a.listHops(cmd.Context(), book)
			}
			return a.openScreens(cmd.Context(), book)
		},
	}
}

// openScreens shows the screens until the user leaves them or a signal ends them. The
// terminal library listens for signals itself; if a context ended by the same signal
// stopped it at the same time, the two could wait for each other for ever.
func (a *app) openScreens(ctx context.Context, book *flight.Logbook) error {
	err := tui.Run(context.WithoutCancel(ctx), tui.Options{
		Logbook: book,
		Load: func(ctx context.Context, e flight.HopEntry, progress func(float64, string)) (*debrief.Debrief, error) {
			d, err := debriefHop(ctx, e.Path, progress)
			if err != nil {
				return nil, worded(err)
			}
			return d, nil
		},
		Card:   report.Markdown,
		Export: exportCard,
		Input:  inputOf(a.stdin),
		Output: a.stdout,
	})
	if err != nil {
		return err
	}
	return ctx.Err()
}

// inputOf lets the screens find their own input if ours is the process's.
func inputOf(r io.Reader) io.Reader {
	if r == os.Stdin {
		return nil
	}
	return r
}

// exportCard writes the card of a hop beside where the program was started.
func exportCard(_ context.Context, d *debrief.Debrief) (string, error) {
	path := cardFile(d.Hop.Name)
	return path, writeFile(path, d.Hop.Dir, func(w io.Writer) error { return report.Markdown(w, d) })
}

// listHops prints one line a hop. A hop that cannot be read gets its line too, and the
// whole ends as bad input.
func (a *app) listHops(ctx context.Context, book *flight.Logbook) error {
	var failed error
	for i, e := range book.Hops {
		progress := a.newProgress()
		d, err := debriefHop(ctx, e.Path, func(done float64, what string) {
			progress.update((float64(i)+done)/float64(len(book.Hops)), e.Name+": "+what)
		})
		progress.clear()
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			failed = errReported
			fmt.Fprintf(a.stdout, "%s  cannot be debriefed\n", report.Short(e.Name, 24))
			a.complain(err)
		default:
			if _, err := fmt.Fprintln(a.stdout, report.LogbookLine(d)); err != nil {
				return err
			}
		}
	}
	return failed
}

// worded is err with its text as explain gives it.
func worded(err error) error { return hintless{err} }

type hintless struct{ error }

func (e hintless) Error() string { return explain(e.error) }

func (e hintless) Unwrap() error { return e.error }
