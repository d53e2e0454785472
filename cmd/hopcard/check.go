package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/importers"
	"hopcard/report"
)

func (a *app) checkCommand() *cobra.Command {
	var format string
	var write bool
	cmd := &cobra.Command{
		Use:   "check LOG...",
		Short: "Say what was recognised in logs and what is wrong with the data",
		Long: `check reads logs and says for each file how it is written, which quantity, unit and sense
each column has and how sure that is, how the clocks were put on one time, and what is
wrong or doubtful in the data. LOG is the folder of one hop's logs, or one log file.

With --write it also puts what was decided into hop.toml beside the logs, each decision
commented out and ready to be edited. A hop.toml that is there already is kept.`,
		Example: `  hopcard check hop3
  hopcard check --write hop3
  hopcard check hop3/stick.csv
  hopcard check --format json hop3 hop4`,
		Args: arguments(1, -1, "LOG"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := oneOf("format", format, "text", "json"); err != nil {
				return err
			}
			return a.check(cmd.Context(), format, write, args)
		},
	}
	cmd.Flags().BoolVar(&write, "write", false, "write what was decided to hop.toml in the hop's folder")
	cmd.Flags().StringVar(&format, "format", "text", "text or json")
	return cmd
}

func (a *app) check(ctx context.Context, format string, write bool, paths []string) error {
	var failed error
	var hops []*flight.Hop
	for i, path := range paths {
		progress := a.newProgress()
		hop, err := checkedHop(ctx, path, nil, func(done float64, what string) {
			progress.update((float64(i)+done)/float64(len(paths)), what)
		})
		progress.clear()
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			failed = errReported
			a.complain(err)
			continue
		}
		if write {
			if err := a.writeDecisions(path, hop); err != nil {
				failed = errReported
				a.complain(err)
			}
		}
		if format == "json" {
			hops = append(hops, hop)
			continue
		}
		if len(paths) > 1 && i > 0 {
			fmt.Fprintln(a.stdout)
		}
		if err := report.Check(a.stdout, hop); err != nil {
			return err
		}
	}
	if format == "json" {
		if err := report.CheckJSON(a.stdout, hops...); err != nil {
			return err
		}
	}
	return failed
}

// writeDecisions puts what was decided while the hop was read into its hop.toml. One that
// is there holds what somebody decided by hand and is never written over.
func (a *app) writeDecisions(path string, hop *flight.Hop) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("%s: a hop.toml beside it would count for every log in that folder; "+
			"put the log into a folder of its own and check that", path)
	}
	to := filepath.Join(path, flight.HopFile)
	if _, err := os.Lstat(to); err == nil {
		return fmt.Errorf("%s: is there already and is kept; to get a new one move it away, then copy over what you decided by hand", to)
	}
	err = writeFile(to, path, func(w io.Writer) error {
		_, err := w.Write(importers.Decisions(hop))
		return err
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(a.stderr, "wrote %s\n", report.Short(to, 200))
	return nil
}

// checkedHop reads a hop with every finding about its data: some faults, such as a
// response that leads the stick, only show when the hop is analysed. Nil settings are
// those of the hop's folder.
func checkedHop(ctx context.Context, path string, s *flight.HopSettings, progress func(float64, string)) (*flight.Hop, error) {
	hop, err := readHopWith(ctx, path, s, func(done float64, what string) { progress(readShare*done, what) })
	if err != nil {
		return nil, err
	}
	aircraft, _, err := flight.AircraftFor(path)
	if err != nil {
		return nil, err
	}
	d, err := debrief.Run(ctx, hop, aircraft, func(done float64, what string) {
		progress(readShare+(1-readShare)*done, what)
	})
	if errors.Is(err, debrief.ErrNoAttitude) {
		return hop, nil // a stick or wind log alone can still be checked
	}
	if err != nil {
		return nil, err
	}
	full := *hop
	full.Findings = d.Findings
	return &full, nil
}
