package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"hopcard/report"
)

// printed are the flags of commands that write a card: in which format, for which paper and
// to which file.
type printed struct {
	format, paper, to string
	formats           []string // that it may be, the usual one first
}

// add adds the flags to cmd.
func (p *printed) add(cmd *cobra.Command, formats ...string) {
	p.formats = formats
	last := len(formats) - 1
	f := cmd.Flags()
	f.StringVar(&p.format, "format", formats[0], strings.Join(formats[:last], ", ")+" or "+formats[last])
	f.StringVar(&p.paper, "paper", string(report.A4), "paper of a PDF: a4 or letter")
	f.StringVar(&p.to, "to", "-", "file to write to; - is standard output")
}

// check refuses what there is not, and a PDF in a terminal.
func (p *printed) check(a *app) error {
	if err := oneOf("format", p.format, p.formats...); err != nil {
		return err
	}
	if err := oneOf("paper", p.paper, string(report.A4), string(report.Letter)); err != nil {
		return err
	}
	if p.format == "pdf" && p.to == "-" && isTerminal(a.stdout) {
		return usageError{errors.New("a PDF cannot be shown in a terminal; name a file with --to")}
	}
	return nil
}
