package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"hopcard/analysis/compare/trend"
	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/report"
)

func (a *app) trendCommand() *cobra.Command {
	var format, to string
	cmd := &cobra.Command{
		Use:   "trend [LOGBOOK]",
		Short: "Set the key numbers of all hops side by side in time",
		Long: `trend debriefs every hop of a logbook and sets the key numbers side by side in time order,
with their intervals, what was changed between hops, and the air: lags, delays, bandwidth,
damping, answer to gusts, stick work, control left, margins. LOGBOOK is the folder you are in
unless it is named. A hop that cannot be read is left out and named on standard error.`,
		Example: `  hopcard trend summer
  hopcard trend summer --format html --to summer.html
  hopcard trend summer --format csv --to summer-numbers.csv
  hopcard trend --format json`,
		Args: arguments(0, 1, "LOGBOOK"),
		RunE: func(cmd *cobra.Command, args []string) error {
			path := "."
			if len(args) > 0 {
				path = args[0]
			}
			if err := oneOf("format", format, "text", "html", "json", "csv"); err != nil {
				return err
			}
			return a.trend(cmd.Context(), path, format, to)
		},
	}
	cmd.Flags().StringVar(&format, "format", "text", "text, html, json or csv")
	cmd.Flags().StringVar(&to, "to", "-", "file to write to; - is standard output")
	return cmd
}

// trendWriter returns what writes a trend in that format; book is for the page's title.
func trendWriter(format string, book *flight.Logbook) func(io.Writer, *trend.Trend) error {
	switch format {
	case "html":
		title := book.Aircraft.Name
		if title == "" {
			title = filepath.Base(book.Dir)
		}
		return func(w io.Writer, t *trend.Trend) error { return report.LogbookHTML(w, title, t) }
	case "json":
		return report.TrendJSON
	case "csv":
		return report.TrendCSV
	}
	return report.Trend
}

func (a *app) trend(ctx context.Context, path, format, to string) error {
	book, err := openLogbook(path)
	if err != nil {
		return err
	}
	if to != "-" {
		// Before the work, so that nobody waits for a refusal.
		if err := refuseInput(to, path); err != nil {
			return err
		}
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
	write, t := trendWriter(format, book), trend.Of(hops)
	if to == "-" {
		return write(a.stdout, t)
	}
	if err := writeFile(to, path, func(w io.Writer) error { return write(w, t) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.stderr, "wrote %s\n", report.Short(to, 200))
	return err
}
