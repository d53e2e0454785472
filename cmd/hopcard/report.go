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

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/report"
)

func (a *app) reportCommand() *cobra.Command {
	var format, to, paper string
	cmd := &cobra.Command{
		Use:   "report HOP",
		Short: "Write the test card of a hop",
		Long: `report reads and debriefs one hop and writes its test card: as Markdown, which is also
readable as it is; as HTML, one file that needs no other; as PDF to print; as a CSV table
for spreadsheets; or as JSON for other programs. HOP is a folder of logs or one log file.
A file named with --to appears whole or not at all; a log is never written over.`,
		Example: `  hopcard report hop3
  hopcard report hop3 --to hop3-card.md
  hopcard report hop3 --format pdf --paper letter --to hop3-card.pdf
  hopcard report hop3 --format json --to -`,
		Args: arguments(1, 1, "HOP"),
		RunE: func(cmd *cobra.Command, args []string) error {
			write, err := cardWriter(format, paper)
			if err != nil {
				return err
			}
			if format == "pdf" && to == "-" && isTerminal(a.stdout) {
				return usageError{errors.New("a PDF cannot be shown in a terminal; name a file with --to")}
			}
			return a.report(cmd.Context(), args[0], to, write)
		},
	}
	cmd.Flags().StringVar(&format, "format", "md", "md, html, pdf, csv or json")
	cmd.Flags().StringVar(&paper, "paper", string(report.A4), "paper of a PDF: a4 or letter")
	cmd.Flags().StringVar(&to, "to", "-", "file to write to; - is standard output")
	return cmd
}

// cardWriter returns what writes a card in that format; paper is that of a PDF.
func cardWriter(format, paper string) (func(io.Writer, *debrief.Debrief) error, error) {
	if err := oneOf("format", format, "md", "html", "pdf", "csv", "json"); err != nil {
		return nil, err
	}
	if err := oneOf("paper", paper, string(report.A4), string(report.Letter)); err != nil {
		return nil, err
	}
	switch format {
	case "html":
		return report.HTML, nil
	case "pdf":
		return func(w io.Writer, d *debrief.Debrief) error { return report.PDF(w, d, report.Paper(paper)) }, nil
	case "csv":
		return report.CSV, nil
	case "json":
		return report.JSON, nil
	}
	return report.Markdown, nil
}

func (a *app) report(ctx context.Context, path, to string, write func(io.Writer, *debrief.Debrief) error) error {
	if to != "-" {
		// Before the work, so that nobody waits for a refusal.
		if err := refuseInput(to, path); err != nil {
			return err
		}
		if err := refuseLogName(to, path); err != nil {
			return err
		}
	}
	progress := a.newProgress()
	d, err := debriefHop(ctx, path, progress.update)
	progress.clear()
	if err != nil {
		return err
	}
	if to == "-" {
		return write(a.stdout, d)
	}
	if err := writeFile(to, path, func(w io.Writer) error { return write(w, d) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.stderr, "wrote %s\n", report.Short(to, 200))
	return err
}

// refuseLogName returns an error if a file written to would from then on be read as one
// of the hop's logs.
func refuseLogName(to, hop string) error {
	if !flight.IsLog(to) {
		return nil
	}
	folder, err := os.Stat(hop)
	if err != nil || !folder.IsDir() {
		return nil
	}
	if dir, err := os.Stat(filepath.Dir(to)); err == nil && os.SameFile(dir, folder) {
		return fmt.Errorf("%s: would be read as a log of the hop from then on; name a file outside its folder", to)
	}
	return nil
}

// cardFile is the name a hop's card gets when none is given.
func cardFile(hop string) string {
	name := strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) {
			return '-'
		}
		return r
	}, report.Short(hop, 60))
	return strings.TrimLeft(name, ".- ") + "-card.md"
}
