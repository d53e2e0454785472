package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hopcard/flight"
	"hopcard/report"
	"hopcard/report/export"
)

func (a *app) exportCommand() *cobra.Command {
	var to string
	var rateHz float64
	cmd := &cobra.Command{
		Use:   "export HOP --to FILE.csv|FILE.parquet",
		Short: "Write all channels of a hop on one clock, for other programs",
		Long: `export reads the logs of one hop and writes its channels on the hop clock, with the unit in
each name: as CSV, or as Parquet, which also says in its metadata which files, columns,
units and clocks the numbers come from.

Without --rate every sample is written as it was logged, one a row: channel, file, time_s,
value. With --rate there is one row for each time and a column for each channel, brought
to that rate by a low-pass filter that adds no delay; gaps stay empty.
HOP is a folder of logs or one log file. A log is never written over.`,
		Example: `  hopcard export hop3 --to hop3.parquet
  hopcard export hop3 --rate 50 --to tables/hop3.csv`,
		Args: arguments(1, 1, "HOP"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if to == "" {
				return usageError{errors.New("--to FILE.csv or --to FILE.parquet is missing")}
			}
			if cmd.Flags().Changed("rate") && !(rateHz > 0) {
				return usageError{fmt.Errorf("--rate %g is not possible; it is a number of rows each second", rateHz)}
			}
			write, err := tableWriter(to)
			if err != nil {
				return err
			}
			return a.export(cmd.Context(), args[0], to, export.Options{RateHz: rateHz, Version: version()}, write)
		},
	}
	cmd.Flags().StringVar(&to, "to", "", "file to write to; its ending, .csv or .parquet, says how")
	cmd.Flags().Float64Var(&rateHz, "rate", 0, "bring every channel to this rate in Hz")
	return cmd
}

// tableWriter returns what writes a table to a file of that name.
func tableWriter(to string) (func(*export.Contents, context.Context, io.Writer) error, error) {
	switch strings.ToLower(filepath.Ext(to)) {
	case ".csv":
		return (*export.Contents).CSV, nil
	case ".parquet":
		return (*export.Contents).Parquet, nil
	}
	return nil, usageError{fmt.Errorf("--to %q: the ending must be .csv or .parquet", to)}
}

func (a *app) export(ctx context.Context, path, to string, o export.Options, write func(*export.Contents, context.Context, io.Writer) error) error {
	if err := refuseInput(to, path); err != nil {
		return err
	}
	if err := refuseLogAmongLogs(to, path); err != nil {
		return err
	}
	progress := a.newProgress()
	hop, err := readHop(ctx, path, progress.update)
	progress.clear()
	if err != nil {
		return err
	}
	c, err := export.Of(hop, o)
	if err != nil {
		return err
	}
	err = writeFile(to, path, func(w io.Writer) error { return write(c, ctx, w) })
	if err != nil {
		return err
	}
	for _, s := range c.LeftOut {
		fmt.Fprintf(a.stderr, "left out: %s\n", report.Short(s, 300))
	}
	_, err = fmt.Fprintf(a.stderr, "wrote %s: %d channels\n", report.Short(to, 200), len(c.Channels()))
	return err
}

// refuseLogAmongLogs keeps a table from being taken for a log later on: hopcard would read
// one of a log's ending in the hop's folder as one more log, and in the logbook as a hop.
func refuseLogAmongLogs(to, hop string) error {
	if !flight.IsLog(to) {
		return nil
	}
	target, err := os.Stat(filepath.Dir(to))
	if err != nil {
		return nil // writing will say so
	}
	_, dir, err := flight.HopLogs(hop)
	if err != nil {
		return nil // reading will say so
	}
	where := []string{dir}
	up := filepath.Dir(filepath.Clean(dir))
	if _, err := os.Stat(filepath.Join(up, flight.AircraftFile)); err == nil {
		where = append(where, up)
	}
	for _, d := range where {
		if info, err := os.Stat(d); err == nil && os.SameFile(info, target) {
			return fmt.Errorf("%s: would be taken for a log there; write it to a folder outside the logbook, or as .parquet", to)
		}
	}
	return nil
}
