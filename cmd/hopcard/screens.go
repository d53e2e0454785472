package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/report"
	"hopcard/tui"
	"hopcard/tui/recall"
)

func (a *app) screensCommand() *cobra.Command {
	var shade background
	cmd := &cobra.Command{
		Use:   "hopcard [LOGBOOK]",
		Short: "Debrief short test flights of a light rotorcraft from its logs",
		Long: `hopcard reads the logs of a short test flight (a hop) of a light home-built rotorcraft:
how long after the stick does it answer, how far do gusts throw it, how close to unstable
was it, which seconds were unstable and why, and is the next card safe to fly.

LOGBOOK is a folder with one folder of logs for each hop (the folder you are in if none
is named), or one log file. Without a terminal, one line a hop is printed instead of the
screens. On the screens the keys 1 to 9 and 0 choose one of ten, and ? shows what its keys do.

What is wrong in a log (sense, unit, clock, seconds to leave out) is put right in hop.toml, by
hand or on the screen "data"; a log is never written to. hopcard advises; the pilot and the
local rules decide.`,
		Example: `  hopcard demo               look around in a made-up logbook
  hopcard summer             open the hops in the folder summer
  hopcard summer/hop3        open one hop
  hopcard --light summer     on a terminal with a light background
  hopcard check summer/hop3  what was recognised in the logs, and what is wrong with them
  hopcard report summer/hop3 print the test card
  hopcard plan summer --configuration "light bar"
                             the card before the next hop`,
		Args: func(cmd *cobra.Command, args []string) error {
			if err := misspelt(cmd, args); err != nil {
				return err
			}
			return arguments(0, 1, "LOGBOOK")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			light, err := shade.choice()
			if err != nil {
				return err
			}
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
			return a.openScreens(cmd.Context(), tui.Options{Logbook: book, InitialHop: onlyHop(book, path), Light: light})
		},
	}
	shade.flags(cmd)
	return cmd
}

// background is what the user says about the terminal's background.
type background struct{ light, dark bool }

func (b *background) flags(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&b.light, "light", false, "the terminal's background is light")
	cmd.Flags().BoolVar(&b.dark, "dark", false, "the terminal's background is dark")
}

// choice is true for light, false for dark, nil if the user leaves it open.
func (b *background) choice() (light *bool, err error) {
	switch {
	case b.light && b.dark:
		return nil, usageError{errors.New("--light and --dark exclude each other")}
	case b.light || b.dark:
		return &b.light, nil
	}
	return nil, nil
}

// onlyHop is the name of the hop that path itself is, empty if path is a logbook: who
// names one hop wants to see it, not a list of one.
func onlyHop(book *flight.Logbook, path string) string {
	if len(book.Hops) == 1 && book.Hops[0].Path == path {
		return book.Hops[0].Name
	}
	return ""
}

// openScreens shows the screens until the user leaves them or ctx ends.
func (a *app) openScreens(ctx context.Context, o tui.Options) error {
	o.Load = func(ctx context.Context, e flight.HopEntry, progress func(float64, string)) (*debrief.Debrief, error) {
		d, err := debriefHop(ctx, e.Path, progress)
		if err != nil {
			return nil, worded(err)
		}
		return d, nil
	}
	o.Card, o.Export = report.Markdown, exportCard
	o.AddMark, o.RemoveMark = markWith(flight.AddMark), markWith(flight.RemoveMark)
	o.Decide, o.Note = decide, note
	o.Rows = rowStore(os.UserCacheDir())
	o.Input, o.Output = inputOf(a.stdin), a.stdout
	if err := tui.Run(ctx, o); err != nil {
		return err
	}
	return ctx.Err()
}

// markWith lets change marks only where a hop has a folder of its own: hop.toml beside a
// single log would belong to its neighbours as well.
func markWith(change func(dir string, m flight.MarkSettings) error) func(flight.HopEntry, flight.MarkSettings) error {
	return func(e flight.HopEntry, m flight.MarkSettings) error {
		if err := ownFolder(e); err != nil {
			return err
		}
		if err := change(e.Path, m); err != nil {
			return worded(err)
		}
		return nil
	}
}

// ownFolder is nil if the hop's settings can be kept beside its logs.
func ownFolder(e flight.HopEntry) error {
	info, err := os.Stat(e.Path)
	switch {
	case err != nil:
		return worded(err)
	case !info.IsDir():
		return fmt.Errorf("%s: put the log into a folder of its own to keep marks and decisions with it", filepath.Base(e.Path))
	}
	return nil
}

// decide reads a hop with a change of its settings. Only if that can be read is the change
// written; then the hop is debriefed.
func decide(ctx context.Context, e flight.HopEntry, c flight.Change, progress func(float64, string)) (*debrief.Debrief, flight.Edit, error) {
	none := flight.Edit{}
	if err := ownFolder(e); err != nil {
		return nil, none, err
	}
	edit, settings, err := c.Try(e.Path)
	if err != nil {
		return nil, none, worded(err)
	}
	if settings == nil { // no file is left
		settings = &flight.HopSettings{Format: flight.SettingsFormat}
	}
	hop, err := readHopWith(ctx, e.Path, settings, readProgress(progress))
	if err == nil {
		err = unitsFit(hop)
	}
	if err != nil {
		return nil, none, worded(err)
	}
	if err := edit.Write(e.Path); err != nil {
		return nil, none, worded(err)
	}
	d, err := debriefRead(ctx, hop, e.Path, progress)
	if err != nil {
		return nil, edit, worded(err)
	}
	return d, edit, nil
}

// unitsFit is an error if a column is read in a unit that its quantity cannot have.
func unitsFit(h *flight.Hop) error {
	for i := range h.Channels {
		c := &h.Channels[i]
		if err := c.Quantity.CheckUnit(c.Unit); err != nil && !c.Derived {
			return fmt.Errorf("%s, column %q: %w", h.SourceOf(c).File, c.Column, err)
		}
	}
	return nil
}

// note writes a change that no number depends on.
func note(e flight.HopEntry, c flight.Change) (flight.Edit, error) {
	if err := ownFolder(e); err != nil {
		return flight.Edit{}, err
	}
	edit, _, err := c.Try(e.Path)
	if err == nil {
		err = edit.Write(e.Path)
	}
	if err != nil {
		return flight.Edit{}, worded(err)
	}
	return edit, nil
}

// rowStore keeps the rows of the list under the user's cache folder, nowhere if there is
// none. Rows belong to this very build: two builds of one version can answer differently.
func rowStore(cache string, err error) *recall.Store {
	if err != nil {
		return nil
	}
	build := version()
	if program, err := os.Executable(); err == nil {
		if info, err := os.Stat(program); err == nil {
			build += fmt.Sprintf(", %d bytes of %s", info.Size(), info.ModTime().UTC().Format(time.RFC3339Nano))
		}
	}
	return &recall.Store{Dir: filepath.Join(cache, "hopcard", "rows"), Version: build}
}

// inputOf lets the screens find their own input if ours is the process's.
func inputOf(r io.Reader) io.Reader {
	if r == os.Stdin {
		return nil
	}
	return r
}

// exportCard writes the card of a hop beside where the program was started, but no table
// where it would from then on be taken for a log.
func exportCard(_ context.Context, d *debrief.Debrief, format string) (string, error) {
	if err := oneOf("format", format, cardFormats()...); err != nil {
		return "", err
	}
	card := cardWriter(format, string(report.A4))
	path := strings.TrimSuffix(cardFile(d.Hop.Name), ".md") + "." + format
	if flight.IsLog(path) && (samePlace(filepath.Dir(path), d.Hop.Dir) || samePlace(filepath.Dir(path), filepath.Dir(d.Hop.Dir))) {
		return "", fmt.Errorf("%s: would be taken for a log here; start hopcard in another folder to write a table", path)
	}
	return path, writeFile(path, d.Hop.Dir, func(w io.Writer) error { return card(w, d) })
}

// samePlace reports whether two paths are one folder.
func samePlace(a, b string) bool {
	ia, errA := os.Stat(a)
	ib, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(ia, ib)
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
