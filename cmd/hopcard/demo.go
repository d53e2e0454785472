package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"hopcard/analysis/debrief"
	"hopcard/analysis/simulate"
	"hopcard/flight"
	"hopcard/report"
	"hopcard/tui"
)

// demoDir is the folder the demo logbook is written to if none is named.
const demoDir = "hopcard-demo"

// demoMark is a file that says that a folder was written by this command, so that it can
// be opened again and nobody's own folder is ever taken for it.
const demoMark = ".hopcard-demo"

func (a *app) demoCommand() *cobra.Command {
	var shade background
	cmd := &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Write a made-up logbook and open it",
		Long: `demo writes the logbook of a made-up aircraft, Whinchat, flown at a made-up field, Marsh
End, to the folder DIR (` + demoDir + ` if none is named) and opens the screens on it.
Without a terminal it prints the test card of the hop that has most to tell. A demo
folder that is there already is opened as it is.`,
		Example: `  hopcard demo
  hopcard demo somewhere/else`,
		Args: arguments(0, 1, "DIR"),
		RunE: func(cmd *cobra.Command, args []string) error {
			light, err := shade.choice()
			if err != nil {
				return err
			}
			dir := demoDir
			if len(args) == 1 {
				dir = args[0]
			}
			return a.demo(cmd.Context(), dir, light)
		},
	}
	shade.flags(cmd)
	return cmd
}

func (a *app) demo(ctx context.Context, dir string, light *bool) error {
	if err := a.writeDemo(ctx, dir); err != nil {
		return err
	}
	book, err := flight.OpenLogbook(dir)
	if err != nil {
		return err
	}
	if isTerminal(a.stdout) {
		return a.openScreens(ctx, tui.Options{Logbook: book, Light: light})
	}
	d, err := a.mostTelling(ctx, book)
	if err != nil {
		return err
	}
	return report.Markdown(a.stdout, d)
}

// writeDemo makes sure that dir holds the demo logbook. It is written beside dir and
// renamed, so that a demo that was interrupted leaves nothing half done.
func (a *app) writeDemo(ctx context.Context, dir string) (err error) {
	ours, err := demoState(dir)
	if err != nil || ours {
		return err
	}
	parent := filepath.Dir(filepath.Clean(dir))
	temp, err := os.MkdirTemp(parent, demoMark+"-*")
	if err != nil {
		return fmt.Errorf("%s: cannot be written: %w; name a folder: hopcard demo DIR", dir, flight.CauseOf(err))
	}
	defer func() {
		if err != nil {
			os.RemoveAll(temp)
		}
	}()
	progress := a.newProgress()
	err = simulate.WriteDemo(ctx, temp, progress.update)
	progress.clear()
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	mark := []byte("Written by: hopcard demo. A made-up aircraft; delete the folder when you like.\n")
	if err := os.WriteFile(filepath.Join(temp, demoMark), mark, 0o644); err != nil {
		return err
	}
	if err := os.Chmod(temp, 0o755); err != nil {
		return err
	}
	// An empty folder may be there already; only an empty one can be removed.
	if err := os.Remove(dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: cannot be replaced: %w; name another folder: hopcard demo DIR", dir, flight.CauseOf(err))
	}
	if err := os.Rename(temp, dir); err != nil {
		return err
	}
	fmt.Fprintf(a.stderr, "demo logbook: %s\n", report.Short(dir, 200))
	return nil
}

// demoState reports whether dir is a demo written earlier. It is an error if dir holds
// anything else.
func demoState(dir string) (ours bool, err error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	for _, e := range entries {
		if e.Name() == demoMark {
			return true, nil
		}
	}
	if len(entries) > 0 {
		return false, fmt.Errorf("%s: holds other files; name a new or empty folder: hopcard demo DIR", dir)
	}
	return false, nil
}

// mostTelling debriefs every hop and returns the one whose card shows most: with most of
// its parts answered; of equals, the one with the gravest verdict, then with most flags.
func (a *app) mostTelling(ctx context.Context, book *flight.Logbook) (*debrief.Debrief, error) {
	var best *debrief.Debrief
	progress := a.newProgress()
	defer progress.clear()
	for i, e := range book.Hops {
		d, err := debriefHop(ctx, e.Path, func(done float64, what string) {
			progress.update((float64(i)+done)/float64(len(book.Hops)), e.Name+": "+what)
		})
		if err != nil {
			return nil, err
		}
		if best == nil || moreTelling(d, best) {
			best = d
		}
	}
	return best, nil
}

func moreTelling(a, b *debrief.Debrief) bool {
	return cmp.Or(
		cmp.Compare(answers(a), answers(b)),
		cmp.Compare(gravity(a.Verdict.Proceed), gravity(b.Verdict.Proceed)),
		cmp.Compare(len(a.Stability.Unstable), len(b.Stability.Unstable)),
	) > 0
}

// answers counts the parts of a debrief that have something to show.
func answers(d *debrief.Debrief) int {
	n := 0
	for _, has := range []bool{
		len(d.Responses) > 0, d.Wind.Whole != nil, len(d.Stability.Unstable) > 0, len(d.Stability.Control) > 0,
	} {
		if has {
			n++
		}
	}
	return n
}

func gravity(p debrief.Proceed) int {
	switch p {
	case debrief.No:
		return 2
	case debrief.Caution:
		return 1
	}
	return 0
}
