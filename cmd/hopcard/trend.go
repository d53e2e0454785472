package main

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"hopcard/analysis/compare/trend"
	"hopcard/analysis/debrief"
	"hopcard/report"
)

func (a *app) trendCommand() *cobra.Command {
	var format string
	cmd := &cobra.Command{
		Use:   "trend [LOGBOOK]",
		Short: "Set the key numbers of all hops side by side in time",
		Long: `trend debriefs every hop of a logbook and sets the key numbers side by side in time order,
with their intervals, what was changed between hops, and the air: lags, delays, bandwidth,
damping, answer to gusts, stick work, control left, margins. LOGBOOK is the folder you are in
unless it is named. A hop that cannot be read is left out and named on standard error.`,
		Example: `  hopcard trend summer
  hopcard trend summer --format csv > summer.csv
  hopcard trend --format json`,
		Args: arguments(0, 1, "LOGBOOK"),
		RunE: func(cmd *cobra.Command, args []string) error {
			write, err := trendWriter(format)
			if err != nil {
				return err
			}
			path := "."
			if len(args) > 0 {
				path = args[0]
			}
			return a.trend(cmd.Context(), path, write)
		},
	}
	cmd.Flags().StringVar(&format, "format", "text", "text, json or csv")
	return cmd
}

// trendWriter returns what writes a trend in that format.
func trendWriter(format string) (func(io.Writer, *trend.Trend) error, error) {
	if err := oneOf("format", format, "text", "json", "csv"); err != nil {
		return nil, err
	}
	switch format {
	case "json":
		return report.TrendJSON, nil
	case "csv":
		return report.TrendCSV, nil
	}
	return report.Trend, nil
}

func (a *app) trend(ctx context.Context, path string, write func(io.Writer, *trend.Trend) error) error {
	book, err := openLogbook(path)
	if err != nil {
		return err
	}
	progress := a.newProgress()
	defer progress.clear()
	var hops []*debrief.Debrief
	var last error
	for i, e := range book.Hops {
		d, err := debriefHop(ctx, e.Path, func(part float64, what string) {
			progress.update((float64(i)+part)/float64(len(book.Hops)), e.Name+": "+what)
		})
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			progress.clear()
			last = withHint(err, "left out of the trend")
			a.complain(last)
			continue
		}
		hops = append(hops, d)
	}
	progress.clear()
	if len(hops) == 0 {
		if last != nil {
			return errReported
		}
		return nil
	}
	return write(a.stdout, trend.Of(hops))
}
