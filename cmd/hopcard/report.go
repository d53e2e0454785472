package main

import (
	"context"
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
	var p printed
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
			if err := p.check(a); err != nil {
				return err
			}
			return a.report(cmd.Context(), args[0], p.to, cardWriter(p.format, p.paper))
		},
	}
	p.add(cmd, cardFormats()...)
	return cmd
}

// cardFormats lists what a card can be written as.
func cardFormats() []string { return []string{"md", "html", "pdf", "csv", "json"} }

// cardWriter returns what writes a card in that format; paper is that of a PDF.
func cardWriter(format, paper string) func(io.Writer, *debrief.Debrief) error {
	switch format {
	case "html":
		return report.HTML
	case "pdf":
		return func(w io.Writer, d *debrief.Debrief) error { return report.PDF(w, d, report.Paper(paper)) }
	case "csv":
		return report.CSV
	case "json":
		return report.JSON
	}
	return report.Markdown
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
